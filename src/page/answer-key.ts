import { sha256Hex } from '../sha256.ts';
import type { SheetRead } from './all-readings.ts';
import type { JobBundle } from './job-bundle.ts';

/**
 * Digest of everything a job brings to an answer, and of the core that makes it: job.json, files with their rows set
 * aside, marks, findings. The sheets keyed on the page come to it with `answerKey`.
 *
 * @param core digest of the core's script in this page
 */
export function jobKey(core: string, bundle: JobBundle): string {
  const { job, files, others, marks, findings, declarations } = bundle;
  return digest([
    core,
    job,
    files.map(({ file, text, aside }) => [file, text, aside]),
    others.map(({ file, text }) => [file, text]),
    marks,
    declarations,
    findings,
  ]);
}

/** Digest of an answer's inputs: those of the job and the sheets that count beside its files. */
export function answerKey(ofJob: string, sheets: readonly SheetRead[]): string {
  return digest([ofJob, ...sheets.filter(counts).map(({ sheet, csv }) => [sheet.file, csv.text])]);
}

function counts(read: SheetRead): boolean {
  return !read.filed && read.csv.count > 0;
}

function digest(inputs: readonly unknown[]): string {
  return sha256Hex(JSON.stringify(inputs));
}
