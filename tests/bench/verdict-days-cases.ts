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
  const cycles = random.integer(6, 32);
  const toGo = Math.max(crest - TOLERANCE, INCH / 4);
  const first = toGo / (5 * 10 ** random.uniform());
  const scatter = random.between(0.15, 0.5);
  const slow = kind === 'slow start' ? random.integer(1, 3) : 0;
  const fade = kind === 'fading' ? random.between(0.85, 0.97) : 1;
  const dead = kind === 'stalling' || kind === 'resuming' ? random.pick([0, 0.1]) : random.between(0.1, 0.3);
  const stallAt = random.integer(3, Math.max(3, Math.min(cycles - 5, Math.floor((0.8 * toGo) / first))));
  const resumeAt = stallAt + random.integer(3, 8);
  const worked = kind === 'few zones' ? random.integer(1, 2) : weights.length;
  const left: number[][] = [weights.map(() => 1)];
  const [pace, still, level] = [[first], [false], [crest]];
  let deadLeft = 0;
  for (let cycle = 1; cycle <= cycles + ON; cycle++) {
    const stalled =
      (kind === 'stalling' && cycle > stallAt) ||
      (kind === 'resuming' && cycle > stallAt && cycle <= resumeAt);
    // A third of dead days are followed by a second; so the share drawn is of cycles, not of starts.
    if (deadLeft > 0) deadLeft--;
    else if (random.uniform() < dead / (1 - dead) / 1.33) deadLeft = random.uniform() < 0.33 ? 2 : 1;
    const quiet = stalled || deadLeft > 0;
    const asked = cycle <= slow ? first * random.between(0.05, 0.35) : first * fade ** (cycle - 1);
    const now = [...left[cycle - 1]!];
    const turns = chooseZones(now, worked, random);
    for (const z of turns) {
      const heat = quiet ? 0 : gamma(random, 1 / scatter ** 2) * scatter ** 2;
      // So that on the average of all turns the crest closes by the pace asked for.
      const share = ((asked / crest) * heat * now.length) / turns.length;
      now[z] = Math.max(0, now[z]! - share);
    }
    left.push(now);
    pace.push(asked);
    still.push(quiet);
    level.push(crest * now.reduce((sum, l, z) => sum + l * weights[z]!, 0));
  }
  const until = kind === 'stalling' ? cycles : Math.min(cycles, resumeAt);
  const stall =
    (kind === 'stalling' || kind === 'resuming') && until - stallAt >= 4 && stallAt < cycles
      ? { from: stallAt, until }
      : null;
  return { kind, sd, cycles, scatter, pace, still, level, left, stall };
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
