import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Analysis } from '../analysis.ts';
import { InputError } from '../input-error.ts';
import { readLogs } from '../papers/logs.ts';
import { reportPaper } from '../papers/papers.ts';
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

/**
 * Builds one report and writes it, whole or not at all.
 *
 * @throws InputError when the job has no readings yet, heats.csv cannot be read, or the target is not an .html file
 */
export async function writeReport(
  opened: OpenedJob,
  analysis: Analysis,
  settings: ReportSettings,
  io: Io,
): Promise<WrittenReport> {
  if (analysis.readings.length === 0) {
    throw new InputError(`${opened.folder}: no readings yet; add some with "sweepbook add" first`);
  }
  const { final, fraction, full } = settings;
  const photos = final
    ? (await import('./photos/photos-of-job.ts')).photosOfJob(opened, {
        all: full,
        camera: settings.photoExif === true,
      })
    : null;
  const { file, text, fault } = reportPaper(
    { opened, analysis, logs: readLogs(opened.source, opened.job) },
    {
      ...madeBy(io, settings.tool),
      ...{ final, fraction, full, photos, paper: settings.paper },
      plotly: settings.plain || !(full || final) ? null : plottingLibrary(),
      past: final ? pastRecords(io) : [],
    },
  );
  if (fault !== null) {
    io.err(`caution: ${fault} The report names every fault under “Heats and jacking”.\n`);
  }
  const path = sheetPath(opened.folder, file, settings.out, io);
  const bytes = await writeSheet(opened.folder, path, text);
  return { sheet: final ? 'final' : 'daily', path, bytes };
}

/** Text of the plotting library, from the installed package: it goes into the page as it is. */
function plottingLibrary(): string {
  return readFileSync(createRequire(import.meta.url).resolve('plotly.js-dist-min/plotly.min.js'), 'utf8');
}
