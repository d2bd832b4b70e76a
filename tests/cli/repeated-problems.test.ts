import { describe, expect, it } from 'vitest';
import { describeProblem, describeProblems, type Problem } from '../../src/input-error.ts';

// Expected lines are written out by hand from the rows put in; nothing here is computed by the code under test.

const fault = (row: number, found: string, column = 'offset'): Problem => ({
  file: 'day-3.csv',
  row,
  column,
  found,
  expected: 'a length in inches',
});

describe('a fault that repeats down a column is said once', () => {
  it('80 rows are one line with a count and the rows', () => {
    const rows = Array.from({ length: 80 }, (_, i) => fault(i + 2, '"n/a"'));
    expect(describeProblems(rows)).toEqual([
      'day-3.csv: offset: found "n/a", expected a length in inches: 80 times, rows 2 to 81',
    ]);
  });

  it('different cells are shown, broken runs of rows too', () => {
    const rows = [fault(2, '"a"'), fault(3, '"b"'), fault(7, '"c"'), fault(9, '"d"'), fault(10, '"a"')];
    expect(describeProblems(rows)).toEqual([
      'day-3.csv: offset: found "a", "b" and 2 other cells, expected a length in inches: 5 times, rows 2 to 3, 7, 9 to 10',
    ]);
  });

  it('three alike, and faults of another column or file, keep a line each', () => {
    const few = [fault(2, '"a"'), fault(3, '"a"'), fault(4, '"a"')];
    expect(describeProblems(few)).toEqual(few.map(describeProblem));
    const mixed = [...few, fault(5, '"a"', 'station'), { ...fault(6, '"a"'), file: 'day-4.csv' }];
    expect(describeProblems(mixed)).toHaveLength(5);
  });

  it('faults stand in the order of their rows, whatever was expected', () => {
    const mixed = [
      fault(4, '"5 1/4x"'),
      { ...fault(5, 'nothing'), expected: 'a length, not a blank' },
      fault(6, '"four"'),
      fault(8, '"n/a"', 'station'),
    ];
    expect(describeProblems(mixed).map((line) => line.split(':')[1])).toEqual(['4', '5', '6', '8']);
  });

  it('no row is lost: every row of a random pattern lies in a stretch that is named', () => {
    const rows = [2, 3, 4, 6, 8, 9, 12, 15, 16].map((row) => fault(row, '"x"'));
    expect(describeProblems(rows)[0]).toMatch(/9 times, rows 2 to 4, 6, 8 to 9, 12, 15 to 16$/);
  });
});
