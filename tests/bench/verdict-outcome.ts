/** One simulated campaign judged at every cycle, against its truth and against what the best test could do. */
import type { Progress, Verdict } from '../../src/analysis.ts';
import { type KnownOdds, type KnownReading, knowingOdds } from './verdict-bounds.ts';
import { possibleProcesses, rateAt, TOLERANCE, USEFUL_GAIN, type VerdictCase } from './verdict-cases.ts';

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
  readonly left: Progress['cyclesLeft'];
  readonly chance: Progress['probabilityWithin'];
  readonly trueLeft: number;
  /** What the one who knows all but the campaign itself makes of the same readings. */
  readonly known: KnownOdds;
}

export type Plan = Pick<VerdictCase, 'seed' | 'kind' | 'sd' | 'cycles' | 'process'>;

export interface Outcome {
  readonly one: Plan;
  readonly index: number;
  readonly steps: readonly Step[];
  /** A true stall outside tolerance with at least four cycles read in it. */
  readonly stall: { readonly from: number; readonly called: number | null } | null;
}

/** What the simulation knows of one cycle. */
export interface CycleFacts {
  readonly cycle: number;
  readonly truth: number;
  readonly known: KnownReading;
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
  const odds = knowingOdds(
    possibleProcesses(facts[0]!.truth, one.cycles),
    facts.map((f) => f.known),
  );
  const steps: Step[] = [];
  for (let cycle = 2; cycle <= one.cycles; cycle++) {
    const progress = judge(cycle);
    const { truth } = facts[cycle]!;
    steps.push({
      cycle,
      word: progress.verdict,
      truth,
      ...rateAt(one, cycle),
      u: progress.series.at(-1)!.u,
      left: progress.cyclesLeft,
      chance: progress.probabilityWithin,
      trueLeft: crossed - cycle,
      known: odds[cycle - 1]!,
    });
  }
  const { seed, kind, sd, cycles, process } = one;
  return { one: { seed, kind, sd, cycles, process }, index, steps, stall: stallOf(one, steps) };
}

/** Cycles of a true stall; none where the work never stops. */
export function stallSteps(one: Plan, steps: readonly Step[]): Step[] {
  const { process } = one;
  if (process.kind !== 'stalling' && process.kind !== 'resuming') return [];
  const until = process.kind === 'resuming' ? process.resumeAt : one.cycles;
  return steps.filter((s) => s.cycle > process.stallAt && s.cycle <= until);
}

function stallOf(one: Plan, steps: readonly Step[]): Outcome['stall'] {
  const during = stallSteps(one, steps);
  const from = (during[0]?.cycle ?? 0) - 1;
  const at = steps.find((s) => s.cycle === from);
  if (during.length < 4 || at === undefined || at.truth < TOLERANCE + 2 * at.u) return null;
  return { from, called: firstCalled(one, steps) };
}

/** The cycle in which a true stall is first called one. */
export function firstCalled(one: Plan, steps: readonly Step[]): number | null {
  return stallSteps(one, steps).find((s) => s.word === 'stalled')?.cycle ?? null;
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
