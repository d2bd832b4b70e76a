import { basename } from 'node:path';
import { inertText } from '../../inert-text.ts';
import { InputError } from '../../input-error.ts';
import type { JobUnits } from '../../job/job.ts';
import { type Alignment, alignScans, type Unnoticed } from '../../scan/align.ts';
import type { PointSink, ReadHow } from '../../scan/cloud.ts';
import { collectPatches } from '../../scan/patches.ts';
import { compose } from '../../scan/rigid-motion.ts';
import type { ScanSetUp } from '../../scan/set-up.ts';
import { alignTargets, readTargets } from '../../scan/targets.ts';
import { CLOUD_UNITS } from '../../scan/units.ts';
import type { Vec3 } from '../../scan/vector.ts';
import { formatLength, formatUncertainty } from '../../units/format-length.ts';
import type { Io } from '../io.ts';
import { hashBytes } from '../store/hash-file.ts';
import { readInputText } from '../store/open-input.ts';
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
 * Brings this scan into the coordinates of the set-up: by targets, however far off it stands, then by the patches it has
 * in common with the reference scan; null where neither was asked for.
 * @throws InputError when targets or patches are missing or do not close
 */
export async function alignTo(
  io: Io,
  request: Pick<CloudRequest, 'alignTo' | 'cloud' | 'targets'>,
  how: ReadHow,
  setUp: ScanSetUp,
  units: JobUnits,
): Promise<AlignedTo | null> {
  const coarse =
    request.targets === null ? null : byTargets(request.targets, setUp, request.alignTo !== null, units);
  if (request.alignTo === null) return coarse;
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
  const planes = async (path: string, by: AlignedTo | null) => {
    const collector = collectPatches(setUp.patches, metres);
    const { sha256 } = await readWithBar(io, path, how, alignedSink(by, metres, [collector.sink]));
    return { planes: collector.planes(basename(path), units, coarse !== null), sha256 };
  };
  const reference = await planes(request.alignTo, null);
  const fine = alignScans(reference.planes, (await planes(request.cloud, coarse)).planes);
  const open = fine.closure.filter((each) => !each.agrees);
  if (open.length > 0) {
    throw new InputError(
      `the scans do not close on ${open.length} of ${fine.closure.length} reference patches; nothing was imported`,
      open.map((each) => ({
        file: basename(request.cloud),
        column: `patch ${each.name}`,
        found:
          `${formatLength(each.gap, { units, as: 'offset' })} off when the others are aligned ` +
          `(standard uncertainty ${Number.isFinite(each.u) ? formatUncertainty(each.u, units) : 'unknown: nothing else holds it'})` +
          (Math.abs(each.turn) > 3 * each.turnU
            ? `, turned by ${(1000 * Math.abs(each.turn)).toFixed(1)} mrad`
            : ''),
        expected: each.unsure
          ? 'patches that agree: one of those named here has moved or is hidden, and it takes another patch that faces the same way to tell which'
          : 'undamaged patches that have not moved; take a patch that moved, or is hidden, out of the set-up',
      })),
    );
  }
  const name = basename(request.alignTo);
  return {
    alignment: coarse === null ? fine : { ...fine, motion: compose(fine.motion, coarse.alignment.motion) },
    reference: { name, sha256: reference.sha256 },
    words: `${coarse === null ? 'Aligned' : `${coarse.words}. Then aligned`} to ${inertText(name)} on ${fine.closure.length} patches: ${alignmentWords(fine, 'every patch closes', units)}`,
  };
}

/** @param rough whether patches follow, which take out what the targets leave */
function byTargets(path: string, setUp: ScanSetUp, rough: boolean, units: JobUnits): AlignedTo {
  const file = basename(path);
  const text = readInputText(path, 'log');
  const targets = readTargets(text, file, setUp.targets, setUp.units, units);
  const found = alignTargets(
    targets,
    rough ? Math.max(ROUGH_SD, setUp.targetSd) : setUp.targetSd,
    file,
    units,
  );
  return {
    alignment: found,
    reference: { name: file, sha256: hashBytes(text) },
    words: `Brought into the coordinates of the set-up by ${targets.length} targets of ${inertText(file)}: ${alignmentWords(found, rough ? 'good enough to find the patches' : 'every target closes', units)}`,
  };
}

/** Targets that only lead to the patches may be picked by eye, m. */
const ROUGH_SD = 0.015;

/**
 * What the tests of the alignment could not have told of a line (`LineAlignment`): in words, or null where there is nothing
 * worth saying.
 */
export function untoldWords(worst: Unnoticed | null, units: JobUnits): string | null {
  if (worst === null || worst.effect < TOO_LITTLE) return null;
  if (!Number.isFinite(worst.effect))
    return `nothing tests ${inertText(worst.name)}: if it has moved, this line moves with it unseen; add another that holds the same direction`;
  return `what the tests would miss: ${inertText(worst.name)} could have moved by ${formatLength(worst.move, { units, as: 'offset' })} and changed this line by ${formatLength(worst.effect, { units, as: 'offset' })}; more of them, two or more facing each way, would tell`;
}

/** An unseen shift this small is not told, m. */
const TOO_LITTLE = 0.002;

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

function alignmentWords(a: Alignment, closes: string, units: JobUnits): string {
  const axes = ['x', 'y', 'z'];
  const twice = (u: number) => formatUncertainty(2 * u, units);
  const shift = axes.map((axis, k) => {
    const size = formatLength(Math.abs(a.shift[k]!), {
      units,
      as: Math.abs(a.shift[k]!) > 1 ? 'station' : 'offset',
    });
    return `${axis} ${a.shift[k]! < 0 ? '-' : ''}${size} ± ${twice(a.shiftU[k]!)}`;
  });
  const mrad = (v: number) => (v * 1000).toFixed(2);
  const turn = axes.map((axis, k) => `${axis} ${mrad(a.turn[k]!)} ± ${mrad(2 * a.turnU[k]!)}`);
  const free = a.free.length === 0 ? '' : `; not held: ${a.free.join('; ')}`;
  const excess =
    a.excess > 1.05
      ? `; they disagree ${a.excess.toFixed(1)} times as much as their scatter explains, which is in the uncertainties`
      : '';
  return `shift ${shift.join(', ')}, turn about ${turn.join(', ')} mrad (k = 2); ${closes}${free}${excess}`;
}
