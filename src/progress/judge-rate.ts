import { normalQuantile } from '../maths/distributions.ts';
import {
  filterRegimes,
  meanOf,
  type Regime,
  type RegimeSettings,
  type Run,
  rateCdf,
  rateQuantile,
  type TimedValue,
  withoutAssumption,
} from '../maths/regimes.ts';

/** What the present rate says, before tolerance is looked at. */
type RateWord = 'progressing' | 'slow' | 'undecided' | 'stalled' | 'regressing';

export interface RateJudgement {
  readonly word: RateWord;
  /** Per cycle; negative = closing. Interval: 80 %, 10 % on either side. */
  readonly rate: number;
  readonly low: number;
  readonly high: number;
  /** Index of the reading the present regime runs from, and movements seen since. */
  readonly since: number;
  readonly steps: number;
  /** Probability that the gain per cycle is below the useful gain. */
  readonly belowUseful: number;
  /** More cycles of readings needed to decide if the rate stays as it is; null: decided, or more than `FAR`. */
  readonly moreReadings: number | null;
  /** True when the rate seems to have changed within the last two cycles. */
  readonly justChanged: boolean;
  /** Chance that the steel closes by twice the useful gain or more, over every place the regime may have begun. */
  readonly wellMoving: number;
  readonly regimes: readonly Regime[];
}

/** Readings a rate needs at all, and movements a regime needs before it can be called stalled or slow. */
export const FEWEST_READINGS = 3;
const FEWEST_STALL_STEPS = 3;
/** One more where work has never been seen to move anything: there is no earlier rate to hold three readings against. */
const FEWEST_FROM_AS_FOUND = 4;
/**
 * How sure a comparison with the useful gain must be. About 1 call in 10 is wrong where the true rate sits at the gain
 * itself; over cycles that moved by twice that, `npm run bench:verdicts` counts fewer than 1 campaign in 100 called stalled.
 */
export const SURE = 0.9;
/** Neither a stall nor a slow rate is called while a rate of this many useful gains has more than this chance. */
const WELL = 2;
export const RULED_OUT = 0.01;
/** How sure the direction of a movement must be. */
const MOVING = 0.99;
/** A movement smaller than this share of the useful gain is none, however surely it is measured. */
const NEGLIGIBLE_SHARE = 0.25;
/** No reading is better than this share of the useful gain: exact values would make every doubt vanish. */
const FINEST = 0.001;
/** Beyond this many more readings the answer is "the rate is about the useful gain itself". */
const FAR = 20;

/**
 * Compares the present rate of closing with the useful gain as an equivalence test: `stalled` and `slow` need the
 * probability of a gain below the useful gain to reach 90 %; failing to see a movement is not enough. `progressing`
 * needs the same on the other side. What neither side reaches is `undecided`.
 *
 * The rate is that of the present regime, over every place the regime may have begun (see `filterRegimes`). A regime
 * younger than three movements is not judged: if such a one is more likely than not, the word is kept only where
 * the older reading of the matter and the newer agree. Work that has just resumed must not be called off on the word of
 * the cycles before: a stall or a slow rate needs, besides, that a rate of twice the useful gain is all but ruled out
 * (1 %) by all regimes together, the youngest included.
 *
 * @param read at least `FEWEST_READINGS`, in cycle order
 * @param usefulGain movement per cycle worth another cycle, in the unit of the points
 */
export function judgeRate(read: readonly TimedValue[], usefulGain: number): RateJudgement {
  const points = read.map((p) => ({ ...p, u: Math.max(p.u, FINEST * usefulGain) }));
  const believed = filterRegimes(points, settingsFor(points, usefulGain));
  const regimes = withoutAssumption(believed);
  const steps = points.length - 1;
  const settled = regimes.filter((r) => steps - r.start >= FEWEST_STALL_STEPS || r.start === 0);
  const young = 1 - settled.reduce((sum, r) => sum + r.weight, 0);
  const kept = settled.length > 0 ? settled : regimes;
  const since = likeliestStart(kept);
  const fewest = since === 0 ? FEWEST_FROM_AS_FOUND : FEWEST_STALL_STEPS;
  const own = wordFor(kept, usefulGain, steps - since, fewest);
  const justChanged = young > 0.5;
  const wellMoving = rateCdf(believed, -WELL * usefulGain);
  const doubted = (own === 'stalled' || own === 'slow') && wellMoving > RULED_OUT;
  const word =
    doubted || (justChanged && wordFor(regimes, usefulGain, 0, fewest) !== own) ? 'undecided' : own;
  return {
    word,
    rate: meanOf(kept).rate,
    low: rateQuantile(kept, 1 - SURE),
    high: rateQuantile(kept, SURE),
    since,
    steps: steps - since,
    belowUseful: 1 - rateCdf(kept, -usefulGain),
    moreReadings: word === 'undecided' ? readingsToDecide(kept, points, usefulGain, justChanged) : null,
    justChanged,
    wellMoving,
    regimes: believed,
  };
}

function wordFor(regimes: readonly Regime[], usefulGain: number, steps: number, fewest: number): RateWord {
  const rate = meanOf(regimes).rate;
  const away = 1 - rateCdf(regimes, 0);
  const worthNaming = Math.abs(rate) >= NEGLIGIBLE_SHARE * usefulGain;
  if (away >= MOVING && worthNaming && steps >= 2) return 'regressing';
  const useful = rateCdf(regimes, -usefulGain);
  if (useful >= SURE) return 'progressing';
  if (1 - useful < SURE || steps < fewest) return 'undecided';
  return 1 - away >= MOVING && worthNaming ? 'slow' : 'stalled';
}

/** Index the present regime most likely runs from. */
function likeliestStart(regimes: readonly Regime[]): number {
  const weights = new Map<number, number>();
  for (const r of regimes) weights.set(r.start, (weights.get(r.start) ?? 0) + r.weight);
  let best = 0;
  for (const [start, weight] of weights) if (weight > (weights.get(best) ?? 0)) best = start;
  return best;
}

/**
 * What is believed of a trend before its readings: rates wide against anything expected, or next to none, because work
 * that stops moving steel is common; a new regime on average every twenty cycles, more than half of them a standstill;
 * single heats that scatter by a tenth to seven tenths of the movement ("individual heats may vary considerably", FHWA
 * steel bridge heat-straightening guide, chapter 5.1), weighed by the readings themselves. With few cycles the scatter
 * cannot be estimated, with many it can; this way it need not be chosen. Shares set on `npm run bench:verdicts`.
 */
function settingsFor(points: readonly TimedValue[], usefulGain: number): RegimeSettings {
  let largestStep = 0;
  for (let k = 1; k < points.length; k++) {
    largestStep = Math.max(largestStep, Math.abs(points[k]!.value - points[k - 1]!.value));
  }
  const runs = (
    rateSd: number,
    [steady, still, slowing, fading]: readonly [number, number, number, number],
  ): Run[] => [
    { decay: 1, rateSd, weight: steady },
    { decay: 1, rateSd: NEGLIGIBLE_SHARE * usefulGain, weight: still, standstill: true },
    { decay: 0.93, rateSd, weight: slowing / 2 },
    { decay: 0.84, rateSd, weight: slowing / 2 },
    { decay: 0.65, rateSd, weight: fading },
  ];
  return {
    hazard: 1 / 20,
    first: runs(Math.max(20 * usefulGain, 2 * largestStep), [0.47, 0.25, 0.22, 0.06]),
    later: runs(Math.max(6 * usefulGain, 0.7 * largestStep), [0.15, 0.55, 0.2, 0.1]),
    scatters: [
      { factor: 0.1, weight: 0.3 },
      { factor: 0.25, weight: 0.45 },
      { factor: 0.45, weight: 0.2 },
      { factor: 0.7, weight: 0.05 },
    ],
    noises: [
      { factor: 1, weight: 0.9 },
      { factor: 1.5, weight: 0.1 },
    ],
    floor: 0,
  };
}

/**
 * Readings until the interval would clear the useful gain, if the rate stays at its present estimate and the noise
 * as it is: the likeliest regime's covariance is carried on reading by reading.
 */
function readingsToDecide(
  regimes: readonly Regime[],
  points: readonly TimedValue[],
  usefulGain: number,
  justChanged: boolean,
): number | null {
  const likeliest = regimes[0]!;
  const rate = meanOf(regimes).rate;
  const margin = Math.abs(-rate - usefulGain);
  const z = normalQuantile(SURE);
  const steps = points.length - 1;
  const toGo = justChanged
    ? FEWEST_STALL_STEPS - 1
    : Math.max(0, FEWEST_STALL_STEPS - (steps - likeliest.start));
  const reading = (likeliest.noise * points.at(-1)!.u) ** 2;
  const process = (likeliest.scatter * rate) ** 2;
  let { levelVariance: v00, covariance: v01, rateVariance: v11 } = likeliest;
  for (let more = 1; more <= FAR; more++) {
    const p00 = v00 + 2 * v01 + v11 + process;
    const p01 = v01 + v11;
    const gain0 = p00 / (p00 + reading);
    const gain1 = p01 / (p00 + reading);
    v00 = (1 - gain0) * p00;
    v11 -= gain1 * p01;
    v01 = (1 - gain0) * p01;
    if (more >= toGo && z * Math.sqrt(v11) < margin) return more;
  }
  return null;
}
