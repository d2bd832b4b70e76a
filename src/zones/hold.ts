import { Qr } from '../maths/qr.ts';
import { type FixedFactor, factorFixed, type LineModel, type Rows, zoneColumn } from './model.ts';
import { logWrong, tooMany } from './reading-prior.ts';
import { newZone, residualsOf, weighted } from './search.ts';
import type { BentStretch } from './stretch.ts';
import { zoneFrom, zoneTo } from './zone-shape.ts';

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

/** The fixed part continued with the stretches' columns. */
export function withStretches(fixed: FixedFactor, stretches: readonly BentStretch[]): Qr {
  const qr = fixed.qr.fork();
  for (const stretch of stretches) qr.push(weighted(fixed, stretch.column(fixed.x)));
  return qr;
}

/**
 * Which readings of a survey are wrong, and whether steel bends outside the known zones, geometry held. The two
 * compete: each pass takes the one that explains more.
 */
export function holdSurvey(
  model: LineModel,
  rows: Rows,
  hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] },
  stretches: readonly BentStretch[],
  scale: number,
): Held {
  const n = rows.x.length;
  const off = hand.off.slice();
  const elsewhere: BentStretch[] = [];
  let fixed = factorFixed(model, rows, off, scale);
  let misfit = 1;
  for (let pass = 0; pass <= Math.max(4, n / 3); pass++) {
    const known = [...stretches, ...elsewhere];
    const qr = withStretches(fixed, known);
    const { residual, freedom } = residualsOf(fixed, qr);
    let sum = 0;
    let left = 0;
    let worst = -1;
    let worstGain = 0;
    for (let i = 0; i < n; i++) {
      if (off[i]) continue;
      sum += residual[i]! ** 2;
      left += freedom[i]!;
      if (hand.pinned[i] || freedom[i]! < 0.02) continue;
      const gain = residual[i]! ** 2 / freedom[i]! / 2 + logWrong(rows.sd[i]! * scale);
      if (gain > worstGain) {
        worst = i;
        worstGain = gain;
      }
    }
    misfit = left > 1 ? Math.sqrt(sum / left) : 1;
    const fresh = worstGain > 0 || misfit > 1.15 ? newCurvature(fixed, qr, known) : null;
    const freshGain = fresh && elsewhere.length < 3 ? fresh.gain / 2 - NEW_CURVATURE : 0;
    if (tooMany(hand.off, off)) worstGain = 0;
    if (worstGain <= 0 && freshGain <= 0) break;
    if (freshGain > worstGain) elsewhere.push(fresh!.stretch);
    else {
      off[worst] = true;
      fixed = factorFixed(model, rows, off, scale);
    }
  }
  return { fixed, off, elsewhere, misfit };
}

/** The stretch outside the zones whose bending would take most off the residual. */
function newCurvature(
  fixed: FixedFactor,
  qr: Qr,
  known: readonly BentStretch[],
): { stretch: BentStretch; gain: number } | null {
  const { model, x } = fixed;
  const right = qr.apply(fixed.qr.applyInverse(fixed.right.slice()));
  const stations = [...new Set(x)].sort((a, b) => a - b);
  let best: { stretch: BentStretch; gain: number } | null = null;
  for (let i = 2; i < stations.length - 2; i++) {
    const peak = stations[i]!;
    if (peak <= model.from || peak >= model.to) continue;
    const half = 0.2 * model.guessPanel;
    if (known.some((stretch) => peak > stretch.from - half && peak < stretch.to + half)) continue;
    const zone = newZone(model, { peak, hold: 'none' }, 0.2);
    const full = qr.apply(weighted(fixed, zoneColumn(model, x, zone)));
    let dot = 0;
    let size = 1 / model.rotationSd ** 2;
    for (let k = qr.rank; k < full.length; k++) {
      dot += full[k]! * right[k]!;
      size += full[k]! ** 2;
    }
    const gain = (dot * dot) / size;
    if (best && gain <= best.gain) continue;
    best = {
      gain,
      stretch: {
        from: zoneFrom(zone),
        to: zoneTo(zone),
        peak,
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
  const { model } = fixed;
  const rows = fixed.rows + stretches.length;
  const n = fixed.x.length;
  const qr = new Qr(rows);
  fixed.raw.forEach((column, j) => {
    const full = new Float64Array(rows);
    for (let i = 0; i < n; i++) full[i] = column[i]! * fixed.weight[i]!;
    fixed.priors.forEach((row, r) => {
      full[n + r] = row[j]!;
    });
    qr.push(full);
  });
  stretches.forEach((stretch, j) => {
    const full = new Float64Array(rows);
    full.set(weighted(fixed, stretch.column(fixed.x)));
    full[fixed.rows + j] = 1 / model.rotationSd;
    qr.push(full);
  });
  const right = new Float64Array(rows);
  right.set(fixed.qr.applyInverse(fixed.right.slice()));
  return { coefficients: qr.solve(qr.apply(right)), covariance: qr.unscaledCovariance() };
}
