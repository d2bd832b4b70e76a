import { describe, expect, it } from 'vitest';
import { checkReadings } from '../../src/doubts/check-readings.ts';
import { leaveOutCopies } from '../../src/doubts/copies.ts';
import { InputError } from '../../src/input-error.ts';
import { readOptions } from '../../src/job/read-options.ts';
import { readReadings } from '../../src/read/readings-csv.ts';
import { panelJob } from './panel-job.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

const read = (text: string, job = panelJob()) => readReadings(text, readOptions(job, 'readings/a.csv'));
const faults = (make: () => unknown): string => {
  try {
    make();
  } catch (error) {
    if (error instanceof InputError)
      return error.problems.map((p) => `${p.column}: ${p.found} / ${p.expected}`).join('\n');
    throw error;
  }
  return '';
};

describe('a panel in job.json', () => {
  it('is a bulge line with heights, held edges and the thickness of the web', () => {
    const [line] = panelJob().lines;
    expect(line).toMatchObject({
      name: 'web-3',
      kind: 'bulge',
      panel: { element: 'web', held: ['bottom', 'top'] },
    });
    expect(line!.bearings[1] - line!.bearings[0]).toBeCloseTo(5 * FOOT, 9);
    expect(line!.panel!.heights[1]).toBeCloseTo(38 * INCH, 9);
    expect(line!.panel!.thickness).toBeCloseTo((7 / 16) * INCH, 9);
  });

  it('may be all a job has, and is judged over the whole panel', () => {
    const job = panelJob();
    expect(job.lines).toHaveLength(1);
    expect(job.acceptance[0]).toMatchObject({ line: 'web-3', over: { kind: 'whole-line' }, panel: true });
    expect(job.acceptance[0]!.label).toBe('bulge 1/4 in over the whole panel');
  });

  it('is refused where it cannot be one, with the place of each fault', () => {
    expect(faults(() => panelJob({ held: ['bottom'] }))).toContain('held');
    expect(faults(() => panelJob({ heights: ['38 in', '0 in'] }))).toContain('panels.web-3.heights');
    expect(faults(() => panelJob({ stations: ['33 ft', '28 ft'] }))).toContain('panels.web-3.stations');
    expect(faults(() => panelJob({ colour: 'red' }))).toContain('colour');
    expect(
      faults(() => panelJob({}, { acceptance: [{ line: 'web-3', limit: '1/4 in', over: '20 ft' }] })),
    ).toContain('over the whole panel');
    expect(
      faults(() =>
        panelJob(
          {},
          { lines: { 'web-3': { kind: 'sweep', bearings: ['0 ft', '62 ft'], positive: 'north' } } },
        ),
      ),
    ).toContain('the name of a line too');
  });

  it('takes the limit of the web flatness sets', () => {
    const job = panelJob(
      {},
      {
        member: {
          span: '62 ft',
          yieldStress: '36 ksi',
          flangeWidth: '12 in',
          flangeThickness: '1 in',
          webThickness: '5/16 in',
          depth: '40 in',
          webStiffeners: 'none',
        },
        acceptance: [{ preset: 'fabrication-d1.1-web' }],
      },
    );
    // D/150 of a clear depth of 38 in at D/t = 122 (AWS D1.1 5.23.6.2 as quoted in references A.2).
    const rule = job.acceptance.find((each) => each.line === 'web-3');
    expect(rule!.limit).toBeCloseTo((38 / 150) * INCH, 9);
    expect(rule!.panel).toBe(true);
  });
});

describe('readings of a panel', () => {
  it('in long form carry a height', () => {
    const { readings, problems } = read(
      'cycle,line,station,height,offset\n0,web-3,29,4,1/2\n0,web-3,29,8,3/4\n',
    );
    expect(problems).toEqual([]);
    expect(readings.map((r) => r.height)).toEqual([4 * INCH, 8 * INCH].map((h) => expect.closeTo(h, 9)));
  });

  it('as a sheet with heights down and stations across give the same readings', () => {
    const long = read(
      `cycle,line,station,height_in,offset,date\n${[4, 8]
        .flatMap((h, i) => [29, 30, 31].map((s, j) => `3,web-3,${s},${h},${(i + 1) * (j + 1)}/8,2026-05-04`))
        .join('\n')}\n`,
    );
    const sheet = read(
      'height (in),29 ft,30\'-0",31\ncycle,3,,\npanel,web-3,,\ndate,2026-05-04\n4,1/8,2/8,3/8\n8,2/8,4/8,6/8\n',
    );
    expect(long.problems).toEqual([]);
    expect(sheet.problems).toEqual([]);
    expect(sheet.form).toBe('grid');
    const plain = (all: typeof long.readings) =>
      all
        .map(({ row: _row, ...rest }) => rest)
        .sort((a, b) => a.station - b.station || a.height! - b.height!);
    expect(plain(sheet.readings)).toEqual(plain(long.readings));
  });

  it('in one sheet may be of several cycles, and a blank is not read', () => {
    const { readings, problems } = read('height,29,30\ncycle,0\n4,1/8,\ncycle,1\n4,0,1/16\n');
    expect(problems).toEqual([]);
    expect(readings.map((r) => [r.cycle, Math.round(r.station / FOOT), r.offset / INCH])).toEqual([
      [0, 29, 1 / 8],
      [1, 29, 0],
      [1, 30, expect.closeTo(1 / 16, 9)],
    ]);
  });

  it('are refused with row, column, found and expected', () => {
    const said = (text: string, job = panelJob()) =>
      read(text, job).problems.map((p) => `${p.row} ${p.column}: ${p.found} / ${p.expected}`);
    expect(said('cycle,line,station,offset\n0,web-3,29,1\n')[0]).toContain('2 height: nothing');
    expect(said('cycle,line,station,height,offset\n0,web-3,29,80,1\n')[0]).toContain('a height on the panel');
    expect(said('cycle,line,station,height,offset\n0,web-3,45,8,1\n')[0]).toContain(
      'a station on the panel web-3',
    );
    expect(said('height,29,30\n4,1,2\n')[0]).toContain('a row that says the cycle');
    expect(said('height,29,30\ncycle,x\n4,1,2\n')[0]).toContain('cycle');
    expect(said('height,29,30\ncycle,1\n4,one,2\n')[0]).toMatch(/^3 29: /);
    const withLine = panelJob(
      {},
      { lines: { edge: { kind: 'sweep', bearings: ['0 ft', '62 ft'], positive: 'north' } } },
    );
    expect(said('cycle,line,station,height,offset\n0,edge,29,8,1\n', withLine)[0]).toContain('not a panel');
  });

  it('have each station once across the head of a sheet: a second one is a slip of the pen, not a repeat', () => {
    const sheet = (head: string) => `height (in),${head}\ncycle,3\n2,0,1/16\n2,0,1/16\n`;
    const said = read(sheet("29 ft,29'-0")).problems.map(
      (p) => `${p.row} ${p.column}: ${p.found} / ${p.expected}`,
    );
    expect(said).toEqual([
      "1 29'-0: a second column of the station 29'-0 / each station once (put repeats in a second row of the height)",
    ]);
    // A height written twice is the same places read twice.
    expect(read(sheet('29 ft,29 ft 6 in')).readings).toHaveLength(4);
  });

  it('are no repeats of one another where only the station is the same, and a copied sheet is found', () => {
    const sheet = (cycle: number, seed: number) => {
      const rows = [4, 8, 12].flatMap((h, i) =>
        [29, 30, 31].map((s, j) => `${cycle},web-3,${s},${h},${((i * 7 + j * 5 + seed) % 15) + 1}/16`),
      );
      return readReadings(
        `cycle,line,station,height,offset\n${rows.join('\n')}\n`,
        readOptions(panelJob(), `readings/${cycle}.csv`),
      ).readings;
    };
    const honest = leaveOutCopies([...sheet(0, 0), ...sheet(1, 3)], []);
    expect(honest.readings).toHaveLength(18);
    const copied = leaveOutCopies([...sheet(0, 0), ...sheet(1, 0)], []);
    expect(copied.readings).toHaveLength(9);
    expect(copied.findings[0]!.severity).toBe('stop');
  });

  it('are looked at for slips height by height, and the doubt names the height', () => {
    const rows = (wrong: boolean) =>
      [4, 8, 12, 16].flatMap((h) =>
        Array.from({ length: 11 }, (_, j) => {
          const x = j / 10;
          const offset = 1 + 0.5 * Math.sin(Math.PI * x) * (h / 16) + (wrong && h === 8 && j === 5 ? 1 : 0);
          return `0,web-3,${28 + 0.5 * j},${h},${offset.toFixed(4)}`;
        }),
      );
    const doubts = (wrong: boolean) =>
      checkReadings(
        read(`cycle,line,station,height,offset\n${rows(wrong).join('\n')}\n`).readings,
        panelJob(),
        [],
      ).doubts;
    expect(doubts(false)).toEqual([]);
    expect(doubts(true)).toHaveLength(1);
    expect(doubts(true)[0]!.message).toMatch(/^Height 8 in\. .*one-inch/);
  });
});
