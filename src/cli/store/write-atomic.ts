import { closeSync, fsyncSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';

/** Leftovers of a killed write carry this prefix; the next writer that holds the folder's lock removes them. */
export const TEMPORARY_PREFIX = '.writing-';

/** Makes a rename in this folder durable. Folders cannot be opened on every system; there the rename alone must do. */
export function syncFolder(folder: string): void {
  let handle: number;
  try {
    handle = openSync(folder, 'r');
  } catch {
    return;
  }
  try {
    fsyncSync(handle);
  } catch {
    // Some file systems refuse fsync on a folder; the rename is still atomic.
  } finally {
    closeSync(handle);
  }
}

/** What Windows says of a file while a virus scanner, an indexer or a spreadsheet has it open. */
const HELD = new Set(['EPERM', 'EACCES', 'EBUSY']);

/**
 * Renames or removes a file. On Windows one that another program has open can be neither replaced nor removed; most hold
 * it for a moment only, so it is tried again for a second before the error is passed on.
 *
 * @param platform is given by tests
 */
export function onceLetGo(work: () => void, platform: NodeJS.Platform = process.platform): void {
  for (let wait = 10; ; wait *= 2) {
    try {
      work();
      return;
    } catch (error) {
      const code = (error as NodeJS.ErrnoException).code ?? '';
      if (platform !== 'win32' || !HELD.has(code) || wait > 640) throw error;
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, wait);
    }
  }
}

/**
 * Writes a whole file or nothing: temporary file in the same folder, fsync, rename over the target, fsync of the
 * folder. A reader sees the old content or the new, never a part. Call it with the folder's lock held.
 *
 * @param durable false: no fsync, for what may be lost when the machine stops and is checked when it is read
 * @throws the file system's error (`ENOSPC`, `EACCES` …), after removing the temporary file
 */
export function writeAtomic(
  path: string,
  content: string | Uint8Array,
  { durable = true }: { readonly durable?: boolean } = {},
): void {
  const folder = dirname(path);
  const temporary = join(folder, `${TEMPORARY_PREFIX}${process.pid}-${basename(path)}`);
  try {
    // Whatever waits there under this name is not ours; a link in particular is removed, never written through.
    rmSync(temporary, { force: true });
    const handle = openSync(temporary, 'wx', 0o644);
    try {
      const bytes = typeof content === 'string' ? Buffer.from(content, 'utf8') : content;
      let done = 0;
      while (done < bytes.length) done += writeSync(handle, bytes, done, bytes.length - done);
      if (durable) fsyncSync(handle);
    } finally {
      closeSync(handle);
    }
    onceLetGo(() => renameSync(temporary, path));
  } catch (error) {
    rmSync(temporary, { force: true });
    throw error;
  }
  if (durable) syncFolder(folder);
}
