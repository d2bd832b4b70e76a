import type { PanelSide } from '../job/job.ts';
import { dampedQr } from '../maths/damped-qr.ts';
import { cos, exp, log, sin } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';

/** Size of a panel, m, and the edges that flanges or stiffeners hold. */
export interface PanelShape {
  readonly width: number;
  readonly height: number;
  readonly held: readonly PanelSide[];
}

/** A reading in the panel: x along stations and y up, both as shares of the panel (0 to 1); z and its sd in m. */
export interface PanelPoint {
  readonly x: number;
  readonly y: number;
  readonly z: number;
  readonly sd: number;
  /** The places z is the mean over, where it is one of several readings: the mean over a top is not the top. */
  readonly over?: readonly { readonly x: number; readonly y: number }[];
}

export interface Estimate {
  readonly value: number;
  /** Standard uncertainty. */
  readonly u: number;
}

/** Second derivatives of the bulge, 1/m: along, up and the twist between them. */
export interface Bending {
  readonly along: Estimate;
  readonly up: Estimate;
  readonly twist: Estimate;
}

export interface Surface {
  /** How far the plate is out of the surface its held edges span, m. */
  bulge(x: number, y: number): Estimate;
  /**
   * The part of the bulge's uncertainty that is new in each survey, m: the error of the readings, and how the combinations tried differ, of
   * which each survey chooses anew. What the grid cannot see is the same next time, and does not disturb a movement.
   */
  newPart(x: number, y: number): number;
  /** The bulge on a net, row by row (y outermost), m. */
  onNet(xs: readonly number[], ys: readonly number[]): { readonly value: number[]; readonly u: number[] };
  /** Weighted sum of the bulge on the same net, with the uncertainty of the sum, m times the unit of the weights. */
  sumOnNet(xs: readonly number[], ys: readonly number[], weights: readonly number[]): Estimate;
  /** Second derivatives of the bulge on a net, 1/m. */
  bendingOnNet(xs: readonly number[], ys: readonly number[]): readonly Bending[];
  /** What was taken off: the set-up, the sway and twist of the panel and the bow of its held edges, m. */
  reference(x: number, y: number): Estimate;
  /** The same on a net, row by row (y outermost), values alone. */
  referenceOnNet(xs: readonly number[], ys: readonly number[]): number[];
  /** The bow of one held edge against the straight line between its corners at a share of its length, m. */
  bow(side: PanelSide, at: number): Estimate;
  bending(x: number, y: number): Bending;
  /** What the fit expects to be read there, m. */
  expected(x: number, y: number): Estimate;
  /** Residual of point i over the sd it has when the point itself is left out of the fit. */
  readonly standardised: readonly number[];
  /** Degrees of freedom the fit leaves its readings' errors: what the sum of squared residuals over their variance comes to on the average. */
  readonly freedom: number;
  /** Length over which the bulge goes its own way, as a share of the shorter side: the likeliest one tried. */
  readonly length: number;
}

type Kind = 'one' | 'linear' | 'reverse' | 'centred' | 'sine' | 'half' | 'half-reverse' | 'cosine';
interface Factor {
  readonly kind: Kind;
  readonly k: number;
}
interface Term {
  readonly part: 'rigid' | 'edge' | 'bulge';
  readonly side?: PanelSide;
  readonly x: Factor;
  readonly y: Factor;
  /** Wave number over the panel's size, 1/m; 0 for rigid terms. */
  readonly wave: number;
  /** Mean square of the two factors over the panel. */
  readonly meanSquare: number;
  readonly k: number;
}

/**
 * Most waves of the bulge, along and up together as a product: as fine along as up. With 11 each way and no more, bulges
 * narrower than a third of a long panel lost up to 13 % of their crest on grids of 2 in, and u said nothing of it.
 */
export const MOST_WAVES = 150;
/** Waves of a held edge. A flange that kinks inside the panel is still followed by four. */
const EDGE_WAVES = 4;
/** Rigid terms are free: a prior sd of 10 m says nothing. */
const FREE = 10;
/** Lengths tried, share of the shorter side. */
const LENGTHS = [0.1, 0.17, 0.28, 0.45] as const;
/** Sizes tried, share of the largest departure from a plane. */
const SIZES = [0.06, 0.35, 1.1] as const;
/** Bows of a held edge tried, m (sd of the first wave): as fabricated, and of a flange that is bent with the panel. */
const BOWS = { made: 0.0015, bent: 0.02 } as const;
/** Cost of calling an edge bent, as a logarithm: of struck panels one edge in four is. No source. */
const RARELY = log(4);
/** Combinations below this share of the likelihood are not carried along. */
const LEAST_WEIGHT = 0.03;

/**
 * Fits the plate's surface to readings of a panel.
 *
 * z = set-up (a plane and its twist) + bow of the held edges + bulge. A plane through everything would take part of a bulge
 * for flat; so the bulge is what vanishes where the panel is held, and the rest is what the held edges do: each may bow by
 * its own series of sines, carried straight across to the opposite edge (a blended surface, after Coons 1967).
 *
 * The bulge is a Gaussian field that is zero on the held edges, in the eigenfunctions of the panel
 * (Solin & Särkkä, Statistics and Computing 30, 2020: reduced-rank Gaussian process regression, Matérn 5/2). Length and
 * size are not fixed: every combination tried counts by its likelihood, so their doubt is in the uncertainty. All of it is
 * linear least squares with known variances, solved by QR. In a hole, or between wide-spaced readings, the uncertainty grows.
 */
export function fitSurface(points: readonly PanelPoint[], shape: PanelShape): Surface {
  const terms = termsOf(points, shape);
  const m = terms.length;
  const xs = factorsOf(terms, 'x');
  const ys = factorsOf(terms, 'y');
  const columns = terms.map((term) =>
    Float64Array.from(points, (p) => {
      const places = p.over ?? [p];
      const sum = places.reduce((s, at) => s + value(term.x, at.x) * value(term.y, at.y), 0);
      return sum / places.length / p.sd;
    }),
  );
  const right = Float64Array.from(points, (p) => p.z / p.sd);
  const triangle = compress(columns, right);
  const size = Math.max(departure(points), 1e-4);
  const shorter = Math.min(shape.width, shape.height);
  const logSd = points.reduce((sum, p) => sum + log(p.sd), 0);

  const attempt = (length: number, share: number, bowed: readonly PanelSide[]) => {
    const density = terms.map((t) => (t.part === 'bulge' ? spectrum(t.wave, length * shorter) : 0));
    const total = density.reduce((sum, d, i) => sum + d * terms[i]!.meanSquare, 0);
    const sds = terms.map((term, i) =>
      term.part === 'rigid'
        ? FREE
        : term.part === 'edge'
          ? (bowed.includes(term.side!) ? BOWS.bent : BOWS.made) / (term.k * term.k)
          : size * share * Math.sqrt(density[i]! / total),
    );
    const solved = dampedQr(triangle.upper, triangle.right, sds);
    const prior = sds.reduce((sum, sd) => sum + log(sd), 0);
    const likelihood =
      -0.5 * (solved.misfit + triangle.rest) - solved.logDeterminant - prior - logSd - bowed.length * RARELY;
    return { ...solved, sds, length, share, bowed, likelihood };
  };
  const likeliest = (all: readonly ReturnType<typeof attempt>[]) =>
    all.reduce((a, b) => (b.likelihood > a.likelihood ? b : a));
  const straight = LENGTHS.flatMap((length) => SIZES.map((share) => attempt(length, share, [])));
  const first = likeliest(straight);
  const near = straight.filter((t) => t.likelihood > first.likelihood - 2);
  // Edge by edge, the one that explains most first: one bent flange does not make the others bend.
  const bent = [first];
  for (;;) {
    const { length, share, bowed } = bent.at(-1)!;
    const left = shape.held.filter((side) => !bowed.includes(side) && readAlong(points, side));
    if (left.length === 0) break;
    const next = likeliest(left.map((side) => attempt(length, share, [...bowed, side])));
    if (next.likelihood < bent.at(-1)!.likelihood + log(LEAST_WEIGHT)) break;
    bent.push(next);
  }
  const most = likeliest(bent).bowed;
  const others = near.filter((t) => t !== first && most.length > 0);
  const tried = [...straight, ...bent.slice(1), ...others.map((t) => attempt(t.length, t.share, most))];
  const best = likeliest(tried);
  const likely = tried.filter((t) => exp(t.likelihood - best.likelihood) >= LEAST_WEIGHT);
  const sum = likely.reduce((s, t) => s + exp(t.likelihood - best.likelihood), 0);
  const mixture = likely.map((t) => ({
    ...t,
    weight: exp(t.likelihood - best.likelihood) / sum,
    covariance: product(t.inverseUpper()),
  }));
  const mean = new Float64Array(m);
  for (const { weight, coefficients } of mixture)
    for (let j = 0; j < m; j++) mean[j]! += weight * coefficients[j]!;
  // One covariance for the mixture: the mean of theirs, and how they differ from one another.
  const covariance = Array.from({ length: m }, () => new Float64Array(m));
  for (const { weight, coefficients, covariance: own } of mixture) {
    const off = Float64Array.from(coefficients, (c, j) => c - mean[j]!);
    for (let i = 0; i < m; i++) {
      const [row, from] = [covariance[i]!, own[i]!];
      for (let j = 0; j < m; j++) row[j]! += weight * (from[j]! + off[i]! * off[j]!);
    }
  }

  const estimate = (row: Float64Array): Estimate => {
    let centre = 0;
    for (let j = 0; j < m; j++) centre += row[j]! * mean[j]!;
    return { value: centre, u: Math.sqrt(Math.max(0, quadratic(covariance, row))) };
  };
  const row = (
    x: number,
    y: number,
    wanted: (term: Term) => boolean,
    dx: Order = 0,
    dy: Order = 0,
  ): Float64Array => {
    const [fx, fy] = [xs.at(x, dx), ys.at(y, dy)];
    return Float64Array.from(terms, (term, j) => (wanted(term) ? fx[xs.index[j]!]! * fy[ys.index[j]!]! : 0));
  };
  const isBulge = (term: Term) => term.part === 'bulge';
  const all = () => true;
  const expected = (x: number, y: number) => estimate(row(x, y, all));
  const standardised = points.map((p) => {
    const { value: fitted, u } = expected(p.x, p.y);
    const left = Math.max(1e-6, 1 - (u / p.sd) ** 2);
    return (p.z - fitted) / (p.sd * Math.sqrt(left));
  });

  const bulges = terms.flatMap((term, j) => (isBulge(term) ? [j] : []));
  /** A bulge, or a derivative of it, on a net: the y factors are worked into the covariance once a row. */
  const net = (across: readonly number[], up: readonly number[], dx: Order, dy: Order) => {
    const waves = xs.count;
    const result: Estimate[] = [];
    for (const y of up) {
      const fy = ys.at(y, dy);
      const middle = new Float64Array(waves);
      const spread = Array.from({ length: waves }, () => new Float64Array(waves));
      for (const i of bulges) {
        const yi = fy[ys.index[i]!]!;
        if (yi === 0) continue;
        middle[xs.index[i]!]! += yi * mean[i]!;
        const [to, from] = [spread[xs.index[i]!]!, covariance[i]!];
        for (const j of bulges) to[xs.index[j]!]! += yi * fy[ys.index[j]!]! * from[j]!;
      }
      for (const x of across) {
        const fx = xs.at(x, dx);
        let value = 0;
        for (let i = 0; i < waves; i++) value += fx[i]! * middle[i]!;
        result.push({ value, u: Math.sqrt(Math.max(0, quadratic(spread, fx))) });
      }
    }
    return result;
  };
  const scaled = ({ value, u }: Estimate, by: number): Estimate => ({ value: value / by, u: u / by });
  const { width, height } = shape;

  return {
    bulge: (x, y) => estimate(row(x, y, isBulge)),
    newPart: (x, y) => {
      const here = row(x, y, isBulge);
      // Error of the readings in C·Aᵀz, C the covariance: C·AᵀA·C = C − C·P·C, P the precision of the prior.
      const dot = (of: Float64Array) => of.reduce((sum, c, j) => sum + c * here[j]!, 0);
      const middle = dot(mean);
      const variance = mixture.reduce((sum, { weight, sds, coefficients, covariance: own }) => {
        let [whole, prior] = [(dot(coefficients) - middle) ** 2, 0];
        for (let i = 0; i < m; i++) {
          let c = 0;
          const from = own[i]!;
          for (let j = 0; j < m; j++) c += from[j]! * here[j]!;
          whole += here[i]! * c;
          prior += (c / sds[i]!) ** 2;
        }
        return sum + weight * Math.max(0, whole - prior);
      }, 0);
      return Math.sqrt(variance);
    },
    onNet: (across, up) => {
      const on = net(across, up, 0, 0);
      return { value: on.map((each) => each.value), u: on.map((each) => each.u) };
    },
    sumOnNet: (across, up, weights) => {
      const sum = new Float64Array(m);
      const alongX = across.map((x) => xs.at(x, 0));
      up.forEach((y, r) => {
        const fy = ys.at(y, 0);
        const inRow = new Float64Array(xs.count);
        alongX.forEach((fx, c) => {
          const weight = weights[r * across.length + c]!;
          for (let i = 0; i < xs.count; i++) inRow[i]! += weight * fx[i]!;
        });
        for (const j of bulges) sum[j]! += inRow[xs.index[j]!]! * fy[ys.index[j]!]!;
      });
      return estimate(sum);
    },
    bendingOnNet: (across, up) => {
      const along = net(across, up, 2, 0);
      const upward = net(across, up, 0, 2);
      const twist = net(across, up, 1, 1);
      return along.map((each, i) => ({
        along: scaled(each, width ** 2),
        up: scaled(upward[i]!, height ** 2),
        twist: scaled(twist[i]!, width * height),
      }));
    },
    reference: (x, y) => estimate(row(x, y, (term) => term.part !== 'bulge')),
    referenceOnNet: (across, up) =>
      up.flatMap((y) => {
        const fy = ys.at(y, 0);
        return across.map((x) => {
          const fx = xs.at(x, 0);
          let sum = 0;
          terms.forEach((term, j) => {
            if (term.part !== 'bulge') sum += fx[xs.index[j]!]! * fy[ys.index[j]!]! * mean[j]!;
          });
          return sum;
        });
      }),
    bow: (side, at) => {
      const along = side === 'bottom' || side === 'top';
      return estimate(
        Float64Array.from(terms, (term) =>
          term.part === 'edge' && term.side === side ? value(along ? term.x : term.y, at) : 0,
        ),
      );
    },
    bending: (x, y) => ({
      along: scaled(estimate(row(x, y, isBulge, 2, 0)), width ** 2),
      up: scaled(estimate(row(x, y, isBulge, 0, 2)), height ** 2),
      twist: scaled(estimate(row(x, y, isBulge, 1, 1)), width * height),
    }),
    expected,
    standardised,
    freedom: mixture.reduce((sum, one) => sum + one.weight * freedomOf(one, points.length), 0),
    length: best.length,
  };
}

/**
 * tr((I − S)²) of the smoother S = A·C·Aᵀ the readings go through, A the weighted terms, C = (AᵀA + P)⁻¹ and P the precision of the prior:
 * n − m + tr((C·P)²).
 */
function freedomOf(
  { sds, covariance }: { readonly sds: readonly number[]; readonly covariance: readonly Float64Array[] },
  readings: number,
): number {
  let held = 0;
  sds.forEach((a, i) => {
    const row = covariance[i]!;
    for (let j = 0; j < sds.length; j++) held += (row[j]! / (a * sds[j]!)) ** 2;
  });
  return readings - sds.length + held;
}

type Order = 0 | 1 | 2;

/** R⁻¹·R⁻ᵀ from the rows of R⁻¹. */
function product(inverse: readonly Float64Array[]): Float64Array[] {
  const m = inverse.length;
  const whole = inverse.map(() => new Float64Array(m));
  for (let i = 0; i < m; i++) {
    for (let j = 0; j <= i; j++) {
      const [a, b] = [inverse[i]!, inverse[j]!];
      let sum = 0;
      for (let k = i; k < m; k++) sum += a[k]! * b[k]!;
      whole[i]![j] = sum;
      whole[j]![i] = sum;
    }
  }
  return whole;
}

/** rowᵀ·C·row, C symmetric. */
function quadratic(covariance: readonly Float64Array[], row: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < row.length; i++) {
    const own = row[i]!;
    if (own === 0) continue;
    const from = covariance[i]!;
    let c = 0;
    for (let j = 0; j < row.length; j++) c += from[j]! * row[j]!;
    sum += own * c;
  }
  return sum;
}

/** A prior this wide, m, only keeps the triangle whole where the terms outnumber the readings. */
const WIDEST = 1e4;

/** Upper triangle and the right-hand side in it: every combination tried then costs the same, however many readings. */
function compress(columns: readonly Float64Array[], right: Float64Array) {
  const m = columns.length;
  const rows = right.length + m;
  const qr = new Qr(rows);
  columns.forEach((column, j) => {
    const longer = new Float64Array(rows);
    longer.set(column);
    longer[right.length + j] = 1 / WIDEST;
    qr.push(longer, 0);
  });
  const turned = new Float64Array(rows);
  turned.set(right);
  qr.apply(turned);
  let rest = 0;
  for (let i = m; i < rows; i++) rest += turned[i]! ** 2;
  return { upper: qr.upper, right: turned.slice(0, m), rest };
}

/** Parts an edge is looked at in, how many of them must have a reading, and how near to the edge, as a share of the panel. */
const PARTS = 8;
const MOST_BLANK = 1;
const BESIDE_EDGE = 0.15;

/** Whether readings follow an edge: one that was not read cannot be found to be bent. */
function readAlong(points: readonly PanelPoint[], side: PanelSide): boolean {
  const along = side === 'bottom' || side === 'top';
  const read = new Set<number>();
  for (const { x, y } of points) {
    const [at, across] = along ? [x, y] : [y, x];
    const away = side === 'bottom' || side === 'from' ? across : 1 - across;
    if (away <= BESIDE_EDGE) read.add(Math.max(0, Math.min(PARTS - 1, Math.floor(at * PARTS))));
  }
  return read.size >= PARTS - MOST_BLANK;
}

/** Spectral density of a Matérn 5/2 field in the plane, up to its size. */
function spectrum(wave: number, length: number): number {
  const s = 1 + (wave * length) ** 2 / 5;
  return 1 / (s * s * s * Math.sqrt(s));
}

/** Largest departure of the readings from the plane with twist through them, m: the scale of the sizes tried. */
function departure(points: readonly PanelPoint[]): number {
  const qr = new Qr(points.length);
  const columns = [
    points.map(() => 1),
    points.map((p) => p.x - 0.5),
    points.map((p) => p.y - 0.5),
    points.map((p) => (p.x - 0.5) * (p.y - 0.5)),
  ];
  for (const column of columns) qr.push(Float64Array.from(column));
  const turned = qr.apply(Float64Array.from(points, (p) => p.z));
  for (let i = 0; i < qr.rank; i++) turned[i] = 0;
  return qr.applyInverse(turned).reduce((most, r) => Math.max(most, Math.abs(r)), 0);
}

function termsOf(points: readonly PanelPoint[], shape: PanelShape): Term[] {
  const { width, height, held } = shape;
  const rigid = (x: Kind, y: Kind): Term => ({
    part: 'rigid',
    x: { kind: x, k: 0 },
    y: { kind: y, k: 0 },
    wave: 0,
    meanSquare: 0,
    k: 0,
  });
  const terms: Term[] = [
    rigid('one', 'one'),
    rigid('centred', 'one'),
    rigid('one', 'centred'),
    rigid('centred', 'centred'),
  ];
  for (const side of held) {
    const along = side === 'bottom' || side === 'top';
    const across: Factor = { kind: side === 'bottom' || side === 'from' ? 'reverse' : 'linear', k: 0 };
    for (let k = 1; k <= EDGE_WAVES; k++) {
      const wave: Factor = { kind: 'sine', k };
      terms.push({
        ...{ part: 'edge', side, wave: 0, meanSquare: 0, k },
        ...(along ? { x: wave, y: across } : { x: across, y: wave }),
      });
    }
  }
  const stops = (axis: 'x' | 'y') => distinct(points.flatMap((p) => (p.over ?? [p]).map((at) => at[axis])));
  const most = (length: number) => Math.round(length * Math.sqrt(MOST_WAVES / (width * height)));
  const count = (length: number, read: number) => Math.min(Math.max(8, most(length)), Math.max(4, read + 1));
  const inX = waves(held.includes('from'), held.includes('to'), width, count(width, stops('x')));
  const inY = waves(held.includes('bottom'), held.includes('top'), height, count(height, stops('y')));
  inX.forEach((x, i) => {
    inY.forEach((y, j) => {
      if (((i + 1) / inX.length) ** 2 + ((j + 1) / inY.length) ** 2 > 1.2) return;
      terms.push({
        ...{ part: 'bulge', x: x.factor, y: y.factor, k: 0 },
        wave: Math.sqrt(x.wave ** 2 + y.wave ** 2),
        meanSquare: x.meanSquare * y.meanSquare,
      });
    });
  });
  return terms;
}

/** Functions of one direction that vanish at the held ends: sines, quarter waves with one end free, cosines with two. */
function waves(start: boolean, end: boolean, length: number, count: number) {
  return Array.from({ length: count }, (_, i) => {
    const factor: Factor =
      start && end
        ? { kind: 'sine', k: i + 1 }
        : start
          ? { kind: 'half', k: i + 0.5 }
          : end
            ? { kind: 'half-reverse', k: i + 0.5 }
            : { kind: 'cosine', k: i };
    return { factor, wave: (factor.k * Math.PI) / length, meanSquare: factor.k === 0 ? 1 : 0.5 };
  });
}

function distinct(values: readonly number[]): number {
  return new Set(values.map((v) => Math.round(v * 200))).size;
}

/** The x (or y) factors of the terms at a place, each distinct one once; `index`: which of them a term has. */
function factorsOf(terms: readonly Term[], axis: 'x' | 'y') {
  const keys = new Map<string, number>();
  const factors: Factor[] = [];
  const index = terms.map((term) => {
    const { kind, k } = term[axis];
    const key = `${kind} ${k}`;
    let at = keys.get(key);
    if (at === undefined) {
      at = factors.length;
      keys.set(key, at);
      factors.push(term[axis]);
    }
    return at;
  });
  const known = new Map<number, Float64Array>();
  return {
    index,
    count: factors.length,
    at(place: number, derivative: Order): Float64Array {
      const key = place * 4 + derivative * 1e3;
      let row = known.get(key);
      if (row === undefined) {
        row = Float64Array.from(factors, (factor) => DERIVATIVES[derivative](factor, place));
        known.set(key, row);
      }
      return row;
    },
  };
}

const DERIVATIVES = [value, slope, curvature] as const;

function value({ kind, k }: Factor, t: number): number {
  switch (kind) {
    case 'one':
      return 1;
    case 'linear':
      return t;
    case 'reverse':
      return 1 - t;
    case 'centred':
      return t - 0.5;
    case 'sine':
    case 'half':
      return sin(k * Math.PI * t);
    case 'half-reverse':
      return sin(k * Math.PI * (1 - t));
    case 'cosine':
      return cos(k * Math.PI * t);
  }
}

/** d/dt of the wave functions (the others are not differentiated). */
function slope({ kind, k }: Factor, t: number): number {
  const w = k * Math.PI;
  if (kind === 'cosine') return -w * sin(w * t);
  if (kind === 'half-reverse') return -w * cos(w * (1 - t));
  return kind === 'sine' || kind === 'half' ? w * cos(w * t) : 0;
}

function curvature(factor: Factor, t: number): number {
  const w = factor.k * Math.PI;
  return ['sine', 'half', 'half-reverse', 'cosine'].includes(factor.kind) ? -w * w * value(factor, t) : 0;
}
