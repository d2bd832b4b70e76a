import type { Qr } from '../maths/qr.ts';
import { tentRotation } from './elastic.ts';
import { CHORD, type Design, elasticFrom, fixedColumns, stackFixed, weighted } from './model.ts';
import { shareLeft } from './residuals.ts';
import { newZone, type ZoneShape, zoneColumn } from './separate/shape.ts';
import type { BentStretch } from './stretch.ts';

/**
 * What stations, weights and bent stretches settle before anything is read. Forty surveys of the same stations ask for
 * it forty times; it is worked out once for each design and list of stretches, by the same steps.
 */
export function once<T>(make: (design: Design, stretches: readonly BentStretch[]) => T) {
  const known = new WeakMap<Design, WeakMap<readonly BentStretch[], { readonly made: T }>>();
  return (design: Design, stretches: readonly BentStretch[]): T => {
    let ofDesign = known.get(design);
    if (!ofDesign) {
      ofDesign = new WeakMap();
      known.set(design, ofDesign);
    }
    let found = ofDesign.get(stretches);
    if (!found) {
      found = { made: make(design, stretches) };
      ofDesign.set(stretches, found);
    }
    return found.made;
  };
}

/** The fixed part continued with the stretches' columns, and the share of each reading's variance left after it. */
export const continued = once((design, stretches): { qr: Qr; share: Float64Array } => {
  const qr = design.qr.fork();
  for (const stretch of stretches) qr.push(weighted(design, stretch.column(design.x)));
  return { qr, share: shareLeft(design, qr) };
});

/** All columns with the priors of the rotations: the factor that gives coefficients, and their covariance. */
export const withPriors = once((design, stretches): { qr: Qr; covariance: number[][] } => {
  const qr = stackFixed(design, stretches.length);
  stretches.forEach((stretch, j) => {
    const full = weighted(design, stretch.column(design.x), qr.rows);
    full[design.rows + j] = 1 / design.model.rotationSd;
    qr.push(full);
  });
  return { qr, covariance: qr.unscaledCovariance() };
});

/** A place outside the known stretches where steel could be bent too. */
interface Elsewhere {
  readonly zone: ZoneShape;
  /** What the known columns leave of its own, from row `qr.rank` on. */
  readonly left: Float64Array;
  /** Σ left² and the prior of its rotation. */
  readonly size: number;
}

/** Every place for new curvature beside the known stretches. */
export const places = once((design, known): readonly Elsewhere[] => {
  const { model, x } = design;
  const { qr } = continued(design, known);
  const stations = [...new Set(x)].sort((a, b) => a - b);
  const half = 0.2 * model.panel;
  const found: Elsewhere[] = [];
  for (let i = 2; i < stations.length - 2; i++) {
    const peak = stations[i]!;
    if (peak <= model.from || peak >= model.to) continue;
    if (known.some((stretch) => peak > stretch.from - half && peak < stretch.to + half)) continue;
    const zone = newZone(model, { peak, anchor: 'none' }, 0.2);
    const left = qr.apply(weighted(design, zoneColumn(model, x, zone))).slice(qr.rank);
    let size = 1 / model.rotationSd ** 2;
    for (let k = 0; k < left.length; k++) size += left[k]! ** 2;
    found.push({ zone, left, size });
  }
  return found;
});

/** What the fit's coefficients are at the stations read. */
interface AtStations {
  /** By station, its place in the arrays. */
  readonly index: ReadonlyMap<number, number>;
  /** One a coefficient, over the stations. */
  readonly columns: readonly Float64Array[];
  /** Variance of the fitted offset, chord included. */
  readonly variance: Float64Array;
  /** Variance of its height above the fitted chord. */
  readonly aboveChord: Float64Array;
}

/** The fitted offset at the distinct stations, as far as it does not depend on what was read. */
export const atStations = once((design, stretches): AtStations => {
  const x = Float64Array.from(new Set(design.x));
  const columns = [...fixedColumns(design.model, x), ...stretches.map((stretch) => stretch.column(x))];
  const { covariance } = withPriors(design, stretches);
  const variance = new Float64Array(x.length);
  const aboveChord = new Float64Array(x.length);
  for (let i = 0; i < x.length; i++) {
    for (let p = 0; p < columns.length; p++) {
      const a = columns[p]![i]!;
      if (a === 0) continue;
      const row = covariance[p]!;
      let chord = 0;
      let rest = 0;
      for (let q = 0; q < columns.length; q++) {
        const part = columns[q]![i]! * row[q]!;
        if (q < CHORD) chord += part;
        else rest += part;
      }
      variance[i]! += a * (chord + rest);
      if (p >= CHORD) aboveChord[i]! += a * rest;
    }
  }
  return { index: new Map(Array.from(x, (station, i) => [station, i])), columns, variance, aboveChord };
});

/** Total rotation across each stretch as weights on the coefficients, with the covariance of the rotations. */
export const rotations = once((design, stretches) => rotationsOver(design, stretches, stretches));

/**
 * Total rotation across each of `stretches`: what the design's own bent stretches turn there, and the curvature between.
 *
 * @param bent the stretches that have a coefficient of their own: all of them, or none (a smooth shape)
 */
export function rotationsOver(
  design: Design,
  bent: readonly BentStretch[],
  stretches: readonly BentStretch[],
): { rows: Float64Array[]; covariance: number[][] } {
  const { nodes } = design.model;
  const { qr, covariance } = withPriors(design, bent);
  const size = qr.place.length;
  const rows = stretches.map((stretch, j) => {
    const row = new Float64Array(size);
    if (bent.length > 0) row[size - bent.length + j] = 1;
    bent.forEach((other, i) => {
      if (other.bows !== undefined) row[size - bent.length + i]! += other.bows(stretch.from, stretch.to);
    });
    for (let k = 1; k < nodes.stations.length - 1; k++)
      row[elasticFrom(design.model) + k - 1] = tentRotation(nodes, k, stretch.from, stretch.to);
    return row;
  });
  return { rows, covariance: covarianceOf(rows, covariance) };
}

/** Covariance of weighted sums of the coefficients: one row of weights a sum. */
export function covarianceOf(
  rows: readonly Float64Array[],
  covariance: readonly (readonly number[])[],
): number[][] {
  return rows.map((a) =>
    rows.map((b) => {
      let sum = 0;
      for (let i = 0; i < a.length; i++)
        if (a[i] !== 0) for (let k = 0; k < b.length; k++) sum += a[i]! * b[k]! * covariance[i]![k]!;
      return sum;
    }),
  );
}
