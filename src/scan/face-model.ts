import { drawBelow } from './draw-below.ts';
/**
 * Surface in one slice: toward = value + slopeAlong·along + slopeAcross·(across − middle), fitted so that
 * points off the surface do not pull it. Start: the plane through three points that has most points close by
 * (M-estimator sample consensus; Torr and Zisserman 2000), with a fixed seed. Then Tukey's biweight,
 * iteratively reweighted (Beaton and Tukey 1974).
 */
export interface FaceFit {
  /** At the middle of the slice, m, and its standard uncertainty. */
  readonly value: number;
  readonly u: number;
  /** rad: change of `toward` per metre along. */
  readonly slopeAlong: number;
  /** rad: change of `toward` per metre across, and its standard uncertainty. */
  readonly slopeAcross: number;
  readonly slopeU: number;
  /** Robust standard deviation of the points about the surface, m. */
  readonly scatter: number;
  /** Points with weight, and points given none. */
  readonly used: number;
  readonly off: number;
}

const TRIALS = 150;
const SCORED = 400;
/** Half thickness of the consensus band, m: three times the range noise of a usual scanner. */
const NEAR = 0.006;
const BIWEIGHT = 4.685;

/**
 * @param middle where `value` is taken, across, m
 * @param predicted expected value; when given only planes within `within` of it are considered
 * @returns null where fewer than 12 points agree on a surface
 */
export function fitFace(
  along: ArrayLike<number>,
  toward: ArrayLike<number>,
  across: ArrayLike<number>,
  count: number,
  middle: number,
  predicted: number | null,
  within: number,
): FaceFit | null {
  if (count < 12) return null;
  const step = Math.max(1, Math.floor(count / SCORED));
  const below = drawBelow(0x9e3779b9);
  const pick = () => below(count);
  let best: [number, number, number] | null = null;
  let least = Infinity;
  for (let trial = 0; trial < TRIALS; trial++) {
    const [i, j, k] = [pick(), pick(), pick()];
    const plane = planeThrough(along, toward, across, i, j, k, middle);
    if (plane === null || Math.abs(plane[2]) > 0.35 || Math.abs(plane[1]) > 0.35) continue;
    if (predicted !== null && Math.abs(plane[0] - predicted) > within) continue;
    let score = 0;
    for (let p = 0; p < count && score < least; p += step) {
      const r = toward[p]! - plane[0] - plane[1] * along[p]! - plane[2] * (across[p]! - middle);
      score += Math.min(1, (r * r) / (NEAR * NEAR));
    }
    if (score < least) {
      least = score;
      best = plane;
    }
  }
  if (best === null) return null;

  let scatter = NEAR / 2;
  let fit = best;
  let inverse: number[] = [];
  let used = 0;
  for (let iteration = 0; iteration < 20; iteration++) {
    const c = BIWEIGHT * scatter;
    // Sums about the middle; a plane in centred coordinates of about 0.1 m: well conditioned.
    let [n, sa, sh, saa, sah, shh, st, sat, sht, srr] = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
    used = 0;
    for (let p = 0; p < count; p++) {
      const a = along[p]!;
      const h = across[p]! - middle;
      const r = toward[p]! - fit[0] - fit[1] * a - fit[2] * h;
      const z = r / c;
      if (z <= -1 || z >= 1) continue;
      const w = (1 - z * z) ** 2;
      used++;
      n += w;
      sa += w * a;
      sh += w * h;
      saa += w * a * a;
      sah += w * a * h;
      shh += w * h * h;
      st += w * r;
      sat += w * r * a;
      sht += w * r * h;
      srr += w * r * r;
    }
    if (used < 12) return null;
    inverse = invertSymmetric3(n, sa, sh, saa, sah, shh);
    if (inverse.length === 0) return null;
    const d0 = inverse[0]! * st + inverse[1]! * sat + inverse[2]! * sht;
    const d1 = inverse[1]! * st + inverse[3]! * sat + inverse[4]! * sht;
    const d2 = inverse[2]! * st + inverse[4]! * sat + inverse[5]! * sht;
    fit = [fit[0] + d0, fit[1] + d1, fit[2] + d2];
    // Weighted residual sd; 1.15 makes it consistent for normal scatter at this tuning.
    const next = Math.max(1e-5, 1.15 * Math.sqrt(srr / n));
    const settled = Math.abs(d0) < 1e-7 && Math.abs(next - scatter) < 1e-3 * scatter;
    scatter = Math.min(next, NEAR);
    if (settled) break;
  }
  return {
    value: fit[0],
    u: scatter * Math.sqrt(inverse[0]!),
    slopeAlong: fit[1],
    slopeAcross: fit[2],
    slopeU: scatter * Math.sqrt(inverse[5]!),
    scatter,
    used,
    off: count - used,
  };
}

function planeThrough(
  along: ArrayLike<number>,
  toward: ArrayLike<number>,
  across: ArrayLike<number>,
  i: number,
  j: number,
  k: number,
  middle: number,
): [number, number, number] | null {
  const [a1, h1, t1] = [along[j]! - along[i]!, across[j]! - across[i]!, toward[j]! - toward[i]!];
  const [a2, h2, t2] = [along[k]! - along[i]!, across[k]! - across[i]!, toward[k]! - toward[i]!];
  const det = a1 * h2 - a2 * h1;
  if (Math.abs(det) < 1e-5) return null;
  const sa = (t1 * h2 - t2 * h1) / det;
  const sh = (a1 * t2 - a2 * t1) / det;
  return [toward[i]! - sa * along[i]! - sh * (across[i]! - middle), sa, sh];
}

/** Inverse of the symmetric matrix [[a, b, c], [b, d, e], [c, e, f]] as its six entries; empty when singular. */
function invertSymmetric3(a: number, b: number, c: number, d: number, e: number, f: number): number[] {
  const m0 = d * f - e * e;
  const m1 = c * e - b * f;
  const m2 = b * e - c * d;
  const det = a * m0 + b * m1 + c * m2;
  if (!(Math.abs(det) > 1e-14 * a * d * f)) return [];
  return [m0 / det, m1 / det, m2 / det, (a * f - c * c) / det, (b * c - a * e) / det, (a * d - b * b) / det];
}
