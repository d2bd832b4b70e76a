import type { Finding } from '../finding.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { assembleSurveys } from '../survey/assemble.ts';
import { doubtFindings, doubtfulReadings } from '../survey/doubtful.ts';
import { misorderedRows } from '../survey/misordered.ts';
import { pooledReadingSd } from '../survey/reading-sd.ts';
import type { Reading, ReadingState, Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { endDoubts } from './end-doubts.ts';
import { repeatDoubts } from './repeat-doubts.ts';
import { stationDoubts } from './station-doubts.ts';
import { about, distinctStations } from './survey-finding.ts';
import { unitDoubt } from './unit-doubt.ts';

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
      if (previous === null && old.length === 0 && survey.cycle > 0 && survey === fresh[0])
        doubts.push(noAsFound(survey));
      if (line?.panel !== undefined) {
        doubts.push(...gridDoubts(survey, before(survey, [...old, ...fresh]), sd, units));
        continue;
      }
      if (distinctStations(survey).length > MOST_STATIONS) continue;
      const unit = unitDoubt(survey, previous, sd, units);
      if (unit !== null) {
        doubts.push(unit);
        continue;
      }
      doubts.push(...repeatDoubts(survey, sd, units));
      if (previous !== null) doubts.push(...stationDoubts(survey, previous, units));
      const misordered = misorderedRows(survey, lastBefore(survey, [...old, ...fresh], 2), sd, units);
      doubts.push(...misordered);
      if (!misordered.some((finding) => finding.code === 'rows-shifted')) {
        const named = new Set(misordered.map((finding) => finding.row));
        const beside =
          previous === null
            ? null
            : withoutDoubtful(previous, before(previous, [...old, ...fresh]), sd, units);
        const slips = doubtFindings(doubtfulReadings(survey, beside, sd, units)).filter(
          (finding) => !named.has(finding.row),
        );
        doubts.push(...slips);
        if (previous !== null && line !== null)
          doubts.push(...endDoubts(survey, previous, line, sd, units, slips));
      }
    }
  }
  return { surveys, doubts };
}

/**
 * A panel is looked at height by height, each a string of its own along the stations, beside the same height of the
 * survey before; what is said names the height.
 */
function gridDoubts(survey: Survey, previous: Survey | null, sd: number, units: JobUnits): Finding[] {
  const at = (height: number | undefined) => Math.round((height ?? 0) * 1e4);
  const course = (of: Survey, height: number): Survey => ({
    ...of,
    readings: of.readings.filter((reading) => at(reading.height) === height),
  });
  if (survey.readings.length > MOST_STATIONS) return [];
  const whole = unitDoubt(survey, previous, sd, units);
  if (whole !== null) return [whole];
  const heights = [...new Set(survey.readings.map((reading) => at(reading.height)))].sort((a, b) => a - b);
  return heights.flatMap((height) => {
    const here = course(survey, height);
    const before = previous === null ? null : course(previous, height);
    const then = before === null || before.readings.length === 0 ? null : before;
    const found = [
      ...(then === null ? [] : stationDoubts(here, then, units)),
      ...doubtFindings(doubtfulReadings(here, then, sd, units)),
    ];
    const said = formatLength(here.readings[0]!.height ?? 0, { units, as: 'offset', fraction: 4 });
    return found.map((finding) => ({ ...finding, message: `Height ${said}. ${finding.message}` }));
  });
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
    stations: distinctStations(survey).length,
    from: readings[0]!.station,
    to: readings.at(-1)!.station,
    least,
    most,
    date,
    repeated,
  };
}

/** The last survey before this one in the same state, else in the other. */
function before(survey: Survey, all: readonly Survey[]): Survey | null {
  return lastBefore(survey, all, 1)[0] ?? null;
}

/** The last surveys before this one in the same state, `count` at most; without any in it, those in the other. */
function lastBefore(survey: Survey, all: readonly Survey[], count: number): Survey[] {
  const earlier = all.filter((other) => other.cycle < survey.cycle);
  const same = earlier.filter((other) => other.state === survey.state);
  return (same.length > 0 ? same : earlier).slice(-count);
}

/** The survey without what stands alone in it: a slip of the last cycle says nothing against a good reading of this one. */
function withoutDoubtful(survey: Survey, previous: Survey | null, sd: number, units: JobUnits): Survey {
  const doubtful = new Set(doubtfulReadings(survey, previous, sd, units).map(({ reading }) => reading));
  const [first, last] = [survey.readings[0]?.station, survey.readings.at(-1)?.station];
  // Beyond its ends a survey says nothing at all.
  const readings = survey.readings.filter(
    (reading) => !doubtful.has(reading) || reading.station === first || reading.station === last,
  );
  return { ...survey, readings };
}

function alreadyThere(survey: Survey, twin: Survey): Finding {
  const files = [...new Set(twin.readings.map((reading) => reading.file))].join(', ');
  const key = (reading: Reading) =>
    `${Math.round(reading.station * 1e5)} ${Math.round((reading.height ?? 0) * 1e5)} ${Math.round(reading.offset * 1e6)}`;
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
