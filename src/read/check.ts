import type { Finding } from '../finding.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { assembleSurveys } from '../survey/assemble.ts';
import { doubtFindings, doubtfulReadings } from '../survey/doubtful.ts';
import { misorderedRows } from '../survey/misordered.ts';
import { compareWithPrevious } from '../survey/previous-cycle.ts';
import { pooledReadingSd } from '../survey/reading-sd.ts';
import type { Reading, ReadingState, Survey } from '../survey/survey.ts';
import { FOOT, INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';

/** One survey a file would bring, in short. */
export interface CheckedSurvey {
  readonly line: string;
  readonly cycle: number;
  readonly state: ReadingState;
  readonly readings: number;
  readonly stations: number;
  /** m */
  readonly from: number;
  readonly to: number;
  /** m */
  readonly least: number;
  readonly most: number;
  readonly date: string | null;
  /** The job already has readings of this line, cycle and state. */
  readonly repeated: boolean;
}

export interface Check {
  readonly surveys: readonly CheckedSurvey[];
  /** What can be read but is doubtful: file, row and a suggestion where one is plain. Nothing here stops an import. */
  readonly doubts: readonly Finding[];
}

/** Surveys with more stations than this come from scans; the tests for slips of the pen are not for them. */
const MOST_STATIONS = 2000;

/**
 * What an import would bring and what in it looks wrong, against the job and the readings it already has. Looks only;
 * `job` null: the file alone is looked at.
 *
 * @param incoming readings of the file (see `readReadings`; its problems stand beside this)
 * @param existing readings the job has
 */
export function checkReadings(
  incoming: readonly Reading[],
  job: Job | null,
  existing: readonly Reading[],
): Check {
  const units: JobUnits = job?.units ?? 'us';
  const names = [...new Set(incoming.map((reading) => reading.line))];
  const surveys: CheckedSurvey[] = [];
  const doubts: Finding[] = gapDoubts(incoming, existing);
  for (const name of names) {
    const line = job?.lines.find((candidate) => candidate.name === name) ?? null;
    const fresh = assembleSurveys(incoming, { name });
    const old = assembleSurveys(existing, { name });
    const sd = pooledReadingSd([...old, ...fresh], line ?? { readingSd: null }, units).value;
    doubts.push(...dateDoubts([...old, ...fresh], fresh));
    for (const survey of fresh) {
      const twin = old.find((other) => other.cycle === survey.cycle && other.state === survey.state) ?? null;
      surveys.push(inShort(survey, twin !== null));
      if (twin !== null) doubts.push(alreadyThere(survey, twin));
      const previous = before(survey, [...old, ...fresh]);
      if (previous === null && old.length === 0 && survey.cycle > 0) doubts.push(noAsFound(survey));
      if (distinct(survey).length > MOST_STATIONS) continue;
      const unit = unitDoubt(survey, previous, sd, units);
      if (unit !== null) {
        doubts.push(unit);
        continue;
      }
      if (previous !== null) doubts.push(...stationDoubts(survey, previous, units));
      const misordered = previous === null ? [] : misorderedRows(survey, previous, sd, units);
      doubts.push(...misordered);
      if (!misordered.some((finding) => finding.code === 'rows-shifted')) {
        const named = new Set(misordered.map((finding) => finding.row));
        doubts.push(
          ...doubtFindings(doubtfulReadings(survey, previous, sd, units)).filter(
            (finding) => !named.has(finding.row),
          ),
        );
      }
    }
  }
  return { surveys, doubts };
}

function inShort(survey: Survey, repeated: boolean): CheckedSurvey {
  const { line, cycle, state, date, readings } = survey;
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const { offset } of readings) {
    least = Math.min(least, offset);
    most = Math.max(most, offset);
  }
  return {
    line,
    cycle,
    state,
    readings: readings.length,
    stations: distinct(survey).length,
    from: readings[0]!.station,
    to: readings.at(-1)!.station,
    least,
    most,
    date,
    repeated,
  };
}

/** Distinct stations, increasing, m. */
function distinct(survey: Survey): number[] {
  const stations: number[] = [];
  for (const { station } of survey.readings) {
    if (stations.length === 0 || station - stations.at(-1)! > 1e-6) stations.push(station);
  }
  return stations;
}

/** The last survey before this one in the same state, else in the other. */
function before(survey: Survey, all: readonly Survey[]): Survey | null {
  const earlier = all.filter((other) => other.cycle < survey.cycle);
  const same = earlier.filter((other) => other.state === survey.state);
  return same.at(-1) ?? earlier.at(-1) ?? null;
}

function about(survey: Survey, code: string, message: string, more: Partial<Finding> = {}): Finding {
  const { file, row } = survey.readings[0]!;
  return { severity: 'caution', code, message, line: survey.line, cycle: survey.cycle, file, row, ...more };
}

function alreadyThere(survey: Survey, twin: Survey): Finding {
  const files = [...new Set(twin.readings.map((reading) => reading.file))].join(', ');
  const key = (reading: Reading) =>
    `${Math.round(reading.station * 1e5)} ${Math.round(reading.offset * 1e6)}`;
  const known = new Set(twin.readings.map(key));
  const same = survey.readings.every((reading) => known.has(key(reading)));
  const what = same
    ? 'every reading of it is there already: the same sheet under another name?'
    : 'these would count as repeats: is the cycle number right?';
  return about(
    survey,
    same ? 'survey-twice' : 'cycle-already-read',
    `Cycle ${survey.cycle} already has ${twin.readings.length} ${survey.state} readings of ${survey.line} (${files}); ${what}`,
  );
}

function noAsFound(survey: Survey): Finding {
  return about(
    survey,
    'no-as-found-survey',
    `${survey.line} begins with cycle ${survey.cycle}: no as-found survey (cycle 0) to compare with.`,
  );
}

/** Cycles nobody read anything in, up to a new one. A line need not be read every cycle, the job should be. */
function gapDoubts(incoming: readonly Reading[], existing: readonly Reading[]): Finding[] {
  const known = new Set(existing.map((reading) => reading.cycle));
  if (known.size === 0) return [];
  const findings: Finding[] = [];
  for (const cycle of [...new Set(incoming.map((reading) => reading.cycle))].sort((a, b) => a - b)) {
    const last = [...known].reduce((most, each) => (each < cycle && each > most ? each : most), -1);
    known.add(cycle);
    if (last === -1 || cycle - last < 2) continue;
    const { line, file, row } = incoming.find((reading) => reading.cycle === cycle)!;
    const missing = cycle - last === 2 ? `cycle ${last + 1} was` : `cycles ${last + 1} to ${cycle - 1} were`;
    findings.push({
      severity: 'note',
      code: 'cycles-missing',
      message: `The job goes from cycle ${last} to cycle ${cycle}: ${missing} not read, or the number is wrong.`,
      line,
      cycle,
      file,
      row,
    });
  }
  return findings;
}

function dateDoubts(all: readonly Survey[], fresh: readonly Survey[]): Finding[] {
  const dated = [...all].filter((survey) => survey.date !== null).sort((a, b) => a.cycle - b.cycle);
  return fresh.flatMap((survey) => {
    if (survey.date === null) return [];
    const earlier = dated.filter((other) => other.cycle < survey.cycle).at(-1);
    return earlier !== undefined && earlier.date! > survey.date
      ? [
          about(
            survey,
            'dates-not-increasing',
            `Cycle ${survey.cycle} is dated ${survey.date}, before cycle ${earlier.cycle} (${earlier.date}).`,
          ),
        ]
      : [];
  });
}

/** A whole survey in another unit, or with the sign turned, against the cycle before; or out of all proportion alone. */
function unitDoubt(survey: Survey, previous: Survey | null, sd: number, units: JobUnits): Finding | null {
  const share = previous === null ? null : (compareWithPrevious(survey, previous, sd)?.share ?? null);
  const near = (value: number) => share !== null && Math.abs(share / value - 1) < 0.2;
  const say = (what: string) =>
    about(
      survey,
      'unit-doubtful',
      `Cycle ${survey.cycle} of ${survey.line} has ${what} the shape of cycle ${previous?.cycle}: is the unit of the column right?`,
    );
  if (near(-1)) {
    return about(
      survey,
      'sign-doubtful',
      `Cycle ${survey.cycle} of ${survey.line} is the mirror image of cycle ${previous!.cycle}: was the positive side turned round?`,
    );
  }
  if (units === 'us') {
    if (near(1 / 12)) return say('one twelfth of (looks like feet in an inches column)');
    if (near(12)) return say('twelve times (looks like inches in a feet column)');
  }
  if (near(25.4)) return say('25 times (looks like millimetres in an inches column)');
  if (near(1 / 25.4)) return say('one twenty-fifth of (looks like inches in a millimetres column)');
  if (near(10) || near(0.1)) return say(share! > 1 ? 'ten times' : 'one tenth of');
  return previous === null ? aloneUnitDoubt(survey, units) : null;
}

function aloneUnitDoubt(survey: Survey, units: JobUnits): Finding | null {
  const offsets = survey.readings.map((reading) => reading.offset);
  const most = offsets.reduce((a, b) => Math.max(a, Math.abs(b)), 0);
  const reach = survey.readings.at(-1)!.station - survey.readings[0]!.station;
  const big = offsets.filter((offset) => Math.abs(offset) > 0.1 * reach).length;
  if (units === 'us' && reach > 0 && big >= offsets.length / 3) {
    return about(
      survey,
      'unit-doubtful',
      `Offsets of ${survey.line} in cycle ${survey.cycle} reach ${formatLength(most, { units, as: 'station' })} over ${formatLength(reach, { units, as: 'station' })}: looks like millimetres in an inches column.`,
    );
  }
  const inHundredths = offsets.every((offset) => isWhole(offset / (INCH / 100)));
  const notSixteenths = offsets.filter((offset) => !isWhole(offset / (INCH / 16))).length;
  if (
    units === 'us' &&
    offsets.length >= 5 &&
    inHundredths &&
    notSixteenths > offsets.length / 2 &&
    most < INCH
  ) {
    const feet = formatLength((most / INCH) * FOOT, { units, as: 'offset' });
    return about(
      survey,
      'unit-doubtful',
      `Offsets of ${survey.line} in cycle ${survey.cycle} are in hundredths and under one: looks like feet in an inches column (the largest would be ${feet}).`,
      { severity: 'note' },
    );
  }
  return null;
}

function isWhole(value: number): boolean {
  return Math.abs(value - Math.round(value)) < 1e-6;
}

/** Stations read before and missing now, and new ones: a pair of each close together is a slip of the pen. */
function stationDoubts(survey: Survey, previous: Survey, units: JobUnits): Finding[] {
  const key = (station: number) => Math.round(station * 1e4);
  const now = distinct(survey);
  const then = distinct(previous);
  const nowKeys = new Set(now.map(key));
  const thenKeys = new Set(then.map(key));
  const added = now.filter((station) => !thenKeys.has(key(station)));
  const missing = then.filter((station) => !nowKeys.has(key(station)));
  // A crew that chose other stations did not make a slip.
  if (added.length > Math.max(3, now.length / 5)) return [];
  const say = (station: number) => formatLength(station, { units, as: 'station' });
  const findings: Finding[] = [];
  for (const station of added) {
    const meant =
      missing.length <= 5
        ? missing.reduce<number | null>(
            (best, other) =>
              best === null || Math.abs(other - station) < Math.abs(best - station) ? other : best,
            null,
          )
        : null;
    const { file, row } = survey.readings.find((reading) => reading.station === station)!;
    const hint = meant === null ? '' : ` ${say(meant)} is missing: is that meant?`;
    findings.push(
      about(
        survey,
        'station-new',
        `Station ${say(station)} was not read in cycle ${previous.cycle}.${hint}`,
        {
          severity: meant === null ? 'note' : 'caution',
          station,
          file,
          row,
        },
      ),
    );
  }
  // Many left out is a plan (fewer stations once the zones are known), a few are an oversight.
  if (missing.length > 0 && missing.length <= Math.max(2, then.length / 8) && added.length === 0) {
    const few = missing.slice(0, 5).map(say).join(', ') + (missing.length > 5 ? ', …' : '');
    findings.push(
      about(
        survey,
        'stations-missing',
        `${missing.length} station${missing.length === 1 ? '' : 's'} of cycle ${previous.cycle} not read in cycle ${survey.cycle}: ${few}.`,
        { severity: 'note' },
      ),
    );
  }
  return findings;
}
