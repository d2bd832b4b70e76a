import { type Cholesky, cholesky } from '../maths/cholesky.ts';
import { exp, log } from '../maths/portable.ts';
import {
  COLUMNS,
  CUBIC,
  hasBothFaces,
  legendre,
  TERMS,
  type WebRange,
  type WebSums,
  wane,
} from './web-fit.ts';

/**
 * The shape of a web over its height, from slices side by side. Place, lean and the first curvature are each slice's own;
 * from the third order on it is a bend, which changes slowly along the member and is told by the slices around together.
 * A strip of plate loaded at its ends only is a cubic. What a web has beyond it (yield lines, an older bend) has a prior that
 * wanes with the order, and how large it is the slices around say (marginal likelihood over a grid, averaged): where a
 * cubic explains them an unseen end is known from it, where it does not the end is doubted as much.
 */

/** Orders each slice has for itself, and the slope along the member. */
const OWN = [0, 1, 2, TERMS];
const BENDS = Array.from({ length: TERMS - 3 }, (_, k) => 3 + k);
/** Bends are alike within this along the member, m. */
const ALIKE = 0.4;
/** What polynomials beyond the cubic may add, sd, m. */
const BEYOND = [0.00005, 0.0001, 0.0002, 0.0004, 0.0008, 0.0016, 0.0032, 0.0064, 0.0128, 0.0256];
/** It is about as much within this along the member, m. */
const REGION = 2;
/**
 * Where a web has more than polynomials it is flat between lines it broke along, and its ends stand off by some times what
 * is left where it is seen. Measured on webs broken along one line at a third of their height, and on webs of eight flat pieces.
 */
const UNLIKE = 8;
/** Where no more than a cubic is read, so much of what its bend adds to the reading is doubted. */
const BEND_DOUBT = 0.25;
/** A cubic is told by its slices alone: so much, m, holds nothing. */
const FREE = 1;

/** Where the web stands on its flange in a slice: the row of its polynomials, where, and how well known, m. */
export interface Standing {
  readonly row: readonly number[];
  readonly toward: number;
  readonly sd: number;
  /** The web may break along a line that is hidden and stand off its own shape there by about this, sd, m. */
  readonly hinge: number;
}

/** Mean and covariance of the coefficients of BENDS. */
export interface Bends {
  readonly mean: Float64Array;
  readonly covariance: readonly Float64Array[];
  /** What the web has beyond all of them where it is seen, rms m. */
  readonly unlike: number;
  /** By how much less a slice's points tell for that. */
  readonly less: number;
  readonly cubic: boolean;
}

/** A slice's sums with the place, lean and curvature taken out. */
interface Reduced {
  readonly own: Cholesky;
  /** For each of BENDS what one unit of it does to the slice's own unknowns. */
  readonly moves: readonly Float64Array[];
  readonly level: Float64Array;
  readonly gram: Float64Array;
  readonly right: Float64Array;
}

const N = BENDS.length;

/**
 * @param share of the standing's weight that counts
 * @param less by which the points' weight is divided
 */
function reduce(sums: WebSums, standing: Standing | null, share: number, less: number): Reduced | null {
  let { gram, right } = sums;
  if (less > 1) {
    gram = gram.map((v) => v / less);
    right = right.map((v) => v / less);
  }
  if (standing !== null) {
    const p = share / (standing.sd ** 2 + standing.hinge ** 2);
    [gram, right] = [gram.slice(), right.slice()];
    for (let a = 0; a < TERMS; a++) {
      right[a]! += p * standing.row[a]! * standing.toward;
      for (let b = 0; b < TERMS; b++) gram[a * COLUMNS + b]! += p * standing.row[a]! * standing.row[b]!;
    }
  }
  const block = new Float64Array(OWN.length ** 2);
  OWN.forEach((a, i) => {
    OWN.forEach((b, k) => {
      block[i * OWN.length + k] = gram[a * COLUMNS + b]!;
    });
  });
  const own = cholesky(block, OWN.length);
  if (own === null) return null;
  const cross = BENDS.map((b) => OWN.map((a) => gram[a * COLUMNS + b]!));
  const moves = cross.map((column) => own.solve(column));
  const level = own.solve(OWN.map((a) => right[a]!));
  const left = new Float64Array(N * N);
  const rest = new Float64Array(N);
  BENDS.forEach((a, i) => {
    rest[i] = right[a]! - product(cross[i]!, level);
    BENDS.forEach((b, k) => {
      left[i * N + k] = gram[a * COLUMNS + b]! - product(cross[i]!, moves[k]!);
    });
  });
  return { own, moves, level, gram: left, right: rest };
}

/**
 * The bends at every slice from those around it.
 * @param cubic slices of which no more than a cubic is read: both faces in one, which are not seen over the same heights, and
 * an end that is not seen and that nothing tells look like a bend
 * @param thickness of a slice, m
 */
export function bendsAround(
  slices: readonly (WebSums | null)[],
  standings: readonly (Standing | null)[],
  cubic: readonly boolean[],
  thickness: number,
): (Bends | null)[] {
  // What holds the foot is wrong alike in slices side by side: all of a neighbourhood count as one.
  const together = Math.max(1, (4 * ALIKE) / (3 * thickness));
  const unlike = slices.map((here, i) => (here === null ? null : unlikeAround(slices, i, ALIKE / thickness)));
  const reduced = slices.map((sums, i) =>
    sums === null ? null : reduce(sums, standings[i]!, 1 / together, unlike[i]!.less),
  );
  const around = slices.map((here, i) => {
    if (here === null || reduced[i] === null) return null;
    const [gram, right] = [new Float64Array(N * N), new Float64Array(N)];
    for (const k of near(i, slices.length, ALIKE / thickness)) {
      const [sums, there] = [slices[k]!, reduced[k]!];
      if (sums === null || there === null || hasBothFaces(sums) !== hasBothFaces(here)) continue;
      const w = Math.max(0, 1 - ((sums.at - here.at) / ALIKE) ** 2);
      for (let m = 0; m < gram.length; m++) gram[m]! += w * there.gram[m]!;
      for (let m = 0; m < N; m++) right[m]! += w * there.right[m]!;
    }
    return {
      looks: looksAt(gram, right, cubic[i] ? BEYOND.slice(0, 1) : BEYOND),
      unlike: unlike[i]!.rms,
    };
  });
  return around.map((here, i) => {
    if (here === null) return null;
    const evidence = new Float64Array(here.looks.length);
    for (const k of near(i, around.length, REGION / thickness)) {
      const there = around[k];
      if (there != null && there.looks.length === here.looks.length)
        there.looks.forEach((look, j) => {
          evidence[j]! += look.evidence / together;
        });
    }
    return {
      ...average(here.looks, evidence),
      unlike: here.unlike,
      less: 1 + (unlike[i]!.less - 1) / together,
      cubic: cubic[i]!,
    };
  });
}

/** Indices within `reach` of one, in order. */
function near(i: number, n: number, reach: number): number[] {
  const from = Math.max(0, Math.ceil(i - reach));
  return Array.from({ length: Math.min(n - 1, Math.floor(i + reach)) - from + 1 }, (_, k) => from + k);
}

/**
 * What no polynomial explains around a slice, rms m: what is left by steps of height, less what scatter makes of it, two
 * standard deviations (of chi-squared) of that included: nothing where it may be nothing. `less` is by how much less slices
 * side by side tell together than their points would, as what they have of it is alike.
 */
function unlikeAround(
  slices: readonly (WebSums | null)[],
  i: number,
  reach: number,
): { readonly rms: number; readonly less: number } {
  const here = slices[i]!;
  const [left, weights] = [new Float64Array(here.left.length), new Float64Array(here.left.length)];
  for (const k of near(i, slices.length, reach)) {
    const sums = slices[k];
    if (sums == null) continue;
    const w = Math.max(0, 1 - ((k - i) / reach) ** 2);
    for (let m = 0; m < left.length; m++) {
      left[m]! += w * sums.left[m]!;
      weights[m]! += w * sums.weights[m]!;
    }
  }
  let [sum, all, seen] = [0, 0, 0];
  for (let k = 0; k < left.length; k++) {
    if (weights[k]! < 1) continue;
    sum += left[k]! ** 2 / weights[k]!;
    all += weights[k]!;
    seen++;
  }
  const variance = here.scatter ** 2;
  const square = Math.max(0, sum - (seen + 2 * Math.sqrt(2 * seen)) * variance) / Math.max(1, all);
  return { rms: Math.sqrt(square), less: 1 + ((all / Math.max(1, seen)) * square) / variance };
}

interface Look {
  readonly factor: Cholesky;
  readonly mean: Float64Array;
  readonly evidence: number;
}

/** The bends for each of how much there may be beyond a cubic. */
function looksAt(gram: Float64Array, right: Float64Array, tried: readonly number[]): Look[] {
  return tried.map((beyond) => {
    const held = gram.slice();
    let evidence = 0;
    BENDS.forEach((order, k) => {
      const sd = order < CUBIC ? FREE : beyond * wane(order);
      held[k * N + k]! += 1 / sd ** 2;
      evidence -= log(sd);
    });
    // What is added to the diagonal keeps it positive.
    const factor = cholesky(held, N)!;
    for (const d of factor.diagonal) evidence -= log(d);
    for (const v of factor.forward(right)) evidence += (v * v) / 2;
    return { factor, evidence, mean: factor.solve(right) };
  });
}

/** The bends averaged over how much there may be beyond a cubic, each as likely as it makes the slices. */
function average(looks: readonly Look[], evidence: Float64Array): Pick<Bends, 'mean' | 'covariance'> {
  const most = Math.max(...evidence);
  const weights = evidence.map((each) => exp(each - most));
  const all = weights.reduce((sum, w) => sum + w, 0);
  const mean = new Float64Array(N);
  looks.forEach((look, j) => {
    for (let k = 0; k < N; k++) mean[k]! += (weights[j]! / all) * look.mean[k]!;
  });
  const covariance = BENDS.map(() => new Float64Array(N));
  looks.forEach((look, j) => {
    const w = weights[j]! / all;
    if (w < 1e-6) return;
    for (let a = 0; a < N; a++) {
      const unit = new Float64Array(N);
      unit[a] = 1;
      const column = look.factor.solve(unit);
      for (let b = 0; b < N; b++)
        covariance[a]![b]! += w * (column[b]! + (look.mean[a]! - mean[a]!) * (look.mean[b]! - mean[b]!));
    }
  });
  return { mean, covariance };
}

/** What a slice reads, m: its value, what of its u is its points' own, and what it shares with the slices around. */
export interface WebReading {
  readonly value: number;
  readonly own: number;
  readonly shared: number;
  /** What comes from where it stands on its flange, which other places share too. */
  readonly stands: number;
}

/** A web in one slice, its bends held at those around. */
export interface WebCurve {
  /** Its place at a height, m across. */
  at(height: number): number;
  /** What stands at `to` beyond what stands at `from`; from nothing, where it stands. */
  read(from: number | null, to: number): WebReading;
}

export function webCurve(
  sums: WebSums,
  standing: Standing | null,
  bends: Bends,
  { middle, half }: WebRange,
): WebCurve | null {
  const reduced = reduce(sums, standing, 1, bends.less);
  if (reduced === null) return null;
  const { own, moves, level } = reduced;
  const coefficients = new Float64Array(TERMS);
  OWN.forEach((order, i) => {
    if (order < TERMS)
      coefficients[order] = level[i]! - moves.reduce((sum, move, k) => sum + move[i]! * bends.mean[k]!, 0);
  });
  BENDS.forEach((order, k) => {
    coefficients[order] = bends.mean[k]!;
  });
  const row = (height: number) => legendre((height - middle) / half, TERMS);
  return {
    at: (height) => product(row(height), coefficients),
    read(from, to) {
      const ask = row(to);
      // Where a hinge may be hidden, the web's end stands where the flange has it rather than where its shape goes.
      const there = from === null || standing === null ? null : standing;
      const toFoot = there === null ? 0 : there.hinge ** 2 / (there.hinge ** 2 + there.sd ** 2);
      if (from !== null)
        row(from).forEach((v, k) => {
          ask[k]! -= (1 - toFoot) * v;
        });
      const asked = OWN.map((order) => (order < TERMS ? ask[order]! : 0));
      // What the foot's error does, which slices side by side share, and what the points' do.
      let [foot, whole] = [0, 0];
      for (const v of own.forward(asked)) whole += v * v;
      if (standing !== null) {
        const through = own.solve(asked);
        const variance = standing.sd ** 2 + standing.hinge ** 2;
        foot =
          OWN.reduce((sum, order, i) => sum + (order < TERMS ? through[i]! * standing.row[order]! : 0), 0) **
            2 /
          variance;
      }
      const lever = BENDS.map((order, k) => ask[order]! - product(moves[k]!, asked));
      const bent = lever.reduce((sum, w, a) => sum + w * product(bends.covariance[a]!, lever), 0);
      return {
        value: product(ask, coefficients) - (there === null ? 0 : toFoot * there.toward),
        own: Math.sqrt(Math.max(0, whole - foot)),
        shared: Math.hypot(
          Math.sqrt(Math.max(0, bent)),
          from === null ? 0 : UNLIKE * bends.unlike,
          bends.cubic ? BEND_DOUBT * product(lever, bends.mean) : 0,
        ),
        stands: Math.sqrt(foot + (there === null ? 0 : toFoot * there.sd ** 2)),
      };
    },
  };
}

function product(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += a[k]! * b[k]!;
  return sum;
}
