import { JOB_FILE, PHOTOS_FOLDER, REPORTS_FOLDER } from '../../folder/names.ts';
import { readLedger } from '../../folder/read-record.ts';
import { HEAD_FILE, LEDGER_FILE } from '../../ledger/chain.ts';
import { recordWords } from '../../ledger/contents.ts';
import { sha256Hex } from '../../sha256.ts';
import { isPhoto, MOST_PHOTO_BYTES } from '../photos/carried.ts';
import type { FolderDoor } from './folder-door.ts';

/** The files of a job folder at one moment, as far as an answer is made of them. */
export type FolderFiles = Map<string, Uint8Array<ArrayBuffer>>;

/** All texts of a job together, bytes: what the page carries at most. */
const MOST_BYTES = 40 * 1024 * 1024;
export const BUSY = '.busy-';

/**
 * Reads a job folder: everything a job is made of, but for its reports and kept answers, and for its photographs where
 * they are larger together than a page carries.
 *
 * @throws Error when it is larger than a page can carry
 */
export async function readFolder(door: FolderDoor): Promise<FolderFiles> {
  const files = await readAll(door, [REPORTS_FOLDER, PHOTOS_FOLDER], isOfJob, MOST_BYTES);
  const photos = await readPhotos(door, MOST_PHOTO_BYTES);
  return new Map([...files, ...(photos ?? [])]);
}

/** Every photograph in a job folder; null where they are larger than `most` bytes together. */
export async function readPhotos(door: FolderDoor, most = 10 * MOST_BYTES): Promise<FolderFiles | null> {
  let bytes = 0;
  const photos: FolderFiles = new Map();
  for (const file of (await door.files((folder) => folder !== PHOTOS_FOLDER)).filter(isPhoto)) {
    const read = await door.read(file);
    if (read === null) continue;
    bytes += read.length;
    if (bytes > most) return null;
    photos.set(file, read);
  }
  return photos;
}

/** Everything `verify` hashes in a job folder, its pictures too. @throws Error when it is larger than 400 MB */
export function readToVerify(door: FolderDoor): Promise<FolderFiles> {
  const isStored = (file: string) => isOfJob(file) || !/(^|\/)\./.test(file);
  return readAll(door, [REPORTS_FOLDER], isStored, 10 * MOST_BYTES);
}

async function readAll(
  door: FolderDoor,
  left: readonly string[],
  isWanted: (file: string) => boolean,
  most: number,
): Promise<FolderFiles> {
  const names = await door.files(
    (folder) => left.includes(folder) || folder.split('/').at(-1)!.startsWith('.'),
  );
  const files: FolderFiles = new Map();
  let bytes = 0;
  for (const file of names.filter(isWanted)) {
    const read = await door.read(file);
    // Taken away since the names were read.
    if (read === null) continue;
    bytes += read.length;
    if (bytes > most) throw new Error(`The files of ${door.name} are larger than ${most >> 20} MB together.`);
    files.set(file, read);
  }
  return files;
}

function isOfJob(file: string): boolean {
  if (file === HEAD_FILE || /(^|\/)\.incoming-[0-9a-f]{64}$/.test(file)) return true;
  return /\.(?:json|jsonl|csv)$/i.test(file) && !/(^|\/)\./.test(file);
}

/**
 * What is different in a folder since it was read, for people, newest records of its ledger first among it. Empty where
 * nothing is.
 */
export function changesSince(before: FolderFiles, now: FolderFiles): string[] {
  const said: string[] = [];
  const [old, fresh] = [recordsIn(before), recordsIn(now)];
  const goesOn = old.seals.every((seal, i) => seal === fresh.seals[i]);
  if (goesOn) {
    for (const record of fresh.records.slice(old.records.length))
      said.push(`The ledger has a new record: ${recordWords(record)}.`);
  } else said.push('The ledger is not the one it was: records were changed or taken out.');
  for (const file of [...new Set([...before.keys(), ...now.keys()])].sort()) {
    // A photograph comes with a record; one changed by hand is for `verify`.
    if (file === LEDGER_FILE || file === HEAD_FILE || isPhoto(file)) continue;
    const [a, b] = [before.get(file), now.get(file)];
    if (a !== undefined && b !== undefined && sha256Hex(a) === sha256Hex(b)) continue;
    const what = file === JOB_FILE ? 'job.json (the settings)' : file;
    said.push(
      `${what} ${a === undefined ? 'is new to this page' : b === undefined ? 'is gone' : 'was changed'}.`,
    );
  }
  const head = (files: FolderFiles) => sha256Hex(files.get(HEAD_FILE) ?? new Uint8Array(0));
  if (said.length === 0 && head(before) !== head(now)) said.push('The seal of the ledger was changed.');
  return said;
}

function recordsIn(files: FolderFiles) {
  return readLedger({ bytes: (file) => files.get(file) ?? null });
}
