import type { Analysis } from '../analysis.ts';
import type { CrackCheck } from '../checks/crack-check.ts';
import { readCrackChecks } from '../checks/crack-checks-csv.ts';
import type { CostLog } from '../costs/cost-log.ts';
import { readCostLog } from '../costs/cost-log-csv.ts';
import type { JobFiles } from '../folder/job-files.ts';
import { CHECK_LOG_FILE, COST_LOG_FILE, HEAT_LOG_FILE } from '../folder/names.ts';
import { type BesideHeats, besideHeats } from '../heats/beside-heats.ts';
import type { HeatLog } from '../heats/heat-log.ts';
import { readHeatLog } from '../heats/heat-log-csv.ts';
import { InputError, type Problem } from '../input-error.ts';
import type { Job } from '../job/job.ts';
import { sha256Hex } from '../sha256.ts';
import { utf8Text } from '../utf8.ts';

/** A log kept by hand, as it was read once. */
export interface Log<T> {
  /** Job-relative name. */
  readonly file: string;
  /** Of the bytes that were read; null where there is no such file, or it could not be read at all. */
  readonly sha256: string | null;
  /** What it holds, empty where there is no file; null where it could not be used: nothing of a faulty log is. */
  readonly held: T | null;
  /** Why it could not be used, with every fault of it. */
  readonly fault: InputError | null;
  /** Headings that are not read. */
  readonly notRead: readonly string[];
}

/** The logs of a job. A report, its claim and its first screen are all made of this one reading. */
export interface Logs {
  readonly heats: Log<HeatLog>;
  readonly costs: Log<CostLog>;
  readonly checks: Log<readonly CrackCheck[]>;
}

export function readLogs(source: Pick<JobFiles, 'bytes'>, job: Job): Logs {
  const read = <T>(
    file: string,
    none: T,
    reader: (text: string) => {
      readonly held: T;
      readonly problems: readonly Problem[];
      readonly notRead: readonly string[];
    },
  ): Log<T> => {
    let sha256: string | null = null;
    try {
      const bytes = source.bytes(file, 'log');
      if (bytes === null) return { file, sha256, held: none, fault: null, notRead: [] };
      sha256 = sha256Hex(bytes);
      const { held, problems, notRead } = reader(utf8Text(bytes));
      if (problems.length > 0) throw new InputError(`${file} could not be used.`, problems);
      return { file, sha256, held, fault: null, notRead };
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return { file, sha256, held: null, fault: error, notRead: [] };
    }
  };
  return {
    heats: read<HeatLog>(HEAT_LOG_FILE, { heats: [], gasUnit: null, currency: null }, (text) => {
      const { log, ...rest } = readHeatLog(text, job, HEAT_LOG_FILE);
      return { held: log, ...rest };
    }),
    costs: read<CostLog>(COST_LOG_FILE, { entries: [] }, (text) => {
      const { log, ...rest } = readCostLog(text, job, COST_LOG_FILE);
      return { held: log, ...rest };
    }),
    checks: read<readonly CrackCheck[]>(CHECK_LOG_FILE, [], (text) => {
      const { checks, ...rest } = readCrackChecks(text, job.units, CHECK_LOG_FILE);
      return { held: checks, ...rest };
    }),
  };
}

/** What a log holds. @throws InputError with every fault of it */
export function heldBy<T>({ held, fault }: Log<T>): T {
  if (held === null) throw fault;
  return held;
}

/** What the heats say beside an answer, of a log as it was read (`besideHeats`). */
export function besideHeatLog(analysis: Analysis, { file, held, fault }: Logs['heats']): BesideHeats {
  return besideHeats(analysis, held, fault === null ? null : { message: fault.message, file });
}
