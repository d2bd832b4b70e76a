import type { Problem } from '../input-error.ts';
import type { JobUnits } from '../job/job.ts';
import { readCycle, readDate } from '../read/cells.ts';
import { readTable, type TableRow, wordOf } from '../read/csv-table.ts';
import { COST_KINDS, type CostEntry, type CostLog, WORK_KINDS } from './cost-log.ts';
import { currencyDigits, moneyOf, priceOf } from './money.ts';

const COLUMNS = {
  date: 'words',
  kind: 'words',
  work: 'words',
  cycle: 'count',
  hours: 'amount',
  rate: 'amount',
  amount: 'amount',
  note: 'words',
} as const;
type ColumnName = keyof typeof COLUMNS;

export interface CostLogResult {
  readonly log: CostLog;
  readonly problems: readonly Problem[];
  readonly notRead: readonly string[];
}

/**
 * Reads a cost log: a CSV with a heading, one row a thing paid for or a stretch of work. `date` and `kind` are needed;
 * `hours` and `rate`, or `amount`, say what it cost; a row may give hours alone (the work is then counted, not the
 * money). Where a row gives all three, the amount must be hours times rate. Never throws for what is in the text.
 */
export function readCostLog(
  text: string,
  job: { readonly units: JobUnits; readonly currency: string | null },
  file: string,
): CostLogResult {
  const entries: CostEntry[] = [];
  const digits = currencyDigits(job.currency);
  const { problems, notRead } = readTable<ColumnName>(text, {
    file,
    columns: COLUMNS,
    units: job.units,
    needed: ['date', 'kind'],
    expected: `columns ${Object.keys(COLUMNS).join(', ')}`,
    row: (row) => {
      const entry = readEntry(row, digits, file);
      if (entry !== null) entries.push(entry);
    },
  });
  return { log: { entries }, problems, notRead };
}

function readEntry(row: TableRow<ColumnName>, digits: number, file: string): CostEntry | null {
  const date =
    row.text('date') === '' ? row.fault('date', 'a date as YYYY-MM-DD') : row.cell('date', readDate);
  const kind = row.cell(
    'kind',
    wordOf(COST_KINDS, {
      labor: 'labour',
      traffic: 'traffic control',
      equipment: 'plant',
      plates: 'plate work',
    }),
  );
  const work = row.text('work') === '' ? null : row.cell('work', wordOf(WORK_KINDS, { setup: 'set-up' }));
  const cycle = row.text('cycle') === '' ? null : row.cell('cycle', readCycle);
  const hours = row.number('hours');
  const rate = row.number('rate');
  const stated = row.number('amount');
  const priced = hours !== null && rate !== null ? priceOf(hours, rate, digits) : null;
  if (rate !== null && row.text('hours') === '' && stated === null)
    row.fault('hours', 'hours for the rate, or an amount');
  if (stated !== null && priced !== null && moneyOf(stated, digits) !== priced) {
    row.fault(
      'amount',
      `hours times rate, ${(priced / 10 ** digits).toFixed(digits)}, or the column left blank`,
    );
  }
  if (row.text('hours') === '' && row.text('rate') === '' && row.text('amount') === '') {
    row.fault('amount', 'an amount, or hours (with a rate where they were paid)');
  }
  if (!row.good() || date === null || kind === null) return null;
  const amount = stated !== null ? moneyOf(stated, digits) : priced;
  return { date, kind, work, cycle, hours, rate, amount, note: row.words('note'), file, row: row.row };
}
