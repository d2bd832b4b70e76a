import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import { analyseOpened } from '../analyse.ts';
import type { Analysis } from '../analysis.ts';
import { InputError } from '../input-error.ts';
import { statusText } from '../status/status-text.ts';
import type { Io } from './io.ts';
import { packageRoot } from './package-root.ts';
import { addFiles } from './store/add-files.ts';
import { makeFolder } from './store/make-folder.ts';
import { type OpenedJob, openJob } from './store/open-job.ts';
import { writeAtomic } from './store/write-atomic.ts';
import { terminalStyle } from './terminal-style.ts';
import { makeReport, reportParts, writeReport } from './write-report.ts';

/** After which of the sample's files the status is shown, as a share of all: early, half-way, at the end. */
const SHOWN = [0.2, 0.5, 1];

/**
 * The whole job on a bundled sample, by the same code a crew uses: starts a job folder from the sample's job.json,
 * imports its readings file by file, shows the status on the way, writes the daily and the final report.
 *
 * @throws InputError when there is no such sample, or the folder exists already
 */
export async function runDemo(sample: string, into: string | undefined, tool: string, io: Io): Promise<void> {
  const samples = join(packageRoot(), 'sample-surveys');
  const source = join(samples, sample);
  if (!/^[a-z0-9-]+$/.test(sample) || !existsSync(join(source, 'job.json'))) {
    const known = readdirSync(samples).filter((name) => existsSync(join(samples, name, 'job.json')));
    throw new InputError(`there is no sample "${sample}"; the samples are ${known.join(', ')}`);
  }
  const folder = into === undefined ? freeFolder(io.cwd) : resolve(io.cwd, into);
  if (existsSync(folder)) throw new InputError(`${into} exists already; choose a folder that does not`);
  makeFolder(folder);
  for (const name of ['job.json', 'heats.csv']) {
    if (existsSync(join(source, name))) writeAtomic(join(folder, name), readFileSync(join(source, name)));
  }

  const files = readdirSync(join(source, 'readings'))
    .filter((name) => name.endsWith('.csv'))
    .sort();
  const shownAfter = new Set(SHOWN.map((share) => Math.max(1, Math.round(share * files.length))));
  for (const [index, name] of files.entries()) {
    const added = await addFiles(folder, [join(source, 'readings', name)], {
      setAside: true,
      when: () => io.now().toISOString(),
      waitMs: 15_000,
    });
    for (const finding of added.findings) io.err(`${finding.severity}: ${finding.message}\n`);
    if (!shownAfter.has(index + 1)) continue;
    const { opened, analysis } = await analyseFolder(folder);
    io.out(`\n--- after ${name} (${index + 1} of ${files.length} files) ---\n\n`);
    io.out(statusText(analysis, terminalStyle(io)));
    // The status after the last file and the reports are of the same job: fitted once.
    if (index + 1 === files.length) await writeReports(opened, analysis, tool, io);
  }
}

async function analyseFolder(folder: string): Promise<{ opened: OpenedJob; analysis: Analysis }> {
  const opened = await openJob(folder);
  return { opened, analysis: analyseOpened(opened) };
}

async function writeReports(opened: OpenedJob, analysis: Analysis, tool: string, io: Io): Promise<void> {
  const common = { out: undefined, fraction: 16, plain: false, tool } as const;
  const write = async (wish: { readonly final: boolean }) => {
    const settings = { ...common, ...wish, full: false };
    const report = await makeReport(opened, analysis, settings, reportParts(settings, io));
    return writeReport(opened.folder, report, settings, io);
  };
  const daily = await write({ final: false });
  const final = await write({ final: true });
  const shown = (path: string) => relative(io.cwd, path) || path;
  io.out(`
The job (invented) is in ${shown(opened.folder)}. Open its reports in a browser:
  daily sheet   ${shown(daily.path)}
  final report  ${shown(final.path)}
`);
}

/** `sweepbook-demo` here, or the first of `sweepbook-demo-2`, `-3` … that is free. */
function freeFolder(cwd: string): string {
  for (let number = 1; ; number++) {
    const folder = join(cwd, number === 1 ? 'sweepbook-demo' : `sweepbook-demo-${number}`);
    if (!existsSync(folder)) return folder;
  }
}
