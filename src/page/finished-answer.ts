import { analyse } from '../analyse.ts';
import { answerText } from '../answer/answer-text.ts';
import { allReadings, readSheet } from './all-readings.ts';
import { answerKey, jobKey } from './answer-key.ts';
import { type JobBundle, parseBundle } from './job-bundle.ts';
import { openBundle } from './open-bundle.ts';

/** An answer worked out beforehand, with the digest of what it was made of. */
export interface FinishedAnswer {
  readonly key: string;
  /** `answerText` */
  readonly text: string;
}

/** Larger than this an answer would make the page slower to open than working it out again. */
const MOST_CHARACTERS = 12_000_000;

/**
 * The answer to a job as the page itself would come to it: read back from the text that goes into the page, so that
 * the digest is of exactly what is there. Null where it is too large to carry.
 *
 * @param core digest of the core's script in that page
 */
export function finishedAnswer(bundle: JobBundle, core: string): FinishedAnswer | null {
  const inside = parseBundle(JSON.stringify(bundle), 'the job for the page');
  const opened = openBundle(inside);
  const sheets = [...inside.sheets]
    .sort((a, b) => a.cycle - b.cycle)
    .map((sheet) => readSheet(sheet, opened));
  const text = answerText(
    analyse(opened.job, allReadings(opened, sheets), opened.marks, opened.findings, opened.declarations),
  );
  return text.length > MOST_CHARACTERS ? null : { key: answerKey(jobKey(core, inside), sheets), text };
}
