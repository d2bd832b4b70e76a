import { InputError, type Problem } from '../input-error.ts';
import type { JobUnits } from '../job/job.ts';
import type { Cell } from '../read/cells.ts';
import { readTable } from '../read/csv-table.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { type Alignment, alignment, armsOf, middleOf } from './align.ts';
import { kabsch, move } from './rigid-motion.ts';
import { rowOf, solveMotion, type Tie, testTies } from './small-motion.ts';
import { CLOUD_UNITS, type CloudUnit } from './units.ts';
import { cross, dot, length, scale, subtract, type Vec3 } from './vector.ts';

/** A point known in this scan and in the coordinates of the set-up, m. */
export interface Target {
  readonly name: string;
  readonly here: Vec3;
  readonly there: Vec3;
}

const COLUMNS = {
  name: 'words',
  x: 'amount',
  y: 'amount',
  z: 'amount',
  reference_x: 'amount',
  reference_y: 'amount',
  reference_z: 'amount',
} as const;
type Column = keyof typeof COLUMNS;

/**
 * Reads targets: a CSV with `name,x,y,z` as this scan has them and, where the set-up does not, `reference_x,
 * reference_y,reference_z` as it does. Coordinates are in the cloud's unit.
 * @param known reference coordinates by name, from the set-up, in the cloud's unit
 * @throws InputError with every problem found
 */
export function readTargets(
  text: string,
  file: string,
  known: ReadonlyMap<string, Vec3>,
  unit: CloudUnit,
  units: JobUnits,
): Target[] {
  const targets: Target[] = [];
  const metres = CLOUD_UNITS[unit];
  const { problems: found, unit: written } = readTable<Column>(text, {
    file,
    columns: COLUMNS,
    units,
    needed: ['name', 'x', 'y', 'z'],
    expected: 'columns name, x, y, z and perhaps reference_x, reference_y, reference_z',
    row: (row) => {
      const written = row.words('name');
      // West Pier is the set-up's west pier.
      const name =
        written === null
          ? row.fault('name', 'the name of the target')
          : ([...known.keys()].find((each) => alike(each) === alike(written)) ?? written);
      const point = (columns: readonly [Column, Column, Column]): Vec3 | null => {
        const [x, y, z] = columns.map((column) => row.cell(column, readCoordinate));
        return x == null || y == null || z == null ? null : [x, y, z];
      };
      const here = point(['x', 'y', 'z']);
      const own = row.text('reference_x') !== '' || (name !== null && !known.has(name));
      const there = own
        ? row.text('reference_x') === '' && name !== null
          ? row.fault(
              'name',
              `a target of the set-up (${[...known.keys()].join(', ') || 'it has none'}), or its reference_x, reference_y, reference_z`,
            )
          : point(['reference_x', 'reference_y', 'reference_z'])
        : (known.get(name ?? '') ?? null);
      if (!row.good() || name === null || here === null || there === null) return;
      if (targets.some((each) => each.name === name)) row.fault('name', 'each target once');
      else targets.push({ name, here: scale(here, metres), there: scale(there, metres) });
    },
  });
  const problems: Problem[] = [...found];
  for (const [column, named] of Object.entries(written)) {
    if (named !== unit)
      problems.push({
        file,
        column,
        found: `a unit of ${named}`,
        expected: `${unit}, the unit of the set-up`,
      });
  }
  if (problems.length > 0) throw new InputError('the targets could not be used', problems);
  if (targets.length < 3)
    throw new InputError('the targets could not be used', [
      {
        file,
        found: `${targets.length} targets`,
        expected: 'at least 3 that are not in one line; 4 or more can test each other',
      },
    ]);
  return targets;
}

/** A coordinate is a plain number with a decimal point: a comma could part thousands. */
function readCoordinate(text: string): Cell<number> {
  const value = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(text) ? Number(text) : Number.NaN;
  return Number.isFinite(value)
    ? { value }
    : { expected: 'a coordinate, a plain number with a decimal point' };
}

/** Distances between targets may differ by this share before the unit is doubted, and by this factor it is. */
const SCALE = 0.02;

/**
 * Brings a scan into the coordinates of the set-up by named targets, however far and turned: the rigid motion that fits
 * them best in closed form, then each held against the others.
 * @param sd standard deviation of one coordinate of a target as picked, m
 * @throws InputError when they are in one line, or do not fit
 */
export function alignTargets(
  targets: readonly Target[],
  sd: number,
  file: string,
  units: JobUnits,
): Alignment {
  const fault = (problems: readonly Omit<Problem, 'file'>[]) =>
    new InputError(
      'the scan cannot be brought into the coordinates of the set-up by its targets; nothing was imported',
      problems.map((each) => ({ file, ...each })),
    );
  const [here, there] = [targets.map((t) => t.here), targets.map((t) => t.there)];
  const grown = spread(there) / spread(here);
  if (!(Math.abs(grown - 1) < SCALE)) {
    throw fault([
      {
        found: `targets ${grown.toPrecision(4)} times as far apart in the set-up as in this scan`,
        expected: 'the same distances (is a coordinate in another unit, or are names exchanged?)',
      },
    ]);
  }
  if (flatness(here) < 0.05 * spread(here))
    throw fault([
      { found: 'targets nearly in one line', expected: 'a target well off the line of the others' },
    ]);
  const motion = kabsch(here, there);
  const middle = middleOf(there);
  const arms = armsOf(there, middle);
  // Targets that are not in one line hold every motion to a few of their standard deviations.
  const held = 20 * sd;
  const axes: readonly Vec3[] = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ];
  const ties = targets.map((target): Tie => {
    const at = move(motion, target.here);
    return {
      name: target.name,
      rows: axes.map((axis) => rowOf(axis, subtract(at, middle))),
      gaps: [0, 1, 2].map((k) => target.there[k]! - at[k]!),
      sds: [sd, sd, sd],
    };
  });
  const closure = testTies(ties, arms, held).map(({ name, gaps, us, tellsAt, pulls, verdict }) => ({
    name,
    gap: Math.hypot(...gaps),
    u: Math.max(...us),
    turn: 0,
    turnU: 0,
    untold: us.map((u, k) => ({ noticed: tellsAt * u, pull: pulls[k]! })),
    agrees: verdict === 'agrees',
    unsure: verdict === 'this or another',
  }));
  const found = alignment(motion, solveMotion(ties, arms, held), middle, closure);
  const open = closure.filter((each) => !each.agrees);
  if (open.length > 0 && mirrored(targets))
    throw fault([
      {
        column: 'x, y, z',
        found: 'targets that are the mirror image of those of the set-up',
        expected: 'the same way round: are two columns exchanged, or has one the wrong sign?',
      },
    ]);
  if (open.length > 0)
    throw fault(
      open.map((each) => ({
        column: `target ${each.name}`,
        found: `${formatLength(each.gap, { units, as: 'offset' })} off when the others are fitted (standard uncertainty ${Number.isFinite(each.u) ? formatUncertainty(each.u, units) : 'unknown: nothing else holds it'})`,
        expected: each.unsure
          ? 'targets that agree; one of those named here is wrong, and it takes another target to tell which'
          : 'a target that agrees with the others; look for exchanged names or digits, or leave it out',
      })),
    );
  return found;
}

const alike = (name: string): string => name.trim().replace(/\s+/g, ' ').toLowerCase();

/** Whether four of the targets that reach over a fair volume lie the other way round in this scan. */
function mirrored(targets: readonly Target[]): boolean {
  const some = targets.slice(0, 10);
  const volume = (p: readonly Vec3[]) => {
    const [a, b, c, d] = p as [Vec3, Vec3, Vec3, Vec3];
    return dot(subtract(b, a), cross(subtract(c, a), subtract(d, a)));
  };
  let [most, ratio] = [0, 1];
  for (let i = 0; i < some.length; i++)
    for (let j = i + 1; j < some.length; j++)
      for (let k = j + 1; k < some.length; k++)
        for (let l = k + 1; l < some.length; l++) {
          const four = [some[i]!, some[j]!, some[k]!, some[l]!];
          const there = volume(four.map((each) => each.there));
          if (Math.abs(there) <= most) continue;
          most = Math.abs(there);
          ratio = volume(four.map((each) => each.here)) / there;
        }
  return ratio < -0.8 && ratio > -1.25;
}

/** Root mean square distance of points from their middle. */
function spread(points: readonly Vec3[]): number {
  const middle = middleOf(points);
  return Math.sqrt(points.reduce((sum, p) => sum + length(subtract(p, middle)) ** 2, 0) / points.length);
}

/** Largest distance of a point from the line through the two that are farthest apart. */
function flatness(points: readonly Vec3[]): number {
  let [a, b, far] = [points[0]!, points[1]!, -1];
  for (const p of points)
    for (const q of points) {
      const d = length(subtract(p, q));
      if (d > far) [a, b, far] = [p, q, d];
    }
  const axis = scale(subtract(b, a), 1 / Math.max(far, 1e-12));
  return Math.max(
    ...points.map((p) => {
      const d = subtract(p, a);
      const s = d[0] * axis[0] + d[1] * axis[1] + d[2] * axis[2];
      return length(subtract(d, scale(axis, s)));
    }),
  );
}
