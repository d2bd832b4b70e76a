/**
 * Campaigns as crews have them, drawn so that they are not the estimator's own model: heats scatter by a gamma law, zone by zone;
 * one or two zones are worked in a cycle; dead days come singly, in pairs and in spells; work starts slowly, fades, resumes.
 */
import type { Random } from '../mechanics/random.ts';

const INCH = 0.0254;
export const TOLERANCE = INCH / 2;
export const USEFUL_GAIN = INCH / 32;
export const KINDS = ['dead days', 'slow start', 'few zones', 'fading', 'stalling', 'resuming'] as const;
/** Sd of a reading; one who shares the shape knows the crest to this share of it (src/progress/MODEL.md). */
export const SDS = [INCH / 32, INCH / 16, INCH / 8] as const;
export const CREST = 0.6;
/** Cycles beyond the last one read for which the same work is followed, to know when the steel comes inside. */
const ON = 80;

export interface Days {
  readonly kind: (typeof KINDS)[number];
  readonly sd: number;
  readonly cycles: number;
  readonly scatter: number;
  /** Share of each zone in the crest. */
  readonly weights: readonly number[];
  /** By cycle, from cycle 0: pace asked of a cycle that moves, m, whether it stands still, and the level that came of it, m. */
  readonly pace: readonly number[];
  readonly still: readonly boolean[];
  readonly level: readonly number[];
  /** Share of the first level left in each zone, by cycle. */
  readonly left: readonly (readonly number[])[];
  /** Cycles (after … up to …) of a standstill of four or more; null: none. */
  readonly stall: { readonly from: number; readonly until: number } | null;
}

/**
 * @param index kind and reading sd go round in turn
 * @param weights share of each zone in the crest; default drawn
 * @param crest first level, m; default 1.5 to 10 in
 */
export function drawDays(
  index: number,
  random: Random,
  weights: readonly number[] = drawWeights(random),
  crest: number = INCH * (1.5 * 6.7 ** random.uniform()),
): Days {
  const kind = KINDS[index % KINDS.length]!;
  const sd = SDS[Math.floor(index / KINDS.length) % SDS.length]!;
  const cycles = drawCycles(random);
  const work = drawWork(kind, cycles, weights.length, crest, random);
  const left: (readonly number[])[] = [weights.map(() => 1)];
  const [pace, still, level] = [[work.first], [false], [crest]];
  const day: Day = { left: [...left[0]!], deadLeft: 0, asked: 0, quiet: false };
  for (let cycle = 1; cycle <= cycles + ON; cycle++) {
    workDay(work, day, cycle, random);
    left.push([...day.left]);
    pace.push(day.asked);
    still.push(day.quiet);
    level.push(crest * day.left.reduce((sum, l, z) => sum + l * weights[z]!, 0));
  }
  const { stallAt, resumeAt } = work;
  const until = kind === 'stalling' ? cycles : Math.min(cycles, resumeAt);
  const stall =
    (kind === 'stalling' || kind === 'resuming') && until - stallAt >= 4 && stallAt < cycles
      ? { from: stallAt, until }
      : null;
  return { kind, sd, cycles, scatter: work.scatter, weights, pace, still, level, left, stall };
}

function drawCycles(random: Random): number {
  return random.integer(6, 32);
}

/** How the work of one campaign goes: drawn once. */
export interface Work {
  readonly kind: (typeof KINDS)[number];
  readonly crest: number;
  /** Pace asked for, m per cycle: first, and from cycle to cycle times `fade`; the first `slow` cycles get a part of it. */
  readonly first: number;
  readonly fade: number;
  readonly slow: number;
  /** Coefficient of variation of one zone's heat. */
  readonly scatter: number;
  /** Share of cycles that are dead days. */
  readonly dead: number;
  /** A stall starts after one of the cycles 3 to `lastStall`, each as likely, and lasts 3 to 8 where work resumes. */
  readonly stallAt: number;
  readonly lastStall: number;
  readonly resumeAt: number;
  /** Zones worked in a cycle. */
  readonly worked: number;
}

export function drawWork(
  kind: Work['kind'],
  cycles: number,
  zones: number,
  crest: number,
  random: Random,
): Work {
  const toGo = Math.max(crest - TOLERANCE, INCH / 4);
  const first = toGo / (5 * 10 ** random.uniform());
  const scatter = random.between(0.15, 0.5);
  const slow = kind === 'slow start' ? random.integer(1, 3) : 0;
  const fade = kind === 'fading' ? random.between(0.85, 0.97) : 1;
  const dead = kind === 'stalling' || kind === 'resuming' ? random.pick([0, 0.1]) : random.between(0.1, 0.3);
  const lastStall = Math.max(3, Math.min(cycles - 5, Math.floor((0.8 * toGo) / first)));
  const stallAt = random.integer(3, lastStall);
  const resumeAt = stallAt + random.integer(3, 8);
  const worked = kind === 'few zones' ? random.integer(1, 2) : zones;
  return { kind, crest, first, fade, slow, scatter, dead, stallAt, lastStall, resumeAt, worked };
}

/** The same work with what has not shown yet by `cycle` drawn anew: when a stall begins, when one that is on ends. */
export function drawAhead(work: Work, cycle: number, random: Random): Work {
  if (cycle <= work.stallAt) {
    const stallAt = random.integer(Math.max(3, cycle), work.lastStall);
    return { ...work, stallAt, resumeAt: stallAt + random.integer(3, 8) };
  }
  if (cycle <= work.resumeAt)
    return { ...work, resumeAt: random.integer(Math.max(work.stallAt + 3, cycle), work.stallAt + 8) };
  return work;
}

/** Where the work stands after a cycle. */
export interface Day {
  /** Share of the first level left in each zone. */
  readonly left: number[];
  /** Dead days still to come, this cycle included. */
  deadLeft: number;
  /** Pace asked of a cycle that moves, m, and whether this one stood still. */
  asked: number;
  quiet: boolean;
}

/** One cycle on, in place. */
export function workDay(work: Work, day: Day, cycle: number, random: Random): void {
  const { kind, stallAt, scatter } = work;
  const stalled =
    (kind === 'stalling' && cycle > stallAt) ||
    (kind === 'resuming' && cycle > stallAt && cycle <= work.resumeAt);
  // A third of dead days are followed by a second; so the share drawn is of cycles, not of starts.
  if (day.deadLeft > 0) day.deadLeft--;
  else if (random.uniform() < work.dead / (1 - work.dead) / 1.33)
    day.deadLeft = random.uniform() < 0.33 ? 2 : 1;
  day.quiet = stalled || day.deadLeft > 0;
  day.asked =
    cycle <= work.slow ? work.first * random.between(0.05, 0.35) : work.first * work.fade ** (cycle - 1);
  const turns = chooseZones(day.left, work.worked, random);
  for (const z of turns) {
    const heat = day.quiet ? 0 : gamma(random, 1 / scatter ** 2) * scatter ** 2;
    // So that on the average of all turns the crest closes by the pace asked for.
    const share = ((day.asked / work.crest) * heat * day.left.length) / turns.length;
    day.left[z] = Math.max(0, day.left[z]! - share);
  }
}

function drawWeights(random: Random): number[] {
  const raw = Array.from({ length: random.integer(2, 4) }, () => random.between(0.3, 1));
  const sum = raw.reduce((a, b) => a + b, 0);
  return raw.map((w) => w / sum);
}

function chooseZones(left: readonly number[], count: number, random: Random): number[] {
  const open = left.flatMap((l, z) => (l > 0 ? [z] : []));
  const chosen: number[] = [];
  while (chosen.length < count && open.length > 0) {
    chosen.push(...open.splice(random.integer(0, open.length - 1), 1));
  }
  return chosen;
}

/** A gamma number of the shape given (≥ 1), scale 1: Marsaglia & Tsang 2000. */
function gamma(random: Random, shape: number): number {
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const x = random.normal();
    const v = (1 + c * x) ** 3;
    if (v > 0 && Math.log(random.uniform()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
  }
}

/** Cycles from `cycle` until the steel first comes inside if the same work goes on; Infinity: not within what is followed. */
export function cyclesToGo(days: Days, cycle: number): number {
  const k = days.level.findIndex((level, i) => i >= cycle && level <= TOLERANCE);
  if (k < 0) return Number.POSITIVE_INFINITY;
  if (k === cycle) return 0;
  const [before, after] = [days.level[k - 1]!, days.level[k]!];
  return k - 1 - cycle + (before - TOLERANCE) / (before - after);
}
