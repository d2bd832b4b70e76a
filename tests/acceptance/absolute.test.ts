import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { InputError } from '../../src/input-error.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { statusDocument } from '../../src/status/status-document.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { formatLimit } from '../../src/units/format-length.ts';

/** An invented girder of 70 ft with one line of the kind, read every 5 ft; `more` goes over job.json. */
function job(kind: string, limit: string, line: object = {}, more: object = {}, rule: object = {}) {
  return {
    job: 'Heron Lane, girder 2 (invented)',
    units: 'us',
    member: { span: '70 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
    lines: { web: { kind, bearings: ['0 ft', '70 ft'], positive: 'top leans north', ...line } },
    acceptance: [{ line: 'web', limit, over: 'whole line', source: 'made up for this check', ...rule }],
    ...more,
  };
}

function judged(given: object, cycles: readonly ((feet: number) => number)[], files: object = {}) {
  const parsed = parseJob(JSON.stringify(given), {
    readText: (file) => (files as Record<string, string>)[file] ?? null,
  });
  const readings = cycles.flatMap((inches, cycle) =>
    Array.from(
      { length: 15 },
      (_, i): Reading => ({
        cycle,
        line: 'web',
        station: i * 5 * FOOT,
        offset: inches(i * 5) * INCH,
        state: 'released',
        sd: null,
        temperature: null,
        date: null,
        time: null,
        note: null,
        file: 'readings/web.csv',
        row: 2 + i + 15 * cycle,
      }),
    ),
  );
  return analyse(parsed, readings);
}

const first = (analysis: ReturnType<typeof judged>) => analysis.lines[0]!.acceptance[0]!;
const inches = (metres: number | null | undefined) => (metres ?? Number.NaN) / INCH;
const refusal = (given: object): string => {
  try {
    parseJob(JSON.stringify(given));
  } catch (error) {
    if (error instanceof InputError) return JSON.stringify(error.problems);
    throw error;
  }
  return 'not refused';
};

describe('tilt and plumb stand as they are read (SPD 4-100: web out of plumb 1/4 in, flange tilt 3/8 in, SEEN)', () => {
  it('a web that leans 0 to 1 in along 70 ft is 1 in out of plumb at its end', () => {
    const result = first(judged(job('plumb', '1/4 in'), [(x) => x / 70]));
    expect(result.result).toBe('outside');
    expect(inches(result.measured)).toBeCloseTo(1, 9);
    expect(result.at!.station / FOOT).toBeCloseTo(70, 9);
    // One reading against the vertical: its error is that of the reading alone, 1/16 in.
    expect(inches(result.u)).toBeCloseTo(1 / 16, 6);
  });

  it('a flange tilted 1 in everywhere is 1 in tilted', () => {
    const result = first(judged(job('tilt', '3/8 in', { baseline: 'level' }), [() => 1]));
    expect([result.result, inches(result.measured)]).toEqual(['outside', expect.closeTo(1, 9)]);
  });

  it('the value and its change since as found are both given: -1 1/4 in, then -1/8 in', () => {
    const analysis = judged(job('plumb', '1/4 in'), [(x) => (-1.25 * x) / 70, (x) => (-0.125 * x) / 70]);
    const result = first(analysis);
    expect(inches(result.measured)).toBeCloseTo(0.125, 9);
    expect(inches(result.sinceAsFound!.change)).toBeCloseTo(1.125, 9);
    expect(inches(result.sinceAsFound!.u)).toBeCloseTo(Math.SQRT2 / 16, 6);
    expect(result.reason).toContain('it was -1 1/4 in there as found, a change of +1 1/8 in');
    const line = statusDocument(analysis).lines[0]!;
    expect(line.baseline.method).toBe('absolute');
    expect(inches(line.acceptance[0]!.sinceAsFound!.change)).toBeCloseTo(1.125, 9);
  });

  it('a cited as-built value and a reference profile are taken off as they stand, not laid through the readings', () => {
    const built = { baseline: { method: 'as-built', offset: '1/2 in', source: 'erection survey, sheet 3' } };
    const value = judged(job('plumb', '1/4 in', built), [(x) => 0.5 + x / 70]);
    expect(inches(first(value).measured)).toBeCloseTo(1, 9);
    expect(value.lines[0]!.fit.baseline.reason).toContain('erection survey, sheet 3');
    const profile = { baseline: { method: 'reference', file: 'shop.csv' } };
    const shop = judged(job('tilt', '1/4 in', profile), [() => 0.75], {
      'shop.csv': 'station (ft),offset (in)\n0,0.5\n70,0.5\n',
    });
    expect(inches(first(shop).measured)).toBeCloseTo(0.25, 9);
  });

  it('a baseline through the member’s own readings is refused, and so is a vertical for a flange', () => {
    expect(refusal(job('plumb', '1/4 in', { baseline: { method: 'undamaged' } }))).toContain('never against');
    expect(refusal(job('tilt', '1/4 in', { baseline: { method: 'bearings' } }))).toContain('never against');
    expect(refusal(job('tilt', '1/4 in', { baseline: 'vertical' }))).toContain('square to the web');
    expect(refusal(job('plumb', '1/4 in', { baseline: 'level' }))).toContain('vertical');
    expect(refusal(job('sweep', '1/4 in', { baseline: 'level' }))).toContain('tilt and plumb lines only');
    expect(refusal(job('plumb', '1/4 in', { baseline: { method: 'as-built', offset: '1/4 in' } }))).toContain(
      'source',
    );
  });

  it('a tilt whose zero the job leaves unsaid carries a note', () => {
    const codes = (line: object) =>
      judged(job('tilt', '1/2 in', line), [() => 0.1]).findings.map((finding) => finding.code);
    expect(codes({})).toContain('tilt-reference-not-said');
    expect(codes({ baseline: 'square to the web' })).not.toContain('tilt-reference-not-said');
  });
});

describe('a tilt limit at the edges from the web (AWS D1.1, from memory of it)', () => {
  // The clause measures at the toe from a line square to the web: half of what is read from edge to edge.
  const edges = { edges: 'from the web' };
  it('0.40 in edge to edge is 0.20 in at each edge: inside 1/4 in with repeats enough, where edge to edge is outside', () => {
    const sharp = { baseline: 'square to the web', readingSd: '0.01 in' };
    const byEdge = first(judged(job('tilt', '1/4 in', sharp, {}, edges), [() => 0.4]));
    expect([inches(byEdge.measured), inches(byEdge.u)]).toEqual([
      expect.closeTo(0.2, 9),
      expect.closeTo(0.005, 9),
    ]);
    expect(byEdge.result).toBe('within');
    expect(first(judged(job('tilt', '1/4 in', sharp), [() => 0.4])).result).toBe('outside');
  });

  it('is for tilt lines only', () => {
    expect(refusal(job('plumb', '1/4 in', {}, {}, edges))).toContain('tilt line');
  });
});

describe('decision rule (JCGM 106:2012, 8.2 simple and 8.3.2 guarded acceptance; clause numbers from memory)', () => {
  const sd = { readingSd: '0.05 in' };
  const at = (reading: number, more: object = {}) =>
    first(judged(job('plumb', '1/4 in', sd, more), [() => reading]));

  it('guarded is the default and needs the guard band: 0.20 in with u 0.05 in cannot be told from 1/4 in', () => {
    expect(at(0.2).result).toBe('undetermined');
    expect(at(0.2).reason).toContain('8.3.2');
    expect(at(0.14).result).toBe('within');
  });

  it('simple takes the reading itself, says so and says the chance: 84 % inside at one u below the limit', () => {
    const simple = { decisionRule: 'simple' };
    expect(at(0.2, simple).result).toBe('within');
    expect(at(0.2, simple).reason).toContain('simple acceptance, JCGM 106:2012, 8.2');
    expect(at(0.2, simple).reason).toContain('84 %');
    expect(at(0.26, simple).result).toBe('outside');
    const document = statusDocument(judged(job('plumb', '1/4 in', sd, simple), [() => 0.2]));
    expect(document.lines[0]!.acceptance[0]!.decisionRule).toBe('simple');
  });

  it('any other word is refused', () => {
    expect(refusal(job('plumb', '1/4 in', {}, { decisionRule: 'lenient' }))).toContain('guarded');
  });
});

describe('limits at their own resolution', () => {
  it('0.600 in is not 5/8; sixty-fourths stay; millimetres are not cut', () => {
    expect(formatLimit(0.6 * INCH, 'us')).toBe('0.6 in');
    expect(formatLimit(INCH / 2, 'us')).toBe('1/2 in');
    expect(formatLimit((17 / 64) * INCH, 'us')).toBe('17/64 in');
    expect(formatLimit(0.2268 * INCH, 'us')).toBe('0.2268 in');
    expect(formatLimit(0.0127, 'si')).toBe('12.7 mm');
    expect(formatLimit(0.012, 'si')).toBe('12.0 mm');
    expect(formatLimit(0.009525, 'si')).toBe('9.525 mm');
    expect(first(judged(job('plumb', '0.600 in'), [() => 0])).reason).toContain('inside 0.6 in');
  });
});
