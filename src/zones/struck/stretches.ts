import type { Zone } from '../../analysis.ts';
import { bendCore } from '../bend-core.ts';
import type { LineModel } from '../model.ts';
import type { BentStretch } from '../stretch.ts';
import { type StruckState, type Supports, strike } from './beam.ts';
import { type Cells, deflectionAt, type Integrated, integrate, slopeAt } from './cells.ts';
import { supportsOf } from './shape.ts';

/** One run of plastic curvature of one sign on the grid. */
export interface Run extends BentStretch {
  readonly sign: number;
  /** Plastic curvature at the peak, 1/m. */
  readonly peakCurvature: number;
  readonly core: () => Zone['core'];
}

/** What the web's hold bends elastically between supports, beside a moment straight from one to the next. */
interface Bowed {
  /** 1/m */
  readonly curvatureAt: (station: number) => number;
  /** rad */
  readonly turn: (from: number, to: number) => number;
}

const STRAIGHT: Bowed = { curvatureAt: () => 0, turn: () => 0 };

interface Runs {
  readonly runs: Run[];
  /** Moments locked in at the supports between the ends, over M_y. */
  readonly locked: Float64Array;
  readonly bowed: Bowed;
}

/** Runs of plastic curvature along the line, in order, and the elastic bending locked in. */
export function runsOf(model: LineModel, state: StruckState): Runs {
  if (state.blows.length === 0)
    return { runs: [], locked: new Float64Array(model.nodes.stations.length - 2), bowed: STRAIGHT };
  const supports = supportsOf(model, state);
  const struck = strike(supports, state);
  const { cells, reached } = struck;
  // Moments that bend the slope down with station are the positive ones of statics.
  const plastic = struck.plastic.map((k) => -k * model.yieldCurvature);
  const elastic =
    state.bed === null ? null : betweenSupports(supports, cells, struck.moment, model.yieldCurvature);
  const runs: Run[] = [];
  const n = plastic.length;
  let i = 0;
  while (i < n) {
    const sign = Math.sign(plastic[i]!);
    if (sign === 0) {
      i++;
      continue;
    }
    const first = i;
    while (i < n && Math.sign(plastic[i]!) === sign) i++;
    const last = i - 1;
    const masked = new Float64Array(n);
    let rotation = 0;
    let peak = first;
    for (let k = first; k <= last; k++) {
      masked[k] = plastic[k]!;
      rotation += masked[k]! * cells.width[k]!;
      if (Math.abs(plastic[k]!) > Math.abs(plastic[peak]!)) peak = k;
    }
    let integrated: Integrated | null = null;
    const from = edge(cells, plastic, reached, first, -1);
    const to = edge(cells, plastic, reached, last, 1);
    runs.push({
      from,
      to,
      peak: cells.middle[peak]!,
      rotation,
      sign,
      peakCurvature: masked[peak]!,
      core: () => bendCore(from, to, cells.middle, cells.width, masked),
      column: (x) => {
        integrated ??= integrate(cells, masked);
        const deflection = deflectionAt(cells, integrated, x, [model.from, model.to]);
        for (let k = 0; k < deflection.length; k++) deflection[k]! /= rotation;
        return deflection;
      },
    });
  }
  const locked = lockedIn(model, cells, struck.moment);
  if (elastic === null) return { runs, locked, bowed: STRAIGHT };
  const turn = (from: number, to: number) => slopeAt(cells, elastic, to) - slopeAt(cells, elastic, from);
  const curvatureAt = (station: number) => {
    let i = 0;
    while (i + 1 < cells.width.length && cells.edges[i + 1]! < station) i++;
    return elastic.curvature[i]!;
  };
  // It goes with the bend that the web holds back, and is laid to the largest.
  const largest = runs.reduce<Run | null>(
    (most, run) => (most && Math.abs(most.rotation) >= Math.abs(run.rotation) ? most : run),
    null,
  );
  return {
    runs: runs.map((run) =>
      run !== largest
        ? run
        : {
            ...run,
            bows: (from, to) => turn(from, to) / run.rotation,
            column: (x) => {
              const bow = deflectionAt(cells, elastic, x, [model.from, model.to]);
              return run.column(x).map((own, k) => own + bow[k]! / run.rotation);
            },
          },
    ),
    locked,
    bowed: { curvatureAt, turn },
  };
}

/** Moments left at the model's nodes, over M_y, in the sense of curvature. */
function lockedIn(model: LineModel, cells: Cells, moment: Float64Array): Float64Array {
  return Float64Array.from(model.nodes.stations.slice(1, -1), (at) => -momentAt(cells, moment, at));
}

/** Moment at a support, carried on from the two cells before it: moments turn sharply there. */
function momentAt({ middle }: Cells, moment: Float64Array, at: number): number {
  let i = 1;
  while (i + 1 < middle.length && middle[i + 1]! < at) i++;
  const slope = (moment[i]! - moment[i - 1]!) / (middle[i]! - middle[i - 1]!);
  return moment[i]! + slope * (at - middle[i]!);
}

/**
 * What the web's hold left beside a moment straight from support to support.
 */
function betweenSupports(
  { from, to, diaphragms }: Supports,
  cells: Cells,
  moment: Float64Array,
  yieldCurvature: number,
): Integrated {
  const supports = [from, ...diaphragms, to];
  const over = supports.map((at, j) =>
    j === 0 || j === supports.length - 1 ? 0 : momentAt(cells, moment, at),
  );
  let bay = 0;
  const curvature = moment.map((m, i) => {
    const s = cells.middle[i]!;
    while (bay < supports.length - 2 && s > supports[bay + 1]!) bay++;
    const share = (s - supports[bay]!) / (supports[bay + 1]! - supports[bay]!);
    return -(m - over[bay]! - share * (over[bay + 1]! - over[bay]!)) * yieldCurvature;
  });
  return integrate(cells, curvature);
}

/** Where the run really ends: between the middles of its last cell and of the next one. */
function edge(cells: Cells, plastic: Float64Array, reached: Float64Array, at: number, side: -1 | 1): number {
  const next = at + side;
  const here = cells.middle[at]!;
  if (next < 0 || next >= plastic.length) return here;
  let share: number;
  if (plastic[next] !== 0) share = plastic[at]! / (plastic[at]! - plastic[next]!);
  else {
    const inside = reached[at]! - 1;
    const outside = reached[next]! - 1;
    share = inside > 0 && outside < 0 ? inside / (inside - outside) : 0.5;
  }
  return here + (cells.middle[next]! - here) * Math.max(0, Math.min(1, share));
}
