import type { JobUnits, Line } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { formatUncertainty } from '../units/format-length.ts';
import type { ReadingSd, Survey } from './survey.ts';

/** Default standard deviation of one string-line reading, m: the step it is read to. Common practice, no source. */
const DEFAULT_READING_SD = INCH / 16;

/**
 * Repeats replace the default from this many degrees of freedom on. At 8 the standard deviation itself is known to
 * about 25 % (1/√(2ν), JCGM 100:2008 E.4.3, from memory), enough to prefer it to a guess.
 */
const ENOUGH_DEGREES_OF_FREEDOM = 8;

/** Stations closer than this are one station, m. */
const SAME_STATION = 1e-6;

/** Steps field readings are written to, m: 1/2 … 1/64 in, 0.1 and 0.01 in, 0.01 ft, 1, 0.5, 0.1 mm. */
const STEPS = [
  INCH / 2,
  INCH / 4,
  INCH / 8,
  0.01 * 0.3048,
  INCH / 10,
  INCH / 16,
  0.001,
  INCH / 32,
  0.0005,
  INCH / 64,
  INCH / 100,
  0.0001,
];

/**
 * The standard deviation of one reading of a line: pooled from repeats over all its surveys where there are enough,
 * else the job's stated value, else the default.
 *
 * Pooled variance s² = Σ(nᵢ − 1)sᵢ² / Σ(nᵢ − 1) over stations read more than once in one survey (JCGM 100:2008 4.2.4,
 * from memory). Repeats that differ by more than six times the resolution-floored median spread are left to
 * the blunder tests and do not enter. Never below d/√12 for readings written to steps of d (JCGM 100:2008 F.2.2.1):
 * readings rounded to one step agree better than they were measured.
 *
 * Readings with their own stated `sd` are left out: they do not share this one.
 */
export function pooledReadingSd(
  surveys: readonly Survey[],
  line: Pick<Line, 'readingSd'>,
  units: JobUnits = 'us',
): ReadingSd {
  const groups = repeatGroups(surveys);
  const step = readingStep(surveys);
  const floor = step === null ? 0 : step / Math.sqrt(12);
  const stated = line.readingSd;
  const say = (metres: number) => formatUncertainty(metres, units);

  const kept = withoutBlunders(groups, Math.max(floor, stated ?? DEFAULT_READING_SD));
  const degreesOfFreedom = kept.reduce((sum, group) => sum + group.length - 1, 0);
  if (degreesOfFreedom >= ENOUGH_DEGREES_OF_FREEDOM) {
    const squares = kept.reduce((sum, group) => sum + sumOfSquares(group), 0);
    const pooled = Math.sqrt(squares / degreesOfFreedom);
    const value = Math.max(pooled, floor);
    const count = kept.length === 1 ? '1 station' : `${kept.length} stations`;
    const reason =
      pooled < floor
        ? `Repeats at ${count} agree to ${say(pooled)}; held at ${say(floor)}, the rounding of the readings (step ÷ √12).`
        : `Pooled from repeats at ${count} (${degreesOfFreedom} degrees of freedom): ${say(value)}.`;
    return { value, source: 'repeats', degreesOfFreedom, reason };
  }
  const few =
    degreesOfFreedom === 0
      ? 'no station was read twice in one survey'
      : `repeats give only ${degreesOfFreedom} degrees of freedom (${ENOUGH_DEGREES_OF_FREEDOM} are needed)`;
  const own = ownSds(surveys);
  if (stated !== null) {
    return {
      value: stated,
      source: 'job',
      degreesOfFreedom: null,
      reason: own.all ? own.words(say) : `Stated in the job: ${say(stated)}; ${few}.`,
    };
  }
  const value = Math.max(DEFAULT_READING_SD, floor);
  return {
    value,
    source: 'default',
    degreesOfFreedom: null,
    reason: own.all
      ? own.words(say)
      : own.some
        ? `Default for the string-line readings: ${say(value)}; ${few}. ${own.words(say)}`
        : `Default for a string-line reading: ${say(value)}; ${few}.`,
  };
}

/** Readings that bring a standard deviation of their own, as those taken from a scan do. */
function ownSds(surveys: readonly Survey[]): {
  readonly some: boolean;
  readonly all: boolean;
  readonly words: (say: (metres: number) => string) => string;
} {
  const sds = surveys.flatMap((survey) => survey.readings.map((reading) => reading.sd));
  const own = sds.filter((sd) => sd !== null).sort((a, b) => a - b);
  const all = own.length > 0 && own.length === sds.length;
  return {
    some: own.length > 0,
    all,
    words: (say) =>
      `${all ? 'Every reading' : `${own.length} of ${sds.length} readings`} came with a standard deviation of its own, as from a scan: ${say(own[0]!)} to ${say(own.at(-1)!)}.`,
  };
}

/** Offsets read more than once at one station in one survey, m. */
function repeatGroups(surveys: readonly Survey[]): number[][] {
  const groups: number[][] = [];
  for (const survey of surveys) {
    let group: number[] = [];
    let station = Number.NaN;
    let height = 0;
    for (const reading of survey.readings) {
      if (reading.sd !== null) continue;
      const up = reading.height ?? 0;
      if (Math.abs(reading.station - station) <= SAME_STATION && Math.abs(up - height) <= SAME_STATION)
        group.push(reading.offset);
      else {
        if (group.length > 1) groups.push(group);
        group = [reading.offset];
        station = reading.station;
        height = up;
      }
    }
    if (group.length > 1) groups.push(group);
  }
  return groups;
}

function sumOfSquares(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
}

/** A group whose range is more than 6 times √2 the scale holds a blunder; scale = median range, floored. */
function withoutBlunders(groups: readonly number[][], floor: number): number[][] {
  const ranges = groups.map((group) => Math.max(...group) - Math.min(...group));
  const middle = [...ranges].sort((a, b) => a - b)[Math.floor(ranges.length / 2)] ?? 0;
  const limit = 6 * Math.SQRT2 * Math.max(middle, floor);
  return groups.filter((_, i) => ranges[i]! <= limit);
}

/** The coarsest customary step all offsets are whole multiples of, m; null where there is none (scans, computed values). */
function readingStep(surveys: readonly Survey[]): number | null {
  const offsets = surveys.flatMap((survey) => survey.readings.map((reading) => reading.offset));
  if (offsets.length < 3) return null;
  for (const step of STEPS) {
    const tolerance = 1e-7;
    if (offsets.every((offset) => Math.abs(offset - Math.round(offset / step) * step) <= tolerance))
      return step;
  }
  return null;
}
