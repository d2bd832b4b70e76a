import { exp, log } from '../../maths/portable.ts';
import { HARDENING, momentAt } from '../flange-law.ts';
import type { LineModel } from '../model.ts';
import {
  firstIntegral,
  largestOver,
  plasticCurvature,
  secondIntegral,
  type Yielding,
  yieldingOf,
} from './yielding.ts';

/**
 * A plastic zone: the bending moment of the blow falls linearly from its peak to the yield moment at either
 * edge, and the plastic curvature follows it by the law in `flange-law.ts`: sharp at the peak (the load, or the
 * diaphragm next to it), running out gently to the edges. A blow is spread over a patch, over which the moment
 * is a parabola instead of a point.
 */
export interface ZoneShape {
  /** Station of the peak (of the two straight moment lines produced to meet), m. */
  readonly peak: number;
  /** Distance from the peak to the edge (first yield) on each side, m. */
  readonly left: number;
  readonly right: number;
  /** Moment where the two straight lines meet over the yield moment, less 1. */
  readonly over: number;
  /** Length over which the load is spread, m; 0 at a diaphragm. */
  readonly patch: number;
  /** What the peak is tied to: a diaphragm (exactly), the stated blow (loosely), nothing. */
  readonly anchor: 'diaphragm' | 'impact' | 'none';
  /** Station of that diaphragm or blow; the peak itself where it is tied to nothing. */
  readonly about: number;
  /** Direction of the rotation: +1, −1, or 0 before it is known. */
  readonly sign: number;
  readonly steel: Yielding;
}

/** Where the peak of a zone is, and what ties it there. */
export interface Place {
  readonly peak: number;
  readonly anchor: ZoneShape['anchor'];
}

/** A zone of ten times yield strain to start from, its sides a share of a panel. */
export function newZone(model: LineModel, place: Place, share: number): ZoneShape {
  const side = share * model.panel;
  return {
    peak: place.peak,
    left: side,
    right: side,
    over: momentAt(10) - 1,
    patch: place.anchor === 'diaphragm' ? 0 : model.patch,
    anchor: place.anchor,
    about: place.peak,
    sign: 0,
    steel: yieldingOf(HARDENING),
  };
}

export function zoneFrom(zone: ZoneShape): number {
  return zone.peak - zone.left;
}

export function zoneTo(zone: ZoneShape): number {
  return zone.peak + zone.right;
}

/** Half the patch as used: never more than most of the shorter side. */
function halfPatch(zone: ZoneShape): number {
  return Math.min(zone.patch / 2, 0.8 * zone.left, 0.8 * zone.right);
}

/** m − 1 within the patch, `s` from the peak. */
function overInPatch(zone: ZoneShape, half: number, s: number): number {
  const gLeft = zone.over / zone.left;
  const gRight = zone.over / zone.right;
  const u = s + half;
  return zone.over - gLeft * half + gLeft * u - ((gLeft + gRight) * u * u) / (4 * half);
}

const PATCH_CELLS = 8;

/** Slope gained over the patch and deflection across it (per κ_y), by two-point Gauss in cells: running values. */
interface Patch {
  readonly half: number;
  readonly slope: Float64Array;
  readonly deflection: Float64Array;
}

function patchOf(zone: ZoneShape): Patch {
  const half = halfPatch(zone);
  const slope = new Float64Array(PATCH_CELLS + 1);
  const deflection = new Float64Array(PATCH_CELLS + 1);
  if (half > 0) {
    const h = (2 * half) / PATCH_CELLS;
    const g = 0.5 / Math.sqrt(3);
    for (let i = 0; i < PATCH_CELLS; i++) {
      const s = -half + i * h;
      const a = plasticCurvature(zone.steel, 1 + overInPatch(zone, half, s + (0.5 - g) * h));
      const b = plasticCurvature(zone.steel, 1 + overInPatch(zone, half, s + (0.5 + g) * h));
      slope[i + 1] = slope[i]! + ((a + b) * h) / 2;
      deflection[i + 1] = deflection[i]! + slope[i]! * h + ((a * (0.5 + g) + b * (0.5 - g)) * h * h) / 2;
    }
  }
  return { half, slope, deflection };
}

/** Rotation of the zone in units of κ_y, m. */
function zoneRotation(zone: ZoneShape): number {
  const { left, right, over, steel } = zone;
  const half = halfPatch(zone);
  let patch = 0;
  if (half > 0) {
    const h = (2 * half) / PATCH_CELLS;
    const g = 0.5 / Math.sqrt(3);
    for (let i = 0; i < PATCH_CELLS; i++) {
      const s = -half + (i + 0.5) * h;
      patch +=
        plasticCurvature(steel, 1 + overInPatch(zone, half, s - g * h)) +
        plasticCurvature(steel, 1 + overInPatch(zone, half, s + g * h));
    }
    patch *= h / 2;
  }
  return (
    (left / over) * firstIntegral(steel, 1 + over * (1 - half / left)) +
    (right / over) * firstIntegral(steel, 1 + over * (1 - half / right)) +
    patch
  );
}

/** Deflection at each `x` (m per rad): 0 left of the zone, then bending to unit slope. */
export function zoneDeflections(zone: ZoneShape, x: ArrayLike<number>): Float64Array {
  const { peak, left, right, over, steel } = zone;
  const { half, slope, deflection } = patchOf(zone);
  const scaleLeft = left / over;
  const scaleRight = right / over;
  const edgeLeft = 1 + over * (1 - half / left);
  const edgeRight = 1 + over * (1 - half / right);
  const slopeLeft = scaleLeft * firstIntegral(steel, edgeLeft);
  const total = slopeLeft + slope[PATCH_CELLS]! + scaleRight * firstIntegral(steel, edgeRight);
  const startY = scaleLeft * scaleLeft * secondIntegral(steel, edgeLeft);
  const endY = startY + slopeLeft * 2 * half + deflection[PATCH_CELLS]!;
  const beyond = scaleRight * scaleRight * secondIntegral(steel, edgeRight);
  const h = (2 * half) / PATCH_CELLS;
  const out = new Float64Array(x.length);
  for (let i = 0; i < x.length; i++) {
    const s = x[i]! - peak;
    if (s <= -left) continue;
    let y: number;
    if (s <= -half) y = scaleLeft * scaleLeft * secondIntegral(steel, 1 + over * (1 + s / left));
    else if (s < half) {
      const at = Math.min(PATCH_CELLS - 1, Math.floor((s + half) / h));
      const t = (s + half) / h - at;
      const r = 1 - t;
      y =
        startY +
        slopeLeft * (s + half) +
        deflection[at]! * (1 + 2 * t) * r * r +
        deflection[at + 1]! * t * t * (3 - 2 * t) +
        h * (slope[at]! * t * r * r - slope[at + 1]! * t * t * r);
    } else {
      // From the right edge backwards: y″ is the same, y′ is the whole rotation less what is still to come.
      const left2 =
        s < right ? scaleRight * scaleRight * secondIntegral(steel, 1 + over * (1 - s / right)) : 0;
      y = endY + total * (s - half) + left2 - beyond;
    }
    out[i] = y / total;
  }
  return out;
}

/** The same about the chord through the bearings. */
export function zoneColumn(model: LineModel, x: Float64Array, zone: ZoneShape): Float64Array {
  const [start, end] = zoneDeflections(zone, [model.from, model.to]) as unknown as [number, number];
  const tilt = (end - start) / (model.to - model.from);
  const column = zoneDeflections(zone, x);
  for (let i = 0; i < x.length; i++) column[i] = column[i]! - start - tilt * (x[i]! - model.from);
  return column;
}

/** Deflection at one station (m per rad): 0 left of the zone. */
export function zoneDeflection(zone: ZoneShape, x: number): number {
  return zoneDeflections(zone, [x])[0]!;
}

/** Plastic curvature at `x` per rad of rotation, 1/m. */
export function zoneCurvature(zone: ZoneShape, x: number): number {
  const { peak, left, right, over, steel } = zone;
  const s = x - peak;
  if (s <= -left || s >= right) return 0;
  const half = halfPatch(zone);
  const m = Math.abs(s) < half ? overInPatch(zone, half, s) : over * (s < 0 ? 1 + s / left : 1 - s / right);
  return plasticCurvature(steel, 1 + m) / zoneRotation(zone);
}

/** Largest plastic curvature per rad, 1/m, and where it is. */
export function peakCurvature(zone: ZoneShape): { readonly curvature: number; readonly station: number } {
  const half = halfPatch(zone);
  // The parabola is highest where its slope, falling from over/left to −over/right, passes 0.
  const s = half === 0 ? 0 : -half + (2 * half * zone.right) / (zone.left + zone.right);
  return { curvature: zoneCurvature(zone, zone.peak + s), station: zone.peak + s };
}

/**
 * The zone with its peak moment set so that it bends by `rotation` (rad): statics and steel leave no other freedom
 * once the sides are given. Bisection on a rotation that grows with the moment.
 */
export function withRotation(zone: ZoneShape, rotation: number, yieldCurvature: number): ZoneShape {
  const wanted = Math.abs(rotation) / yieldCurvature;
  const sign = Math.sign(rotation);
  const most = largestOver(zone.steel);
  const at = (over: number) => log(zoneRotation({ ...zone, over }) / wanted);
  if (!(wanted > zoneRotation({ ...zone, over: LEAST_OVER }))) return { ...zone, sign, over: LEAST_OVER };
  if (wanted >= zoneRotation({ ...zone, over: most })) return { ...zone, sign, over: most };
  // Secant in logarithms from where the zone is (it rarely moves far), kept within a shrinking bracket.
  let low = LEAST_OVER;
  let high = most;
  let over = Math.min(Math.max(zone.over, low * 1.01), high * 0.99);
  let f = at(over);
  let slope = 1.5;
  for (let pass = 0; pass < 50 && Math.abs(f) > 1e-6; pass++) {
    if (f < 0) low = over;
    else high = over;
    let next = over * exp(Math.max(-1, Math.min(1, -f / slope)));
    if (!(next > low && next < high)) next = Math.sqrt(low * high);
    const g = at(next);
    const measured = (g - f) / log(next / over);
    if (measured > 0.2) slope = measured;
    over = next;
    f = g;
  }
  return { ...zone, sign, over };
}

const LEAST_OVER = 1e-3;
