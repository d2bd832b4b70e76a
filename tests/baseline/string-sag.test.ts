import { describe, expect, it } from 'vitest';
import { sagFindings } from '../../src/baseline/string-sag.ts';
import { InputError } from '../../src/input-error.ts';
import type { Line } from '../../src/job/job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { stringSag } from '../../src/job/string-sag.ts';
import type { Reading, Survey } from '../../src/survey/survey.ts';
import { FOOT, INCH, POUND_FORCE } from '../../src/units/factors.ts';
import { fitLine } from '../../src/zones/fit-line.ts';

// Sag w·L²/(8T) of the tape corrections (any surveying text, from memory): lb/ft, ft, lb, sag in inches.
const CASES = [
  [0.00078, 40, 20, 0.0936],
  [0.0002, 60, 10, 0.108],
  [0.0013, 50, 15, 0.325],
  [0.018, 100, 20, 13.5],
] as const;

const jobWith = (line: Record<string, unknown>, kind = 'camber') =>
  parseJob(
    JSON.stringify({
      job: 'Juniper Lane over the canal, girder 4',
      units: 'us',
      member: {
        span: '40 ft',
        yieldStress: '36 ksi',
        flangeWidth: '12 in',
        flangeThickness: '1 in',
        depth: '36 in',
        diaphragms: ['20 ft'],
      },
      lines: { low: { kind, bearings: ['0 ft', '40 ft'], positive: 'up', ...line } },
    }),
  );
const STRING = { weight: '0.00078 lb/ft', tension: '20 lb', positiveIs: 'up' };

describe('sag of the string', () => {
  it.each(CASES)('%s lb/ft over %s ft at %s lb hangs %s in', (w, length, tension, inches) => {
    const string = { weight: (w * POUND_FORCE) / FOOT, tension: tension * POUND_FORCE };
    const ends = [3 * FOOT, (3 + length) * FOOT] as const;
    expect(stringSag(string, ends, (3 + length / 2) * FOOT) / INCH).toBeCloseTo(inches, 9);
    // A parabola: three quarters of it at the quarter points, nothing at the ends and beyond.
    expect(stringSag(string, ends, (3 + length / 4) * FOOT) / INCH).toBeCloseTo(0.75 * inches, 9);
    expect([0, 3, 3 + length, 200].map((at) => stringSag(string, ends, at * FOOT))).toEqual([0, 0, 0, 0]);
  });

  it('is read from the job, weight in N/m and tension in N', () => {
    // 0.00078 lb/ft = 0.0113832 N/m, 20 lb = 88.9644 N (NIST SP 811 B.8: 14.59390 N/m and 4.448222 N, from memory).
    const string = jobWith({ string: STRING }).lines[0]!.string;
    expect(string).toMatchObject({ positiveIs: 'up', ends: null });
    if (string === undefined || string === 'none') throw new Error('no string');
    expect(string.weight).toBeCloseTo(0.00078 * 14.5939, 7);
    expect(string.tension).toBeCloseTo(20 * 4.448222, 4);
    expect(jobWith({ string: 'none' }).lines[0]!.string).toBe('none');
  });

  it.each([
    ['a sideways line', { string: STRING }, 'sweep', 'lines.low.string'],
    ['a slack string', { string: { ...STRING, tension: '0.02 lb' } }, 'camber', 'lines.low.string'],
    ['no tension', { string: { ...STRING, tension: 0 } }, 'camber', 'lines.low.string.tension'],
    ['ends swapped', { string: { ...STRING, ends: [40, 0] } }, 'camber', 'lines.low.string.ends'],
    ['no direction', { string: { ...STRING, positiveIs: undefined } }, 'camber', 'lines.low.string'],
    ['an unknown key', { string: { ...STRING, sag: 1 } }, 'camber', 'lines.low.string'],
  ])('is refused with %s', (_, line, kind, column) => {
    let problems: readonly { column?: string }[] = [];
    try {
      jobWith(line, kind);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      problems = error.problems;
    }
    expect(problems.map((p) => p.column)).toContainEqual(expect.stringContaining(column));
  });

  it.each(['up', 'down'] as const)('is taken off a straight girder read with positive %s', (positiveIs) => {
    const job = jobWith({ string: { ...STRING, positiveIs }, baseline: { method: 'bearings' } });
    const line = job.lines[0]!;
    // The steel is straight and 2 in above the string's ends; the string is 0.0936 in low at mid-length.
    const sign = positiveIs === 'up' ? 1 : -1;
    const readings = Array.from({ length: 21 }, (_, i): Reading => {
      const s = i / 20;
      const offset = sign * (2 + 0.0936 * 4 * s * (1 - s)) * INCH;
      return { ...READING, station: 2 * i * FOOT, offset, row: i + 2 };
    });
    const survey: Survey = { ...SURVEY, readings };
    const deviations = (of: Line) =>
      fitLine(of, job.member, [survey], [], SD, 'us').surveys[0]!.stations.map((s) => s.deviation / INCH);
    expect(Math.max(...deviations(line).map(Math.abs))).toBeLessThan(1e-6);
    const { string: _, ...unsaid } = line;
    expect(deviations(unsaid)[10]! * sign).toBeGreaterThan(0.05);
  });

  it('left unsaid, a note says how much a common string would hang', () => {
    const [note] = sagFindings(jobWith({}).lines[0]!, 'us');
    expect(note).toMatchObject({ severity: 'note', code: 'string-sag-not-taken-off', line: 'low' });
    expect(note!.message).toContain('0.094 in low');
    expect(sagFindings(jobWith({ string: 'none' }).lines[0]!, 'us')).toEqual([]);
    expect(sagFindings(jobWith({}, 'sweep').lines[0]!, 'us')).toEqual([]);
  });
});

const READING: Reading = {
  cycle: 0,
  line: 'low',
  station: 0,
  offset: 0,
  state: 'released',
  sd: null,
  temperature: null,
  date: null,
  time: null,
  note: null,
  file: 'a.csv',
  row: 2,
};
const SURVEY: Survey = {
  line: 'low',
  cycle: 0,
  state: 'released',
  date: null,
  time: null,
  temperature: null,
  readings: [],
};
const SD = { value: INCH / 16, source: 'default' as const, degreesOfFreedom: null, reason: 'default' };
