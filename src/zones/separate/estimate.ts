import { exp } from '../../maths/portable.ts';
import { type FixedFactor, stackFixed, weighted } from '../model.ts';
import { readingsLess } from '../residuals.ts';
import { derivativeColumn, type FreeNumber, freeNumbers, peakSd } from './fit.ts';
import type { LengthPrior } from './length-prior.ts';
import { withRotation, type ZoneShape, zoneColumn } from './shape.ts';

/** Everything unknown about one survey at the optimum, with the covariance of all of it, edges included. */
export interface Estimate {
  /** Chord (2), sweep (2), elastic node curvatures, plastic rotations. */
  readonly coefficients: Float64Array;
  /** First free number of the geometry comes after the coefficients. */
  readonly free: readonly FreeNumber[];
  readonly zones: readonly ZoneShape[];
  /** (coefficients + free) square. */
  readonly covariance: readonly (readonly number[])[];
}

/**
 * Coefficients and covariance of one survey: the linear columns and the derivatives by every peak and side length
 * in one QR, with the priors, and with what other surveys know of the geometry (`others`, rows of a factor).
 */
export function estimate(
  fixed: FixedFactor,
  zones: readonly ZoneShape[],
  priors: readonly LengthPrior[],
  others: readonly Float64Array[],
): Estimate {
  const { model, x } = fixed;
  const free = freeNumbers(zones);
  const qr = stackFixed(fixed, zones.length + free.length + others.length);
  zones.forEach((zone, j) => {
    const full = weighted(fixed, zoneColumn(model, x, zone), qr.rows);
    full[fixed.rows + j] = 1 / model.rotationSd;
    qr.push(full);
  });
  const right = new Float64Array(qr.rows);
  right.set(readingsLess(fixed, null));
  qr.apply(right);
  const coefficients = qr.solve(right);
  free.forEach(({ zone, what }, f) => {
    const rotation = coefficients[fixed.columns + zone]!;
    const derivative = derivativeColumn(model, x, zones[zone]!, what);
    const prior = priors[zone]!;
    const sd = what === 'peak' ? peakSd(model, zones[zone]!) : what === 'left' ? prior.leftSd : prior.rightSd;
    const full = weighted(
      fixed,
      derivative.map((value) => value * rotation),
      qr.rows,
    );
    full[fixed.rows + zones.length + f] = 1 / sd;
    others.forEach((row, r) => {
      full[fixed.rows + zones.length + free.length + r] = row[f]!;
    });
    qr.push(full);
  });
  return { coefficients, free, zones, covariance: qr.unscaledCovariance() };
}

/** Value and standard uncertainty of any function of the unknowns, by central differences of one sd each. */
export function propagate(
  estimate: Estimate,
  value: (coefficients: Float64Array, zones: readonly ZoneShape[]) => number,
  yieldCurvature: number,
): { value: number; u: number } {
  const { coefficients, covariance, free, zones } = estimate;
  const linear = coefficients.length;
  const total = linear + free.length;
  const at = (p: number, change: number): number => {
    const c = coefficients.slice();
    let moved: readonly ZoneShape[] = zones;
    if (p >= 0 && p < linear) c[p]! += change;
    else if (p >= linear) {
      const { zone, what } = free[p - linear]!;
      moved = zones.map((z, j) => {
        if (j !== zone) return z;
        return what === 'peak' ? { ...z, peak: z.peak + change } : { ...z, [what]: z[what] * exp(change) };
      });
    }
    const first = linear - zones.length;
    const consistent = moved.map((z, j) => withRotation(z, c[first + j]!, yieldCurvature));
    return value(c, consistent);
  };
  const gradient = Array.from({ length: total }, (_, p) => {
    const sd = Math.sqrt(covariance[p]?.[p] ?? 0);
    if (sd === 0) return 0;
    const step = 0.3 * sd;
    return (at(p, step) - at(p, -step)) / (2 * step);
  });
  let variance = 0;
  for (let a = 0; a < total; a++)
    for (let b = 0; b < total; b++) variance += gradient[a]! * gradient[b]! * covariance[a]![b]!;
  return { value: at(-1, 0), u: Math.sqrt(Math.max(0, variance)) };
}
