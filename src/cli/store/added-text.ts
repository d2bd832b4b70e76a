import { findingLine } from '../../folder/finding-line.ts';
import { inertText } from '../../inert-text.ts';
import type { KeptFile, SurveyCount } from '../../ledger/record.ts';
import { shellWord } from '../shell-word.ts';
import type { AddResult } from './add-files.ts';

/** Lines listed a file; a file of hundreds of surveys is summed up. */
const MOST_LISTED = 12;

/** What `add` did, for people: the result for stdout, cautions and the next step for stderr. */
export function addedText(result: AddResult, job: string): { readonly out: string; readonly err: string } {
  const out: string[] = [];
  for (const file of result.kept) out.push(...keptText(file));
  for (const each of result.already) {
    out.push(
      `${inertText(each.name)} is in the job already, imported ${each.when.slice(0, 16).replace('T', ' ')} UTC as ${each.file}; nothing to do.`,
    );
  }
  if (result.seq !== null) out.push(`Ledger record ${result.seq}.`);
  const err = result.findings.map(findingLine);
  if (result.findings.some((each) => each.severity === 'stop')) {
    err.push('Imported and on the record, but not all of it counts: see the stop above (exit status 1).');
  }
  if (result.seq !== null) err.push(`Next: sweepbook status ${shellWord(job)}`);
  return { out: joined(out), err: joined(err) };
}

function keptText(file: KeptFile): string[] {
  const lines = [
    `Imported ${inertText(file.original)} as ${file.file}: ${count(file.readings, 'reading')} from ${count(file.rows, 'row')} (SHA-256 ${file.sha256.slice(0, 12)}…).`,
  ];
  const width = Math.max(...file.surveys.map((each) => each.line.length));
  for (const each of file.surveys.slice(0, MOST_LISTED)) lines.push(`  ${surveyText(each, width)}`);
  const more = file.surveys.length - MOST_LISTED;
  if (more > 0) lines.push(`  and ${count(more, 'more survey')}`);
  if (file.setAside.length > 0) {
    lines.push(
      `  set aside: ${count(file.setAside.length, 'unusable cell or row', 'unusable cells or rows')}, recorded in the ledger`,
    );
    for (const each of file.setAside.slice(0, MOST_LISTED)) {
      lines.push(
        inertText(
          `    row ${each.row}${each.column === undefined ? '' : ` ${each.column}`}: found ${each.found}, expected ${each.expected}`,
        ),
      );
    }
  }
  return lines;
}

function surveyText(each: SurveyCount, width: number): string {
  const state = each.state === 'restrained' ? ' (restrained)' : '';
  return `${inertText(each.line).padEnd(width)}  cycle ${each.cycle}${state}: ${count(each.readings, 'reading')}`;
}

function count(number: number, one: string, many = `${one}s`): string {
  return `${number} ${number === 1 ? one : many}`;
}

function joined(lines: readonly string[]): string {
  return lines.length === 0 ? '' : `${lines.join('\n')}\n`;
}
