import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { addScan } from '../../src/cli/commands/scan.ts';
import { runInProcess } from '../cli/in-process.ts';
import { createRandom } from '../mechanics/random.ts';
import { lasFile, type Point, plyFile } from './cloud-files.ts';

/** Clouds without a girder in them: said in words, nothing imported, no file of the job touched. */
const folder = mkdtempSync(join(tmpdir(), 'sweepbook-nothing-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
mkdirSync(join(folder, 'job'));
writeFileSync(
  join(folder, 'job', 'job.json'),
  JSON.stringify({
    job: 'Rushy Lane over the drain, girder 1',
    units: 'us',
    member: { span: '84 ft', yieldStress: '36 ksi', flangeWidth: '14 in', flangeThickness: '1 in' },
    lines: { flange: { kind: 'sweep', bearings: ['0 ft', '84 ft'], positive: 'toward the river' } },
  }),
);

const none: Point[] = [];
const noPosition = Array.from(
  { length: 50 },
  (): Point => [Number.NaN, Number.NaN, Number.POSITIVE_INFINITY],
);
const random = createRandom('ground');
const ground = Array.from(
  { length: 40_000 },
  (): Point => [30 * random.uniform() - 2, 12 * random.uniform() - 6, 0.02 * random.normal() - 4.7],
);
const web = Array.from(
  { length: 40_000 },
  (): Point => [26 * random.uniform(), 0.0063 + 0.002 * random.normal(), 0.05 + 1.05 * random.uniform()],
);
/** A LAS file whose header says 0 points. */
function emptyLas(): Uint8Array {
  const file = lasFile([[1, 2, 3]]).slice();
  const view = new DataView(file.buffer);
  view.setUint32(107, 0, true);
  return file.subarray(0, view.getUint32(96, true));
}
const double = (points: readonly Point[]) => plyFile(points, 'binary_little_endian', 'double');
const FILES: Record<string, [content: Uint8Array | string, words: RegExp]> = {
  'empty.ply': [double(none), /no point in this cloud.*a file without points/s],
  'nowhere.ply': [double(noPosition), /no point in this cloud.*50 points, none of them with a position/s],
  'empty.las': [emptyLas(), /no point in this cloud/],
  'empty.pts': ['0\n', /no point/],
  'empty.xyz': ['', /empty\.xyz/],
  'bytes.las': ['', /byte 0/],
  'bytes.laz': ['', /byte 0/],
  'bytes.e57': ['', /byte 0/],
  'one.ply': [double([[1, 2, 3]]), /no flange|nothing/],
  'same.ply': [double(Array.from({ length: 500 }, (): Point => [1, 2, 3])), /no flange|nothing/],
  'ground.ply': [double(ground), /no flange was found/],
  'web.ply': [double(web), /no flange was found/],
};

it.each(Object.keys(FILES))('%s', async (name) => {
  const [content, words] = FILES[name]!;
  writeFileSync(join(folder, name), content);
  // Looking for strips in a large cloud takes its time: once is enough.
  const ways = [
    ['--find', '--units', 'm'],
    ['--from', '0,0,0', '--to', '25.6,0,0', '--units', 'm'],
  ];
  for (const more of /ground|web/.test(name) ? ways.slice(0, 1) : ways) {
    const said = await runInProcess(['scan', name, '--job', 'job', '--cycle', '0', ...more], [addScan], {
      cwd: folder,
      now: () => new Date('2031-05-06T07:08:09Z'),
    });
    expect(said.status, said.err).toBe(1);
    if (more[0] === '--find') expect(said.err).toMatch(words);
    // A message names what was found and what was expected; nothing of the program's own shows through.
    expect(said.err).toMatch(/found .*expected /s);
    expect(said.err).not.toMatch(/NaN|Infinity|undefined|TypeError|RangeError|\b0 strips/);
    expect(readdirSync(join(folder, 'job'))).toEqual(['job.json']);
  }
});
