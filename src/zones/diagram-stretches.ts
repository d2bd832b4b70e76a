import type { DiagramState } from './diagram-fit.ts';
import {
  type DiagramFrame,
  deflectionAt,
  type Integrated,
  integrate,
  momentDiagram,
  plasticDiagram,
} from './moment-diagram.ts';
import type { BentStretch } from './stretch.ts';
import { yieldingOf } from './yielding.ts';

/** One run of plastic curvature of one sign on the grid. */
export interface Run extends BentStretch {
  readonly sign: number;
  /** Plastic curvature at the peak, 1/m. */
  readonly peakCurvature: number;
}

/** Runs of plastic curvature along the line, in order. */
export function runsOf(frame: DiagramFrame, state: DiagramState, yieldCurvature: number): Run[] {
  const steel = yieldingOf(state.hardening);
  const plastic = plasticDiagram(frame, state.blows, state.release, steel);
  const moments = state.blows.map((blow) => momentDiagram(frame, blow, steel));
  const over = (i: number) => {
    let most = 0;
    for (const m of moments) most = Math.max(most, Math.abs(m[i]!));
    return most - 1;
  };
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
      masked[k] = plastic[k]! * yieldCurvature;
      rotation += masked[k]! * frame.step;
      if (Math.abs(plastic[k]!) > Math.abs(plastic[peak]!)) peak = k;
    }
    let integrated: Integrated | null = null;
    runs.push({
      from: edge(frame, plastic, over, first, -1),
      to: edge(frame, plastic, over, last, 1),
      peak: frame.stations[peak]!,
      rotation,
      sign,
      peakCurvature: masked[peak]!,
      column: (x) => {
        integrated ??= integrate(frame, masked);
        const deflection = deflectionAt(frame, integrated, x);
        for (let k = 0; k < deflection.length; k++) deflection[k]! /= rotation;
        return deflection;
      },
    });
  }
  return runs;
}

/** Where the run really ends: between its last grid station and the next one. */
function edge(
  frame: DiagramFrame,
  plastic: Float64Array,
  over: (i: number) => number,
  at: number,
  side: -1 | 1,
): number {
  const next = at + side;
  const here = frame.stations[at]!;
  if (next < 0 || next >= plastic.length) return here;
  let share: number;
  if (plastic[next] !== 0) share = plastic[at]! / (plastic[at]! - plastic[next]!);
  else {
    const inside = over(at);
    const outside = over(next);
    share = inside > 0 && outside < 0 ? inside / (inside - outside) : 0.5;
  }
  return here + side * frame.step * Math.max(0, Math.min(1, share));
}
