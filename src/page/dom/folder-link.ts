import { InputError } from '../../input-error.ts';
import { bundleOfFolder } from '../folder/bundle-of-folder.ts';
import { doorOf, type FolderDoor } from '../folder/folder-door.ts';
import {
  changesSince,
  type FolderFiles,
  readFolder,
  readPhotos,
  readToVerify,
} from '../folder/folder-now.ts';
import { planFolder } from '../folder/folder-plan.ts';
import type { FolderSaid } from '../folder/folder-said.ts';
import { keyedTwice, takeIn } from '../folder/take-in.ts';
import { writeFolder } from '../folder/write-folder.ts';
import type { JobBundle } from '../job-bundle.ts';
import { openBundle } from '../open-bundle.ts';
import { filesOfBook, keyedSheets } from '../papers/files-of-book.ts';
import type { Desk } from '../room.ts';
import { sameJob } from '../same-job.ts';
import { readsOf } from '../state.ts';
import { windowNames } from './window-name.ts';

/** The File System Access API's door, which the types of this TypeScript do not know. */
type Picker = (options: {
  readonly id: string;
  readonly mode: 'readwrite';
}) => Promise<FileSystemDirectoryHandle>;

interface Link {
  readonly door: FolderDoor;
  /** The folder as the page last read or wrote it. */
  readonly before: FolderFiles;
}

/** Job folders the page was let into, by the id of their job on this device, for as long as the page is open. */
export function folderLink(
  /** Gives the id of the job that is open then; null where it could not be opened. */
  tryOpen: (make: () => JobBundle) => Promise<string | null>,
  desk: Desk,
) {
  const links = new Map<string, Link>();
  const names = windowNames(() => desk.freshId().replace(/\W/g, ''));

  async function pick(): Promise<FolderDoor | null> {
    const picker = (globalThis as { showDirectoryPicker?: Picker }).showDirectoryPicker;
    if (picker === undefined) return null;
    try {
      return doorOf(await picker.call(globalThis, { id: 'sweepbook-job', mode: 'readwrite' }));
    } catch (error) {
      if (error instanceof DOMException && error.name === 'AbortError') return null;
      throw error;
    }
  }

  function linkNow(): Link | null {
    return links.get(desk.page().session.id) ?? null;
  }

  async function write(): Promise<FolderSaid> {
    const link = linkNow();
    if (link === null) return connect();
    const { session } = desk.page();
    const plan = planFolder(
      link.before,
      filesOfBook(session.bundle, readsOf(session)),
      session.opened.job,
      desk.now(),
      desk.freshId(),
    );
    if (plan.steps.length === 0) {
      const changes = changesSince(link.before, await readFolder(link.door));
      return changes.length > 0 ? changed(link, changes) : { kind: 'same' };
    }
    const result = await writeFolder(link.door, plan, names.own, Date.parse(desk.now()), names.isGone);
    switch (result.kind) {
      case 'changed':
        return changed(link, result.changes);
      case 'busy':
        return { kind: 'busy', file: result.file };
      case 'not-as-written':
        return { kind: 'not-as-written', file: result.file };
      case 'written': {
        const before = await readFolder(link.door);
        const bundle = bundleOfFolder(link.door.name, before);
        links.set(session.id, { door: link.door, before });
        await desk.change({ ...bundle, sheets: session.bundle.sheets });
        const { records, sha256 } = bundle.seal ?? { records: 0, sha256: '' };
        return { kind: 'written', files: plan.said, records, seal: sha256 };
      }
    }
  }

  /** What is different in the folder, and what of it is keyed here too: told before anything of it is taken in. */
  async function changed({ door }: Link, changes: readonly string[]): Promise<FolderSaid> {
    const { session } = desk.page();
    const keyed = keyedSheets(readsOf(session)).map(({ sheet }) => sheet.cycle);
    const theirs = openBundle(bundleOfFolder(door.name, await readFolder(door)));
    return { kind: 'changed', changes, twice: keyedTwice(keyed, session.opened.readings, theirs.readings) };
  }

  /** An open job and a folder: the folder of the same job, or an empty one. */
  async function connect(): Promise<FolderSaid> {
    const door = await pick();
    if (door === null) return { kind: 'none' };
    const { session } = desk.page();
    const before = await readFolder(door);
    if (!before.has('job.json')) {
      if (before.size > 0) {
        throw new InputError(`${door.name} is no job folder and is not empty; nothing was written.`);
      }
      links.set(session.id, { door, before });
      return write();
    }
    const theirs = bundleOfFolder(door.name, before);
    if (sameJob(theirs, session.bundle) !== 'same') {
      throw new InputError(`${door.name} holds another job; nothing was written.`);
    }
    // The page's record may be older: it then takes in what the folder has before it writes.
    links.set(session.id, { door, before: sharedPart(before, session.bundle) });
    return write();
  }

  return {
    able: (): boolean => 'showDirectoryPicker' in globalThis,
    nameOf: (id: string): string | null => links.get(id)?.door.name ?? null,
    write,
    everything: async (): Promise<FolderFiles | null> => {
      const link = linkNow();
      return link === null ? null : readToVerify(link.door);
    },
    photos: async (): Promise<FolderFiles | null> => {
      const link = linkNow();
      return link === null ? null : readPhotos(link.door);
    },
    /** Opens the job of a folder that is picked, and keeps the door to it. */
    open: async (): Promise<void> => {
      const door = await pick();
      if (door === null) return;
      const before = await readFolder(door);
      const bundle = bundleOfFolder(door.name, before);
      const id = await tryOpen(() => bundle);
      if (id !== null) links.set(id, { door, before });
    },
    /** Takes in what somebody else wrote; the page's own goes on top. */
    takeIn: async (): Promise<FolderSaid> => {
      const link = linkNow();
      if (link === null) return { kind: 'none' };
      const { session } = desk.page();
      const now = await readFolder(link.door);
      const { bundle, apart } = takeIn(
        link.door.name,
        link.before,
        now,
        session.bundle,
        desk.now(),
        desk.freshId(),
      );
      for (const { file, text } of apart) desk.download(`this-page-${file}`, text, 'text/plain');
      await desk.change({ ...bundle, sheets: session.bundle.sheets });
      links.set(session.id, { door: link.door, before: now });
      return { kind: 'taken', apart: apart.map(({ file }) => file) };
    },
  };
}

/** Of a folder, what the page's job has too: what goes beyond it was written by somebody else. */
function sharedPart(files: FolderFiles, bundle: JobBundle): FolderFiles {
  const own = filesOfBook(bundle, []);
  const known = new Map<string, Uint8Array<ArrayBuffer>>();
  for (const [file, bytes] of files) {
    const mine = own.get(file);
    if (file === 'ledger.jsonl' || file === '.ledger-head') {
      // One ledger goes on where the other ends (`sameJob`): the shorter is what both have.
      if (mine !== undefined) known.set(file, mine.length < bytes.length ? new Uint8Array(mine) : bytes);
    } else if (mine !== undefined) known.set(file, bytes);
  }
  return known;
}
