import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { crc32, deflateSync } from 'node:zlib';
import jpeg from 'jpeg-js';
import { PNG } from 'pngjs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { readPng } from '../../src/papers/photos/png.ts';
import { smallPicture } from '../../src/papers/photos/small-picture.ts';
import { runInProcess } from '../cli/in-process.ts';

const FIXTURES = new URL('./fixtures/', import.meta.url).pathname;
const fixture = (name: string) => readFileSync(join(FIXTURES, name));

// The pictures were written by Pillow 9.4 (make-fixtures.py), and Pillow's own exif_transpose shows all eight upright.
describe('a picture made small', () => {
  const RED = [220, 30, 30];
  const GREEN = [30, 180, 30];
  const BLUE = [30, 30, 220];

  function pixel({ data, width }: { data: Uint8Array; width: number }, x: number, y: number): number[] {
    return [...data.subarray((y * width + x) * 4, (y * width + x) * 4 + 3)];
  }

  it.each([1, 2, 3, 4, 5, 6, 7, 8])('stands upright as EXIF orientation %i asks', (tag) => {
    const small = smallPicture(fixture(`turned-${tag}.jpg`), 'x', 48);
    expect([small.width, small.height]).toEqual([48, 32]);
    const shown = jpeg.decode(small.jpeg, { useTArray: true });
    for (const [x, y, colour] of [
      [8, 6, RED],
      [40, 6, GREEN],
      [8, 26, BLUE],
    ] as const) {
      pixel(shown, x, y).forEach((value, c) => {
        expect(Math.abs(value - colour[c]!)).toBeLessThan(20);
      });
    }
  });

  it('takes a PNG too, and never makes a picture larger', () => {
    const small = smallPicture(fixture('corner.png'), 'x', 500);
    expect([small.width, small.height]).toEqual([96, 64]);
    const shown = jpeg.decode(small.jpeg, { useTArray: true });
    pixel(shown, 16, 12).forEach((value, c) => {
      expect(Math.abs(value - RED[c]!)).toBeLessThan(20);
    });
  });

  it('leaves what the camera noted out of the picture, and hands it over apart', () => {
    const small = smallPicture(fixture('turned-6.jpg'), 'x', 48);
    expect(Buffer.from(small.jpeg).includes('Exif')).toBe(false);
    expect(small.taken?.when).toBe('2026-03-04T07:41');
    expect(small.taken?.latitude).toBeCloseTo(10.5, 9);
    expect(small.taken?.longitude).toBeCloseTo(-20.26, 9);
  });

  it('refuses a PNG that claims a size no camera has, and a broken JPEG, with the name', () => {
    const bomb = Buffer.from(fixture('corner.png'));
    bomb.writeUInt32BE(60_000, 16);
    bomb.writeUInt32BE(60_000, 20);
    expect(() => smallPicture(bomb, 'bomb.png', 48)).toThrow(/bomb\.png.*3600 megapixels/);
    expect(() => smallPicture(fixture('turned-1.jpg').subarray(0, 300), 'cut.jpg', 48)).toThrow(/cut\.jpg/);
  });
});

describe('a PNG read without the unpacker of Node', () => {
  /** A PNG of these chunks; PNG (Third Edition), 5.3: length, type, data, CRC. */
  function png(...chunks: (readonly [string, Uint8Array])[]): Buffer {
    const parts = chunks.map(([type, data]) => {
      const body = Buffer.concat([Buffer.from(type), data]);
      const [length, crc] = [Buffer.alloc(4), Buffer.alloc(4)];
      length.writeUInt32BE(data.length);
      crc.writeUInt32BE(crc32(body));
      return Buffer.concat([length, body, crc]);
    });
    return Buffer.concat([Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]), ...parts]);
  }
  const header = (width: number, height: number, depth: number, colour: number, interlace = 0) => {
    const data = Buffer.from([0, 0, 0, 0, 0, 0, 0, 0, depth, colour, 0, 0, interlace]);
    data.writeUInt32BE(width, 0);
    data.writeUInt32BE(height, 4);
    return ['IHDR', data] as const;
  };
  const END = ['IEND', new Uint8Array(0)] as const;
  const idat = (raw: Uint8Array) => ['IDAT', deflateSync(raw)] as const;

  it('is what pngjs reads by itself, in every kind of colour, interlaced too', () => {
    const noise = (length: number) => Buffer.from(Array.from({ length }, (_, i) => (i * 89 + 7) % 251));
    const rows = (bytes: number) =>
      Buffer.concat(Array.from({ length: 9 }, () => Buffer.concat([Buffer.from([0]), noise(bytes)])));
    // Width and height of the seven pictures a picture of 5 by 5 pixels is interlaced as.
    const ADAM7 = [
      [1, 1],
      [1, 1],
      [2, 1],
      [1, 2],
      [3, 1],
      [2, 3],
      [5, 2],
    ] as const;
    const pass = ([width, height]: readonly [number, number]) =>
      Buffer.concat(Array.from({ length: height }, () => Buffer.concat([Buffer.from([0]), noise(width)])));
    const palette = ['PLTE', noise(48)] as const;
    const given = [
      png(header(12, 9, 1, 0), idat(rows(2)), END),
      png(header(12, 9, 16, 0), idat(rows(24)), END),
      png(header(12, 9, 8, 2), ['tRNS', Buffer.from([0, 7, 0, 96, 0, 185])], idat(rows(36)), END),
      png(header(12, 9, 4, 3), palette, ['tRNS', Buffer.from([0, 128])], idat(rows(6)), END),
      png(header(12, 9, 8, 4), idat(rows(24)), END),
      png(header(12, 9, 16, 6), idat(rows(96)), END),
      // Adam7, passes 1 to 7 of 5 by 5 pixels of 8 bits.
      png(header(5, 5, 8, 0, 1), idat(Buffer.concat(ADAM7.map(pass))), END),
    ];
    for (const bytes of given) {
      const { width, height, data } = PNG.sync.read(bytes);
      const read = readPng(bytes);
      expect([read.width, read.height, Buffer.compare(Buffer.from(read.data), data)]).toEqual([
        width,
        height,
        0,
      ]);
    }
  });

  it('unpacks no more than its size says, and says of one that breaks off that it does', () => {
    const whole = png(header(8, 8, 8, 0), idat(Buffer.alloc(40_000_000)), END);
    expect(readPng(whole).data).toHaveLength(8 * 8 * 4);
    const short = png(header(8, 8, 8, 0), idat(Buffer.alloc(30)), END);
    expect(() => smallPicture(short, 'short.png', 8)).toThrow(/^short\.png cannot be shown: /);
    const cut = png(header(8, 8, 8, 0), ['IDAT', deflateSync(Buffer.alloc(72, 3)).subarray(0, 6)], END);
    expect(() => smallPicture(cut, 'cut.png', 8)).toThrow(
      /cut\.png cannot be shown: its pixels cannot be unpacked/,
    );
  });
});

describe('photographs of a job', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-photos-'));
    cpSync(new URL('../../sample-surveys/juniper-lane', import.meta.url).pathname, join(folder, 'job'), {
      recursive: true,
    });
  });
  afterAll(() => rmSync(folder, { recursive: true }));
  const run = (...args: string[]) =>
    runInProcess(args, COMMANDS, { cwd: folder, now: () => new Date('2026-03-05T09:00:00Z') });
  const verify = async () => JSON.parse((await run('verify', 'job', '--json')).out);

  it('are kept byte for byte, shown in the final report without time and place unless asked, and watched', async () => {
    const photo = join(FIXTURES, 'turned-6.jpg');
    const kept = await run('photo', 'job', photo, '--cycle', '0', '--caption', 'from <below>, as found');
    expect(kept).toMatchObject({ status: 0 });
    const path = join(folder, 'job/photos/cycle-00-turned-6.jpg');
    expect(readFileSync(path).equals(readFileSync(photo))).toBe(true);

    expect(await run('report', 'job', '--final', '--plain', '--out', 'f.html')).toMatchObject({ status: 0 });
    const text = readFileSync(join(folder, 'f.html'), 'utf8');
    expect(text).toMatch(
      /<img src="data:image\/jpeg;base64,[^"]+" width="96" height="64" alt="from &lt;below&gt;, as found">/,
    );
    expect(text).not.toContain('10.50000');
    await run('report', 'job', '--final', '--plain', '--photo-exif', '--out', 'g.html');
    expect(readFileSync(join(folder, 'g.html'), 'utf8')).toMatch(/Mar 4, 2026 07:41.*10\.50000, -20\.26000/);

    expect((await verify()).ok).toBe(true);
    const bytes = readFileSync(path);
    bytes[bytes.length - 9]! ^= 1;
    writeFileSync(path, bytes);
    expect((await verify()).findings).toContainEqual(
      expect.objectContaining({ code: 'photo-changed', severity: 'stop' }),
    );
    rmSync(path);
    expect((await verify()).findings).toContainEqual(
      expect.objectContaining({ code: 'photo-missing', severity: 'stop' }),
    );
    // A picture that is gone is said in the report, which is written all the same.
    await run('report', 'job', '--final', '--plain', '--out', 'h.html');
    expect(readFileSync(join(folder, 'h.html'), 'utf8')).toContain(
      'Not shown: photos/cycle-00-turned-6.jpg is gone',
    );
    const out = await run(
      ...['photo', 'job', '--withdraw', 'cycle-00-turned-6.jpg', '--who', 'R. Alder', '--why', 'card lost'],
    );
    expect(out.status).toBe(0);
    expect((await verify()).ok).toBe(true);
  });

  it('get a new caption when given again, and a name of their own beside another picture of that name', async () => {
    const twin = join(folder, 'turned-1.jpg');
    writeFileSync(twin, fixture('turned-2.jpg'));
    await run('photo', 'job', join(FIXTURES, 'turned-1.jpg'), '--caption', 'first');
    const said = await run('photo', 'job', twin, '--caption', 'second');
    expect(said.out).toMatch(/^Kept: photos\/photo-turned-1-2\.jpg/);
    const again = await run('photo', 'job', twin, '--caption', 'better said');
    expect(again.out).toMatch(/^Caption said anew: photos\/photo-turned-1-2\.jpg/);
    await run('report', 'job', '--final', '--plain', '--out', 'i.html');
    const text = readFileSync(join(folder, 'i.html'), 'utf8');
    expect(text).toContain('better said');
    expect(text).not.toContain('>second');
  });

  it('are refused with the reason: no picture, no caption, no such cycle, nothing to withdraw', async () => {
    writeFileSync(join(folder, 'note.jpg'), 'not a picture');
    const refused = [
      [['photo', 'job', 'note.jpg', '--caption', 'x'], 1, /neither a JPEG nor a PNG/],
      [['photo', 'job', 'none.jpg', '--caption', 'x'], 1, /none\.jpg/],
      [['photo', 'job', 'note.jpg'], 2, /--caption/],
      [['photo', 'job', 'note.jpg', '--caption', 'x', '--cycle', 'last'], 2, /--cycle.*not 'last'/],
      [['photo', 'job', '--withdraw', 'x.jpg', '--who', 'a', '--why', 'b'], 1, /no photograph "x\.jpg"/],
      [['photo', 'job', '--withdraw', 'x.jpg'], 2, /--who and --why/],
    ] as const;
    for (const [args, status, words] of refused) {
      const said = await run(...args);
      expect(said).toMatchObject({ status });
      expect(said.err).toMatch(words);
    }
  });
});
