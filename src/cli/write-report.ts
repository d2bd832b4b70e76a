import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Analysis } from '../analysis.ts';
import { InputError } from '../input-error.ts';
import type { MadeBy } from '../papers/papers.ts';
import type { PastRecord } from '../past/record.ts';
import type { Fraction } from '../report/quantities.ts';
import type { Io } from './io.ts';
import { madeBy } from './made-by.ts';
import { pastRecords } from './past-folder.ts';
import type { OpenedJob } from './store/open-job.ts';
import { sheetPath, writeSheet } from './write-sheet.ts';

export interface ReportSettings {
  readonly final: boolean;
  /** Target file; undefined: a name of its own in the job's reports folder. */
  readonly out?: string | undefined;
  readonly fraction: Fraction;
  /** Leave the interactive layer (4.8 MB) out. */
  readonly plain: boolean;
  /** Everything behind the summary too. */
  readonly full: boolean;
  /** Time and place the camera noted, under each photograph of a final report. */
  readonly photoExif?: boolean;
  /** Undefined: by the units of the job. */
  readonly paper?: 'A4' | 'letter' | undefined;
  readonly tool: string;
}

export interface WrittenReport {
  readonly sheet: 'daily' | 'final';
  /** Absolute */
  readonly path: string;
  readonly bytes: number;
}

/** A report not yet written. Plain data. */
export interface MadeReport {
  /** Job-relative name it has in the job folder. */
  readonly file: string;
  readonly text: string;
  /** Why the heat log could not be used; null where it could. */
  readonly fault: string | null;
}

/** What a report is made of beside the job: all of it, so that one made earlier can be told to be the same. */
export interface ReportParts {
  readonly made: MadeBy;
  readonly past: readonly PastRecord[];
  /** Text of the plotting library; null: no interactive layer. */
  readonly plotly: string | null;
}

export function reportParts(settings: ReportSettings, io: Io): ReportParts {
  const { final, full, plain, tool } = settings;
  return {
    made: madeBy(io, tool),
    past: final ? pastRecords(io) : [],
    plotly: plain || !(full || final) ? null : plottingLibrary(),
  };
}

/**
 * Builds one report.
 *
 * @throws InputError when the job has no readings yet, or a map of a panel cannot be used
 */
export async function makeReport(
  opened: OpenedJob,
  analysis: Analysis,
  settings: ReportSettings,
  { made, past, plotly }: ReportParts,
): Promise<MadeReport> {
  if (analysis.readings.length === 0) {
    throw new InputError(`${opened.folder}: no readings yet; add some with "sweepbook add" first`);
  }
  const [{ reportPaper }, { readLogs }] = await Promise.all([
    import('../papers/papers.ts'),
    import('../papers/logs.ts'),
  ]);
  const { final, fraction, full } = settings;
  const photos = final
    ? (await import('../papers/photos/photos-of-job.ts')).photosOfJob(opened, {
        all: full,
        camera: settings.photoExif === true,
      })
    : null;
  const { file, text, fault } = reportPaper(
    { opened, analysis, logs: readLogs(opened.source, opened.job) },
    { ...made, final, fraction, full, photos, paper: settings.paper, plotly, past },
  );
  return { file, text, fault };
}

/** Writes a report whole or not at all. @throws InputError when the target is not an .html file */
export async function writeReport(
  folder: string,
  { file, text, fault }: MadeReport,
  { final, out }: Pick<ReportSettings, 'final' | 'out'>,
  io: Io,
): Promise<WrittenReport> {
  if (fault !== null) {
    io.err(`caution: ${fault} The report names every fault under “Heats and jacking”.\n`);
  }
  const path = sheetPath(folder, file, out, io);
  const bytes = await writeSheet(folder, path, text);
  return { sheet: final ? 'final' : 'daily', path, bytes };
}

/** Text of the plotting library, from the installed package: it goes into the page as it is. */
function plottingLibrary(): string {
  return readFileSync(createRequire(import.meta.url).resolve('plotly.js-dist-min/plotly.min.js'), 'utf8');
}
