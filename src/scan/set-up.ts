import { InputError, type Problem } from '../input-error.ts';
import type { Job, Line } from '../job/job.ts';
import { parseJsonText } from '../job/json-text.ts';
import { schemaProblems } from '../job/schema-problems.ts';
import { formatLength } from '../units/format-length.ts';
import { isFlangeLine, isSloped, type ScanLine } from './line-frame.ts';
import type { PanelSpec } from './panel.ts';
import type { PatchSpec } from './patches.ts';
import { type ScanFile, scanFileSchema } from './set-up-schema.ts';
import { CLOUD_UNITS, type CloudUnit } from './units.ts';
import type { Vec3 } from './vector.ts';

/** How the lines and panels of a job lie in a cloud. */
export interface ScanSetUp {
  readonly units: CloudUnit;
  /** Column names of a text cloud without a heading; null where not given. */
  readonly columns: readonly string[] | null;
  readonly lines: readonly ScanLine[];
  readonly panels: readonly PanelSpec[];
  readonly patches: readonly PatchSpec[];
  /** In the cloud's unit. */
  readonly targets: ReadonlyMap<string, Vec3>;
  /** Standard deviation of one coordinate of a target as picked, m. */
  readonly targetSd: number;
  /** Uncertainty no count of points removes, m. */
  readonly leastU: number;
  /** Standard deviation of the registration between scans from different places, m; null: found in the cloud. */
  readonly registration: number | null;
}

/** Common practice, no source: range bias left over a member after a careful scan. */
const LEAST_U = 0.0003;
/** Common practice, no source: a signalled target picked in a cloud of some millimetres' spacing, m. */
const TARGET_SD = 0.003;
/** Search half width along the direction, m, for lines that are not along a flange. Common practice, no source. */
const REACH = 0.5;
/** How far a flange is searched sideways (25 in of push and half its width) and up and down, m. Common practice, no source. */
const SIDEWAYS = 0.9;
const UP_AND_DOWN = 0.5;
const SLICE = 0.15;
/** Fillets and welds between a web and its flange, m, and the scatter of the flange's points. Common practice, no source. */
const WELDS = 0.025;
/** Least spacing of stations and limits of the search, m: beyond them a slip of the unit is likelier. */
const LEAST_SPACING = 0.01;
const REACHES = [0.02, 3] as const;
/** A standard deviation beyond this, m, is a slip of the unit: a scan so poor tells nothing of a flange. */
const LARGEST_SD = 0.1;

/**
 * Reads a scan set-up: where the job's lines, panels and reference patches lie in the cloud. Coordinates and
 * plain numbers are in the declared `units`; lengths may carry their own unit ("12 in"); stations are as in job.json.
 * @throws InputError with every problem found
 */
export function parseScanSetUp(text: string, file: string, job: Job): ScanSetUp {
  return scanSetUp(parseJsonText(text, file, 'a scan set-up'), file, job);
}

/** The same from a value, for set-ups given as options. */
export function scanSetUp(raw: unknown, file: string, job: Job): ScanSetUp {
  if (typeof raw !== 'object' || raw === null || Array.isArray(raw)) {
    const found = Array.isArray(raw) ? 'a list' : JSON.stringify(raw);
    throw new InputError(`${file} could not be used`, [
      { file, found, expected: 'a scan set-up: an object { … } with units and lines or panels' },
    ]);
  }
  const unit = (raw as { units?: unknown }).units;
  if (typeof unit !== 'string' || !Object.hasOwn(CLOUD_UNITS, unit)) {
    throw new InputError(`${file} could not be used`, [
      {
        file,
        column: 'units',
        found: unit === undefined ? 'nothing' : JSON.stringify(unit),
        expected: `the unit of the cloud's coordinates, one of ${Object.keys(CLOUD_UNITS).join(', ')} (a cloud does not say)`,
      },
    ]);
  }
  const form = scanFileSchema(unit as CloudUnit, job.units);
  const parsed = form.safeParse(raw, { reportInput: true });
  if (!parsed.success)
    throw new InputError(`${file} could not be used`, schemaProblems(parsed.error, file, form));
  const problems: Problem[] = [];
  const lines = Object.entries(parsed.data.lines).flatMap(([name, written]) => {
    const line = job.lines.find((each) => each.name === name);
    if (line === undefined) {
      problems.push({
        file,
        column: `lines.${name}`,
        found: `a line "${name}"`,
        expected: `a line of the job: ${job.lines.map((each) => `"${each.name}"`).join(', ')}`,
      });
      return [];
    }
    const filled = fillLine(line, written, job, `lines.${name}`, (column, found, expected) =>
      problems.push({ file, column, found, expected }),
    );
    return filled === null ? [] : [filled];
  });
  const panels = Object.entries(parsed.data.panels).map(
    ([name, p]): PanelSpec => ({
      name,
      corners: p.corners,
      positive: p.positive,
      held: p.held ?? ['1-2', '2-3', '3-4', '4-1'],
      margin: p.margin ?? 0.02,
      reach: p.reach ?? 0.15,
      cell: p.cell ?? 0.025,
    }),
  );
  for (const [name, patch] of Object.entries(parsed.data.patches)) {
    if (!(patch.radius > 0)) {
      problems.push({
        file,
        column: `patches.${name}.radius`,
        found: formatLength(patch.radius, { units: job.units, as: 'offset' }),
        expected: 'more than 0',
      });
    }
  }
  const { leastSd, registration, targetSd } = parsed.data;
  const said = (m: number) => formatLength(m, { units: job.units, as: 'offset', trim: true });
  for (const [column, sd] of Object.entries({ leastSd, registration, targetSd })) {
    if (sd === undefined || (sd >= 0 && sd <= LARGEST_SD && (sd > 0 || column !== 'targetSd'))) continue;
    const least = column === 'targetSd' ? 'more than 0' : '0 or more';
    const expected = `${least} and at most ${said(LARGEST_SD)} (is the unit right?)`;
    problems.push({ file, column, found: said(sd), expected });
  }
  if (problems.length > 0) throw new InputError(`${file} could not be used`, problems);
  return {
    units: parsed.data.units,
    columns: parsed.data.columns?.map((name) => name.toLowerCase()) ?? null,
    lines,
    panels,
    patches: Object.entries(parsed.data.patches).map(([name, p]) => ({ name, ...p })),
    targets: new Map(Object.entries(parsed.data.targets)),
    targetSd: targetSd ?? TARGET_SD,
    leastU: leastSd ?? LEAST_U,
    registration: registration ?? null,
  };
}

/** Of a web, m from mid-depth: as far as it is clear of welds and fillets, of a flange half as thick again as the one stated. */
function webHalf(depth: number, flangeThickness: number): number {
  return Math.max(0.4 * depth, depth / 2 - 1.5 * flangeThickness - WELDS);
}

/** Defaults by kind of line; each can be set. */
function fillLine(
  line: Line,
  written: ScanFile['lines'][string],
  job: Job,
  path: string,
  fault: (column: string, found: string, expected: string) => void,
): ScanLine | null {
  const { member } = job;
  const sloped = isSloped(line);
  const feature = written.feature ?? (line.kind === 'sweep' ? 'edge' : 'face');
  let faults = 0;
  const wrong = (key: string, found: string, expected: string) => {
    faults++;
    fault(`${path}.${key}`, found, expected);
  };
  if (sloped && feature === 'edge')
    wrong('feature', '"edge"', `"face": a ${line.kind} is the slope of a surface`);
  if (sloped && written.across === undefined) {
    const way = line.kind === 'tilt' ? 'across the flange' : 'up the web';
    wrong(
      'across',
      'nothing',
      `the direction ${way} in which a positive ${line.kind} leans toward "direction"`,
    );
  }
  if (
    line.kind === 'plumb' &&
    member.depth === null &&
    (written.extent === undefined || written.band === undefined)
  ) {
    wrong('extent', 'nothing', 'extent and band here, or member.depth in job.json');
  }
  const depth = member.depth ?? 0;
  const width = member.flangeWidth;
  const followed = isFlangeLine({ kind: line.kind, feature });
  const sideways = line.kind === 'sweep' ? 'reach' : 'band';
  const half = followed
    ? sideways === 'band'
      ? SIDEWAYS
      : UP_AND_DOWN
    : feature === 'edge'
      ? 2 * member.flangeThickness + 0.05
      : line.kind === 'plumb'
        ? webHalf(depth, member.flangeThickness)
        : line.kind === 'bulge'
          ? 0.025
          : 0.45 * width;
  const offset = (m: number) => formatLength(m, { units: job.units, as: 'offset' });
  const station = (m: number) => formatLength(m, { units: job.units, as: 'station' });
  const spacing = written.spacing ?? (job.units === 'us' ? 0.3048 : 0.25);
  const filled: ScanLine = {
    name: line.name,
    kind: line.kind,
    units: job.units,
    from: written.from,
    to: written.to,
    stations: written.stations ?? line.bearings,
    direction: written.direction,
    feature,
    edge: written.edge ?? 'positive',
    across: written.across ?? null,
    reach: written.reach ?? (followed ? (sideways === 'reach' ? SIDEWAYS : UP_AND_DOWN) : REACH),
    band: written.band ?? [-half, half],
    spacing,
    slice: written.slice ?? Math.min(spacing, SLICE),
    extent: written.extent ?? (line.kind === 'plumb' ? depth - 2 * member.flangeThickness : width),
  };
  if (!(filled.stations[1] > filled.stations[0]))
    wrong('stations', filled.stations.map(station).join(', '), 'increasing stations');
  const spaced = filled.spacing >= LEAST_SPACING;
  if (!spaced) wrong('spacing', offset(filled.spacing), `at least ${offset(LEAST_SPACING)}`);
  else if (!(filled.slice > 0 && filled.slice <= filled.spacing)) {
    wrong(
      'slice',
      offset(filled.slice),
      `more than 0, and no longer than the spacing (${offset(filled.spacing)})`,
    );
  }
  if (!(filled.band[1] > filled.band[0]))
    wrong('band', filled.band.map(offset).join(', '), 'increasing limits');
  if (!(filled.reach > REACHES[0] && filled.reach <= REACHES[1]))
    wrong('reach', offset(filled.reach), `between ${offset(REACHES[0])} and ${offset(REACHES[1])}`);
  if (!(filled.extent > 0)) wrong('extent', offset(filled.extent), 'more than 0');
  if (spaced && (filled.stations[1] - filled.stations[0]) / filled.slice > 20_000)
    wrong('slice', offset(filled.slice), 'at most 20,000 slices');
  return faults === 0 ? filled : null;
}
