/** One simulated campaign judged at every cycle, against its truth and against what the best test could do. */
import type { Progress, Verdict } from '../../src/analysis.ts';
import { bestPower, bestUndecided } from './verdict-bounds.ts';
import { rateAt, TOLERANCE, USEFUL_GAIN, type VerdictCase } from './verdict-cases.ts';

export interface Step {
  readonly cycle: number;
  readonly word: Verdict;
  /** True largest deviation, m, and true rate of closing asked of this cycle's heats, m. */
  readonly truth: number;
  readonly rate: number;
  /** Lowest true rate of this and the two cycles before: a stall claims three. */
  readonly settledRate: number;
  /** Cycles the true rate has been what it is. */
  readonly sinceChange: number;
  readonly u: number;
  /** u of one survey's largest deviation for one who knows the shape. */
  readonly bestU: number;
  readonly left: Progress['cyclesLeft'];
  readonly trueLeft: number;
  readonly bestUndecided: number;
}

export type Plan = Pick<VerdictCase, 'seed' | 'kind' | 'sd' | 'cycles' | 'process'>;

export interface Outcome {
  readonly one: Plan;
  readonly index: number;
  readonly steps: readonly Step[];
  /** A true stall outside tolerance with at least four cycles read in it. `best`: chance the best test calls it by the fourth. */
  readonly stall: { readonly from: number; readonly called: number | null; readonly best: number } | null;
}

/** What the simulation knows of one cycle. */
export interface CycleFacts {
  readonly cycle: number;
  readonly truth: number;
  readonly bestU: number;
}

/**
 * @param facts by cycle, from cycle 0
 * @param crossed cycle at which the steel comes inside tolerance if the same work goes on
 * @param judge the tool's answer with the surveys up to a cycle
 */
export function judgeCampaign(
  one: Plan,
  index: number,
  facts: readonly CycleFacts[],
  crossed: number,
  judge: (cycle: number) => Progress,
): Outcome {
  const steps: Step[] = [];
  for (let cycle = 2; cycle <= one.cycles; cycle++) {
    const progress = judge(cycle);
    const { truth, bestU } = facts[cycle]!;
    steps.push({
      cycle,
      word: progress.verdict,
      truth,
      ...rateAt(one, cycle),
      u: progress.series.at(-1)!.u,
      bestU,
      left: progress.cyclesLeft,
      trueLeft: crossed - cycle,
      bestUndecided: bestUndecided(one, cycle, bestU),
    });
  }
  const { seed, kind, sd, cycles, process } = one;
  return { one: { seed, kind, sd, cycles, process }, index, steps, stall: stallOf(one, steps) };
}

/** Cycles of a true stall, first and last; null where the work never stops. */
export function stallCycles(one: Plan): { from: number; until: number } | null {
  if (one.process.kind === 'stalling') return { from: one.process.stallAt, until: one.cycles };
  if (one.process.kind === 'resuming') return { from: one.process.stallAt, until: one.process.resumeAt };
  return null;
}

function stallOf(one: Plan, steps: readonly Step[]): Outcome['stall'] {
  const stall = stallCycles(one);
  if (stall === null) return null;
  const during = steps.filter((s) => s.cycle > stall.from && s.cycle <= stall.until);
  const at = steps.find((s) => s.cycle === stall.from);
  if (during.length < 4 || at === undefined || at.truth < TOLERANCE + 2 * at.u) return null;
  return {
    from: stall.from,
    called: during.find((s) => s.word === 'stalled')?.cycle ?? null,
    best: bestPower(one, stall.from, 4, during[0]!.bestU),
  };
}

/** Within tolerance said of steel that is truly outside. */
export function isFalseWithin(s: Step): boolean {
  return s.word === 'within-tolerance' && s.truth > TOLERANCE;
}

export function isFalseStall(s: Step): boolean {
  return s.word === 'stalled' && s.rate >= 2 * USEFUL_GAIN && s.truth > TOLERANCE;
}

/** Stalled said when every cycle a stall claims was worked at twice the useful gain or more. */
export function isFalseClaim(s: Step): boolean {
  return isFalseStall(s) && s.settledRate >= 2 * USEFUL_GAIN;
}

/** Cycles after a resumption; null where this is not after one. */
export function sinceResumption(one: Plan, cycle: number): number | null {
  return one.process.kind === 'resuming' && cycle > one.process.resumeAt
    ? cycle - one.process.resumeAt
    : null;
}
