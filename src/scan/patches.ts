import { Matrix, SVD } from 'ml-matrix';
import { InputError } from '../input-error.ts';
import type { JobUnits } from '../job/job.ts';
import { formatLength } from '../units/format-length.ts';
import { drawBelow } from './draw-below.ts';
import { fitFace } from './face-model.ts';
import { add, dot, scale, subtract, unit, type Vec3 } from './vector.ts';

/** An undamaged patch of surface both scans see, for aligning one to the other. Cloud coordinates. */
export interface PatchSpec {
  readonly name: string;
  readonly at: Vec3;
  /** m */
  readonly radius: number;
}

/** Surface of one reference patch in one scan, in metres about the patch's own middle. */
export interface PatchPlane {
  readonly name: string;
  /** A point of the surface and its unit normal, cloud axes, m. */
  readonly point: Vec3;
  readonly normal: Vec3;
  /** Standard uncertainty of the surface along its normal, m, and of the normal's tilt, rad. */
  readonly u: number;
  readonly tiltU: number;
  readonly points: number;
}

const LEAST = 50;
const MOST = 20_000;
/** Scans are brought together to within this much before they are aligned finely, m (targets, or a first registration). */
export const ROUGH = 0.1;

/** Collects the points around reference patches from a cloud and fits the surface of each. */
export function collectPatches(patches: readonly PatchSpec[], metres: number) {
  const kept = patches.map(() => ({ xyz: new Float64Array(3 * MOST), seen: 0 }));
  const below = drawBelow(0x1b873593);
  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      patches.forEach((patch, k) => {
        const [cx, cy, cz] = patch.at;
        const reach = (patch.radius + ROUGH) / metres;
        const most = reach * reach;
        const into = kept[k]!;
        for (let i = 0; i < count; i++) {
          const [dx, dy, dz] = [x[i]! - cx, y[i]! - cy, z[i]! - cz];
          if (dx * dx + dy * dy + dz * dz > most) continue;
          let slot = into.seen++;
          if (slot >= MOST) {
            slot = below(into.seen);
            if (slot >= MOST) continue;
          }
          into.xyz[3 * slot] = dx * metres;
          into.xyz[3 * slot + 1] = dy * metres;
          into.xyz[3 * slot + 2] = dz * metres;
        }
      });
    },
    /** @param brought whether the scan was brought near by targets already, for what is said when a patch is not there */
    planes: (file: string, units: JobUnits, brought = false): PatchPlane[] =>
      patches.map((patch, k) =>
        patchPlane(patch, kept[k]!.xyz.subarray(0, 3 * Math.min(MOST, kept[k]!.seen)), metres, {
          file,
          units,
          brought,
        }),
      ),
  };
}

function patchPlane(
  patch: PatchSpec,
  xyz: Float64Array,
  metres: number,
  scan: { file: string; units: JobUnits; brought: boolean },
): PatchPlane {
  const shown = (m: number) => formatLength(m, { units: scan.units, as: 'offset', trim: true });
  const fault = (found: string) =>
    new InputError('the scans cannot be aligned', [
      {
        file: scan.file,
        column: `patch ${patch.name}`,
        found,
        expected: `a flat surface of at least ${LEAST} points within ${shown(patch.radius)} of the patch${scan.brought ? '' : ` (if the scan is in another frame, or more than ${shown(ROUGH)} off, give --targets)`}`,
      },
    ]);
  const inside: number[] = [];
  for (let i = 0; i < xyz.length; i += 3) {
    if (Math.hypot(xyz[i]!, xyz[i + 1]!, xyz[i + 2]!) <= patch.radius) inside.push(i);
  }
  if (inside.length < LEAST) throw fault(`${inside.length} points`);
  // Main axes of the patch by singular values: the least one is the rough normal.
  const middle = [0, 1, 2].map((k) => inside.reduce((s, i) => s + xyz[i + k]!, 0) / inside.length);
  const step = Math.max(1, Math.floor(inside.length / 2000));
  const sample = inside.filter((_, n) => n % step === 0);
  const svd = new SVD(new Matrix(sample.map((i) => [0, 1, 2].map((k) => xyz[i + k]! - middle[k]!))));
  const axes = svd.rightSingularVectors;
  const [a, b, c] = [0, 1, 2].map((k) => axes.getColumn(k) as unknown as Vec3) as [Vec3, Vec3, Vec3];
  const along = new Float64Array(inside.length);
  const across = new Float64Array(inside.length);
  const toward = new Float64Array(inside.length);
  inside.forEach((i, n) => {
    const p: Vec3 = [xyz[i]! - middle[0]!, xyz[i + 1]! - middle[1]!, xyz[i + 2]! - middle[2]!];
    along[n] = dot(p, a);
    across[n] = dot(p, b);
    toward[n] = dot(p, c);
  });
  const fit = fitFace(along, toward, across, inside.length, 0, null, 0);
  if (fit === null || fit.used < 0.5 * inside.length) throw fault('no surface most of its points lie on');
  const normal = unit(subtract(subtract(c, scale(a, fit.slopeAlong)), scale(b, fit.slopeAcross)));
  const centre: Vec3 = [middle[0]!, middle[1]!, middle[2]!];
  return {
    name: patch.name,
    point: add(scale(patch.at, metres), add(centre, scale(c, fit.value))),
    normal,
    u: fit.u,
    tiltU: fit.slopeU,
    points: inside.length,
  };
}
