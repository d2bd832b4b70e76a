import { analyse } from '../analyse.ts';
import type { Analysis } from '../analysis.ts';
import { REPORTS_FOLDER } from '../folder/names.ts';
import type { OpenedFiles } from '../folder/open-files.ts';
import { InputError } from '../input-error.ts';
import type { Practice } from '../practice/replay.ts';
import { type Revealed, reveal, revealText } from '../practice/reveal.ts';
import type { Paper } from './papers.ts';

/**
 * The truth of a practice beside what the tool said, the verdict after each cycle worked out as it was then.
 *
 * @throws InputError before anything was read
 */
export function revealAt(
  { job, readings, marks }: Pick<OpenedFiles, 'job' | 'readings' | 'marks'>,
  { truth, states, surveys }: Practice,
): { readonly analysis: Analysis; readonly revealed: Revealed } {
  const upTo = (cycle: number) =>
    analyse(
      job,
      readings.filter((reading) => reading.cycle <= cycle),
      marks,
    );
  const read = [...new Set(readings.map((reading) => reading.cycle))].sort((a, b) => a - b);
  if (read.length === 0) {
    throw new InputError('There is nothing to compare with the truth yet.', [
      { file: job.name, found: 'no readings', expected: 'the as-found sheet, added (sweepbook add)' },
    ]);
  }
  const verdicts = new Map(read.map((cycle) => [cycle, upTo(cycle).member.verdict]));
  const analysis = upTo(Number.POSITIVE_INFINITY);
  return { analysis, revealed: reveal(truth, states, surveys, analysis, verdicts) };
}

/** The reveal as the command prints it. */
export function revealPaper(opened: OpenedFiles, practice: Practice, columns: number): Paper {
  const { analysis, revealed } = revealAt(opened, practice);
  return {
    file: `${REPORTS_FOLDER}/reveal.txt`,
    type: 'text/plain',
    text: revealText(analysis, revealed, columns),
  };
}
