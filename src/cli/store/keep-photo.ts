import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import { photoName, pictureEnding } from '../../folder/photo-files.ts';
import { InputError } from '../../input-error.ts';
import { photosOf } from '../../ledger/contents.ts';
import { withFolderLock } from './folder-lock.ts';
import { hashBytes, hashFile } from './hash-file.ts';
import { finishIncoming } from './keep-files.ts';
import { inJob, PHOTOS_FOLDER } from './layout.ts';
import { appendToLedger, readLedger } from './ledger.ts';
import { makeFolder } from './make-folder.ts';
import { readInput } from './open-input.ts';
import { requireJobFolder } from './read-job-file.ts';
import { writeAtomic } from './write-atomic.ts';

export interface KeptPhoto {
  /** Job-relative */
  readonly file: string;
  readonly sha256: string;
  readonly bytes: number;
  /** True where the very picture was kept before: then only its caption is said anew. */
  readonly again: boolean;
}

/**
 * Keeps a photograph byte for byte in the job's `photos/` and on its record. The file before the record: a kill between
 * leaves a picture that is shown nowhere, which `verify` says and keeping it again cures.
 *
 * @param path absolute path of a JPEG or PNG file
 * @param when ISO date-time
 * @throws InputError when it is no such picture, or too large
 */
export async function keepPhoto(
  folder: string,
  path: string,
  said: { readonly cycle: number | null; readonly caption: string },
  when: () => string,
  waitMs: number,
): Promise<KeptPhoto> {
  requireJobFolder(folder);
  const content = readInput(path, 'photo');
  const ending = pictureEnding(content);
  if (ending === null) {
    throw new InputError(`${path} is neither a JPEG nor a PNG picture; export it as one of these.`);
  }
  const sha256 = hashBytes(content);
  return withFolderLock(folder, waitMs, async () => {
    finishIncoming(folder);
    const isFree = (name: string): boolean => {
      const there = inJob(folder, name);
      return !existsSync(there) || hashFile(there).sha256 === sha256;
    };
    const known = photosOf(readLedger(folder)).find((photo) => photo.sha256 === sha256);
    const file = known?.file ?? photoName(said.cycle, basename(path), ending, isFree);
    if (!existsSync(inJob(folder, file))) {
      makeFolder(inJob(folder, PHOTOS_FOLDER));
      writeAtomic(inJob(folder, file), content);
    }
    const entry = { file, sha256, bytes: content.length, original: basename(path), ...said };
    appendToLedger(folder, { kind: 'photo', ...entry }, when());
    return { file, sha256, bytes: content.length, again: known !== undefined };
  });
}

/** Takes a photograph out of the reports, on the record. The file itself is not touched. @throws InputError when the job has no such photograph */
export async function withdrawPhoto(
  folder: string,
  name: string,
  by: { readonly who: string; readonly why: string },
  when: () => string,
  waitMs: number,
): Promise<{ readonly file: string }> {
  requireJobFolder(folder);
  return withFolderLock(folder, waitMs, async () => {
    finishIncoming(folder);
    const photos = photosOf(readLedger(folder));
    const wanted = name.replaceAll('\\', '/').replace(/^\.\//, '');
    const photo = photos.find(({ file }) => file === wanted || file === `${PHOTOS_FOLDER}/${wanted}`);
    if (photo === undefined) {
      throw new InputError(`The job has no photograph "${name}".`, [
        {
          file: name,
          found: 'no such photograph',
          expected: photos.map(({ file }) => file).join(', ') || 'none is kept yet',
        },
      ]);
    }
    const { file, sha256, bytes, original, cycle, caption } = photo;
    appendToLedger(
      folder,
      { kind: 'photo', file, sha256, bytes, original, cycle, caption, withdrawn: { ...by } },
      when(),
    );
    return { file };
  });
}
