import { log } from '../../maths/portable.ts';
import type { Bend } from '../bend.ts';
import { tent, tentRotation } from '../elastic.ts';
import { elasticFrom, type LineModel } from '../model.ts';
import { RIGID } from './beam.ts';
import { propagateStruck, type StruckEstimate } from './estimate.ts';
import { type Run, runsOf } from './stretches.ts';

/** Plastic rotation below which a run is not worth a name, rad. */
const LEAST_ROTATION = 1e-3;
/** How a diaphragm gives: ln EI/k, EI/k in m³, and its standard uncertainty. */
export interface Spring {
  readonly logCompliance: number;
  readonly u: number;
}

/** Numbers said of one run. */
const SAID = 4;

/**
 * The runs, and chord, sweep and elastic node curvatures (those of the struck beam and what goes beyond them together)
 * with their covariance; and how the diaphragms give (null at a pier).
 */
export function describeStruck(
  model: LineModel,
  estimate: StruckEstimate,
): {
  bends: Bend[];
  coefficients: number[];
  covariance: number[][];
  springs: (Spring | null)[];
} {
  const found = runsOf(model, estimate.state).runs.filter((run) => Math.abs(run.rotation) > LEAST_ROTATION);
  const linear = estimate.coefficients.length;
  const { values, covariance } = propagateStruck(estimate, (coefficients, state) => {
    const { runs, locked, bowed } = runsOf(model, state);
    const whole = coefficients.slice();
    locked.forEach((m, k) => {
      whole[elasticFrom(model) + k]! += m * model.yieldCurvature;
    });
    return [
      ...whole,
      ...state.uneven.map((own) => (own === RIGID ? 0 : state.softness + own)),
      ...(state === estimate.state ? found : matched(runs, found)).flatMap((run) => [
        totalRotation(model, whole, run) + bowed.turn(run.from, run.to),
        run.from,
        run.to,
        log(
          Math.max(Math.abs(peakTotal(model, whole, run) + bowed.curvatureAt(run.peak)), 1e-9) /
            model.yieldCurvature,
        ),
      ]),
    ];
  });
  const runsFrom = linear + estimate.state.uneven.length;
  const u = (v: number) => Math.sqrt(Math.max(0, covariance[v]![v]!));
  return {
    bends: found.map((run, j) => {
      const at = runsFrom + SAID * j;
      return {
        stretch: run,
        rotation: values[at]!,
        rotationU: u(at),
        from: values[at + 1]!,
        to: values[at + 2]!,
        fromU: u(at + 1),
        toU: u(at + 2),
        core: run.core(),
        logPeak: values[at + 3]!,
        logPeakU: u(at + 3),
      };
    }),
    coefficients: values.slice(0, linear),
    covariance: covariance.slice(0, linear).map((row) => row.slice(0, linear)),
    springs: estimate.state.uneven.map((own, k) =>
      own === RIGID ? null : { logCompliance: values[linear + k]!, u: u(linear + k) },
    ),
  };
}

/** The runs of a state a little different, each paired with the one it was; a vanished one is itself with no bend. */
function matched(now: readonly Run[], runs: readonly Run[]): Run[] {
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
    rotation += coefficients[elasticFrom(model) + k - 1]! * tentRotation(model.nodes, k, run.from, run.to);
  return rotation;
}

function peakTotal(model: LineModel, coefficients: ArrayLike<number>, run: Run): number {
  let curvature = run.peakCurvature;
  for (let k = 1; k < model.nodes.stations.length - 1; k++)
    curvature += coefficients[elasticFrom(model) + k - 1]! * tent(model.nodes, k, run.peak);
  return curvature;
}
