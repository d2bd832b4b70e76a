/**
 * A better-informed estimator on the same readings: it is told the exact shape of plastic curvature in every zone, the
 * true reading sd and which readings are wrong, and has only string, original sweep, elastic reactions and one rotation
 * a zone to find (linear least squares with the same priors). What it misses, no estimator of zones can be blamed for.
 */

import { tentRotation } from '../../src/zones/elastic.ts';
import { solveHeld } from '../../src/zones/hold.ts';
import { createLineModel } from '../../src/zones/line-model.ts';
import { elasticFrom, factorFixed } from '../../src/zones/model.ts';
import { prepareSurvey } from '../../src/zones/prepare.ts';
import type { BentStretch } from '../../src/zones/stretch.ts';
import { deflectionAt, integrate } from '../../src/zones/struck/cells.ts';
import type { TrueZone } from '../mechanics/girder.ts';
import { type Case, STRAIN_WANTED } from './zones-cases.ts';

export interface OracleZone {
  readonly truth: TrueZone;
  readonly error: number;
  readonly u: number;
}

export function oracle(one: Case): OracleZone[] {
  const { truth, options, set } = one;
  const line = one.job.lines[0]!;
  const model = createLineModel(line, {
    ...one.job.member,
    diaphragms: truth.options.diaphragms.map((d) => d.station),
  });
  const prepared = prepareSurvey(line, one.surveys[0]!, [], one.readingSd);
  const wrong = new Set(set.blunders.map((b) => b.row));
  const sd = Math.hypot(options.sd, (options.rounding ?? 0) / Math.sqrt(12));
  const fixed = factorFixed(
    model,
    { ...prepared.rows, sd: prepared.rows.sd.map(() => sd) },
    prepared.readings.map((reading) => wrong.has(reading.row)),
    1,
  );
  const h = truth.grid.spacing;
  const nodes = truth.grid.stations;
  // One cell about each node.
  const grid = {
    edges: Float64Array.from([nodes[0]!, ...nodes.slice(1).map((s) => s - h / 2), nodes.at(-1)!]),
    middle: Float64Array.from(nodes),
    width: Float64Array.from(nodes, (_, i) => (i === 0 || i === nodes.length - 1 ? h / 2 : h)),
  };
  const stretches = truth.zones.map((zone): BentStretch => {
    const curvature = truth.grid.stations.map((s, i) =>
      s >= zone.from && s <= zone.to ? truth.plasticCurvature[i]! / zone.plasticRotation : 0,
    );
    const integrated = integrate(grid, curvature);
    return {
      from: zone.from,
      to: zone.to,
      peak: zone.centre,
      rotation: zone.plasticRotation,
      column: (x) => deflectionAt(grid, integrated, x),
    };
  });
  const { coefficients, covariance } = solveHeld(fixed, stretches);
  const first = coefficients.length - stretches.length;
  return truth.zones.flatMap((zone, j) => {
    if (zone.strainRatio < STRAIN_WANTED) return [];
    const row = new Float64Array(coefficients.length);
    row[first + j] = 1;
    for (let k = 1; k < model.nodes.stations.length - 1; k++)
      row[elasticFrom(model) + k - 1] = tentRotation(model.nodes, k, zone.from, zone.to);
    let value = 0;
    let variance = 0;
    row.forEach((a, p) => {
      value += a * coefficients[p]!;
      row.forEach((b, q) => {
        variance += a * b * covariance[p]![q]!;
      });
    });
    return [{ truth: zone, error: value - zone.rotation, u: Math.sqrt(variance) }];
  });
}
