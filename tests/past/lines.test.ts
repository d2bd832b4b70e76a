import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { sumCosts } from '../../src/costs/sums.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { heatsOfJob } from '../../src/heats/heats-of-job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { distil } from '../../src/past/distil.ts';
import { type JobLikeness, learn, likenessOf, weigh } from '../../src/past/quantities.ts';
import {
  linesOf,
  type PastRecord,
  type PastRecordNow,
  parsePastRecord,
  pastLineText,
  readPastJobs,
} from '../../src/past/record.ts';
import { hindsight } from '../../src/plan/hindsight.ts';
import { sha256Hex } from '../../src/sha256.ts';
import type { Reading } from '../../src/survey/survey.ts';

/**
 * A job typed out by hand: two flanges of a bend each (two straight lines meeting at midspan), the tilt of one, a bulge of the
 * web. The crew is at the bottom flange in cycles 1 to 3, at the top flange in 4 and 5, at the web in 6 and 7; inches.
 */
const INCH = 0.0254;
const FOOT = 0.3048;
const CRESTS = {
  'bottom-flange': [3, 2.2, 1.3, 0.4, 0.4, 0.4, 0.4, 0.4],
  'top-flange': [2, 2, 2, 2, 1.2, 0.4, 0.4, 0.4],
  'bottom-tilt': [1.2, 0.8, 0.5, 0.3, 0.3, 0.3, 0.3, 0.3],
  'web-bulge': [1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 0.9, 0.3],
} as const;
const LINES = {
  'bottom-flange': { kind: 'sweep', part: 'bottom-flange' },
  'top-flange': { kind: 'sweep', part: 'top-flange' },
  'bottom-tilt': { kind: 'tilt', part: 'bottom-flange' },
  'web-bulge': { kind: 'bulge', part: 'web' },
} as const;
const names = Object.keys(LINES) as (keyof typeof LINES)[];
const job = parseJob(
  JSON.stringify({
    ...{ job: 'Ropewalk over the mill race', units: 'us' },
    member: {
      ...{ span: '40 ft', yieldStress: '36 ksi', steel: 'A36', diaphragms: ['12 ft', '28 ft'] },
      ...{ flangeWidth: '12 in', flangeThickness: '3/4 in' },
    },
    lines: Object.fromEntries(
      names.map((name) => [name, { ...LINES[name], bearings: ['0 ft', '40 ft'], positive: 'north' }]),
    ),
    acceptance: names.map((line) => ({ line, limit: '1/2 in', over: 'whole line' })),
    heating: { temperature: '1150 F' },
  }),
);
const readings = names.flatMap((line) =>
  CRESTS[line].flatMap((crest, cycle) =>
    Array.from({ length: 11 }, (_, i): Reading => {
      // A sheet read twice alike to the last digit would be taken for a copy.
      const read = (((5 * cycle + 3 * i + line.length) % 11) % 5) - 2;
      const offset = crest * INCH * (1 - Math.abs(i - 5) / 5) + read * (INCH / 64);
      return {
        ...{ cycle, line, station: 4 * i * FOOT, offset, state: 'released', sd: null },
        ...{ temperature: null, date: null, time: null, note: null },
        ...{ file: `readings/${line}-${cycle}.csv`, row: i + 2 },
      };
    }),
  ),
);
const log = readHeatLog(
  [
    'cycle,line,station (ft),pattern',
    ...[1, 2, 3].flatMap((cycle) => Array(4).fill(`${cycle},bottom-flange,20,vee`)),
    ...[4, 5].flatMap((cycle) => Array(4).fill(`${cycle},top-flange,20,vee`)),
    ...[6, 7].map((cycle) => `${cycle},web-bulge,20,spot`),
  ].join('\n'),
  job,
  'heats.csv',
).log!;
const analysis = analyse(job, readings, []);
const record = distil({
  analysis,
  heats: heatsOfJob(analysis, log),
  costs: sumCosts({ entries: [], currency: null } as never, log, null),
  verdicts: [],
  ...{ outcome: 'within', crewJobs: 2 },
});

describe('the record of a job of two flanges, a tilt and a panel', () => {
  it('holds every line with what was found on it, its heats and its course', () => {
    expect(record.schema).toBe('sweepbook/past/2');
    const told = linesOf(record).map(({ line, kind, part, heatedCycles, largestByCycle }) => ({
      ...{ line, kind, part, heatedCycles },
      found: largestByCycle[0]!.largest / INCH,
      left: largestByCycle.at(-1)!.largest / INCH,
    }));
    const near = (value: number) => expect.closeTo(value, 1);
    expect(told).toEqual([
      {
        line: 'bottom-flange',
        kind: 'sweep',
        part: 'bottom flange',
        heatedCycles: 3,
        found: near(3),
        left: near(0.4),
      },
      {
        line: 'top-flange',
        kind: 'sweep',
        part: 'top flange',
        heatedCycles: 2,
        found: near(2),
        left: near(0.4),
      },
      {
        line: 'bottom-tilt',
        kind: 'tilt',
        part: 'bottom flange',
        heatedCycles: 0,
        found: near(1.2),
        left: near(0.3),
      },
      {
        line: 'web-bulge',
        kind: 'bulge',
        part: 'web-bulge',
        heatedCycles: 2,
        found: near(1.5),
        left: near(0.3),
      },
    ]);
    expect(record.damage.zones.length).toBeGreaterThan(0);
    expect(record.beside![0]!.zones.length).toBeGreaterThan(0);
    expect(record).toMatchObject({ cycles: 7, vees: 20, veeCycles: 5 });
    // The bottom flange lies still in cycles 4 to 7 because the crew is elsewhere: no cycle of the job was dead.
    expect(record.deadCycles).toBe(0);
  });

  it('is read back as it was written, and its bulge teaches: 0.8 of it in two cycles is 0.4 a cycle', () => {
    const { lines, problems } = readPastJobs(pastLineText(record, sha256Hex), 'past.jsonl', sha256Hex);
    expect(problems).toEqual([]);
    expect(lines[0]!.record).toEqual(record);
    const here: JobLikeness = likenessOf(record);
    const money = { currency: null, gasUnit: null };
    const none = learn('bulgeShare', [], here, null, money)!;
    const from = learn('bulgeShare', weigh(Array(30).fill(record), here), here, null, money)!;
    expect(none.median).toBeCloseTo(1 / 8, 3);
    expect(from.median).toBeGreaterThan(0.36);
    expect(from.median).toBeLessThan(0.41);
    expect(from.source).toContain('from 30 past jobs');
    // Heats that were not logged say nothing of a pace.
    const unlogged = { ...record, beside: record.beside!.map((each) => ({ ...each, heatedCycles: null })) };
    expect(learn('bulgeShare', weigh([unlogged], here), here, null, money)!.jobs).toEqual([]);
  });

  it('is forecast as all of it; from the furthest line alone, as version 1 had it, it comes out short', () => {
    const cycles = (of: PastRecord, at = 0) => hindsight(of, [], at).find((each) => each.of === 'cycles')!;
    const { beside, ...rest } = record;
    const [top, tilt, bulge] = beside!;
    const only: PastRecordNow = { ...record, beside: [] };
    const flanges: PastRecordNow = { ...record, beside: [top!] };
    const [whole, one, two] = [cycles(record), cycles(only), cycles(flanges)];
    // 1.5 in of 2 to take out beside 2.5 of 3; a bulge from 1.5 in to the limit at an eighth a cycle is some six or seven more.
    for (const end of ['low', 'median', 'high'] as const) expect(two[end]).toBeGreaterThan(one[end]);
    expect(two.high).toBeLessThan(2 * one.high);
    expect(whole.median - two.median).toBeGreaterThanOrEqual(4);
    expect(whole.median - two.median).toBeLessThanOrEqual(9);
    // A tilt comes in with its flange, a second edge of it too; what was inside its limit needs nothing.
    expect(
      cycles({
        ...record,
        beside: [tilt!, { ...top!, part: 'bottom flange' }, { ...top!, largest: 0.4 * INCH }],
      }),
    ).toEqual(one);
    const { line: _l, kind: _k, part: _p, heatedCycles: _h, ...damage } = record.damage;
    expect(cycles({ ...rest, schema: 'sweepbook/past/1', damage })).toEqual(one);
    // At two thirds (after cycle 4) the bottom flange is in: what is left is the top flange's second half and the bulge.
    const later = cycles(record, 2 / 3);
    expect(later.low).toBeGreaterThanOrEqual(4 + 1);
    expect(later.median).toBeLessThan(whole.median);
    // A job of one panel and nothing else is forecast too; it was in no record before.
    const { largestByCycle, ...found } = bulge!;
    const panel = cycles({ ...record, damage: found, largestByCycle, beside: [] });
    expect(Math.abs(panel.median - (whole.median - two.median))).toBeLessThanOrEqual(2);
  });
});

describe('records of both versions', () => {
  const read = (file: string) =>
    readPastJobs(readFileSync(new URL(`versions/${file}`, import.meta.url), 'utf8'), file, sha256Hex);

  it('a file of version 1 gives the forecasts it gave when it was the newest', () => {
    const first = read('past-1.jsonl').lines[0]!.record;
    const cycles = (at: number) => {
      const { low, median, high } = hindsight(first, [], at).find((each) => each.of === 'cycles')!;
      return [low, median, high];
    };
    // Written down from the program that wrote version 1.
    expect([cycles(0), cycles(2 / 3)]).toEqual([
      [6, 12, 25],
      [10, 11, 14],
    ]);
  });

  it('faults are told against the version a record says it is; without one it is the newest', () => {
    const typed = {
      ...{ job: 'Old Forge Lane', units: 'us', spans: '60 ft', outcome: 'within', cycles: 14 },
      section: { flangeWidth: '12 in', flangeThickness: '3/4 in', yieldStress: '36 ksi' },
      damage: { largest: '7 1/2 in', zones: [{ rotation: '4.5 deg' }] },
    };
    const parse = (of: object) => parsePastRecord(JSON.stringify(of), 'old.json');
    expect(parse(typed)).toMatchObject({ schema: 'sweepbook/past/2', beside: null, damage: { kind: null } });
    expect(parse({ ...typed, schema: 'sweepbook/past/1' })).not.toHaveProperty('beside');
    const full = parse({
      ...typed,
      damage: { ...typed.damage, part: 'bottom flange' },
      beside: [
        { kind: 'bulge', largest: '1 1/2 in', limit: '1/4 in' },
        { line: 'top', kind: 'sweep', largest: '2 in', zones: [{ rotation: '1 deg', station: '30 ft' }] },
      ],
    });
    expect(linesOf(full).map(({ part }) => part)).toEqual(['bottom flange', 'line 2', 'top']);
    expect(linesOf(full)[1]!.largest).toBeCloseTo(0.0381, 9);
    expect(linesOf(full)[2]!.zones[0]!.station).toBeCloseTo(9.144, 9);
    const fault = (of: object) => {
      try {
        parse(of);
      } catch (error) {
        return String((error as { problems?: { column: string }[] }).problems?.map((each) => each.column));
      }
      return 'none';
    };
    expect(fault({ ...typed, schema: 'sweepbook/past/1', beside: [] })).toBe('beside');
    expect(fault({ ...typed, beside: [{ largest: '2 in' }] })).toBe('beside[0].kind');
    expect(fault({ ...typed, beside: [{ kind: 'bulge', largest: 38 }] })).toBe('beside[0].largest');
    expect(fault({ ...typed, schema: 'sweepbook/past/3' })).toBe('schema');
  });
});
