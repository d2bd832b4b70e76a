import { EXPECTED } from '../maths/coverage-level.ts';
import { chanceMoved, drawHistory, type History } from './history.ts';
import {
  advance,
  type Belief,
  follow,
  levelOf,
  MOVES,
  OPENS,
  paceWeights,
  STILL_1,
  STILL_2,
  STILL_3,
  stateChances,
  type TimedValue,
} from './movement.ts';

/** What the present rate says, before tolerance is looked at. */
type RateWord = 'progressing' | 'slow' | 'undecided' | 'stalled' | 'regressing';

export interface RateJudgement {
  readonly word: RateWord;
  /**
   * Per cycle; negative = closing. On cycles that move; while a spell of standing still is on, or the steel opens, per
   * cycle of that. Interval at `level`, as much on either side.
   */
  readonly rate: number;
  readonly low: number;
  readonly high: number;
  /** Coverage of every interval here. */
  readonly level: number;
  /** It has stood still from the first reading on. */
  readonly neverMoved: boolean;
  /** The same on cycles that move, also while it stands still; null: none has been seen to. */
  readonly whenMoving: Interval | null;
  /** Index of the reading the rate quoted runs from, and movements seen since. */
  readonly since: number;
  readonly steps: number;
  /** True while the last two cycles at least stood still more likely than not. */
  readonly spell: boolean;
  /** Chance that the pace is the useful gain or more, no spell being on. */
  readonly paced: number;
  /** Chance that the steel does not close by the useful gain in the cycles now. */
  readonly belowUseful: number;
  /** Chance that one of the last three cycles closed by twice the useful gain. */
  readonly wellMoving: number;
  /** That chance is too large for a stall. */
  readonly mayHaveMovedWell: boolean;
  /** It creeps, by less than the useful gain, more likely than it stands still. */
  readonly creeps: boolean;
  /** Chance of each in the last cycle. */
  readonly still: number;
  readonly opening: number;
  /** More cycles of readings needed to decide if it goes on as now; null: decided, or more than `FAR`. */
  readonly moreReadings: number | null;
  readonly history: History;
  readonly belief: Belief;
}

export interface Interval {
  readonly rate: number;
  readonly low: number;
  readonly high: number;
}

/** Readings a rate needs at all. */
export const FEWEST_READINGS = 3;
/** Movements before steel that has never been seen to move is called stalled: there is no earlier pace to hold them against. */
const FEWEST_FROM_AS_FOUND = 4;
/**
 * How sure a comparison with the useful gain must be. About 1 call in 10 is wrong where the true rate sits at the gain
 * itself, fewer than 1 in 100 where it is steadily twice that (`tests/progress/error-rates.test.ts`). Where days differ, see MODEL.md.
 */
export const SURE = 0.9;
/**
 * Neither a stall nor a slow rate is called while one of the last three cycles may have closed by `WELL` useful gains with more than this
 * chance: by what the level did, not by the pace, since heats scatter. Where the last cycle more likely moved, or the first four of a job did not, work
 * may only not have picked up yet, of which the belief knows too little: it gives a tenth of the chance there is (MODEL.md), so that much less is left.
 * A job is asked at every cycle, and one false call in it is one too many: 1 job in 100 comes of 1 chance in 100 a call.
 */
const WELL = 2;
const CLAIMED = 3;
const RULED_OUT = { stoodStill: 0.01, mayPickUp: 0.0025 } as const;

/** How sure the direction of a movement must be. */
const MOVING = 0.99;
/** A pace below this share of the useful gain is none, however surely it is measured. */
const NEGLIGIBLE_SHARE = 0.25;
/** Beyond this many more readings the answer is "the rate is about the useful gain itself". */
const FAR = 20;

const STILL = [STILL_1, STILL_2, STILL_3] as const;
const ALL_CLOSING = [MOVES, ...STILL] as const;

/**
 * Compares the present rate of closing with the useful gain as an equivalence test on the belief of `movement.ts`:
 * `progressing` needs the chance of a pace of the useful gain or more, with no spell on, to reach 90 %, and the last cycle to have
 * moved more likely than not; `stalled` and
 * `slow` need the chance of three cycles below it to reach 90 %, and that of twice the useful gain in any of the three to be
 * all but ruled out (1 % where the last cycle stood still, 1 in 400 where it moved or the first four of the job did not). Failing to see a movement is not enough, and steel that
 * more likely creeps than stands still is not `stalled`. What neither side reaches is `undecided`.
 *
 * @param read at least `FEWEST_READINGS`, in cycle order
 * @param usefulGain movement per cycle worth another cycle, in the unit of the points
 * @param lookAhead whether to ask how many more readings would decide
 */
export function judgeRate(read: readonly TimedValue[], usefulGain: number, lookAhead = true): RateJudgement {
  const beliefs = follow(read, usefulGain);
  const belief = beliefs.at(-1)!;
  const history = drawHistory(beliefs);
  const steps = read.length - 1;
  const odds = oddsOf(beliefs, usefulGain);
  const spell = odds.spell > 0.5;
  // A standstill that reaches back to the first reading leaves nothing before it that could have moved.
  const never = neverMoved(history) || (spell && history.stillSince === 0);
  const word = wordFor(odds, steps, never);
  const wellMoving = odds.well();
  const opening = odds.opening > 0.5;
  const onMoving = paceOnMoving(belief, odds.still > 0.5);
  const quoted = spell || opening ? paceNow(belief) : onMoving;
  const since = spell ? history.stillSince : history.since;
  return {
    word,
    ...quoted,
    level: EXPECTED.level,
    neverMoved: never,
    whenMoving: never || opening ? null : onMoving,
    since,
    steps: steps - since,
    spell,
    paced: odds.paced,
    belowUseful: odds.below,
    wellMoving,
    mayHaveMovedWell: mayHaveMovedWell(odds, steps, never),
    creeps: creeps(odds),
    still: odds.still,
    opening: odds.opening,
    moreReadings:
      lookAhead && word === 'undecided'
        ? readingsToDecide(beliefs, read, usefulGain, odds, quoted.rate, never)
        : null,
    history,
    belief,
  };
}

interface Odds {
  /** Pace of the useful gain or more, and no spell. */
  readonly paced: number;
  readonly below: number;
  /** Chance that one of the last three cycles closed by twice the gain; asked only where all else would make a stall. */
  readonly well: () => number;
  readonly still: number;
  readonly spell: number;
  /** Pace below the useful gain that is one, and none: stood still, or by next to nothing. */
  readonly creeping: number;
  readonly standing: number;
  readonly opening: number;
}

function oddsOf(beliefs: readonly Belief[], usefulGain: number): Odds {
  const belief = beliefs.at(-1)!;
  const { pace } = belief.grid;
  const above = (states: readonly number[], bound: number) =>
    paceWeights(belief, states).reduce((sum, w, i) => sum + (pace[i]! >= bound ? w : 0), 0);
  const chances = stateChances(belief);
  const useful = above([MOVES], usefulGain);
  let drawn: number | null = null;
  const noticed = above([MOVES], NEGLIGIBLE_SHARE * usefulGain);
  const still = chances[STILL_1]! + chances[STILL_2]! + chances[STILL_3]!;
  return {
    paced: above([MOVES, STILL_1], usefulGain),
    below: 1 - useful,
    well: () => {
      drawn ??= chanceMoved(beliefs, WELL * usefulGain, CLAIMED);
      return drawn;
    },
    still,
    spell: chances[STILL_2]! + chances[STILL_3]!,
    creeping: noticed - useful,
    standing: still + chances[MOVES]! - noticed,
    opening: above([OPENS], NEGLIGIBLE_SHARE * usefulGain),
  };
}

function wordFor(odds: Odds, steps: number, never: boolean): RateWord {
  if (odds.opening >= MOVING && steps >= 2) return 'regressing';
  if (odds.paced >= SURE && odds.still <= 0.5) return 'progressing';
  const fewest = never ? FEWEST_FROM_AS_FOUND : FEWEST_READINGS;
  if (odds.below < SURE || steps < fewest || odds.opening > 1 - SURE) return 'undecided';
  if (mayHaveMovedWell(odds, steps, never)) return 'undecided';
  if (odds.creeping >= SURE) return 'slow';
  return creeps(odds) ? 'undecided' : 'stalled';
}

/** Whether one of the last three cycles may have closed by twice the useful gain. */
function mayHaveMovedWell({ well, still }: Odds, steps: number, never: boolean): boolean {
  const mayPickUp = still <= 0.5 || (never && steps <= FEWEST_FROM_AS_FOUND);
  return well() > (mayPickUp ? RULED_OUT.mayPickUp : RULED_OUT.stoodStill);
}

/** Such steel is not stalled, however little it creeps by. */
function creeps({ creeping, standing }: Odds): boolean {
  return creeping > standing;
}

/** No movement more likely than not: from as found on it has stood still. */
function neverMoved(history: History): boolean {
  return history.still.every((chance) => chance > 0.5);
}

/** Pace on cycles that move: of the last one, or, where that stood still, of those before it. */
function paceOnMoving(belief: Belief, standsStill: boolean): Interval {
  return intervalOf(spread(belief, standsStill ? STILL : ALL_CLOSING, -1));
}

/** Change per cycle in what the last cycle did: next to nothing where it stood still. */
function paceNow(belief: Belief): Interval {
  const still = paceWeights(belief, STILL).reduce((a, b) => a + b, 0);
  const quiet = NEGLIGIBLE_SHARE * belief.grid.usefulGain;
  return intervalOf([
    ...spread(belief, [MOVES], -1),
    ...spread(belief, [OPENS], 1),
    { from: -quiet, to: quiet, weight: still },
  ]);
}

/** Weight spread evenly between two rates. */
interface Share {
  readonly from: number;
  readonly to: number;
  readonly weight: number;
}

function spread(belief: Belief, states: readonly number[], sign: 1 | -1): Share[] {
  const { pace } = belief.grid;
  const half = Math.sqrt(pace[1]! / pace[0]!);
  const shares: Share[] = [];
  paceWeights(belief, states).forEach((weight, i) => {
    if (weight === 0) return;
    const ends = [(sign * pace[i]!) / half, sign * pace[i]! * half] as const;
    shares.push({ from: Math.min(...ends), to: Math.max(...ends), weight });
  });
  return shares;
}

/** Middle and interval of a rate at the level of what is expected of the work. */
function intervalOf(shares: readonly Share[]): Interval {
  const total = shares.reduce((sum, share) => sum + share.weight, 0);
  const point = (p: number) => {
    let low = Math.min(...shares.map((s) => s.from));
    let high = Math.max(...shares.map((s) => s.to));
    for (let i = 0; i < 40; i++) {
      const middle = (low + high) / 2;
      let below = 0;
      for (const { from, to, weight } of shares) {
        below += weight * Math.min(1, Math.max(0, (middle - from) / (to - from)));
      }
      if (below < p * total) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };
  return { rate: point(0.5), low: point((1 - EXPECTED.level) / 2), high: point((1 + EXPECTED.level) / 2) };
}

/** Habits that make up all but a little of the belief. */
function likeliest(belief: Belief): Belief {
  const cells = belief.cells.filter(({ weight }) => weight.reduce((a, b) => a + b, 0) > 0.1);
  return { ...belief, cells: cells.length > 0 ? cells : belief.cells };
}

/**
 * Readings until the word would be another than `undecided`, if the steel goes on as it does and is read as it was: the same
 * filter is run on over readings that follow the present rate exactly.
 */
function readingsToDecide(
  beliefs: readonly Belief[],
  read: readonly TimedValue[],
  usefulGain: number,
  odds: Odds,
  rate: number,
  never: boolean,
): number | null {
  const last = read.at(-1)!;
  const change = odds.still > 0.5 ? 0 : rate;
  let { level } = levelOf(beliefs.at(-1)!);
  const ahead = [...beliefs.slice(-CLAIMED, -1), likeliest(beliefs.at(-1)!)];
  for (let more = 1; more <= FAR; more++) {
    level += change;
    ahead.push(advance(ahead.at(-1)!, { at: last.at + more, value: level, u: last.u }));
    if (wordFor(oddsOf(ahead, usefulGain), read.length - 1 + more, never) !== 'undecided') return more;
  }
  return null;
}
