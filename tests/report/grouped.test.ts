import { describe, expect, it } from 'vitest';
import type { Analysis } from '../../src/analysis.ts';
import type { Finding } from '../../src/finding.ts';
import { allFindings } from '../../src/report/grouped.ts';
import { syntheticAnalysis } from './synthetic-analysis.ts';

const left = (line: string, row: number): Finding => ({
  severity: 'note',
  code: 'reading-set-aside',
  message: `The reading 5 1/16 in at 34'-0" is left out of the fit.`,
  line,
  file: 'readings/a3.csv',
  row,
});

/** A job of two lines; the job's findings name their line, as they do in a job of several. */
function twoLines(first: readonly Finding[], second: readonly Finding[]): Analysis {
  const base = syntheticAnalysis({ lines: 2 });
  const lines = base.lines.map((item, i) => ({
    ...item,
    fit: { ...item.fit, findings: i === 0 ? first : second },
  }));
  const findings = [...first, ...second].map((f) => ({ ...f, message: `${f.line}: ${f.message}` }));
  return { ...base, lines, findings };
}

describe('findings of a job of several lines', () => {
  const [one, two] = syntheticAnalysis({ lines: 2 }).lines.map(({ line }) => line.name) as [string, string];

  it('stand once each, by the words that name their line', () => {
    const found = allFindings(twoLines([left(one, 19)], []));
    expect(found.map(({ message }) => message)).toEqual([`${one}: ${left(one, 19).message}`]);
  });

  it('of two lines, or of two rows, stay two', () => {
    expect(allFindings(twoLines([left(one, 19)], [left(two, 19)]))).toHaveLength(2);
    expect(allFindings(twoLines([left(one, 19), left(one, 20)], []))).toHaveLength(2);
  });
});
