import type { Analysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import { readHeatLog } from '../heats/heat-log-csv.ts';
import { type HeatsOfJob, heatsOfJob } from '../heats/heats-of-job.ts';
import { plannedTemperature } from '../heats/planned-vee.ts';
import { InputError, type Problem } from '../input-error.ts';
import type { Job } from '../job/job.ts';
import { parseLength } from '../units/parse-length.ts';
import { parseQuantity, type QuantityKind } from '../units/parse-quantity.ts';
import { PRACTICE_FILE, type PracticeFile } from './file.ts';
import { heatHeading, heatRows } from './heat-rows.ts';
import { refusals } from './refusals.ts';
import type { PracticeHeat, PracticeVee } from './steel.ts';
import { PRACTICE_LINE } from './survey.ts';

export interface HeatWords {
  readonly vees: string;
  readonly angle?: string;
  readonly temperature?: string;
  readonly before?: string;
  readonly pressure?: string;
}

export interface ProposedHeat {
  readonly heat: PracticeHeat;
  readonly refused: readonly Finding[];
  readonly said: readonly Finding[];
  /** The heat log with the new rows. */
  readonly log: string;
}

/** Where the job of a practice stands. */
export interface Standing {
  readonly analysis: Analysis;
  readonly heats: HeatsOfJob;
  /** Text of its heat log; empty where there is none. */
  readonly log: string;
}

/** As a job folder calls it. */
const HEAT_LOG_FILE = 'heats.csv';

/**
 * The next cycle of a practice as its crew words it, held against the job's own checks. Nothing is written.
 *
 * @throws InputError where the truth has been shown, a word cannot be read, the last cycle has not been added, or heats.csv is not the practice's
 */
export function proposeHeat(
  { analysis, heats, log: before }: Standing,
  practice: PracticeFile,
  words: HeatWords,
  date: string,
): ProposedHeat {
  const { job } = analysis;
  if (practice.revealed !== undefined) {
    throw new InputError('No heat was made: this practice is over.', [
      {
        file: PRACTICE_FILE,
        found: `a truth shown after cycle ${practice.revealed}: what comes after it proves nothing`,
        expected: 'another girder (sweepbook practice new, with another seed)',
      },
    ]);
  }
  const cycle = practice.cycles.length;
  const entry = analysis.lines.find(({ line }) => line.name === PRACTICE_LINE);
  if (!entry?.fit.surveys.some((survey) => survey.cycle === cycle - 1)) {
    throw new InputError('The girder has not been read since the last heats.', [
      {
        file: 'sheets',
        found: `no readings of cycle ${cycle - 1} in the job`,
        expected: 'its sheet, added with `sweepbook add`',
      },
    ]);
  }
  const ahead = heats.made.find(({ heat }) => heat.cycle >= cycle);
  if (ahead !== undefined) {
    throw new InputError(`${HEAT_LOG_FILE} is ahead of the practice.`, [
      {
        ...{ file: HEAT_LOG_FILE, row: ahead.heat.row, column: 'cycle' },
        found: `a heat of cycle ${ahead.heat.cycle}, which was not made`,
        expected: `cycles before ${cycle}: take the rows of that cycle out`,
      },
    ]);
  }
  const heat = readHeat(words, job, heats, entry.fit.zones, cycle);
  const heading = `${heatHeading(job)}\n`;
  if (before !== '' && !before.startsWith(heading)) {
    throw new InputError(`${HEAT_LOG_FILE} could not be added to.`, [
      {
        file: HEAT_LOG_FILE,
        row: 1,
        found: 'another heading than that of a practice',
        expected: heading.trim(),
      },
    ]);
  }
  const cold = quantity('before', words.before ?? (job.units === 'us' ? '70' : '20'), 'temperature', job);
  const ended = before === '' || before.endsWith('\n') ? before : `${before}\n`;
  const text = (ended === '' ? heading : ended) + heatRows(job, heat, heats.plan.depth, cold, date);
  const { log, problems } = readHeatLog(text, job, HEAT_LOG_FILE);
  if (problems.length > 0) throw new InputError('No heat was made.', problems.map(asWorded));
  const standing = analysis.findings.filter((finding) => finding.severity === 'stop');
  const { refused, said } = refusals(heats.findings, heatsOfJob(analysis, log).findings);
  return { heat, refused: [...standing, ...refused], said, log: text };
}

/** A fault of the log in the words its row was made from: nobody typed the row. */
function asWorded(problem: Problem): Problem {
  const option = /^(station|angle|temperature|before|pressure)/.exec(problem.column ?? '')?.[0];
  if (option === undefined) return problem;
  const { found, expected } = problem;
  return { file: option === 'station' ? '--vees' : `--${option}`, found, expected };
}

function readHeat(
  words: HeatWords,
  job: Job,
  heats: HeatsOfJob,
  zones: readonly { readonly from: number; readonly to: number; readonly rotation: number }[],
  cycle: number,
): PracticeHeat {
  const angle =
    words.angle === undefined ? heats.plan.angle : quantity('angle', words.angle, 'angle', job, 'deg');
  const planned = plannedTemperature(job, heats.limits);
  const temperature =
    words.temperature === undefined && planned !== null
      ? planned
      : quantity('temperature', words.temperature ?? '', 'temperature', job);
  const pressure =
    words.pressure === undefined
      ? 0
      : quantity('pressure', words.pressure, 'stress', job, job.units === 'us' ? 'psi' : 'MPa');
  const problems: Problem[] = [];
  const vees = words.vees.split(',').flatMap((each): PracticeVee[] => {
    const [, where, side] = /^(.*?)(?::\s*([+-]))?$/.exec(each.trim())!;
    const parsed = parseLength(where!, {
      unit: job.units === 'us' ? 'ft' : 'm',
      dashed: job.dashedLengths,
      station: true,
    });
    if (!parsed.ok) {
      problems.push({ file: '--vees', found: `"${each.trim()}"`, expected: parsed.expected });
      return [];
    }
    const station = parsed.metres;
    const away = (zone: (typeof zones)[number]) => Math.max(0, zone.from - station, station - zone.to);
    const nearest = [...zones].sort((a, b) => away(a) - away(b))[0];
    if (side === undefined && nearest === undefined) {
      problems.push({
        file: '--vees',
        found: `"${each.trim()}", and no bend was found that says which way to turn it`,
        expected: 'the side the vee is open toward, such as "29 ft:+"',
      });
      return [];
    }
    const open = side === undefined ? (nearest!.rotation > 0 ? -1 : 1) : side === '+' ? 1 : -1;
    return [{ station, angle, open }];
  });
  if (problems.length > 0) throw new InputError('No heat was made.', problems);
  const sense = heats.restraint?.sense ?? 1;
  const jacks = job.jacks.flatMap((jack) =>
    jack.station === null
      ? []
      : [
          {
            station: jack.station,
            ramArea: jack.ramArea,
            push: (jack.push === null ? sense : jack.push === 'negative' ? -1 : 1) as 1 | -1,
          },
        ],
  );
  return { cycle, vees, temperature, pressure, jacks };
}

function quantity(name: string, text: string, kind: QuantityKind, job: Job, unit?: string): number {
  const parsed = parseQuantity(text, kind, unit ?? (job.units === 'us' ? 'F' : 'C'));
  if (parsed.ok) return parsed.value;
  throw new InputError('No heat was made.', [
    { file: `--${name}`, found: `"${text}"`, expected: parsed.expected },
  ]);
}
