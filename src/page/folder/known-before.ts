import { HEAD_FILE, LEDGER_FILE } from '../../ledger/chain.ts';
import type { FolderFiles } from './folder-now.ts';

/**
 * What a page knew of a folder that it comes back to: the ground on which it tells what somebody else wrote there from
 * what it has of its own. A file both have alike is known; one that differs is known as it was last seen, and where the
 * page never saw it, not at all: it is then somebody else's, and is told before anything is written over it.
 *
 * @param seen the folder as the page last read or wrote it; null: never
 * @param now the folder as it is
 * @param mine the files of the page's job
 */
export function knownBefore(
  seen: FolderFiles | null,
  now: FolderFiles,
  mine: ReadonlyMap<string, Uint8Array>,
): FolderFiles {
  const known: FolderFiles = new Map(seen ?? []);
  for (const [file, bytes] of now) if (isSame(mine.get(file), bytes)) known.set(file, bytes);
  // Both ledgers go on from records they share; those were known, whoever wrote them.
  const shared = sharedLines(mine.get(LEDGER_FILE), now.get(LEDGER_FILE));
  if (shared.length >= (known.get(LEDGER_FILE)?.length ?? 0)) {
    const whole = now.get(LEDGER_FILE)?.length === shared.length ? now.get(HEAD_FILE) : undefined;
    if (shared.length > 0) known.set(LEDGER_FILE, shared);
    if (whole !== undefined) known.set(HEAD_FILE, whole);
  }
  return known;
}

function isSame(a: Uint8Array | undefined, b: Uint8Array): boolean {
  return a !== undefined && a.length === b.length && a.every((byte, i) => byte === b[i]);
}

/** The lines two texts begin with alike. */
function sharedLines(
  a: Uint8Array = new Uint8Array(0),
  b: Uint8Array = new Uint8Array(0),
): Uint8Array<ArrayBuffer> {
  let end = 0;
  for (let i = 0; i < Math.min(a.length, b.length) && a[i] === b[i]; i++) if (a[i] === 10) end = i + 1;
  return new Uint8Array(b.subarray(0, end));
}
