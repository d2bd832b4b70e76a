import { EXPECTED } from '../maths/coverage-level.ts';
import { tQuantile } from '../maths/t-quantile.ts';

/** What one step of straightening did to a zone: from one judged survey to the next. */
export interface RotationStep {
  /** Heats made (or cycles passed) in this step, above zero. */
  readonly count: number;
  /** Rotation taken out, rad (positive = straighter). */
  readonly rotation: number;
}

export interface HeatsLeft {
  /** Rotation taken out per heat (or cycle), rad. */
  readonly perHeat: number;
  readonly perHeatU: number;
  /** Heats until the whole remaining bend is out; null where none can be given. */
  readonly expected: number | null;
  readonly low: number | null;
  /** Null: may never get there at this rate. */
  readonly high: number | null;
  readonly reason: string;
}

const MOST = 400;

/**
 * Heats left in a zone from what its heats have done so far.
 *
 * Steps are taken as yᵢ = nᵢ·r + noise, with a scatter s from heat to heat (it adds up as nᵢ·s²) and reading
 * noise. r is the whole rotation taken out over all heats, (θ₀ − θₖ)/N: with readings at the ends only, what is
 * read in between cancels. After n further heats the bend left is θₖ − n·r with variance
 * n·s² + (n/N)²·(N·s² + u₀²) + (1 + n/N)²·uₖ² (the last survey enters both terms). The interval is where that
 * passes zero with Student's t on (steps − 1) degrees of freedom; at least two steps are needed.
 *
 * @param remaining |rotation| now, rad, with its standard uncertainty
 * @param startU standard uncertainty of the rotation at the first survey, rad
 */
export function heatsLeft(
  steps: readonly RotationStep[],
  remaining: number,
  remainingU: number,
  startU: number,
  word: 'heats' | 'cycles',
): HeatsLeft {
  const total = sum(steps.map((s) => s.count));
  if (steps.length === 0 || total === 0) {
    return { perHeat: 0, perHeatU: 0, expected: null, low: null, high: null, reason: `no ${word} yet` };
  }
  const perHeat = sum(steps.map((s) => s.rotation)) / total;
  const freedom = steps.length - 1;
  // Reading noise in a step, already inside the observed scatter, is taken out of s² so that it is not added up per heat.
  const raw =
    freedom === 0 ? 0 : sum(steps.map((s) => (s.rotation - s.count * perHeat) ** 2 / s.count)) / freedom;
  const noise = (2 * remainingU ** 2 * steps.length) / total;
  const scatter2 = Math.max(0, raw - noise);
  const perHeatU = Math.sqrt(total * scatter2 + startU ** 2 + remainingU ** 2) / total;
  if (remaining <= remainingU) {
    return {
      perHeat,
      perHeatU,
      expected: 0,
      low: 0,
      high: 0,
      reason: 'no bend left that the readings can see',
    };
  }
  if (freedom === 0) {
    const expected = perHeat > 2 * perHeatU ? Math.ceil(remaining / perHeat) : null;
    return {
      perHeat,
      perHeatU,
      expected: expected !== null && expected <= MOST ? expected : null,
      low: null,
      high: null,
      reason: 'no interval: one step does not show how much single heats differ',
    };
  }
  const t = tQuantile((1 + EXPECTED.level) / 2, freedom);
  const straight = (n: number, side: number) => {
    const share = n / total;
    const variance =
      n * scatter2 + share ** 2 * (total * scatter2 + startU ** 2) + (1 + share) ** 2 * remainingU ** 2;
    return n * perHeat + side * t * Math.sqrt(variance) >= remaining;
  };
  const first = (side: number): number | null => {
    for (let n = 1; n <= MOST; n++) if (straight(n, side)) return n;
    return null;
  };
  const expected = perHeat > 0 ? Math.ceil(remaining / perHeat - 1e-9) : null;
  return {
    perHeat,
    perHeatU,
    expected: expected !== null && expected <= MOST ? expected : null,
    low: first(1),
    high: first(-1),
    reason:
      expected === null
        ? `the ${word} took nothing out of this zone`
        : `to take the whole bend out, from ${total} ${word}`,
  };
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
