import type { LineFrame } from './line-frame.ts';
import type { Vec3 } from './vector.ts';

/** Points looked at. */
const SAMPLE = 3000;
/** One point in so many of the cloud is tried. */
const STRIDE = 5;
/** Rounding coarser than this, m, is refused. */
export const COARSEST = 0.003;

/**
 * To what step the coordinates of a cloud are rounded. Single precision (float32) keeps 24 bits: at 2,000,000 ft the step
 * is 1/8 ft. Looks at points near a line only, and at their differences, so that an offset common to all does not matter.
 */
export function roundingSampler(frame: LineFrame) {
  const values = [0, 1, 2].map(() => new Float64Array(SAMPLE));
  let n = 0;
  const near = 2.5 / frame.metres;
  const span = frame.span / frame.metres;
  const { origin, along } = frame;
  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      for (let i = 0; i < count && n < SAMPLE; i += STRIDE) {
        const dx = x[i]! - origin[0];
        const dy = y[i]! - origin[1];
        const dz = z[i]! - origin[2];
        const s = dx * along[0] + dy * along[1] + dz * along[2];
        if (s < 0 || s > span || dx * dx + dy * dy + dz * dz - s * s > near * near) continue;
        values[0]![n] = x[i]!;
        values[1]![n] = y[i]!;
        values[2]![n++] = z[i]!;
      }
    },
    /** Step of rounding along x, y and z, m; 0 where none is seen. */
    steps: (): Vec3 =>
      values.map((list) => roundingStep(list.subarray(0, n)) * frame.metres) as unknown as Vec3,
  };
}

const CANDIDATES = [
  ...Array.from({ length: 24 }, (_, k) => 2 ** (4 - k)),
  ...Array.from({ length: 6 }, (_, k) => [1, 2, 5].map((d) => d * 10 ** -k)).flat(),
].sort((a, b) => b - a);

/** Largest binary or decimal step all but one value in 200 are whole multiples of, apart from a common offset; 0 for none. */
function roundingStep(list: Float64Array): number {
  if (list.length < 50) return 0;
  const first = list[list.length >> 1]!;
  const differences = list.map((v) => v - first);
  if (new Set(differences).size < 3) return 0;
  // A step is told from a narrow spread only where the values reach over several steps.
  const spread = Math.max(...differences.map(Math.abs));
  const most = Math.max(...list.map(Math.abs));
  for (const step of CANDIDATES) {
    if (step > spread) continue;
    // What double precision itself leaves of a whole number.
    const slack = 1e-3 + (4 * most * Number.EPSILON) / step;
    if (slack > 0.1) return 0;
    let off = 0;
    for (const d of differences) {
      const whole = d / step;
      if (Math.abs(whole - Math.round(whole)) > slack) off++;
    }
    if (off <= list.length / 200) return step;
  }
  return 0;
}

/** Step of rounding in a direction, m. */
export function stepAlong(steps: Vec3, direction: Vec3): number {
  return Math.hypot(steps[0] * direction[0], steps[1] * direction[1], steps[2] * direction[2]);
}

/**
 * What rounding leaves uncertain of the mean of many points that scatter, m: the scatter dithers the steps (Widrow and
 * Kollar 2008: the largest bias is q/pi exp(-2 pi² s²/q²)).
 */
export function roundingU(step: number, scatter: number): number {
  if (step === 0) return 0;
  const r = scatter / step;
  return Math.min(step / Math.sqrt(12), (step / Math.PI) * Math.exp(-2 * Math.PI ** 2 * r * r));
}
