import type { SurveyCount } from '../ledger/record.ts';
import type { Reading } from '../survey/survey.ts';

/** Counts readings by survey. Readings of one survey mostly follow each other, so the last one is tried first. */
export class SurveyTally {
  private readonly found = new Map<
    string,
    { line: string; cycle: number; state: Reading['state']; readings: number }
  >();
  private last: { line: string; cycle: number; state: Reading['state']; readings: number } | null = null;

  add({ line, cycle, state }: Reading): void {
    const { last } = this;
    if (last !== null && last.cycle === cycle && last.state === state && last.line === line) {
      last.readings++;
      return;
    }
    const key = `${cycle}\n${state}\n${line}`;
    const known = this.found.get(key) ?? { line, cycle, state, readings: 0 };
    known.readings++;
    this.found.set(key, known);
    this.last = known;
  }

  counts(): SurveyCount[] {
    return [...this.found.values()].sort(
      (a, b) =>
        (a.line < b.line ? -1 : a.line > b.line ? 1 : 0) || a.cycle - b.cycle || (a.state < b.state ? 1 : -1),
    );
  }
}
