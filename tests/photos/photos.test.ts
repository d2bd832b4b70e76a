import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import jpeg from 'jpeg-js';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { smallPicture } from '../../src/cli/photos/small-picture.ts';
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
