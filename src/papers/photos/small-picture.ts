import { Buffer } from 'buffer/index.js';
import exif, { type Exif } from 'exif-reader';
import jpeg from 'jpeg-js';
import { InputError } from '../../input-error.ts';
import { readPng } from './png.ts';

/** A picture small enough for a report, as JPEG, upright, with nothing of the camera in it. */
export interface SmallPicture {
  readonly jpeg: Uint8Array;
  readonly width: number;
  readonly height: number;
  /** What the camera noted, for whoever asks to print it; null where it noted nothing. */
  readonly taken: {
    readonly when: string | null;
    readonly latitude: number;
    readonly longitude: number;
  } | null;
}

interface Pixels {
  readonly width: number;
  readonly height: number;
  /** RGBA, row by row */
  readonly data: Uint8Array;
}

/** More megapixels than any camera of the trade has: what claims more is not decoded. */
const MOST_MEGAPIXELS = 110;
/** RGBA and the decoder's own blocks of the largest picture allowed. */
const MOST_MEMORY_MB = 1500;
const QUALITY = 72;

/**
 * Decodes a JPEG or PNG picture, turns it upright by its EXIF orientation, averages it down, and encodes it anew.
 *
 * @param longest the longer side of the result at most, pixels
 * @throws InputError when it cannot be decoded
 */
export function smallPicture(content: Uint8Array, name: string, longest: number): SmallPicture {
  try {
    const { pixels, notes } = content[0] === 0xff ? fromJpeg(content) : fromPng(content);
    const upright = turned(averaged(pixels, longest), notes?.Image?.Orientation ?? 1);
    const encoded = jpeg.encode(upright, QUALITY);
    const { width, height } = upright;
    return { jpeg: new Uint8Array(encoded.data), width, height, taken: takenOf(notes) };
  } catch (error) {
    // Words of the readers are the same everywhere; those of an engine that tripped are not.
    const said = error instanceof Error && error.constructor === Error ? error.message.split('\n')[0] : '';
    throw new InputError(`${name} cannot be shown: ${said === '' ? 'not a whole picture' : said}`);
  }
}

function fromJpeg(content: Uint8Array): { readonly pixels: Pixels; readonly notes: Exif | null } {
  const decoded = jpeg.decode(content, {
    useTArray: true,
    maxResolutionInMP: MOST_MEGAPIXELS,
    maxMemoryUsageInMB: MOST_MEMORY_MB,
  }) as Pixels & { readonly exifBuffer?: Uint8Array };
  return { pixels: decoded, notes: notesOf(decoded.exifBuffer) };
}

function fromPng(content: Uint8Array): { readonly pixels: Pixels; readonly notes: null } {
  // The size stands first; a bomb is refused before it is unpacked.
  const head = new DataView(content.buffer, content.byteOffset, content.byteLength);
  const megapixels = (head.getUint32(16) * head.getUint32(20)) / 1e6;
  if (megapixels > MOST_MEGAPIXELS) throw new Error(`it claims ${Math.round(megapixels)} megapixels`);
  return { pixels: readPng(content), notes: null };
}

/** EXIF that cannot be read is as good as none: the picture counts. */
function notesOf(buffer: Uint8Array | undefined): Exif | null {
  if (buffer === undefined) return null;
  try {
    // The decoder hands over what follows the first five bytes of the mark; the reader wants the mark whole.
    return exif(Buffer.concat([Buffer.from('Exif\0'), buffer]) as unknown as Parameters<typeof exif>[0]);
  } catch {
    return null;
  }
}

function takenOf(notes: Exif | null): SmallPicture['taken'] {
  const at = notes?.Photo?.DateTimeOriginal ?? notes?.Image?.DateTime;
  // EXIF has no time zone: the camera's own clock, which the reader holds as UTC.
  const when = at instanceof Date && !Number.isNaN(at.getTime()) ? at.toISOString().slice(0, 16) : null;
  const gps = notes?.GPSInfo;
  const latitude = degrees(gps?.GPSLatitude, gps?.GPSLatitudeRef === 'S');
  const longitude = degrees(gps?.GPSLongitude, gps?.GPSLongitudeRef === 'W');
  return when === null && !Number.isFinite(latitude + longitude) ? null : { when, latitude, longitude };
}

function degrees(parts: readonly number[] | undefined, negative: boolean): number {
  const [whole = Number.NaN, minutes = 0, seconds = 0] = parts ?? [];
  return (negative ? -1 : 1) * (whole + minutes / 60 + seconds / 3600);
}

/** Each pixel of the result is the mean of the pixels it covers, over white where they are clear. Never made larger. */
function averaged({ width, height, data }: Pixels, longest: number): Pixels {
  const scale = Math.min(1, longest / Math.max(width, height));
  const [w, h] = [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))];
  const small = new Uint8Array(w * h * 4);
  for (let y = 0; y < h; y++) {
    const [top, bottom] = span(y, h, height);
    for (let x = 0; x < w; x++) {
      const [left, right] = span(x, w, width);
      const sum = [0, 0, 0];
      for (let row = top; row < bottom; row++) {
        for (let at = (row * width + left) * 4; at < (row * width + right) * 4; at += 4) {
          const cover = data[at + 3]! / 255;
          for (let c = 0; c < 3; c++) sum[c]! += data[at + c]! * cover + 255 * (1 - cover);
        }
      }
      const count = (bottom - top) * (right - left);
      const to = (y * w + x) * 4;
      for (let c = 0; c < 3; c++) small[to + c] = Math.round(sum[c]! / count);
      small[to + 3] = 255;
    }
  }
  return { width: w, height: h, data: small };
}

function span(i: number, count: number, of: number): [number, number] {
  const from = Math.floor((i * of) / count);
  return [from, Math.max(from + 1, Math.floor(((i + 1) * of) / count))];
}

/** Turned and mirrored as EXIF orientation 1 to 8 asks (CIPA DC-008, tag 0x0112). */
function turned(pixels: Pixels, orientation: number): Pixels {
  if (!Number.isInteger(orientation) || orientation < 2 || orientation > 8) return pixels;
  const { width, height, data } = pixels;
  const swapped = orientation >= 5;
  const [w, h] = swapped ? [height, width] : [width, height];
  const out = new Uint8Array(w * h * 4);
  const from = new Uint32Array(data.buffer, data.byteOffset, width * height);
  const to = new Uint32Array(out.buffer);
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const [a, b] = swapped ? [y, x] : [x, y];
      const mirrorX = [2, 3, 7, 8].includes(orientation);
      const mirrorY = [3, 4, 6, 7].includes(orientation);
      const sx = mirrorX ? width - 1 - a : a;
      const sy = mirrorY ? height - 1 - b : b;
      to[y * w + x] = from[sy * width + sx]!;
    }
  }
  return { width: w, height: h, data: out };
}
