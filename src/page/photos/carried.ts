import type { Finding } from '../../finding.ts';
import { checkPhotos } from '../../folder/check-photos.ts';
import { PHOTOS_FOLDER } from '../../folder/names.ts';
import { notHere } from '../../folder/not-here.ts';
import type { Ledger } from '../../ledger/chain.ts';
import { photosOf } from '../../ledger/contents.ts';
import { sha256Hex } from '../../sha256.ts';
import type { JobBundle } from '../job-bundle.ts';
import { filesInMemory } from '../papers/files-in-memory.ts';

/** A photograph as a whole-job file has it. */
export type CarriedPhoto = NonNullable<JobBundle['photos']>[number];

/** All photographs of a job together, bytes: more than this stays in the job folder. */
export const MOST_PHOTO_BYTES = 24 * 1024 * 1024;

export function isPhoto(file: string): boolean {
  return new RegExp(`^${PHOTOS_FOLDER}/[^./\\\\][^/\\\\]*\\.(?:jpg|png)$`).test(file);
}

export function carriedPhoto(file: string, bytes: Uint8Array): CarriedPhoto {
  let binary = '';
  // A call takes some ten thousand arguments, not a million.
  for (let at = 0; at < bytes.length; at += 8192)
    binary += String.fromCharCode(...bytes.subarray(at, at + 8192));
  return { file, base64: btoa(binary) };
}

/** Bytes of a photograph; of a damaged text nothing, whose digest then is not the ledger's. */
export function photoBytes({ base64 }: CarriedPhoto): Uint8Array<ArrayBuffer> {
  try {
    return Uint8Array.from(atob(base64), (char) => char.charCodeAt(0));
  } catch {
    return new Uint8Array(0);
  }
}

/** Bytes of photographs as far as the length of their texts tells. */
export function sizeOf(photos: readonly CarriedPhoto[]): number {
  return photos.reduce((sum, { base64 }) => sum + Math.floor((base64.length * 3) / 4), 0);
}

/** What a page carries of these: all of them, or where they are too large together none. */
export function carriable(photos: readonly CarriedPhoto[]): readonly CarriedPhoto[] {
  return sizeOf(photos) > MOST_PHOTO_BYTES ? [] : photos;
}

/** Photographs of both, each once, those of the first before those of the second. */
export function photosOfBoth(a: JobBundle, b: JobBundle): Pick<JobBundle, 'photos'> {
  const own = new Set((a.photos ?? []).map(({ file }) => file));
  const photos = [...(a.photos ?? []), ...(b.photos ?? []).filter(({ file }) => !own.has(file))];
  return photos.length === 0 ? {} : { photos };
}

const digests = new WeakMap<CarriedPhoto, string>();

/** A picture is megabytes: it is hashed once for as long as the page holds it. */
function digestOf(photo: CarriedPhoto): string {
  let digest = digests.get(photo);
  if (digest === undefined) {
    digest = sha256Hex(photoBytes(photo));
    digests.set(photo, digest);
  }
  return digest;
}

/** Compares the photographs that are carried with the ledger; of the others it says that they were not. */
export function photoFindings(ledger: Ledger, photos: readonly CarriedPhoto[]): readonly Finding[] {
  const carried = new Map(photos.map((photo) => [photo.file, photo]));
  const left = photosOf(ledger).filter(({ file }) => !carried.has(file));
  const records = ledger.records.filter((each) => each.kind !== 'photo' || carried.has(each.file));
  const source = {
    ...filesInMemory('the page', new Map([...carried.keys()].map((file) => [file, NOTHING])), []),
    digest: (file: string) => {
      const photo = carried.get(file);
      return photo === undefined ? null : { sha256: digestOf(photo), bytes: sizeOf([photo]) };
    },
  };
  return [
    ...checkPhotos(source, { records }).findings,
    ...notHere('photos-not-here', 'photographs', left.length).findings,
  ];
}

const NOTHING = new Uint8Array(0);

/** Whether every photograph of the ledger is carried. */
export function allCarried(ledger: Ledger, { photos }: JobBundle): boolean {
  const carried = new Set((photos ?? []).map(({ file }) => file));
  return photosOf(ledger).every(({ file }) => carried.has(file));
}
