import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { Verdict } from '../../src/analysis.ts';
import { heatsOfJob } from '../../src/heats/heats-of-job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { planJob } from '../../src/plan/plan.ts';
import { createRandom } from '../../src/practice/random.ts';
import type { Reading } from '../../src/survey/survey.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

const job = (plates: boolean) =>
  parseJob(
    JSON.stringify({
      ...{ job: 'Wickerwork Lane over the ditch', units: 'us' },
      member: {
        ...{ span: '40 ft', yieldStress: '36 ksi', steel: 'A36', diaphragms: ['12 ft', '28 ft'] },
        ...{ flangeWidth: '12 in', flangeThickness: '3/4 in' },
      },
      lines: { edge: { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'north' } },
      acceptance: [{ line: 'edge', limit: '1/2 in', over: 'whole line' }],
      restraint: { importance: 'secondary', fraction: 0.3, fractionSource: 'the test' },
      jacks: [{ name: 'a', station: '20 ft', ramArea: '5 in2' }],
      ...(plates ? { plan: { days: { plating: 3 } } } : {}),
    }),
  );

/** One bend at 20 ft, drawn by hand (two straight lines), standing `crests` out survey by survey, read to 1/16 in. */
function surveys(seed: string, crests: readonly number[]): Reading[] {
  const random = createRandom(seed);
  return crests.flatMap((crest, cycle) =>
    Array.from({ length: 11 }, (_, i): Reading => {
      const station = 4 * i * FOOT;
      const seen = crest * (1 - Math.abs(i - 5) / 5) + (INCH / 32) * random.normal();
      return {
        ...{ cycle, line: 'edge', station, offset: Math.round((16 * seen) / INCH) * (INCH / 16) },
        ...{ state: 'released', sd: null, temperature: null, date: null, time: null, note: null },
        ...{ file: `readings/${cycle}.csv`, row: i + 2 },
      };
    }),
  );
}

/** Random courses of the work: a start, a gain a cycle with scatter, at times one that stops or turns. */
const courses = Array.from({ length: 14 }, (_, i) => {
  const random = createRandom(`course ${i}`);
  const count = random.integer(1, 9);
  const gain = random.pick([0.3, 0.2, 0.1, 0, -0.25]) * INCH;
  let crest = random.between(1.5, 3) * INCH;
  return Array.from({ length: count + 1 }, (_, cycle) => {
    if (cycle > 0) crest -= gain * (0.8 + 0.4 * random.uniform());
    return crest;
  });
});
courses.push(
  [2, 1.4, 0.8, 0.2].map((inches) => inches * INCH),
  [2, 1.2, 0.4, -0.9].map((inches) => inches * INCH),
);

describe('a plan and the status', () => {
  it('never disagree: one movement, on random jobs', () => {
    const met = new Map<string, number>();
    courses.forEach((crests, i) => {
      const read = analyse(job(false), surveys(`${i}`, crests), []);
      for (const plates of [false, true]) {
        const analysis = { ...read, job: job(plates) };
        const heats = heatsOfJob(analysis, { heats: [], gasUnit: null, currency: null });
        const [entry] = analysis.lines;
        const { verdict, cyclesLeft, probabilityWithin, series } = entry!.progress;
        const { plan, reason, needed } = planJob({ analysis, heats, past: [] });
        const where = `course ${i}, ${verdict}`;
        const kind = plan === null ? `refused: ${verdict}` : plan.basis;
        met.set(kind, (met.get(kind) ?? 0) + 1);
        const against: readonly Verdict[] = ['stalled', 'regressing', 'overcorrected'];
        if (against.includes(verdict)) {
          if (verdict === 'stalled' && plates) {
            expect(plan, where).toMatchObject({
              basis: 'plates',
              cycles: null,
              vees: null,
              probability: null,
            });
          } else {
            expect(plan, where).toBeNull();
            expect(reason, where).toContain(`"${verdict}"`);
            expect(needed, where).toMatch(/read again|readings that show it moving again/);
          }
        } else if (verdict === 'within-tolerance') {
          expect(plan, where).toMatchObject({ basis: 'done', cycles: null, probability: null });
        } else if (series.length > 2 && cyclesLeft !== null) {
          expect(plan!.basis, where).toBe('readings');
          expect(plan!.cycles?.low ?? Number.POSITIVE_INFINITY, where).toBeGreaterThanOrEqual(
            Math.ceil(cyclesLeft.low) - 1,
          );
          if (plan!.cycles !== null) {
            expect(Math.abs(plan!.cycles.median - Math.ceil(cyclesLeft.expected)), where).toBeLessThanOrEqual(
              1,
            );
          }
          // Two thousand futures: four standard errors of a share.
          expect(Math.abs(plan!.probability! - (probabilityWithin ?? 1)), where).toBeLessThan(0.045);
        } else {
          expect(plan!.basis, where).toBe('as-found');
        }
      }
    });
    // The cases that matter have all been met.
    const kinds = [...met.keys()].join(', ');
    for (const kind of ['readings', 'as-found', 'done', 'plates', 'refused: overcorrected']) {
      expect(kinds).toContain(kind);
    }
    expect(kinds).toMatch(/refused: (stalled|regressing)/);
  }, 120_000);
});
