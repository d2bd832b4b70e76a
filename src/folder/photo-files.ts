import { PHOTOS_FOLDER } from './names.ts';

/** The ending of a picture's name by its first bytes, whatever its name says; null where it is neither JPEG nor PNG. */
export function pictureEnding(content: Uint8Array): 'jpg' | 'png' | null {
  const starts = (...bytes: number[]): boolean => bytes.every((byte, i) => content[i] === byte);
  if (starts(0xff, 0xd8, 0xff)) return 'jpg';
  return starts(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a) ? 'png' : null;
}

/**
 * A name for a photograph that sorts by cycle and is safe on every system.
 *
 * @param isFree whether a job-relative name is free, or holds this very picture
 */
export function photoName(
  cycle: number | null,
  original: string,
  ending: 'jpg' | 'png',
  isFree: (file: string) => boolean,
): string {
  const stem = original
    .replace(/\.[^.]*$/, '')
    .replace(/[^A-Za-z0-9_-]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 60);
  const first = cycle === null ? 'photo' : `cycle-${String(cycle).padStart(2, '0')}`;
  for (let n = 1; ; n++) {
    const parts = [first, ...(stem === '' ? [] : [stem]), ...(n === 1 ? [] : [String(n)])];
    const file = `${PHOTOS_FOLDER}/${parts.join('-')}.${ending}`;
    if (isFree(file)) return file;
  }
}
