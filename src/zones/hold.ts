import { type FixedFactor, factorFixed, type LineModel, type Rows, zoneColumn } from './model.ts';
import { logWrong } from './reading-prior.ts';
import { newZone, residualsOf, weighted, withZones } from './search.ts';
import type { ZoneShape } from './zone-shape.ts';

/** A later survey fitted with the zones' geometry held. */
export interface Held {
  readonly fixed: FixedFactor;
  readonly off: readonly boolean[];
  /** Curvature the known zones cannot carry, largest first. */
  readonly elsewhere: readonly ZoneShape[];
  /** √(χ²/ν) of the readings kept. */
  readonly misfit: number;
}

/** Gain in log posterior a stretch of new curvature must bring before it is believed, nats. */
const NEW_CURVATURE = 9;

/**
 * Which readings of a survey are wrong, and whether steel bends outside the known zones, geometry held. The two
 * compete: each pass takes the one that explains more.
 */
export function holdSurvey(
  model: LineModel,
  rows: Rows,
  hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] },
  zones: readonly ZoneShape[],
  scale: number,
): Held {
  const n = rows.x.length;
  const off = hand.off.slice();
  const elsewhere: ZoneShape[] = [];
  let fixed = factorFixed(model, rows, off, scale);
  let misfit = 1;
  for (let pass = 0; pass <= Math.max(4, n / 3); pass++) {
    const qr = withZones(fixed, [...zones, ...elsewhere]);
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
    const fresh = worstGain > 0 || misfit > 1.15 ? newCurvature(fixed, qr, [...zones, ...elsewhere]) : null;
    const freshGain = fresh && elsewhere.length < 3 ? fresh.gain / 2 - NEW_CURVATURE : 0;
    if (worstGain <= 0 && freshGain <= 0) break;
    if (freshGain > worstGain) elsewhere.push(fresh!.zone);
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
  qr: ReturnType<typeof withZones>,
  zones: readonly ZoneShape[],
): { zone: ZoneShape; gain: number } | null {
  const { model, x } = fixed;
  const right = qr.apply(fixed.qr.applyInverse(fixed.right.slice()));
  const stations = [...new Set(x)].sort((a, b) => a - b);
  let best: { zone: ZoneShape; gain: number } | null = null;
  for (let i = 2; i < stations.length - 2; i++) {
    const peak = stations[i]!;
    if (peak <= model.from || peak >= model.to) continue;
    const half = 0.2 * model.guessPanel;
    if (zones.some((zone) => peak > zone.peak - zone.left - half && peak < zone.peak + zone.right + half))
      continue;
    const zone = newZone(model, { peak, hold: 'none' }, 0.2);
    const full = qr.apply(weighted(fixed, zoneColumn(model, x, zone)));
    let dot = 0;
    let size = 1 / model.rotationSd ** 2;
    for (let k = qr.rank; k < full.length; k++) {
      dot += full[k]! * right[k]!;
      size += full[k]! ** 2;
    }
    const gain = (dot * dot) / size;
    if (!best || gain > best.gain) best = { zone, gain };
  }
  return best;
}
