import { createHash } from 'node:crypto';
import {
  closeSync,
  createWriteStream,
  existsSync,
  fsyncSync,
  lstatSync,
  openSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs';
import { basename, join } from 'node:path';
import { Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { csvNames } from '../../folder/read-record.ts';
import { InputError } from '../../input-error.ts';
import { safeCsvName } from '../../job/csv-name.ts';
import { keptFiles } from '../../ledger/contents.ts';
import type { KeptFile } from '../../ledger/record.ts';
import { filesOfFolder, namesIn } from './files-of-folder.ts';
import { withFolderLock } from './folder-lock.ts';
import { hashFile } from './hash-file.ts';
import { CSV_FOLDERS, incomingName, inJob } from './layout.ts';
import { appendToLedger, readLedger } from './ledger.ts';
import { makeFolder } from './make-folder.ts';
import { streamInput } from './open-input.ts';
import { onceLetGo, syncFolder, TEMPORARY_PREFIX } from './write-atomic.ts';

/** A file to be kept: already read and found usable, its bytes known by their hash. */
export interface FileToKeep {
  /** Where the bytes are now: a path, or the text itself (written as UTF-8). */
  readonly from: { readonly path: string } | { readonly text: string };
  /** SHA-256 of the bytes that were read and judged. */
  readonly sha256: string;
  readonly into: (typeof CSV_FOLDERS)[number];
  /** Name to keep it under; made safe and made unique. */
  readonly name: string;
  /** What the ledger says of it. */
  readonly facts: Omit<KeptFile, 'file' | 'sha256' | 'bytes'>;
}

export interface KeptResult {
  /** Number of the ledger record; null when every file was there already. */
  readonly seq: number | null;
  readonly kept: readonly KeptFile[];
  /** Files whose bytes the job holds already, with the earlier record. */
  readonly already: readonly { readonly name: string; readonly file: string; readonly when: string }[];
}

/**
 * Keeps files in the job, all of them or none, byte for byte.
 *
 * The order makes a crash at any moment harmless. With the folder locked:
 * 1. the bytes are copied beside their final place as `.incoming-<sha256>`, checked against the hash, and synced;
 * 2. the ledger, with one new record naming all the files, replaces the old ledger by a rename. *This is the commit:*
 *    before it nothing is imported, after it everything is;
 * 3. each `.incoming-` file is renamed to its final name.
 * A reader that finds a file of the ledger not yet under its final name reads the `.incoming-` one. The next writer
 * finishes step 3 for files the ledger knows and deletes `.incoming-` files it does not know.
 *
 * @param when ISO date-time for the record; asked while the lock is held, so that records follow each other in time
 * @param waitMs how long to wait while another process writes
 * @throws InputError when the bytes are no longer those that were read, or others are busy; else the file system's error
 */
export async function keepFiles(
  folder: string,
  files: readonly FileToKeep[],
  when: () => string,
  waitMs: number,
): Promise<KeptResult> {
  return withFolderLock(folder, waitMs, async () => {
    finishIncoming(folder);
    const known = keptFiles(readLedger(folder));
    const byHash = new Map([...known.values()].map((file) => [file.sha256, file]));
    const byHand = handPlaced(folder, known);
    const taken = new Set([...known.keys()].map((file) => file.toLowerCase()));
    const already: { name: string; file: string; when: string }[] = [];
    const kept: KeptFile[] = [];
    const staged: string[] = [];
    try {
      for (const file of files) {
        makeFolder(inJob(folder, file.into));
        const earlier = byHash.get(file.sha256);
        if (earlier !== undefined) {
          already.push({ name: file.name, file: earlier.file, when: earlier.when });
          // Known but gone from its place: the same bytes put it back.
          if (existsSync(inJob(folder, earlier.file))) continue;
        }
        const adopted = byHand.get(file.sha256);
        const place = join(inJob(folder, file.into), incomingName(file.sha256));
        let bytes = adopted?.bytes ?? 0;
        if (adopted === undefined) {
          staged.push(place);
          bytes = await stage(file, place);
        }
        if (earlier !== undefined) continue;
        const name = adopted?.file ?? freeName(folder, file.into, safeCsvName(file.name), taken);
        taken.add(name.toLowerCase());
        const entry: KeptFile = { file: name, sha256: file.sha256, bytes, ...file.facts };
        kept.push(entry);
        byHash.set(file.sha256, { ...entry, when: when() });
      }
      for (const into of new Set(files.map((file) => file.into))) syncFolder(inJob(folder, into));
      const record =
        kept.length === 0 ? null : appendToLedger(folder, { kind: 'import', files: kept }, when());
      staged.length = 0;
      finishIncoming(folder);
      return { seq: record?.seq ?? null, kept, already };
    } finally {
      for (const place of staged) rmSync(place, { force: true });
    }
  });
}

/** Copies the bytes to their waiting place and makes them durable. Returns their number. */
async function stage(file: FileToKeep, place: string): Promise<number> {
  const hash = createHash('sha256');
  let bytes = 0;
  const counted = new Transform({
    transform(chunk: Buffer, _encoding, done) {
      hash.update(chunk);
      bytes += chunk.length;
      done(null, chunk);
    },
  });
  // Exclusive: a link planted under this name is removed, never written through.
  rmSync(place, { force: true });
  const target = createWriteStream(place, { flags: 'wx', mode: 0o644 });
  if ('path' in file.from) {
    await pipeline(streamInput(file.from.path, 'readings', 1 << 18).blocks, counted, target);
  } else {
    await pipeline([Buffer.from(file.from.text, 'utf8')], counted, target);
  }
  const handle = openSync(place, 'r+');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
  if (hash.digest('hex') !== file.sha256) {
    throw new InputError(
      `${file.name} changed while it was being imported; nothing was imported. Add it again.`,
    );
  }
  return bytes;
}

/**
 * Completes or drops what a killed import left behind (see {@link keepFiles}). Needs the folder's lock.
 * A file that stands under the final name is never overwritten: if it holds other bytes, that is a person's doing and
 * `verify` reports it.
 */
export function finishIncoming(folder: string): void {
  const ledger = readLedger(folder);
  const byHash = new Map([...keptFiles(ledger).values()].map((file) => [file.sha256, file.file]));
  for (const into of ['', ...CSV_FOLDERS]) {
    const path = inJob(folder, into);
    let changed = false;
    for (const name of namesIn(path)) {
      if (name.startsWith(TEMPORARY_PREFIX)) rmSync(join(path, name), { force: true });
      if (into === '' || !name.startsWith(incomingName(''))) continue;
      if (!lstatSync(join(path, name)).isFile()) {
        // A link or folder under such a name is none of the store's doing.
        rmSync(join(path, name), { force: true, recursive: true });
        continue;
      }
      const file = byHash.get(name.slice(incomingName('').length));
      const final = file === undefined ? undefined : inJob(folder, file);
      // A browser that was stopped leaves an empty file under the final name (`placeOf`): nothing is lost by it.
      if (final !== undefined && (statSync(final, { throwIfNoEntry: false })?.size ?? 0) === 0) {
        onceLetGo(() => renameSync(join(path, name), final));
        changed = true;
      } else if (final === undefined || hashFile(final).sha256 === hashFile(join(path, name)).sha256) {
        rmSync(join(path, name), { force: true });
      }
    }
    if (changed) syncFolder(path);
  }
}

/** CSV files a person put into the job's folders, by hash: importing one of them adopts it where it is. */
function handPlaced(
  folder: string,
  known: ReadonlyMap<string, KeptFile>,
): ReadonlyMap<string, { readonly file: string; readonly bytes: number }> {
  const found = new Map<string, { file: string; bytes: number }>();
  for (const file of csvNames(filesOfFolder(folder))) {
    if (known.has(file)) continue;
    const { sha256, bytes } = hashFile(inJob(folder, file));
    found.set(sha256, { file, bytes });
  }
  return found;
}

/** `readings/name.csv`, or `readings/name-2.csv` … where that name is taken (capitals do not count). */
function freeName(folder: string, into: string, name: string, taken: ReadonlySet<string>): string {
  const present = new Set(namesIn(inJob(folder, into)).map((each) => each.toLowerCase()));
  const stem = basename(name, '.csv');
  for (let number = 1; ; number++) {
    const candidate = number === 1 ? `${stem}.csv` : `${stem}-${number}.csv`;
    const file = `${into}/${candidate}`;
    if (!present.has(candidate.toLowerCase()) && !taken.has(file.toLowerCase())) return file;
  }
}
