import { InputError } from '../input-error.ts';
import type { JobUnits } from '../job/job.ts';
import type { LineKind } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { add, cross, dot, length, scale, subtract, unit, type Vec3 } from './vector.ts';

/**
 * How one line of the job is taken from a cloud. Coordinates are in the cloud's own unit and axes;
 * every other length is in metres.
 */
export interface ScanLine {
  readonly name: string;
  readonly kind: LineKind;
  /** Units of the job, for what is said about the line. */
  readonly units: JobUnits;
  /** Two points on the steel to be measured, picked at `stations`. */
  readonly from: Vec3;
  readonly to: Vec3;
  readonly stations: readonly [number, number];
  /** Toward the line's positive side; need not be square to the line. */
  readonly direction: Vec3;
  /** What is measured in a slice: where the steel ends (a flange edge), or the surface itself. */
  readonly feature: 'edge' | 'face';
  /** For an edge: whether the steel ends toward the positive or the negative side. */
  readonly edge: 'positive' | 'negative';
  /**
   * For `tilt` and `plumb`: across the flange, or up the web; a slope that leans toward `direction` along it is
   * positive. Null for other kinds.
   */
  readonly across: Vec3 | null;
  /** Half width of the search along the direction, m. */
  readonly reach: number;
  /** Search range across line and direction, [from, to] in m. */
  readonly band: readonly [number, number];
  /** Station spacing and length of the slice around each station, m. */
  readonly spacing: number;
  readonly slice: number;
  /** Width over which a `tilt` or `plumb` slope is expressed as an offset, m. */
  readonly extent: number;
}

/** Lines along a flange are read from the flange itself, followed as a body. */
export function isFlangeLine(line: Pick<ScanLine, 'kind' | 'feature'>): boolean {
  if (line.kind === 'sweep') return line.feature === 'edge';
  return (line.kind === 'camber' || line.kind === 'tilt') && line.feature === 'face';
}

/** Read as a slope over the extent, which stands as it is; the others are places, and a survey of them has a set-up of its own. */
export function isSloped({ kind }: Pick<ScanLine, 'kind'>): boolean {
  return kind === 'tilt' || kind === 'plumb';
}

/** Axes of a line: along it, toward positive, and across both; unit vectors, with metres per cloud unit. */
export interface LineFrame {
  readonly origin: Vec3;
  readonly along: Vec3;
  readonly toward: Vec3;
  readonly across: Vec3;
  /** m per cloud unit */
  readonly metres: number;
  /** Station of the origin and m of station per m along (1 but for picking errors). */
  readonly stationAtOrigin: number;
  readonly stationScale: number;
  /** Distance between the two picked points, m. */
  readonly span: number;
}

/** Picked points may disagree with their stations by this much before the units or points are doubted. */
const LEAST_MISMATCH = 0.05;
const RELATIVE_MISMATCH = 0.01;

/**
 * Builds the axes of a line. Throws InputError when the points coincide, when the direction lies along the
 * line, or when the distance between the points does not fit their stations (wrong unit, wrong points).
 */
export function lineFrame(line: ScanLine, metres: number): LineFrame {
  const chord = subtract(line.to, line.from);
  const span = length(chord) * metres;
  const stationed = line.stations[1] - line.stations[0];
  const shown = (m: number) => formatLength(m, { units: line.units, as: 'station' });
  const problem = (column: string, found: string, expected: string) =>
    new InputError(`line "${line.name}" cannot be taken from this cloud`, [
      { file: 'scan set-up', column: `${line.name}: ${column}`, found, expected },
    ]);
  if (!(span > 0)) throw problem('from, to', 'the same point twice', 'two points at the two stations');
  if (Math.abs(span - stationed) > Math.max(LEAST_MISMATCH, RELATIVE_MISMATCH * stationed)) {
    throw problem(
      'from, to',
      `points ${shown(span)} apart in the declared unit`,
      `${shown(stationed)}, the distance between their stations (is the unit right? are these the points?)`,
    );
  }
  const along = unit(chord);
  const size = length(line.direction);
  if (!(size > 0))
    throw problem('direction', 'a direction without length', 'a direction toward the positive side');
  const given = scale(line.direction, 1 / size);
  const square = subtract(given, scale(along, dot(given, along)));
  if (length(square) < 0.5) {
    throw problem(
      'direction',
      'a direction within 30 degrees of the line itself',
      'a direction across the line',
    );
  }
  const toward = unit(square);
  const across = cross(along, toward);
  const turned = line.across !== null && dot(across, line.across) < 0;
  if (line.across !== null && Math.abs(dot(across, line.across)) < 0.5 * length(line.across)) {
    throw problem(
      'across',
      'a direction more than 60 degrees from square to line and direction',
      'a direction across both',
    );
  }
  return {
    origin: line.from,
    along,
    toward,
    across: turned ? scale(across, -1) : across,
    metres,
    stationAtOrigin: line.stations[0],
    stationScale: stationed / span,
    span,
  };
}

/** Cloud coordinates of the point at `s`, `o`, `h` metres along, toward and across. */
export function toCloud(frame: LineFrame, s: number, o: number, h: number): Vec3 {
  const k = 1 / frame.metres;
  return add(
    add(frame.origin, scale(frame.along, s * k)),
    add(scale(frame.toward, o * k), scale(frame.across, h * k)),
  );
}
