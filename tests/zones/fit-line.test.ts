import { describe, expect, it } from 'vitest';
import type { LineFit } from '../../src/analysis.ts';
import type { Line, Member } from '../../src/job/job.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { fitLine } from '../../src/zones/fit-line.ts';
import { createCase, DEFAULT_SD } from '../bench/zones-cases.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

const member: Member = {
  span: 60 * FOOT,
  yieldStress: 248.2e6,
  elasticModulus: 199.95e9,
  flangeWidth: 12 * INCH,
  flangeThickness: INCH,
  webThickness: null,
  depth: null,
  steel: null,
  diaphragms: [20 * FOOT, 40 * FOOT],
};
const line: Line = {
  name: 'bottom-flange',
  kind: 'sweep',
  bearings: [0, 60 * FOOT],
  positive: 'toward the shoulder',
  baseline: { method: 'auto' },
  standoff: 0,
  readingSd: null,
  impact: null,
  edgeSteps: [],
};

function readings(points: readonly (readonly [number, number])[], cycle = 0): Reading[] {
  return points.map(([station, offset], i) => ({
    cycle,
    line: 'bottom-flange',
    station,
    offset,
    state: 'released',
    sd: null,
    temperature: null,
    date: null,
    time: null,
    note: null,
    file: `readings/${cycle}.csv`,
    row: i + 2,
  }));
}

function fit(
  points: readonly (readonly [number, number])[],
  changes: Partial<Line> = {},
  whose: Member = member,
): LineFit {
  const used = { ...line, ...changes };
  return fitLine(used, whose, assembleSurveys(readings(points), used), [], DEFAULT_SD, 'us');
}

/** Every number anywhere in the result. */
function numbersOf(value: unknown, found: number[] = []): number[] {
  if (typeof value === 'number') found.push(value);
  else if (value && typeof value === 'object')
    for (const part of Object.values(value)) numbersOf(part, found);
  return found;
}

const every = (spacing: number, offset: (s: number) => number): [number, number][] =>
  Array.from({ length: Math.round((60 * FOOT) / spacing) + 1 }, (_, i) => [i * spacing, offset(i * spacing)]);

describe('degenerate readings give a sensible answer or a clear finding, never NaN', () => {
  const cases: Record<string, [number, number][]> = {
    'one reading': [[3, 0.05]],
    'two readings': [
      [0, 0.05],
      [18, 0.04],
    ],
    'three readings': [
      [0, 0.05],
      [9, 0.1],
      [18.288, 0.04],
    ],
    'all readings at one station': [
      [5, 0.05],
      [5, 0.051],
      [5, 0.049],
    ],
    'all offsets equal': every(2 * FOOT, () => 0.05),
    'one huge outlier': every(2 * FOOT, (s) => (Math.abs(s - 30 * FOOT) < 0.1 ? 100 : 0.05)),
    'only the middle read': every(2 * FOOT, () => 0.05).slice(10, 20),
    'eight readings': every((60 / 7) * FOOT, (s) => 0.05 - 0.02 * Math.min(s, 18.288 - s)),
    'bent at a bearing': every(2 * FOOT, (s) => 0.03 * Math.max(0, 1 - s)),
    'huge offsets': every(2 * FOOT, (s) => 1e3 * Math.sin(s)),
  };
  for (const [name, points] of Object.entries(cases))
    for (const kind of ['sweep', 'camber', 'tilt', 'plumb', 'bulge'] as const)
      it(`${name}, ${kind}`, () => {
        const result = fit(points, { kind });
        expect(numbersOf(result).every(Number.isFinite)).toBe(true);
        expect(result.surveys).toHaveLength(1);
        if (points.length < 8 && kind === 'sweep')
          expect(result.findings.map((f) => f.code)).toContain('too-few-stations');
      });

  it('no survey at all', () => {
    const result = fitLine(line, member, [], [], DEFAULT_SD, 'us');
    expect(result.findings.map((f) => f.code)).toEqual(['no-readings']);
  });
});

describe('fitLine', () => {
  it('finds no zone in straight steel and says the baseline in words', () => {
    const result = fit(every(2 * FOOT, (s) => 0.05 + 0.001 * s + (Math.round(s * 7) % 3) * 0.0005));
    expect(result.zones).toEqual([]);
    expect(result.baseline.method).toBe('bearings');
    expect(result.baseline.reason).toMatch(/bearings/);
    expect(Math.abs(result.surveys[0]!.largest.deviation)).toBeLessThan(INCH / 16);
  });

  it('sets aside a misread inch, names file and row, and keeps it in sight', () => {
    const points = every(2 * FOOT, () => 0.05);
    points[9] = [points[9]![0], 0.05 + INCH];
    const result = fit(points);
    const survey = result.surveys[0]!;
    expect(survey.setAside).toMatchObject([{ file: 'readings/0.csv', row: 11, by: 'rule' }]);
    expect(survey.stations[9]).toMatchObject({ setAside: true });
    expect(survey.stations[9]!.deviation).toBeCloseTo(INCH, 3);
    expect(result.findings.find((f) => f.code === 'reading-set-aside')).toMatchObject({ row: 11 });
  });

  it('honours hand marks: set aside by hand, and reinstated', () => {
    const points = every(2 * FOOT, () => 0.05);
    points[9] = [points[9]![0], 0.05 + INCH];
    const surveys = assembleSurveys(readings(points), line);
    const mark = (row: number, action: 'set-aside' | 'reinstate') => ({
      file: 'readings/0.csv',
      row,
      action,
      who: 'R. Ames',
      why: 'checked on the steel',
      when: '2025-01-01T00:00:00Z',
    });
    const result = fitLine(
      line,
      member,
      surveys,
      [mark(11, 'reinstate'), mark(5, 'set-aside')],
      DEFAULT_SD,
      'us',
    );
    expect(result.surveys[0]!.setAside.map((s) => [s.row, s.by])).toContainEqual([5, 'hand']);
    expect(result.surveys[0]!.setAside.some((s) => s.row === 11)).toBe(false);
  });

  it('finds the zones of a simulated girder (tests/mechanics) and holds them over later cycles', () => {
    const one = createCase('zones/1', true);
    const later = one.set.readings.map((r) => ({
      ...r,
      cycle: 1,
      offset: r.offset * 0.9,
      file: 'readings/1.csv',
    }));
    const used = one.job.lines[0]!;
    const result = fitLine(
      used,
      one.job.member,
      assembleSurveys([...one.set.readings, ...later], used),
      [],
      DEFAULT_SD,
      'us',
    );
    expect(result.zones.length).toBe(2);
    expect(result.surveys).toHaveLength(2);
    result.zones.forEach((zone, j) => {
      const [before, after] = result.surveys.map((s) => s.zones[j]!.rotation);
      expect(after! / before!).toBeCloseTo(0.9, 1);
      expect(Math.abs(zone.rotation - before!)).toBeLessThan(2 * zone.rotationU);
    });
  });
});
