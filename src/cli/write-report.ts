import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, resolve, sep } from 'node:path';
import type { Analysis } from '../analysis.ts';
import { InputError } from '../input-error.ts';
import { bulgeSection } from '../report/bulge-section.ts';
import { type Fraction, quantities } from '../report/quantities.ts';
import { besideHeatsOf } from './beside-heats.ts';
import type { Io } from './io.ts';
import { reportContext } from './report-context.ts';
import { claimOfFolder, reportExtras } from './report-extras.ts';
import { readPanels } from './scan/panel-files.ts';
import { withFolderLock } from './store/folder-lock.ts';
import { inJob, REPORTS_FOLDER } from './store/layout.ts';
import { makeFolder } from './store/make-folder.ts';
import type { OpenedJob } from './store/open-job.ts';
import { writeAtomic } from './store/write-atomic.ts';

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
  const extras = reportExtras(opened.folder, analysis, settings.fraction);
  if (extras.fault !== null) {
    io.err(`caution: ${extras.fault} The report names every fault under “Heats and jacking”.\n`);
  }
  const maps = readPanels(opened.folder);
  const panels = bulgeSection(
    maps,
    quantities(opened.job.units, settings.fraction, opened.job.locale),
    opened.job.member,
  );
  const photos = settings.final
    ? (await import('./photos/photos-of-job.ts')).photosOfJob(opened, {
        all: settings.full,
        camera: settings.photoExif === true,
      })
    : null;
  const claim = settings.final ? claimOfFolder(opened.folder, analysis) : null;
  const planned =
    claim === null
      ? null
      : (await import('./planned-against.ts')).plannedAgainst(opened, analysis, claim, io);
  const base = reportContext(opened, {
    now: io.now(),
    tool: settings.tool,
    fraction: settings.fraction,
    plotly: settings.plain || !(settings.full || settings.final) ? null : plottingLibrary(),
  });
  const context = {
    ...base,
    full: settings.full,
    ...(settings.paper === undefined ? {} : { paper: settings.paper }),
    ...(extras.heats === null ? {} : { heats: extras.heats }),
    ...(extras.faults === null ? {} : { heatsFault: extras.faults }),
    panels: maps,
    besideDays: besideHeatsOf(opened.folder, analysis).days,
    ...(claim === null ? {} : { claim }),
    files: [...base.files, ...extras.files],
    sections: [
      ...(base.sections ?? []),
      ...extras.sections,
      ...[planned, panels, photos].flatMap((each) => each ?? []),
    ],
  };
  const [{ renderDaily }, { renderFinal }, { newestCycle }] = await Promise.all([
    import('../report/daily.ts'),
    import('../report/final.ts'),
    import('../report/picks.ts'),
  ]);
  const sheet = settings.final ? 'final' : 'daily';
  const path =
    settings.out === undefined
      ? inJob(
          opened.folder,
          `${REPORTS_FOLDER}/${settings.final ? 'final' : `daily-cycle-${String(newestCycle(analysis)).padStart(2, '0')}`}.html`,
        )
      : resolve(io.cwd, settings.out);
  // A report can then never take the place of readings, job.json or the ledger.
  if (!/\.html?$/i.test(path)) throw new InputError(`${settings.out}: a report is an .html file; name it so`);
  const text = (settings.final ? renderFinal : renderDaily)(extras.analysis, context);
  const bytes = Buffer.from(text, 'utf8');
  const write = async (): Promise<void> => {
    makeFolder(dirname(path));
    writeAtomic(path, bytes);
  };
  if (path.startsWith(opened.folder + sep)) await withFolderLock(opened.folder, 15_000, write);
  else await write();
  return { sheet, path, bytes: bytes.length };
}

/** Text of the plotting library, from the installed package: it goes into the page as it is. */
function plottingLibrary(): string {
  return readFileSync(createRequire(import.meta.url).resolve('plotly.js-dist-min/plotly.min.js'), 'utf8');
}
