import { cpSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { markReadings } from '../../src/cli/store/mark-readings.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { markFinder } from '../../src/survey/marks.ts';

const folder = mkdtempSync(join(tmpdir(), 'sweepbook-mark-cell-'));
cpSync(new URL('../../sample-surveys/brickfield-row', import.meta.url).pathname, folder, { recursive: true });
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

const FILE = 'readings/web-2-cycle-4.csv';
const SAID = { action: 'set-aside', file: FILE, who: 'R. Alder', why: 'read off the weld' } as const;
const WHEN = () => '2026-04-21T20:00:00.000Z';

describe('a mark on a sheet of heights and stations', () => {
  it('asks which cell where a row holds several, names the stations it has, and sets aside that cell alone', async () => {
    // Row 9 of the sheet is height 28 in; the slip of the sample stands at 23'-4".
    expect(readFileSync(join(folder, FILE), 'utf8').split(/\r?\n/)[8]).toMatch(/^28,/);
    const row = { rows: [9], cycles: null };
    await expect(markReadings(folder, { ...SAID, ...row }, WHEN, 1000)).rejects.toThrow('nothing was marked');
    await expect(
      markReadings(folder, { ...SAID, ...row, stations: '23 ft 1 in' }, WHEN, 1000),
    ).rejects.toMatchObject({ problems: [{ file: FILE, row: 9, found: 'no reading at 23\'-1"' }] });
    const marked = await markReadings(folder, { ...SAID, ...row, stations: '23\'-4"' }, WHEN, 1000);
    expect(marked.readings).toBe(1);
    const { readings, marks } = await openJob(folder);
    const markOf = markFinder(marks);
    const out = readings.filter((reading) => markOf(reading)?.action === 'set-aside');
    expect(out.map(({ row: at, station, height }) => [at, station, height])).toEqual([
      [9, expect.closeTo((23 + 4 / 12) * 0.3048, 6), expect.closeTo(28 * 0.0254, 6)],
    ]);
    const all = await markReadings(folder, { ...SAID, ...row, stations: 'all' }, WHEN, 1000);
    expect(all.readings).toBe(16);
  });
});
