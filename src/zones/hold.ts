import { gainsOfLeaving, type Hand } from './climb.ts';
import { continued, places, withPriors } from './held-design.ts';
import { type Design, type FixedFactor, factorFixed, type LineModel, type Rows } from './model.ts';
import { tooMany } from './reading-prior.ts';
import { readingsLess, residualOf } from './residuals.ts';
import { zoneColumn, zoneFrom, zoneTo } from './separate/shape.ts';
import type { BentStretch } from './stretch.ts';

/** A survey fitted with the zones' geometry held. */
export interface Held {
  readonly fixed: FixedFactor;
  readonly off: readonly boolean[];
  /** Curvature the known zones cannot carry, largest first. */
  readonly elsewhere: readonly BentStretch[];
  /** √(χ²/ν) of the readings kept. */
  readonly misfit: number;
}

/** Gain in log posterior a stretch of new curvature must bring before it is believed, nats. */
const NEW_CURVATURE = 9;

/**
 * Which readings of a survey are wrong, and whether steel bends outside the known zones, geometry held. The two
 * compete: each pass takes the one that explains more.
 *
 * @param designs made for surveys before this one; see `factorFixed`
 */
export function holdSurvey(
  model: LineModel,
  rows: Rows,
  hand: Hand,
  stretches: readonly BentStretch[],
  scale: number,
  designs: Design[],
): Held {
  const n = rows.x.length;
  const off = hand.off.slice();
  const elsewhere: BentStretch[] = [];
  let fixed = factorFixed(model, rows, off, scale, designs);
  let misfit = 1;
  for (let pass = 0; pass <= Math.max(4, n / 3); pass++) {
    const known = allStretches(stretches, elsewhere);
    const { qr, share } = continued(fixed.design, known);
    const residual = residualOf(fixed, qr);
    const gains = gainsOfLeaving({ rows, scale, hand }, off, { residual, share });
    let sum = 0;
    let left = 0;
    let worst = -1;
    let worstGain = 0;
    for (let i = 0; i < n; i++) {
      if (off[i]) continue;
      sum += residual[i]! ** 2;
      left += share[i]!;
      if (gains[i]! > worstGain) {
        worst = i;
        worstGain = gains[i]!;
      }
    }
    misfit = left > 1 ? Math.sqrt(sum / left) : 1;
    const fresh = worstGain > 0 || misfit > 1.15 ? newCurvature(fixed, known) : null;
    const freshGain = fresh && elsewhere.length < 3 ? fresh.gain / 2 - NEW_CURVATURE : 0;
    if (tooMany(hand.off, off)) worstGain = 0;
    if (worstGain <= 0 && freshGain <= 0) break;
    if (freshGain > worstGain) elsewhere.push(fresh!.stretch);
    else {
      off[worst] = true;
      fixed = factorFixed(model, rows, off, scale, designs);
    }
  }
  return { fixed, off, elsewhere, misfit };
}

/** The known stretches and new ones: the same list where there are none, so that what is known of it is found again. */
export function allStretches(
  known: readonly BentStretch[],
  elsewhere: readonly BentStretch[],
): readonly BentStretch[] {
  return elsewhere.length === 0 ? known : [...known, ...elsewhere];
}

/** The stretch outside the zones whose bending would take most off the residual. */
function newCurvature(
  fixed: FixedFactor,
  known: readonly BentStretch[],
): { stretch: BentStretch; gain: number } | null {
  const { model } = fixed;
  const { qr } = continued(fixed.design, known);
  const right = qr.apply(readingsLess(fixed, null));
  let best: { stretch: BentStretch; gain: number } | null = null;
  for (const { zone, left, size } of places(fixed.design, known)) {
    let dot = 0;
    for (let k = 0; k < left.length; k++) dot += left[k]! * right[qr.rank + k]!;
    const gain = (dot * dot) / size;
    if (best && gain <= best.gain) continue;
    best = {
      gain,
      stretch: {
        from: zoneFrom(zone),
        to: zoneTo(zone),
        peak: zone.peak,
        rotation: 0,
        column: (at) => zoneColumn(model, Float64Array.from(at), zone),
      },
    };
  }
  return best;
}

/** Linear estimate of one survey. */
export interface HeldFit {
  /** Chord (2), sweep (2), elastic node curvatures, plastic rotations. */
  readonly coefficients: Float64Array;
  readonly covariance: readonly (readonly number[])[];
}

/** Coefficients and covariance with the geometry held. */
export function solveHeld(fixed: FixedFactor, stretches: readonly BentStretch[]): HeldFit {
  const { qr, covariance } = withPriors(fixed.design, stretches);
  const right = new Float64Array(qr.rows);
  right.set(readingsLess(fixed, null));
  return { coefficients: qr.solve(qr.apply(right)), covariance };
}
