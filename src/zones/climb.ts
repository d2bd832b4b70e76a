import { exp, log } from '../maths/portable.ts';
import { type FixedFactor, factorFixed, type LineModel, type Rows } from './model.ts';
import { likeliestLogScale, logScalePrior, logWrong, tooMany } from './reading-prior.ts';
import { type Residuals, readingErrors } from './residuals.ts';

/**
 * What the searches for a struck beam and for separate zones have in common: the readings (which are wrong, how large
 * their sd is) and the climbing. What bends, and how it is looked for, is each model's own.
 */
export interface Search {
  readonly model: LineModel;
  readonly rows: Rows;
  /** Stated station of the blow. */
  readonly impact: number | null;
  readonly hand: Hand;
  /** Reading sd over the stated one. */
  readonly scale: number;
  /** Degrees of freedom behind the stated reading sd. */
  readonly sdFreedom: number;
  /** The fixed part by which readings are off. */
  readonly factors: Map<string, FixedFactor>;
}

/** Rows set aside by hand, and rows reinstated by hand (never set aside here). */
export interface Hand {
  readonly off: readonly boolean[];
  readonly pinned: readonly boolean[];
}

/** Where a search stands: some shape, and which readings are off. */
export interface Standing {
  readonly off: readonly boolean[];
  readonly fixed: FixedFactor;
  /** Log posterior, nats; comparable between the models. */
  readonly score: number;
  readonly scale: number;
}

export type AtOneScale = Omit<Search, 'scale' | 'factors'>;

export function searchAt(search: AtOneScale, scale: number): Search {
  return { ...search, scale, factors: new Map() };
}

export function factorOf(search: Search, off: readonly boolean[]): FixedFactor {
  const key = off
    .map((value, i) => (value ? i : -1))
    .filter((i) => i >= 0)
    .join();
  let fixed = search.factors.get(key);
  if (!fixed) {
    fixed = factorFixed(search.model, search.rows, off, search.scale);
    search.factors.set(key, fixed);
  }
  return fixed;
}

/** The readings' part of the score: their sd, and each good or wrong. */
export function readingScore({ rows, scale, hand, sdFreedom }: Search, off: readonly boolean[]): number {
  let score = logScalePrior(scale, sdFreedom);
  for (let i = 0; i < off.length; i++) {
    if (hand.off[i]) continue;
    const norm = log(rows.sd[i]! * scale * Math.sqrt(2 * Math.PI));
    score += off[i] ? logWrong(rows.sd[i]! * scale) - norm : -norm;
  }
  return score;
}

/** Nats short of paying for itself at the present shape at which a reading's leaving is still tried: the shape may follow. */
const NEARLY = 3;
/** Share of its own variance below which a reading decides its own residual. */
const DECIDES_ITSELF = 0.02;
/** Sd from the fit beyond which a reading left out is not tried again. */
const HOPELESSLY_OFF = 6;

/** Nats that each reading would bring by leaving, at the present shape; −∞ where it may not. */
export function gainsOfLeaving(
  { rows, scale, hand }: Pick<Search, 'rows' | 'scale' | 'hand'>,
  off: readonly boolean[],
  { residual, share }: Residuals,
): Float64Array {
  return residual.map((r, i) =>
    off[i] || hand.pinned[i] || share[i]! < DECIDES_ITSELF
      ? Number.NEGATIVE_INFINITY
      : (r * r) / share[i]! / 2 + logWrong(rows.sd[i]! * scale),
  );
}

/** Which readings would be off if one more left, loudest first. */
export function oneMoreOff(
  search: Search,
  off: readonly boolean[],
  residuals: Residuals,
): { readonly off: readonly boolean[]; readonly gain: number }[] {
  if (tooMany(search.hand.off, off)) return [];
  return Array.from(gainsOfLeaving(search, off, residuals), (gain, i) => ({ i, gain }))
    .filter(({ gain }) => gain > -NEARLY)
    .sort((a, b) => b.gain - a.gain)
    .map(({ i, gain }) => ({ off: withOff(off, i, true), gain }));
}

/**
 * Which readings would be off if one of those left out came back: each that the shape may agree with.
 *
 * @param spread variance of the fit at a reading left out over that of the reading itself, if the model can tell: then only those
 *   that would nearly pay for themselves were everything linear
 */
export function oneBack(
  search: Search,
  { off, fixed }: Standing,
  shape: ArrayLike<number>,
  spread: ((i: number) => number) | null = null,
): (readonly boolean[])[] {
  const { hand, rows, scale } = search;
  if (!off.some((value, i) => value && !hand.off[i])) return [];
  const errors = readingErrors(fixed, rows.y, shape);
  return off.flatMap((value, i) => {
    const sd = rows.sd[i]! * scale;
    if (!value || hand.off[i] || Math.abs(errors[i]!) >= HOPELESSLY_OFF * sd) return [];
    if (spread !== null) {
      const wider = 1 + spread(i);
      const gain = -logWrong(sd) - (errors[i]! / sd) ** 2 / wider / 2 - log(wider) / 2;
      if (gain < -NEARLY) return [];
    }
    return [withOff(off, i, false)];
  });
}

function withOff(off: readonly boolean[], i: number, value: boolean): boolean[] {
  return off.map((was, j) => (j === i ? value : was));
}

/** Step after step, each the first that finds something better, until none does or so many were taken. */
export function climb<Found extends Standing>(
  start: Found,
  most: number,
  steps: readonly ((here: Found) => Found | null)[],
): Found {
  let here = start;
  for (let pass = 0; pass < most; pass++) {
    let next: Found | null = null;
    for (const step of steps) {
      next = step(here);
      if (next) break;
    }
    if (!next) break;
    here = next;
  }
  return here;
}

/** Scatter before any fit, times the stated sd, from which the readings may be better than they look. */
const SCATTERED = 1.25;

/** Guesses of the reading sd to start from: the stated one too, so that blunders cannot hide behind a scatter they made. */
export function startingScales(scatter: number): readonly number[] {
  return scatter > SCATTERED ? [1, scatter] : [scatter];
}

/** Rounds of search and sd, and the change of ln sd that ends them. */
const ROUNDS = 4;
const SETTLED = 0.05;

/**
 * Searches at one reading sd, takes the sd that its residuals make likeliest, and searches again until it stays: from
 * every start, the best of all.
 *
 * @param climbAt search at a scale, from where it stood (null: a new start) and the best of the starts before
 * @param residualsOf of what it found, with the numbers of its geometry that `share` knows nothing of
 */
export function overScales<Found extends Standing>(
  { rows, sdFreedom }: AtOneScale,
  starts: readonly number[],
  climbAt: (scale: number, here: Found | null, best: Found | null) => Found,
  residualsOf: (found: Found) => Residuals & { readonly unseen: number },
): Found {
  let best: Found | null = null;
  for (const start of starts) {
    let scale = start;
    let here: Found | null = null;
    for (let round = 0; round < ROUNDS; round++) {
      here = climbAt(scale, here, best);
      const { residual, share, unseen } = residualsOf(here);
      let sum = 0;
      let left = 0;
      for (let i = 0; i < rows.x.length; i++) {
        if (here.off[i]) continue;
        sum += (residual[i]! * scale) ** 2;
        left += share[i]!;
      }
      const next = Math.max(0.2, exp(likeliestLogScale(sum, Math.max(0, left - unseen), sdFreedom)));
      if (Math.abs(log(next / scale)) < SETTLED) break;
      scale = next;
    }
    if (here && (!best || here.score > best.score)) best = here;
  }
  return best!;
}
