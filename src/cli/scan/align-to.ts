import { basename } from 'node:path';
import { inertText } from '../../inert-text.ts';
import { InputError } from '../../input-error.ts';
import type { JobUnits } from '../../job/job.ts';
import { type Alignment, alignScans, collectPatches } from '../../scan/align.ts';
import type { PointSink } from '../../scan/cloud.ts';
import type { ScanSetUp } from '../../scan/set-up.ts';
import { CLOUD_UNITS } from '../../scan/units.ts';
import type { Vec3 } from '../../scan/vector.ts';
import { formatLength, formatUncertainty } from '../../units/format-length.ts';
import type { Io } from '../io.ts';
import type { CloudRequest } from './cloud-request.ts';
import { readWithBar } from './read-cloud.ts';

/** A scan brought onto another. */
export interface AlignedTo {
  readonly alignment: Alignment;
  readonly reference: { readonly name: string; readonly sha256: string };
  /** Motion, uncertainty and closure in words. */
  readonly words: string;
}

/**
 * Brings this scan onto the reference scan by the patches of the set-up; null where none was asked for.
 * @throws InputError when patches are missing or do not close
 */
export async function alignTo(
  io: Io,
  request: Pick<CloudRequest, 'alignTo' | 'cloud'>,
  columns: readonly string[] | null,
  setUp: ScanSetUp,
  units: JobUnits,
): Promise<AlignedTo | null> {
  if (request.alignTo === null) return null;
  if (setUp.patches.length < 3) {
    throw new InputError('the scans cannot be aligned', [
      {
        file: 'scan set-up',
        column: 'patches',
        found: `${setUp.patches.length} patches`,
        expected:
          'a set-up file with at least 3, on undamaged steel or masonry that faces different ways (--set-up, or scan.json in the job folder)',
      },
    ]);
  }
  const metres = CLOUD_UNITS[setUp.units];
  const planes = async (path: string) => {
    const collector = collectPatches(setUp.patches, metres);
    const { sha256 } = await readWithBar(io, path, columns, collector.sink);
    return { planes: collector.planes(basename(path)), sha256 };
  };
  const reference = await planes(request.alignTo);
  const alignment = alignScans(reference.planes, (await planes(request.cloud)).planes);
  const open = alignment.closure.filter((each) => !each.agrees);
  if (open.length > 0) {
    throw new InputError(
      `the scans do not close on ${open.length} of ${alignment.closure.length} reference patches; nothing was imported`,
      open.map((each) => ({
        file: basename(request.cloud),
        column: `patch ${each.name}`,
        found:
          `${formatLength(each.gap, { units, as: 'offset' })} off when the others are aligned ` +
          `(standard uncertainty ${formatUncertainty(each.u, units)})`,
        expected:
          'undamaged patches that have not moved; take a patch that moved, or is hidden, out of the set-up',
      })),
    );
  }
  const name = basename(request.alignTo);
  return {
    alignment,
    reference: { name, sha256: reference.sha256 },
    words: alignmentWords(alignment, name, units),
  };
}

/** One sink for all, behind the alignment; `metres` per cloud unit. */
export function alignedSink(
  aligned: AlignedTo | null,
  metres: number,
  sinks: readonly PointSink[],
): PointSink {
  const sink: PointSink =
    sinks.length === 1
      ? sinks[0]!
      : (x, y, z, count) => {
          for (const each of sinks) each(x, y, z, count);
        };
  if (aligned === null) return sink;
  const { motion } = aligned.alignment;
  const [a, b, c] = motion.rotation as [Vec3, Vec3, Vec3];
  const [dx, dy, dz] = motion.shift.map((v) => v / metres) as [number, number, number];
  return (x, y, z, count) => {
    for (let i = 0; i < count; i++) {
      const [px, py, pz] = [x[i]!, y[i]!, z[i]!];
      x[i] = a[0] * px + a[1] * py + a[2] * pz + dx;
      y[i] = b[0] * px + b[1] * py + b[2] * pz + dy;
      z[i] = c[0] * px + c[1] * py + c[2] * pz + dz;
    }
    sink(x, y, z, count);
  };
}

function alignmentWords(a: Alignment, reference: string, units: JobUnits): string {
  const axes = ['x', 'y', 'z'];
  const twice = (u: number) => formatUncertainty(2 * u, units);
  const shift = axes.map((axis, k) => {
    const size = formatUncertainty(a.shift[k]!, units);
    return `${axis} ${a.shift[k]! < 0 ? '-' : ''}${size} ± ${twice(a.shiftU[k]!)}`;
  });
  const mrad = (v: number) => (v * 1000).toFixed(2);
  const turn = axes.map((axis, k) => `${axis} ${mrad(a.turn[k]!)} ± ${mrad(2 * a.turnU[k]!)}`);
  const free = a.free.length === 0 ? '' : `; not held by the patches: ${a.free.join('; ')}`;
  const excess =
    a.excess > 1.05
      ? `; the patches disagree ${a.excess.toFixed(1)} times as much as their scatter explains, which is in the uncertainties`
      : '';
  return `Aligned to ${inertText(reference)} on ${a.closure.length} patches: shift ${shift.join(', ')}, turn about ${turn.join(', ')} mrad (k = 2); every patch closes${free}${excess}`;
}
