import { describe, expect, it } from 'vitest';
import type { SurveyFit } from '../../src/analysis.ts';
import { normalQuantile } from '../../src/maths/distributions.ts';
import { INCH } from '../../src/units/factors.ts';
import { CLOSURE_LEVEL, closureOf, compareClosures, type Tie } from '../../src/zones/closure.ts';
import { fitOf } from '../line-fit-builder.ts';
import { createRandom } from '../mechanics/random.ts';

const FOOT = 0.3048;
const U = INCH / 16;
/** Eleven ties every 4 ft, two reaches (0–16 ft and 28–48 ft), off by these many inches. */
const STATIONS = [0, 4, 8, 12, 16, 28, 32, 36, 40, 44, 48];
const tiesOff = (inches: readonly number[]): Tie[] =>
  STATIONS.map((at, i) => ({
    station: at * FOOT,
    residual: (inches[i] ?? 0) * INCH,
    u: U,
    reach: at < 20 ? 0 : 1,
  }));

describe('string closure', () => {
  it('calls out a clean survey no oftener than it says, with many ties as with few', () => {
    const random = createRandom('closure');
    for (const count of [5, 20, 60]) {
      const surveys = count === 60 ? 1500 : 4000;
      let called = 0;
      for (let s = 0; s < surveys; s++) {
        const ties = Array.from({ length: count }, (_, i) => ({
          station: i,
          residual: U * random.normal(),
          u: U,
          reach: i < count / 2 ? 0 : 1,
        }));
        if (!closureOf(ties, 'us').agrees) called++;
      }
      // Binomial: mean 0.5 %, and three of its sds above that.
      const most = CLOSURE_LEVEL + 3 * Math.sqrt((CLOSURE_LEVEL * (1 - CLOSURE_LEVEL)) / surveys);
      expect(called / surveys).toBeLessThan(most);
    }
  });

  it('holds one tie among 11 (36 runs) to 3.81 u: Bonferroni at 0.5 %, two-sided, normal table 0.99993', () => {
    // Runs within reaches of 5 and 6 ties: 15 + 21 = 36; 1 − 0.005/72 = 0.9999306; Φ⁻¹ = 3.81 (normal table, from memory).
    const alone = (u: number) => closureOf(tiesOff([0, 0, u / 16]), 'us').agrees;
    expect(alone(3.77)).toBe(true);
    expect(alone(3.84)).toBe(false);
  });

  it('names one tie alone with its value', () => {
    const { message, ties } = closureOf(tiesOff([0, 0, 5 / 16]), 'us');
    expect(ties.filter((tie) => tie.off)).toHaveLength(1);
    expect(message).toContain('8\'-0" alone is off by +5/16 in (u 0.063 in)');
  });

  it('sees an end that moved though no tie alone is far off, and a stretch with both ends standing', () => {
    const end = closureOf(tiesOff([0, 0, 0, 0, 0, 0, 0, 0.15, 0.15, 0.15, 0.15]), 'us');
    expect(end.message).toContain(
      '36\'-0" to 48\'-0" (4 ties, the high-station end) are off together by +5/32 in',
    );
    const low = closureOf(tiesOff([-0.17, -0.17, -0.17]), 'si');
    expect(low.message).toContain('0 m to 2.438 m (3 ties, the low-station end)');
    const middle = closureOf(tiesOff([0, 0.17, 0.17, 0.17]), 'us');
    expect(middle.message).toContain('(3 ties, part of the line, both ends agreeing)');
  });

  it('does not run ties together across the bent stretch', () => {
    const { ties } = closureOf(tiesOff([0, 0, 0, 0.14, 0.14, 0.14, 0.14]), 'us');
    expect(ties.every((tie) => !tie.off)).toBe(true);
  });

  it('says whether they lay so the cycle before', () => {
    const survey = (
      cycle: number,
      inches: readonly number[],
      state: 'released' | 'restrained' = 'released',
    ) => ({
      ...fitOf([{ cycle, shape: () => 0, state }]).surveys[0]!,
      closure: closureOf(tiesOff(inches), 'us'),
    });
    const said = (fits: SurveyFit[]) => compareClosures(fits, 'us').at(-1)!.closure.message;
    const off = [0.25, 0.25, 0.25];
    expect(said([survey(0, []), survey(1, off)])).toContain(
      'In cycle 0 they agreed: this moved since, by +1/4 in',
    );
    expect(said([survey(0, off), survey(1, off)])).toContain('They lay the same way in cycle 0');
    // A survey with the jacks on is no measure of one with the jacks off.
    expect(said([survey(0, off), survey(1, [], 'restrained'), survey(1, off)])).toContain('in cycle 0');
    expect(said([survey(1, off)])).not.toContain('cycle');
  });
});

describe('ties as dense as a scan', () => {
  /** The rule as it is put into words: every run past the limit that overlaps no plainer one. */
  const offByTheRule = (ties: readonly Tie[]): number[] => {
    const runs: { from: number; to: number; z: number }[] = [];
    for (let from = 0; from < ties.length; from++) {
      let sum = 0;
      for (let to = from + 1; to <= ties.length && ties[to - 1]!.reach === ties[from]!.reach; to++) {
        sum += ties[to - 1]!.residual / ties[to - 1]!.u;
        runs.push({ from, to, z: sum / Math.sqrt(to - from) });
      }
    }
    const limit = normalQuantile(1 - CLOSURE_LEVEL / (2 * runs.length));
    const past = runs.filter((run) => Math.abs(run.z) > limit).sort((a, b) => Math.abs(b.z) - Math.abs(a.z));
    const named = past.filter(
      (run, i) => !past.slice(0, i).some((other) => run.from < other.to && other.from < run.to),
    );
    return ties.flatMap((_, i) => (named.some((run) => i >= run.from && i < run.to) ? [i] : []));
  };

  it('are judged by the same rule: 300 random surveys with shifts, single ties and equals among them', () => {
    const random = createRandom('dense ties');
    let off = 0;
    for (let survey = 0; survey < 300; survey++) {
      const count = 3 + Math.floor(random.uniform() * 40);
      const [at, to] = [random.uniform() * count, random.uniform() * count];
      const shift = random.normal() * 4;
      const ties = Array.from({ length: count }, (_, i): Tie => {
        const moved = i >= Math.min(at, to) && i < Math.max(at, to) ? shift : 0;
        // Whole numbers in every third survey, so that runs come out equal.
        const z = random.normal() + moved;
        return {
          station: i,
          residual: survey % 3 === 0 ? Math.round(z) : z,
          u: survey % 3 === 0 ? 1 : 0.5 + random.uniform(),
          reach: i < count / 2 ? 0 : 1,
        };
      });
      const judged = closureOf(ties, 'si').ties.flatMap((tie, i) => (tie.off ? [i] : []));
      expect(judged).toEqual(offByTheRule(ties));
      off += judged.length > 0 ? 1 : 0;
    }
    expect(off).toBeGreaterThan(50);
    expect(off).toBeLessThan(290);
  });

  it('that all lie off are one finding, among eight million runs', () => {
    const ties = Array.from(
      { length: 4000 },
      (_, i): Tie => ({ station: i * 0.0254, residual: i < 2500 ? 0.004 : 0, u: 0.001, reach: 0 }),
    );
    const { agrees, message } = closureOf(ties, 'si');
    expect(agrees).toBe(false);
    expect(message).toContain('(2500 ties, the low-station end) are off together');
  });
});
