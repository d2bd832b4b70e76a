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
  const cells = 260;
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
  const last = out.length - 1;
  // Segment by segment: grid stations from a node up to the next one.
  for (let j = 0; j + 1 < nodes.length; j++) {
    const a = nodes[j]!;
    const b = nodes[j + 1]!;
    const slope = (b.m - a.m) / Math.max(b.at - a.at, 1e-6);
    const first = Math.max(0, Math.ceil((a.at - frame.from) / frame.step - 1e-9));
    const end = Math.min(last, Math.floor((b.at - frame.from) / frame.step + 1e-9));
    for (let i = first; i <= end; i++) out[i] = a.m + slope * (frame.stations[i]! - a.at);
  }
  if (half > 0) {
    const first = Math.max(0, Math.ceil((blow.station - half - frame.from) / frame.step));
    const end = Math.min(last, Math.floor((blow.station + half - frame.from) / frame.step));
    for (let i = first; i <= end; i++) {
      const u = frame.stations[i]! - blow.station + half;
      out[i] = peak - gLeft * half + gLeft * u - ((gLeft + gRight) * u * u) / (4 * half);
    }
  }
  return out;
}

/** The diagram of a blow already drawn: while a derivative moves one blow, the other's is the same object. */
const drawn = new WeakMap<Blow, { frame: DiagramFrame; steel: Yielding; moments: Float64Array }>();

function diagramOf(frame: DiagramFrame, blow: Blow, steel: Yielding): Float64Array {
  const known = drawn.get(blow);
  if (known && known.frame === frame && known.steel === steel) return known.moments;
  const moments = momentDiagram(frame, blow, steel);
  drawn.set(blow, { frame, steel, moments });
  return moments;
}

/**
 * Plastic curvature over κ_y left at the grid by the blows, one after the other, and by letting go: the steel unloads
 * to the moments it stays locked in with (`release`, over M_y, one a diaphragm), and where that is more than 2 M_y
 * below the peak it yields backwards a little, again by Masing's rule.
 */
export function plasticDiagram(
  frame: DiagramFrame,
  blows: readonly Blow[],
  release: readonly number[],
  steel: Yielding,
): Float64Array {
  const left = new Float64Array(frame.stations.length);
  const first = blows[0] ? diagramOf(frame, blows[0], steel) : null;
  if (!first) return left;
  const second = blows[1] ? diagramOf(frame, blows[1], steel) : null;
  const locked = release.some((m) => Math.abs(m) > LOCKED) ? brokenLine(frame, release) : null;
  for (let i = 0; i < left.length; i++) {
    let m = first[i]!;
    let plastic = signedPlastic(steel, m);
    if (second) {
      const m2 = second[i]!;
      if (Math.abs(m2) >= Math.max(1, Math.abs(m))) {
        m = m2;
        plastic = signedPlastic(steel, m);
      } else if (Math.abs(m) > 1) plastic -= reversal(steel, m, m2);
    }
    if (locked && Math.abs(m) > 1) plastic -= reversal(steel, m, locked[i]!);
    left[i] = plastic;
  }
  return left;
}

/** Locked-in moments smaller than this cannot make the steel yield backwards. */
const LOCKED = 0.3;

/** Plastic curvature taken back on the way from m to another moment. */
function reversal(steel: Yielding, m: number, to: number): number {
  const sign = Math.sign(m);
  return sign * 2 * plasticCurvature(steel, (sign * (m - to)) / 2);
}

/** Lines already drawn: while a fit moves the blows, what the steel is released to is the same list. */
const lines = new WeakMap<readonly number[], { frame: DiagramFrame; line: Float64Array }>();

/** 0 at the bearings, the given values at the diaphragms, straight between. */
function brokenLine(frame: DiagramFrame, values: readonly number[]): Float64Array {
  const known = lines.get(values);
  if (known?.frame === frame) return known.line;
  const line = drawLine(frame, values);
  lines.set(values, { frame, line });
  return line;
}

function drawLine(frame: DiagramFrame, values: readonly number[]): Float64Array {
  const at = [frame.from, ...frame.diaphragms, frame.to];
  const v = [0, ...values, 0];
  let j = 0;
  return frame.stations.map((s) => {
    while (j + 2 < at.length && s > at[j + 1]!) j++;
    return v[j]! + ((v[j + 1]! - v[j]!) * (s - at[j]!)) / (at[j + 1]! - at[j]!);
  });
}

function signedPlastic(steel: Yielding, m: number): number {
  return Math.sign(m) * plasticCurvature(steel, Math.abs(m));
}

/** A curvature given at the grid with its slope and deflection there. */
export interface Integrated {
  readonly curvature: ArrayLike<number>;
  readonly slopes: Float64Array;
  readonly y: Float64Array;
}

/** Integrated twice from the first bearing, the curvature taken straight between grid stations. */
export function integrate(frame: DiagramFrame, curvature: ArrayLike<number>): Integrated {
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
  return { curvature, slopes, y };
}

/** Deflection at each `x`, m, about the chord through the bearings; straight on beyond them. */
export function deflectionAt(
  frame: DiagramFrame,
  { curvature, slopes, y }: Integrated,
  x: ArrayLike<number>,
): Float64Array {
  const n = frame.stations.length;
  const h = frame.step;
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

/** Both at once. */
export function diagramDeflection(
  frame: DiagramFrame,
  curvature: ArrayLike<number>,
  x: ArrayLike<number>,
): Float64Array {
  return deflectionAt(frame, integrate(frame, curvature), x);
}
