import type { LineInputs } from '../analyse-line.ts';
import type { LineAnalysis } from '../analysis.ts';

/**
 * What an answer for a line is tied to, as text: everything `analyseLine` is given, so that nothing it depends on can be
 * forgotten here.
 *
 * @param core digest of the code that works answers out
 */
export function lineKeyText(core: string, inputs: LineInputs): string {
  return JSON.stringify([core, inputs]);
}

/** `analyseLine` that works out only the lines whose inputs changed since the last job it was given. */
export function remembering(
  analyseLine: (inputs: LineInputs) => LineAnalysis,
): (lines: readonly LineInputs[]) => readonly LineAnalysis[] {
  let known = new Map<string, LineAnalysis>();
  return (lines) => {
    const before = known;
    known = new Map();
    return lines.map((inputs) => {
      const key = lineKeyText('', inputs);
      const line = before.get(key) ?? known.get(key) ?? analyseLine(inputs);
      known.set(key, line);
      return line;
    });
  };
}
