import { describe, expect, it } from 'vitest';
import { readCostLog } from '../../src/costs/cost-log-csv.ts';
import { csvText } from '../../src/export/csv-text.ts';
import { inertText } from '../../src/inert-text.ts';
import { safeCsvName } from '../../src/job/csv-name.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { pressKey } from '../../src/page/keypad.ts';
import { readCycle, readDate, readState, readTime } from '../../src/read/cells.ts';
import { readHeading } from '../../src/read/headings.ts';
import { readReadings } from '../../src/read/readings-csv.ts';
import { prose } from '../../src/report/words.ts';
import { parseLength } from '../../src/units/parse-length.ts';
import { parseQuantity } from '../../src/units/parse-quantity.ts';
import { wrapText } from '../../src/wrap-text.ts';

/**
 * Cells so long that a pattern which goes back over its text once for every character would need 10¹² steps and never
 * end. Nothing is timed: a test that returns has shown it.
 */
const SIZE = 1_000_000;
const LONG: Record<string, string> = Object.fromEntries(
  [
    ' ',
    '1',
    '1,',
    '1.',
    '.,',
    "'",
    '"',
    '-',
    '/',
    '⁰',
    '⁰⁄₀',
    '\u00a0',
    '(',
    '[ ',
    '_',
    'a ',
    '± ',
    '9 ',
    '=',
    ',',
    '1 1/',
    '\ud800',
  ].map((part) => [part, part.repeat(SIZE / part.length)]),
);
const TAILS = ['', '!', ' x', '"', '1/2'];

const readers: Record<string, (text: string) => unknown> = {
  parseLength: (text) =>
    (['ft', 'in', 'm'] as const).map((unit) => [
      parseLength(text, { unit, station: true }),
      parseLength(text, { unit, decimalComma: true, dashed: 'eighths' }),
    ]),
  parseQuantity: (text) =>
    (['stress', 'angle', 'temperature', 'force'] as const).map((kind) => parseQuantity(text, kind, 'ksi')),
  'cycle, state, date, time': (text) => [readCycle(text), readState(text), readDate(text), readTime(text)],
  heading: (text) => [readHeading(text), readHeading(`offset${text}`), readHeading(`cycle 3${text}`)],
  'a sheet': (text) =>
    readReadings(`station,cycle 0\n0,1\n"${text.replaceAll('"', '""')}",2\n`, {
      file: 'a.csv',
      units: 'us',
      lines: null,
      line: 'bottom-flange',
    } as never),
  'a cost log': (text) =>
    readCostLog(
      `date,kind,amount\n${text.replace(/["\n]/g, '')},labour,1\n`,
      { units: 'us', currency: null },
      'c.csv',
    ),
  'job.json': (text) => {
    try {
      return parseJob(JSON.stringify({ job: text, units: 'us', member: { span: text } }));
    } catch (error) {
      return String((error as Error).message).length;
    }
  },
  'shown text': (text) => [inertText(text), prose(text), wrapText(text, 80).length],
  'written CSV': (text) => csvText({ columns: ['note'], rows: [[text]] } as never),
  'file name': (text) => safeCsvName(text),
  keypad: (text) => pressKey(text, { kind: 'sign' }),
};

describe('time grows with the length of a cell, not with its square', () => {
  for (const [name, read] of Object.entries(readers)) {
    it(name, () => {
      let count = 0;
      for (const long of Object.values(LONG)) {
        for (const tail of TAILS) {
          read(long + tail);
          count++;
        }
      }
      expect(count).toBe(Object.keys(LONG).length * TAILS.length);
    }, 300_000);
  }
});

describe('spaces in a length', () => {
  it('two between inches and fraction are one', () => {
    expect(parseLength('4  1/4', { unit: 'in' })).toEqual(parseLength('4 1/4', { unit: 'in' }));
    expect(parseLength('5\'  -  3   1/2 "', { unit: 'ft' })).toEqual(
      parseLength('5\'-3 1/2"', { unit: 'ft' }),
    );
  });
});
