import type { LineInputs } from '../analyse-line.ts';
import type { Analysis, LineAnalysis } from '../analysis.ts';
import { lineOf, lineText } from '../answer/answer-text.ts';
import type { KeptLine } from '../answer/kept-lines.ts';
import { lineKeyText } from '../answer/line-key.ts';
import { conclude, prepare } from '../conclude.ts';
import { coreDigest } from './core-digest.ts';
import { openKept } from './store/kept-answers.ts';
import type { OpenedJob } from './store/open-job.ts';

type FitLines = (lines: readonly LineInputs[]) => Promise<readonly LineAnalysis[]>;

const fitSideBySide: FitLines = async (lines) => (await import('./line-threads.ts')).fitLines(lines);

/**
 * The pipeline on a job folder: `analyseOpened` to the last digit, but lines whose inputs did not change since an earlier
 * run are read from `.kept/`.
 *
 * @param core digest of the code that works answers out; null: nothing is kept
 * @param fit works out the lines that are not kept
 */
export async function analyseFolder(
  opened: OpenedJob,
  core: string | null = coreDigest(),
  fit: FitLines = fitSideBySide,
): Promise<Analysis> {
  const prepared = prepare(opened);
  const kept = core === null ? null : openKept(opened.folder);
  // Engines of another make are another code.
  const code = `${core} ${process.versions.v8}`;
  const keys = prepared.lines.map((inputs) => kept?.keyOf(lineKeyText(code, inputs)) ?? '');
  const texts = keys.map((key) => kept?.found.get(key));
  const missing = prepared.lines.filter((_, i) => texts[i] === undefined);
  const fresh = missing.length === 0 ? [] : await fit(missing);
  const lines = prepared.lines.map((inputs, i) => {
    const text = texts[i];
    return text === undefined ? fresh[missing.indexOf(inputs)]! : lineOf(text, inputs.line);
  });
  if (kept !== null && missing.length > 0) kept.keep(textsOf(keys, texts, lines));
  return conclude(prepared, lines);
}

/** A line with a number that text cannot hold is worked out every time. */
function textsOf(
  keys: readonly string[],
  texts: readonly (string | undefined)[],
  lines: readonly LineAnalysis[],
): KeptLine[] {
  return keys.flatMap((key, i) => {
    try {
      return [{ key, text: texts[i] ?? lineText(lines[i]!) }];
    } catch {
      return [];
    }
  });
}
