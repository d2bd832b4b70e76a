import type { CheckedSurvey } from '../../doubts/check-readings.ts';
import { findingLine } from '../../folder/finding-line.ts';
import { inertText } from '../../inert-text.ts';
import { describeProblems } from '../../input-error.ts';
import { formatLength } from '../../units/format-length.ts';
import type { CheckedFile } from './check-file.ts';
import { table } from './text-table.ts';

/** Surveys listed in full; a file of hundreds is summed up. */
const MOST_LISTED = 40;
const MARKS = { ',': 'comma', ';': 'semicolon', '\t': 'tab' } as const;

/** The result of `check` for people: what would be read, every problem, what looks doubtful, and the answer. */
export function checkedText(checked: CheckedFile): string {
  const { file, read, units } = checked;
  const name = inertText(file);
  const lines: string[] = [];
  if (read.form !== null) {
    const parted = read.delimiter === null ? '' : `, ${MARKS[read.delimiter]} between cells`;
    lines.push(
      `${name}: ${read.form} form${parted}, ${plural(read.count, 'reading')} from ${plural(read.rows, 'row')}`,
    );
    const columns = read.columns.map(({ heading, meaning, unit }) => [heading, meaning, unit ?? '']);
    lines.push('', ...table(['column', 'read as', 'unit'], columns));
    if (read.notRead.length > 0) lines.push(`not read: ${read.notRead.map(inertText).join(', ')}`);
  }
  if (checked.surveys.length > 0) {
    const rows = checked.surveys.slice(0, MOST_LISTED).map((each) => surveyRow(each, units));
    lines.push('', ...table(['line', 'cycle', 'state', 'readings', 'stations', 'offsets', 'date'], rows));
    const more = checked.surveys.length - MOST_LISTED;
    if (more > 0) lines.push(`and ${plural(more, 'more survey')}`);
  }
  if (read.problemCount > 0) {
    const where = read.badRows === 0 ? '' : ` in ${plural(read.badRows, 'row')}`;
    lines.push('', `${plural(read.problemCount, 'problem')}${where}:`);
    lines.push(...describeProblems(read.problems).map((line) => `  ${line}`));
    const more = read.problemCount - read.problems.length;
    if (more > 0) lines.push(`  and ${more} more`);
  }
  if (checked.doubts.length > 0) {
    lines.push('', 'To look at before it is imported:');
    for (const doubt of checked.doubts) lines.push(`  ${findingLine(doubt)}`);
  }
  lines.push('', answer(checked));
  return `${lines.join('\n').trimStart()}\n`;
}

function answer({ file, import: outcome, imported, read, doubts }: CheckedFile): string {
  const name = inertText(file);
  if (imported !== null) {
    return `${name} is in the job already (${imported.file}, imported ${imported.when.slice(0, 10)}).`;
  }
  if (outcome === 'yes') {
    return doubts.some((each) => each.severity === 'stop')
      ? `${name} can be imported, but not all of it would count: see the stop above.`
      : `${name} can be imported.`;
  }
  if (outcome === 'no') {
    const why =
      read.problemCount === 0 && read.count === 0 ? ': found no reading, expected at least one' : '';
    return `${name} cannot be imported${why}.`;
  }
  return `${name} would be refused; with --set-aside ${plural(read.count, 'reading')} would be imported.`;
}

function surveyRow(each: CheckedSurvey, units: CheckedFile['units']): string[] {
  const station = (metres: number) => formatLength(metres, { units, as: 'station' });
  const offset = (metres: number) => formatLength(metres, { units, as: 'offset' });
  return [
    each.line,
    String(each.cycle),
    each.state,
    String(each.readings),
    `${station(each.from)} to ${station(each.to)}`,
    `${offset(each.least)} to ${offset(each.most)}`,
    each.date ?? '',
  ];
}

function plural(number: number, thing: string): string {
  return `${number} ${thing}${number === 1 ? '' : 's'}`;
}
