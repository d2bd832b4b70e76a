import type { Zone } from '../../analysis.ts';
import { bendCore } from '../bend-core.ts';
import type { LineModel } from '../model.ts';
import type { BentStretch } from '../stretch.ts';
import { type StruckState, type Supports, strike, unitMoment } from './beam.ts';
import { type Cells, deflectionAt, type Integrated, integrate } from './cells.ts';
import { supportsOf } from './shape.ts';

/** One run of plastic curvature of one sign on the grid. */
export interface Run extends BentStretch {
  readonly sign: number;
  /** Plastic curvature at the peak, 1/m. */
  readonly peakCurvature: number;
  readonly core: () => Zone['core'];
}

/** Runs of plastic curvature along the line, in order, and the moments locked in at the diaphragms over M_y. */
export function runsOf(
  model: LineModel,
  state: StruckState,
): { readonly runs: Run[]; readonly locked: Float64Array } {
  if (state.blows.length === 0)
    return { runs: [], locked: new Float64Array(model.nodes.stations.length - 2) };
  const supports = supportsOf(model, state);
  const struck = strike(supports, state);
  const { cells, reached } = struck;
  // Moments that bend the slope down with station are the positive ones of statics.
  const plastic = struck.plastic.map((k) => -k * model.yieldCurvature);
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
        const deflection = deflectionAt(cells, integrated, x);
        for (let k = 0; k < deflection.length; k++) deflection[k]! /= rotation;
        return deflection;
      },
    });
  }
  return { runs, locked: lockedIn(model, supports, struck.forces) };
}

/** Moments at the model's nodes that the diaphragms' forces leave. */
function lockedIn(model: LineModel, supports: Supports, forces: Float64Array): Float64Array {
  const nodes = Float64Array.from(model.nodes.stations.slice(1, -1));
  const sum = new Float64Array(nodes.length);
  supports.diaphragms.forEach((at, j) => {
    const moment = unitMoment(supports, nodes, at, 0);
    for (let k = 0; k < sum.length; k++) sum[k]! -= forces[j]! * moment[k]!;
  });
  return sum;
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
