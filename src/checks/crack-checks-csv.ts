import type { Problem } from '../input-error.ts';
import type { JobUnits } from '../job/job.ts';
import { type Cell, readCycle, readDate } from '../read/cells.ts';
import { readTable, type TableRow, wordOf } from '../read/csv-table.ts';
import { CHECK_METHODS, CHECK_RESULTS, CHECK_TIMES, type CrackCheck } from './crack-check.ts';

const COLUMNS = {
  date: 'words',
  cycle: 'count',
  when: 'words',
  method: 'words',
  where: 'words',
  by: 'words',
  result: 'words',
  note: 'words',
} as const;
type ColumnName = keyof typeof COLUMNS;

export interface CrackChecksResult {
  readonly checks: readonly CrackCheck[];
  readonly problems: readonly Problem[];
  readonly notRead: readonly string[];
}

/** Reads the log of crack checks: a CSV with a heading, one check a row. All but `cycle` and `note` are needed. Never throws for what is in the text. */
export function readCrackChecks(text: string, units: JobUnits, file: string): CrackChecksResult {
  const checks: CrackCheck[] = [];
  const { problems, notRead } = readTable<ColumnName>(text, {
    file,
    columns: COLUMNS,
    units,
    needed: ['date', 'when', 'method', 'where', 'by', 'result'],
    expected: `columns ${Object.keys(COLUMNS).join(', ')}`,
    row: (row) => {
      const check = readCheck(row, file);
      if (check !== null) checks.push(check);
    },
  });
  return { checks, problems, notRead };
}

function readCheck(row: TableRow<ColumnName>, file: string): CrackCheck | null {
  const date =
    row.text('date') === '' ? row.fault('date', 'a date as YYYY-MM-DD') : row.cell('date', readDate);
  const cycle = row.text('cycle') === '' ? null : row.cell('cycle', readCycle);
  const when = row.cell('when', shortOr(CHECK_TIMES, { before: 'before heating', after: 'after heating' }));
  const method = row.cell(
    'method',
    shortOr(CHECK_METHODS, { mt: 'magnetic particle', pt: 'dye', vt: 'visual', ut: 'ultrasonic' }),
  );
  const where = row.words('where') ?? row.fault('where', 'where on the member');
  const by = row.words('by') ?? row.fault('by', 'who looked');
  const result = row.cell('result', shortOr(CHECK_RESULTS, { none: 'no crack', cracks: 'crack' }));
  if (!row.good() || date === null || when === null || method === null || result === null) return null;
  if (where === null || by === null) return null;
  return { date, cycle, when, method, where, by, result, note: row.words('note'), file, row: row.row };
}

/** A word of the list, or a short form of one as the trade writes it on a sheet. */
function shortOr<W extends string>(words: readonly W[], short: Readonly<Record<string, NoInfer<W>>>) {
  const known = wordOf(words);
  return (text: string): Cell<W> => {
    const word = text.trim().toLowerCase();
    return Object.hasOwn(short, word) ? { value: short[word]! } : known(text);
  };
}
