import { momentAt, plasticCurvature, type Yielding } from './yielding.ts';

/**
 * The moment diagram of a blow, and the plastic curvature it left.
 *
 * At the height of a blow the flange is a beam on its bearings and diaphragms with one load, so its moment is a
 * broken line: 0 at both bearings, with a node at every diaphragm and at the blow (a parabola over the patch of
 * the blow). Wherever |M| passed M_y the steel yielded, and unloading left k − m (`yielding.ts`). One number a node
 * thus settles every zone at once: where it starts and ends, how it tapers, how much it bends.
 *
 * A second blow has a diagram of its own, with the same law run from where the first one left the steel: Masing's
 * rule (Masing 1926, from memory): the unloading branch of a kinematically hardening fibre is the virgin curve
 * twice as large, so reversal from m₁ to m₂ takes back 2·P((m₁ − m₂)/2), until |m₂| > |m₁| puts it on the virgin
 * curve again.
 */
export interface Blow {
  /** m */
  readonly station: number;
  /** Length it is spread over, m. */
  readonly patch: number;
  /** Curvature over yield curvature reached at the diaphragms, signed, one each. */
  readonly supports: readonly number[];
  /** Curvature over yield curvature where the two straight moment lines at the blow meet, signed. */
  readonly peak: number;
}

/** Grid and statics of one line: bearings, diaphragms. */
export interface DiagramFrame {
  readonly from: number;
  readonly to: number;
  readonly diaphragms: readonly number[];
  readonly step: number;
  readonly stations: Float64Array;
}

export function createFrame(from: number, to: number, diaphragms: readonly number[]): DiagramFrame {
  const cells = 360;
  return {
    from,
    to,
    diaphragms,
    step: (to - from) / cells,
    stations: Float64Array.from({ length: cells + 1 }, (_, i) => from + ((to - from) * i) / cells),
  };
}

/** Signed moment over M_y from signed curvature over κ_y. */
function signedMoment(k: number, steel: Yielding): number {
  return Math.sign(k) * momentAt(Math.abs(k), steel.hardening);
}

/** m at every grid station at the height of the blow. */
export function momentDiagram(frame: DiagramFrame, blow: Blow, steel: Yielding): Float64Array {
  const nodes = [
    { at: frame.from, m: 0 },
    ...frame.diaphragms.map((at, i) => ({ at, m: signedMoment(blow.supports[i]!, steel) })),
    { at: frame.to, m: 0 },
  ];
  const peak = signedMoment(blow.peak, steel);
  let place = nodes.findIndex((node) => node.at > blow.station);
  if (place < 1) place = nodes.length - 1;
  nodes.splice(place, 0, { at: blow.station, m: peak });
  const before = nodes[place - 1]!;
  const after = nodes[place + 1]!;
  const gLeft = (peak - before.m) / Math.max(blow.station - before.at, 1e-6);
  const gRight = (peak - after.m) / Math.max(after.at - blow.station, 1e-6);
  const half = Math.min(blow.patch / 2, 0.9 * (blow.station - before.at), 0.9 * (after.at - blow.station));
  const out = new Float64Array(frame.stations.length);
  let j = 0;
  for (let i = 0; i < out.length; i++) {
    const s = frame.stations[i]!;
    while (j + 2 < nodes.length && s > nodes[j + 1]!.at) j++;
    const a = nodes[j]!;
    const b = nodes[j + 1]!;
    const u = s - blow.station + half;
    if (half > 0 && u > 0 && u < 2 * half)
      out[i] = peak - gLeft * half + gLeft * u - ((gLeft + gRight) * u * u) / (4 * half);
    else out[i] = a.m + ((b.m - a.m) * (s - a.at)) / Math.max(b.at - a.at, 1e-6);
  }
  return out;
}

/** Plastic curvature over κ_y left at the grid by the blows, one after the other. */
export function plasticDiagram(frame: DiagramFrame, blows: readonly Blow[], steel: Yielding): Float64Array {
  const left = new Float64Array(frame.stations.length);
  const first = blows[0] ? momentDiagram(frame, blows[0], steel) : null;
  if (!first) return left;
  for (let i = 0; i < left.length; i++) left[i] = signedPlastic(steel, first[i]!);
  const second = blows[1] ? momentDiagram(frame, blows[1], steel) : null;
  if (!second) return left;
  for (let i = 0; i < left.length; i++) {
    const m1 = first[i]!;
    const m2 = second[i]!;
    if (Math.abs(m2) >= Math.max(1, Math.abs(m1))) left[i] = signedPlastic(steel, m2);
    else if (Math.abs(m1) > 1)
      left[i]! -= Math.sign(m1) * 2 * plasticCurvature(steel, (Math.sign(m1) * (m1 - m2)) / 2);
  }
  return left;
}

function signedPlastic(steel: Yielding, m: number): number {
  return Math.sign(m) * plasticCurvature(steel, Math.abs(m));
}

/**
 * Deflection (m per 1/m of κ_y) at each `x` of a curvature over κ_y given at the grid: integrated twice by the
 * trapezium rule, about the chord through the bearings; straight on beyond them.
 */
export function diagramDeflection(
  frame: DiagramFrame,
  curvature: ArrayLike<number>,
  x: ArrayLike<number>,
): Float64Array {
  const n = frame.stations.length;
  const h = frame.step;
  const y = new Float64Array(n);
  const slopes = new Float64Array(n);
  for (let i = 1; i < n; i++) {
    const a = curvature[i - 1]!;
    const b = curvature[i]!;
    y[i] = y[i - 1]! + slopes[i - 1]! * h + (h * h * (2 * a + b)) / 6;
    slopes[i] = slopes[i - 1]! + (h * (a + b)) / 2;
  }
  const tilt = y[n - 1]! / (frame.to - frame.from);
  const out = new Float64Array(x.length);
  for (let i = 0; i < x.length; i++) {
    const at = (x[i]! - frame.from) / h;
    let value: number;
    if (at <= 0) value = 0;
    else if (at >= n - 1) value = y[n - 1]! + slopes[n - 1]! * (x[i]! - frame.to);
    else {
      const k = Math.floor(at);
      const t = at - k;
      const a = curvature[k]!;
      const b = curvature[k + 1]!;
      value = y[k]! + slopes[k]! * t * h + h * h * t * t * (a / 2 + (t * (b - a)) / 6);
    }
    out[i] = value - tilt * (x[i]! - frame.from);
  }
  return out;
}
