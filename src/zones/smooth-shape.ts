import { once, rotationsOver } from './held-design.ts';
import { freePriors } from './line-model.ts';
import type { LineModel } from './model.ts';
import { type Prepared, poolStations } from './prepare.ts';
import type { BentStretch } from './stretch.ts';

/** Nodes of the smooth shape, at most. */
const MOST_NODES = 80;

/**
 * The line as a smooth curve through what was read, no mechanics in it: curvature a broken line with a node at every
 * station, each as large as the readings of the surveys show it thereabouts. (A cubic spline with a prior on its
 * second derivative: Wahba, *Spline Models for Observational Data*, from memory.) No zones, supports or yield enter.
 *
 * @param off by survey and reading: wrong
 * @param scale on the stated reading sd
 */
export function smoothModel(
  model: LineModel,
  prepared: readonly Prepared[],
  off: readonly (readonly boolean[])[],
  scale: number,
): LineModel {
  const { from, to } = model;
  const gap = 0.002 * (to - from);
  const read = [...new Set(prepared.flatMap((one) => Array.from(one.rows.x)))]
    .filter((x) => x > from + gap && x < to - gap)
    .sort((a, b) => a - b)
    .filter((x, i, all) => i === 0 || x - all[i - 1]! > gap);
  const every = Math.ceil(read.length / MOST_NODES);
  const inner = read.filter((_, i) => i % every === 0);
  const curvatures = prepared.map((one, k) => curvatureSizes(one, off[k]!, scale));
  const priors = inner.map((_, i) => {
    const [a, b] = [inner[i - 1] ?? from, inner[i + 1] ?? to];
    let size = 0;
    for (const list of curvatures)
      for (const at of list) if (at.station >= a && at.station <= b) size = Math.max(size, at.size);
    return size;
  });
  const least = 0.2 * model.yieldCurvature;
  const identity = freePriors(inner.length, 1);
  return {
    ...model,
    nodes: { stations: [from, ...inner, to] },
    bearings: [from, to],
    nodesGiven: false,
    elasticPriors: identity.map((row, i) => row.map((value) => value / Math.max(least, priors[i]!))),
  };
}

/** Size of the three-point curvature at each interior station, 1/m. */
function curvatureSizes(one: Prepared, off: readonly boolean[], scale: number) {
  const stations = poolStations(one.rows, off, scale).filter((s) => !s.setAside);
  return stations.slice(1, -1).map((here, i) => {
    const [a, b] = [stations[i]!, stations[i + 2]!];
    const [left, right] = [here.station - a.station, b.station - here.station];
    const half = (left + right) / 2;
    const value = ((b.y - here.y) / right - (here.y - a.y) / left) / half;
    return { station: here.station, size: Math.abs(value) };
  });
}

/** Total rotation across each stretch as weights on the coefficients of a smooth shape, with the covariance of the rotations. */
export const smoothRotations = once((design, stretches) => rotationsOver(design, NO_STRETCHES, stretches));

/** A smooth shape has no stretches: one list, so that what is known of a design without them is found again. */
export const NO_STRETCHES: readonly BentStretch[] = [];
