/**
 * What could be known from the same readings: a judge who is told how campaigns are drawn (all but what this one is), the
 * shape of the bend, the reading error and the scatter of heats, weighs every campaign that could have been by Bayes'
 * rule and speaks by the tool's own rule. Its odds are likelihood ratios, so by the Neyman–Pearson lemma no test on these
 * readings tells a useful rate from a useless one better, on the average over such campaigns. Nothing of the tool enters but
 * the rule. (One scatter of the largest deviation stands for that of every zone.)
 */
import type { Verdict } from '../../src/analysis.ts';
import { solveLeastSquares } from '../../src/maths/least-squares.ts';
import { SURE } from '../../src/progress/judge-rate.ts';
import { nominalRate } from '../mechanics/campaign.ts';
import { type PossibleProcess, USEFUL_GAIN } from './verdict-cases.ts';

/** Scatter of one cycle's movement in the simulation. */
const SCATTER = 0.25;
/** Chance of twice the useful gain a stall may leave. */
const RULED_OUT = 0.02;
/** A rate below this share of the useful gain is a standstill. */
const STILL = 0.25;

/** The largest deviation as one survey tells it to one who knows the shape. */
export interface KnownReading {
  readonly value: number;
  readonly u: number;
}

/**
 * Least squares on the true shape with the string's offset and tilt free; rounding counts as a uniform error.
 *
 * @param read offsets from the string, m, at the stations
 * @param shape true deviation there, m
 * @param largest true |deviation| where it is largest, m
 */
export function knownReading(
  stations: readonly number[],
  read: readonly number[],
  shape: readonly number[],
  largest: number,
  sd: number,
  rounding: number,
): KnownReading {
  const fit = solveLeastSquares([stations.map(() => 1), stations, shape], read);
  return {
    value: fit.coefficients[2]! * largest,
    u: Math.sqrt(fit.unscaledCovariance[2]![2]! * (sd ** 2 + rounding ** 2 / 12)) * largest,
  };
}

/** What the one who knows thinks of the present rate. */
export interface KnownOdds {
  /** Chances of a rate below the useful gain now, in this and the two cycles before, of a standstill, and of twice the gain. */
  readonly below: number;
  readonly three: number;
  readonly still: number;
  readonly twice: number;
}

/** By cycle, from the first after the as-found survey: a Kalman filter of the level for each campaign that could have been. */
export function knowingOdds(
  possible: readonly PossibleProcess[],
  read: readonly KnownReading[],
): KnownOdds[] {
  const [first, ...later] = read;
  const each = possible.map(({ process, weight }) => ({
    process,
    level: first!.value,
    variance: first!.u ** 2,
    log: Math.log(weight),
    rate: 0,
    below: 0,
  }));
  return later.map(({ value, u }, i) => {
    let top = Number.NEGATIVE_INFINITY;
    for (const h of each) {
      h.rate = nominalRate(h.process, i + 1);
      const before = h.variance + (SCATTER * h.rate) ** 2;
      const spread = before + u ** 2;
      const off = value - (h.level - h.rate);
      h.log -= 0.5 * (Math.log(spread) + off ** 2 / spread);
      h.level += -h.rate + (before / spread) * off;
      h.variance = (before * u ** 2) / spread;
      h.below = h.rate < USEFUL_GAIN ? h.below + 1 : 0;
      if (h.log > top) top = h.log;
    }
    let [all, below, three, still, twice] = [0, 0, 0, 0, 0];
    for (const h of each) {
      const weight = Math.exp(h.log - top);
      all += weight;
      if (h.below > 0) below += weight;
      if (h.below >= 3) three += weight;
      if (h.rate < STILL * USEFUL_GAIN) still += weight;
      if (h.rate >= 2 * USEFUL_GAIN) twice += weight;
    }
    return { below: below / all, three: three / all, still: still / all, twice: twice / all };
  });
}

/** The word by the tool's own rule. */
export function knowingWord(odds: KnownOdds, ruledOut: number = RULED_OUT): Verdict {
  if (1 - odds.below >= SURE) return 'progressing';
  if (odds.below < SURE || odds.twice > ruledOut || odds.three < 0.5) return 'undecided';
  return odds.still >= 0.5 ? 'stalled' : 'slow';
}
