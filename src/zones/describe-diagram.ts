import { log } from '../maths/portable.ts';
import { type DiagramEstimate, propagateDiagram } from './diagram-estimate.ts';
import type { DiagramState } from './diagram-fit.ts';
import { type Run, runsOf } from './diagram-stretches.ts';
import { tent, tentRotation } from './elastic.ts';
import { ELASTIC, type LineModel } from './model.ts';
import type { DiagramFrame } from './moment-diagram.ts';

/** One bent stretch with everything said of it. */
export interface DescribedRun {
  readonly run: Run;
  readonly rotation: number;
  readonly rotationU: number;
  readonly from: number;
  readonly to: number;
  readonly fromU: number;
  readonly toU: number;
  /** ln of the largest curvature over yield curvature. */
  readonly logPeak: number;
  readonly logPeakU: number;
}

/** Plastic rotation below which a run is not worth a name, rad. */
const LEAST_ROTATION = 1e-3;

export function describeRuns(
  model: LineModel,
  frame: DiagramFrame,
  estimate: DiagramEstimate,
): DescribedRun[] {
  const runs = runsOf(frame, estimate.state, model.yieldCurvature).filter(
    (run) => Math.abs(run.rotation) > LEAST_ROTATION,
  );
  if (runs.length === 0) return [];
  const { values, u } = propagateDiagram(estimate, (coefficients, state) => {
    const now = state === estimate.state ? runs : matched(model, frame, state, runs);
    return now.flatMap((run) => [
      totalRotation(model, coefficients, run),
      run.from,
      run.to,
      log(Math.max(peakTotal(model, coefficients, run), 1e-9) / model.yieldCurvature),
    ]);
  });
  return runs.map((run, j) => ({
    run,
    rotation: values[4 * j]!,
    rotationU: u[4 * j]!,
    from: values[4 * j + 1]!,
    to: values[4 * j + 2]!,
    fromU: u[4 * j + 1]!,
    toU: u[4 * j + 2]!,
    logPeak: values[4 * j + 3]!,
    logPeakU: u[4 * j + 3]!,
  }));
}

/** The runs of a state a little different, each paired with the one it was; a vanished one is itself with no bend. */
function matched(model: LineModel, frame: DiagramFrame, state: DiagramState, runs: readonly Run[]): Run[] {
  const now = runsOf(frame, state, model.yieldCurvature);
  return runs.map((run) => {
    let best: Run | null = null;
    for (const other of now) {
      if (other.sign !== run.sign || other.from > run.to || other.to < run.from) continue;
      if (!best || Math.abs(other.peak - run.peak) < Math.abs(best.peak - run.peak)) best = other;
    }
    return best ?? { ...run, rotation: 0, peakCurvature: 0 };
  });
}

function totalRotation(model: LineModel, coefficients: ArrayLike<number>, run: Run): number {
  let rotation = run.rotation;
  for (let k = 1; k < model.nodes.stations.length - 1; k++)
    rotation += coefficients[ELASTIC + k - 1]! * tentRotation(model.nodes, k, run.from, run.to);
  return rotation;
}

function peakTotal(model: LineModel, coefficients: ArrayLike<number>, run: Run): number {
  let curvature = run.peakCurvature;
  for (let k = 1; k < model.nodes.stations.length - 1; k++)
    curvature += coefficients[ELASTIC + k - 1]! * tent(model.nodes, k, run.peak);
  return Math.abs(curvature);
}
