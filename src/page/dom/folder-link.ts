import { JOB_FILE } from '../../folder/names.ts';
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
import { knownBefore } from '../folder/known-before.ts';
import { keyedTwice, takeIn } from '../folder/take-in.ts';
import { writeFolder } from '../folder/write-folder.ts';
import type { JobBundle } from '../job-bundle.ts';
import { openBundle } from '../open-bundle.ts';
import { filesOfBook, keyedSheets } from '../papers/files-of-book.ts';
import { isPhoto } from '../photos/carried.ts';
import type { Desk } from '../room.ts';
import { sameJob } from '../same-job.ts';
import { readsOf } from '../state.ts';
import { clearNotices } from './notices.ts';
import type { KeptFolder, Storage } from './storage.ts';
import { windowNames } from './window-name.ts';

/** The File System Access API's door, which the types of this TypeScript do not know. */
type Picker = (options: {
  readonly id: string;
  readonly mode: 'readwrite';
}) => Promise<FileSystemDirectoryHandle>;

interface Link {
  readonly root: FileSystemDirectoryHandle;
  readonly door: FolderDoor;
  /** The folder as the page last read or wrote it. */
  readonly before: FolderFiles;
}

/** What the types of this TypeScript do not say of a directory handle yet: it is asked before it may be written. */
type Guarded = FileSystemDirectoryHandle & {
  readonly queryPermission?: (how: { readonly mode: 'readwrite' }) => Promise<PermissionState>;
  readonly requestPermission?: (how: { readonly mode: 'readwrite' }) => Promise<PermissionState>;
};

/**
 * Job folders the page was let into, by the id of their job on this device. The device keeps them, so that a job that is
 * opened again finds its folder with one tap: the browser asks again where it must.
 */
export function folderLink(
  /** Gives the id of the job that is open then; null where it could not be opened. */
  tryOpen: (make: () => JobBundle) => Promise<string | null>,
  desk: Desk,
  storage: Storage | { readonly refused: string },
) {
  const links = new Map<string, Link>();
  /** Folders the device keeps of jobs that were opened, not open themselves yet. */
  const kept = new Map<string, KeptFolder>();
  const names = windowNames(() => desk.freshId().replace(/\W/g, ''));

  async function pick(): Promise<FileSystemDirectoryHandle | null> {
    const picker = (globalThis as { showDirectoryPicker?: Picker }).showDirectoryPicker;
    if (picker === undefined) return null;
    try {
      return await picker.call(globalThis, { id: 'sweepbook-job', mode: 'readwrite' });
    } catch (error) {
      if (error instanceof DOMException && error.name === 'AbortError') return null;
      throw error;
    }
  }

  function link(id: string, root: FileSystemDirectoryHandle, before: FolderFiles): void {
    links.set(id, { root, door: doorOf(root), before });
    clearNotices('folder');
    if (!('saveFolder' in storage)) return;
    const seen = new Map([...before].filter(([file]) => !isPhoto(file)));
    void storage.saveFolder(id, { root, seen });
  }

  function linkNow(): Link | null {
    return links.get(desk.page().session.id) ?? null;
  }

  async function write(): Promise<FolderSaid> {
    const open = linkNow();
    if (open === null) return connect();
    const { session } = desk.page();
    const plan = planFolder(
      open.before,
      filesOfBook(session.bundle, readsOf(session)),
      session.opened.job,
      desk.now(),
      desk.freshId(),
    );
    if (plan.steps.length === 0) {
      const changes = changesSince(open.before, await readFolder(open.door));
      return changes.length > 0 ? changed(open, changes) : { kind: 'same' };
    }
    const result = await writeFolder(open.door, plan, names.own, Date.parse(desk.now()), names.isGone);
    switch (result.kind) {
      case 'changed':
        return changed(open, result.changes);
      case 'busy':
      case 'held-up':
      case 'not-as-written':
        return result;
      case 'written': {
        const before = await readFolder(open.door);
        const bundle = bundleOfFolder(open.door.name, before);
        await desk.change({ ...bundle, sheets: session.bundle.sheets });
        link(session.id, open.root, before);
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
    const root = await pick();
    if (root === null) return { kind: 'none' };
    const { session } = desk.page();
    const now = await readFolder(doorOf(root));
    if (!now.has(JOB_FILE)) {
      if (now.size > 0) {
        throw new InputError(`${root.name} is no job folder and is not empty; nothing was written.`);
      }
      link(session.id, root, now);
      return write();
    }
    await join(root, now);
    return write();
  }

  /** Links the open job to a folder of it. What the folder has and this page never saw is told before it is written. */
  async function join(root: FileSystemDirectoryHandle, now: FolderFiles): Promise<void> {
    const { session } = desk.page();
    const last = kept.get(session.id);
    const seen = last !== undefined && (await last.root.isSameEntry(root)) ? last.seen : null;
    const theirs = bundleOfFolder(root.name, now);
    // Seen before, it is the same job by what was seen: the two ledgers may have gone on apart since.
    if (sameJob(seen === null ? session.bundle : bundleOfFolder(root.name, seen), theirs) !== 'same') {
      throw new InputError(`${root.name} holds another job; nothing was written.`);
    }
    link(session.id, root, knownBefore(seen, now, filesOfBook(session.bundle, [])));
  }

  /** The folder the device keeps of the open job: one tap, and the browser's own question where it has one. */
  async function again(): Promise<FolderSaid> {
    const { session } = desk.page();
    const root = kept.get(session.id)?.root as Guarded | undefined;
    if (root === undefined) return { kind: 'none' };
    const asked = { mode: 'readwrite' } as const;
    const may = (await root.queryPermission?.(asked)) ?? 'granted';
    if (may !== 'granted' && (await root.requestPermission?.(asked)) !== 'granted') {
      throw new InputError(
        `The browser did not let the page into ${root.name}. Nothing was read or written; tap again, or choose the folder.`,
      );
    }
    const now = await readFolder(doorOf(root)).catch((error: unknown) => {
      const gone = error instanceof DOMException && error.name === 'NotFoundError';
      throw gone ? new InputError(`${root.name} is not where it was: choose its folder.`) : error;
    });
    if (!now.has(JOB_FILE)) {
      throw new InputError(`${root.name} holds no job any more; nothing was written. Choose its folder.`);
    }
    await join(root, now);
    const open = linkNow()!;
    const changes = changesSince(open.before, now);
    if (changes.length > 0) return changed(open, changes);
    const wanted = filesOfBook(session.bundle, readsOf(session));
    const { steps } = planFolder(open.before, wanted, session.opened.job, desk.now(), desk.freshId());
    return steps.length === 0 ? { kind: 'same' } : { kind: 'opened' };
  }

  return {
    able: (): boolean => 'showDirectoryPicker' in globalThis,
    nameOf: (id: string): string | null => links.get(id)?.door.name ?? null,
    keptNameOf: (id: string): string | null => kept.get(id)?.root.name ?? null,
    /** Looks for the folder the device keeps of a job that was opened; true where there is one. */
    recall: async (id: string): Promise<boolean> => {
      const last = 'folder' in storage ? await storage.folder(id) : null;
      if (last !== null) kept.set(id, last);
      return last !== null;
    },
    again,
    write,
    everything: async (): Promise<FolderFiles | null> => {
      const open = linkNow();
      return open === null ? null : readToVerify(open.door);
    },
    photos: async (): Promise<FolderFiles | null> => {
      const open = linkNow();
      return open === null ? null : readPhotos(open.door);
    },
    /** Opens the job of a folder that is picked, and keeps the door to it. */
    open: async (): Promise<void> => {
      const root = await pick();
      if (root === null) return;
      const before = await readFolder(doorOf(root));
      const bundle = bundleOfFolder(root.name, before);
      const id = await tryOpen(() => bundle);
      if (id !== null) link(id, root, before);
    },
    /** Takes in what somebody else wrote; the page's own goes on top. */
    takeIn: async (): Promise<FolderSaid> => {
      const open = linkNow();
      if (open === null) return { kind: 'none' };
      const { session } = desk.page();
      const now = await readFolder(open.door);
      const { bundle, apart } = takeIn(
        open.door.name,
        open.before,
        now,
        session.bundle,
        desk.now(),
        desk.freshId(),
      );
      for (const { file, text } of apart) desk.download(`this-page-${file}`, text, 'text/plain');
      await desk.change({ ...bundle, sheets: session.bundle.sheets });
      link(session.id, open.root, now);
      return { kind: 'taken', apart: apart.map(({ file }) => file) };
    },
  };
}
