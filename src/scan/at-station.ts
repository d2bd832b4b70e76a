import { medianOrNaN } from '../maths/median.ts';
import { exp } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';
import type { SlicePoint } from './continuous.ts';

/** Curvature this many standard errors from none is followed; below, a straight line has less noise. */
const BENT = 3;

/** What a station reads. */
export interface StationValue {
  readonly value: number;
  readonly u: number;
  /** Change of slope over the slice where the steel is plainly bent there, rad; else 0. */
  readonly bend: number;
}

/** Beyond this change of slope over the slice, rad, its parts cannot say where in them the steel turns. */
export const SHARPEST = 0.1;
/**
 * Then u is at least this share of how far the steel turns over one slice. Measured on simulated edges that turn by 0.1
 * to 0.3 rad at once or over 150 mm: the error stayed within two of these.
 */
const TURN_SHARE = 0.1;

/** A sharp bend is looked for at steps of this share of a slice. */
const STEP = 0.2;

/**
 * The value at a station from the slices around it. The slope comes from a slightly wider window than the
 * slice itself; where the steel is plainly curved within that window, a parabola and lines broken at one place or
 * another are fitted, and the answer is their mean, each weighing as it explains the slices (Bayesian model average
 * with flat priors): its u has the doubt about which of them it is. Weights are cut back for slices far off (Huber
 * 1964, 2 standard deviations), so that one half-covered slice cannot pull it.
 *
 * @param slice length of steel averaged for a station, m
 * @param thickness of one slice, m
 */
export function atStation(
  series: readonly SlicePoint[],
  station: number,
  slice: number,
  thickness: number,
): StationValue {
  const inside = series.filter((p) => Math.abs(p.at - station) <= slice / 2 + 1e-9);
  const wide = series.filter((p) => Math.abs(p.at - station) <= slice / 2 + 2 * thickness + 1e-9);
  if (wide.length >= 5) {
    const parabola = robustFit(wide, station, [constant, linear, (t) => t * t]);
    if (Math.abs(parabola.coefficients[2]!) > BENT * parabola.u[2]!) {
      const left = wide.length - 3;
      // A parabola that explains the slices (misfit within two standard deviations of chi-squared) is enough.
      const lines =
        parabola.misfit < left + 2 * Math.sqrt(2 * left) ? [] : brokenLines(wide, station, thickness);
      const { value, u, bend } = average(parabola, lines, slice);
      return {
        value,
        u: Math.abs(bend) > SHARPEST ? Math.max(u, TURN_SHARE * Math.abs(bend) * thickness) : u,
        bend,
      };
    }
  }
  if (wide.length < 3) {
    const { value, u } = robustFit(inside, station, [constant]);
    return { value, u: u[0]!, bend: 0 };
  }
  const straight = robustFit(wide, station, [constant, linear]);
  const level = robustFit(
    inside.map((p) => ({ ...p, value: p.value - straight.coefficients[1]! * (p.at - station) })),
    station,
    [constant],
  );
  const lever = Math.abs(inside.reduce((sum, p) => sum + p.at - station, 0) / inside.length);
  return { value: level.value, u: Math.hypot(level.u[0]!, lever * straight.u[1]!), bend: 0 };
}

/** Slices known worse than the middle one around them by this factor tell a station badly. */
const BADLY = 2;
/** Slices on either side that a gap of such slices is told from, as near as this to the station, m, or so many slices. */
const SIDES = 5;
const SIDE_REACH = 1.2;

/**
 * A station whose own slices tell it badly, all of them (a mast stands before the sharp edge, and what is left is the one
 * seen along the face), is told better by the steel on both sides of the gap: the mean over a parabola and lines broken
 * anywhere through all of it, so that a turn within the gap that the sides do not contradict is in u. What the slices in
 * the gap say themselves must fit it, or it is doubted by as much more.
 *
 * @param alone what they say themselves, with all that is doubted of it
 * @returns null where the station is told as well as its neighbours are, or the steel is not well seen on both sides;
 * else its value and the slices it is told from
 */
export function acrossGap<P extends SlicePoint>(
  series: readonly P[],
  station: number,
  slice: number,
  thickness: number,
  alone: { readonly value: number; readonly u: number },
): (StationValue & { readonly members: readonly P[] }) | null {
  const around = series.filter((p) => Math.abs(p.at - station) <= SIDE_REACH);
  const bad = BADLY * medianOrNaN(around.map((p) => p.u));
  const inside = (p: P) => Math.abs(p.at - station) <= slice / 2 + 1e-9;
  if (!around.filter(inside).every((p) => p.u > bad)) return null;
  const well = around.filter((p) => p.u <= bad);
  const before = well.filter((p) => p.at < station).slice(-SIDES);
  const after = well.filter((p) => p.at > station).slice(0, SIDES);
  if (before.length < SIDES || after.length < SIDES) return null;
  const members = around.filter((p) => p.at >= before[0]!.at && p.at <= after.at(-1)!.at);
  const parabola = robustFit(members, station, [constant, linear, (t) => t * t]);
  const lines = brokenLines(members, station, thickness);
  const { value, u, bend } = average(parabola, lines, slice);
  const misfit = Math.min(parabola.misfit, ...lines.map((fit) => fit.misfit));
  const own = u * Math.max(1, Math.sqrt(misfit / (members.length - 3)));
  const off = Math.abs(alone.value - value) / Math.hypot(alone.u, own);
  return { value, u: own * Math.max(1, off / 2), bend, members };
}

const constant = () => 1;
const linear = (t: number) => t;

/** Lines broken at every place from the second slice to the last but one. */
function brokenLines(points: readonly SlicePoint[], about: number, thickness: number): Fit[] {
  const fits: Fit[] = [];
  const last = points.at(-2)!.at - about;
  for (let k = points[1]!.at - about; k <= last + 1e-9; k += STEP * thickness) {
    const atNought = Math.max(0, -k);
    fits.push(robustFit(points, about, [constant, linear, (t) => Math.max(0, t - k) - atNought]));
  }
  return fits;
}

/**
 * Mean over the parabola and the broken lines; all the lines together have the prior of the one parabola.
 * @param length of steel averaged, m, over which the turn is told
 */
function average(parabola: Fit, lines: readonly Fit[], length: number): StationValue {
  const least = Math.min(parabola.misfit, ...lines.map((fit) => fit.misfit));
  const parts = [
    { fit: parabola, weight: exp((least - parabola.misfit) / 2), turns: 2 * length },
    ...lines.map((fit) => ({ fit, weight: exp((least - fit.misfit) / 2) / lines.length, turns: 1 })),
  ];
  const all = parts.reduce((sum, part) => sum + part.weight, 0);
  const mean = (of: (part: (typeof parts)[number]) => number) =>
    parts.reduce((sum, part) => sum + part.weight * of(part), 0) / all;
  const value = mean(({ fit }) => fit.value);
  return {
    value,
    u: Math.sqrt(mean(({ fit }) => fit.u[0]! ** 2 + (fit.value - value) ** 2)),
    bend: mean(({ fit, turns }) => turns * fit.coefficients[2]!),
  };
}

interface Fit {
  readonly coefficients: ArrayLike<number>;
  /** Of the coefficients, from the weights of the last pass. */
  readonly u: readonly number[];
  /** The first coefficient: every other column is nought at the station. */
  readonly value: number;
  /** Sum of squares in units of the slices' own uncertainties, far ones counted by Huber's rule. */
  readonly misfit: number;
}

/** Least squares in columns of the distance from a station. */
function robustFit(
  points: readonly SlicePoint[],
  about: number,
  columns: readonly ((t: number) => number)[],
): Fit {
  const n = points.length;
  const t = Float64Array.from(points, (p) => p.at - about);
  const value = Float64Array.from(points, (p) => p.value);
  // A slice is never trusted to better than 0.01 mm.
  const sd = Float64Array.from(points, (p) => Math.max(1e-5, p.u));
  const weight = sd.map((each) => 1 / each);
  const plain = columns.map((column) => t.map((each) => column(each)));
  let qr = new Qr(n);
  let coefficients: ArrayLike<number> = [];
  let misfit = 0;
  for (let pass = 0; pass < 4; pass++) {
    qr = new Qr(n);
    for (const column of plain) qr.push(column.map((v, i) => v * weight[i]!));
    coefficients = qr.solve(qr.apply(value.map((v, i) => v * weight[i]!)));
    misfit = 0;
    let changed = false;
    for (let i = 0; i < n; i++) {
      let off = value[i]!;
      for (let k = 0; k < plain.length; k++) off -= coefficients[k]! * plain[k]![i]!;
      const z = Math.abs(off) / sd[i]!;
      misfit += z > 2 ? 4 * z - 4 : z * z;
      const next = Math.sqrt(z > 2 ? 2 / z : 1) / sd[i]!;
      if (next !== weight[i]) changed = true;
      weight[i] = next;
    }
    if (!changed || n <= plain.length) break;
  }
  const u = qr.inverseUpper().map((row) => Math.sqrt(row.reduce((sum, v) => sum + v * v, 0)));
  return { coefficients, u, value: coefficients[0]!, misfit };
}
