import type { Heat, HeatLog } from '../heats/heat-log.ts';
import { COST_KINDS, type CostKind, type CostLog, WORK_KINDS, type WorkKind } from './cost-log.ts';
import { currencyDigits, moneyOf } from './money.ts';

/** Where money in a sum comes from, so that a finance office can follow it. */
export interface CostSource {
  readonly file: string;
  readonly row: number;
}

export interface CostSum<K> {
  readonly of: K;
  /** Smallest units of the currency. */
  readonly amount: number;
  readonly hours: number | null;
  readonly rows: readonly CostSource[];
}

/** Everything a claim says about money and days; sums are exactly the sums of their rows. */
export interface CostSums {
  readonly currency: string | null;
  readonly total: number;
  /** In the order of `COST_KINDS`; only kinds with a row. */
  readonly byKind: readonly CostSum<CostKind>[];
  /** By date, oldest first. */
  readonly byDay: readonly CostSum<string>[];
  /** By cycle; null: rows tied to none. */
  readonly byCycle: readonly CostSum<number | null>[];
  readonly days: {
    /** Dates on which anything was done. */
    readonly all: readonly string[];
    /** In the order of `WORK_KINDS`; one date can stand under several. */
    readonly byWork: readonly { readonly work: WorkKind; readonly dates: readonly string[] }[];
    /** Dates of which no row says what was done. */
    readonly unsaid: readonly string[];
  };
  /** What a reader must know of these sums: rows without money, gas counted once, two currencies. */
  readonly remarks: readonly string[];
}

interface Spent {
  readonly date: string | null;
  readonly kind: CostKind;
  readonly cycle: number | null;
  readonly amount: number;
  readonly hours: number | null;
  readonly source: CostSource;
}

/**
 * Sums of the cost log and of what the heat log says each heat cost, each thing once: where the cost log has gas of a
 * date, the heat log's money of that date is taken to be the same money and left out, and that is said. Days of heating come
 * from both logs. Nothing missing is guessed.
 */
export function sumCosts(log: CostLog, heats: HeatLog, currency: string | null): CostSums {
  const remarks: string[] = [];
  const money = currency ?? heats.currency?.toUpperCase() ?? null;
  const spent = [...spentOf(log), ...heatMoney(log, heats, money, remarks)];
  const unpaid = log.entries.filter((entry) => entry.amount === null);
  if (unpaid.length > 0) {
    remarks.push(
      `${rowsText(unpaid)} of the cost log ${unpaid.length === 1 ? 'has' : 'have'} hours and no money.`,
    );
  }
  if (spent.length > 0 && money === null) remarks.push('The currency is not recorded.');
  return {
    currency: money,
    total: spent.reduce((sum, each) => sum + each.amount, 0),
    byKind: group(
      spent,
      (each) => each.kind,
      (a, b) => COST_KINDS.indexOf(a) - COST_KINDS.indexOf(b),
    ),
    byDay: group(
      spent.filter((each) => each.date !== null),
      (each) => each.date!,
      (a, b) => (a < b ? -1 : 1),
    ),
    byCycle: group(
      spent,
      (each) => each.cycle,
      (a, b) => (a ?? Infinity) - (b ?? Infinity),
    ),
    days: workingDays(log, heats.heats),
    remarks,
  };
}

function spentOf(log: CostLog): Spent[] {
  return log.entries.flatMap((entry) =>
    entry.amount === null
      ? []
      : [{ ...entry, amount: entry.amount, source: { file: entry.file, row: entry.row } }],
  );
}

function heatMoney(log: CostLog, heats: HeatLog, currency: string | null, remarks: string[]): Spent[] {
  const paid = heats.heats.filter((heat) => heat.cost !== null);
  if (paid.length === 0) return [];
  if (currency !== null && heats.currency !== null && heats.currency.toUpperCase() !== currency) {
    remarks.push(
      `The heat log counts in ${heats.currency}, the job in ${currency}: its money is not in the sums.`,
    );
    return [];
  }
  const gasDates = new Set(log.entries.filter((entry) => entry.kind === 'gas').map((entry) => entry.date));
  const again = paid.filter((heat) => heat.date !== null && gasDates.has(heat.date));
  if (again.length > 0) {
    remarks.push(
      `${rowsText(again)} of the heat log ${again.length === 1 ? 'is' : 'are'} not counted: the cost log has gas of the same date.`,
    );
  }
  const digits = currencyDigits(currency);
  return paid
    .filter((heat) => !again.includes(heat))
    .map((heat) => ({
      date: heat.date,
      kind: 'gas',
      cycle: heat.cycle,
      amount: moneyOf(heat.cost!, digits),
      hours: null,
      source: { file: heat.file, row: heat.row },
    }));
}

function workingDays(log: CostLog, heats: readonly Heat[]): CostSums['days'] {
  const did: { date: string; work: WorkKind | null }[] = [
    ...log.entries.map(({ date, work }) => ({ date, work })),
    ...heats.flatMap((heat) => (heat.date === null ? [] : [{ date: heat.date, work: 'heating' as const }])),
  ];
  const dates = (of: readonly { date: string }[]) => [...new Set(of.map((each) => each.date))].sort();
  const said = new Set(did.filter((each) => each.work !== null).map((each) => each.date));
  const all = dates(did);
  return {
    all,
    byWork: WORK_KINDS.flatMap((work) => {
      const found = dates(did.filter((each) => each.work === work));
      return found.length === 0 ? [] : [{ work, dates: found }];
    }),
    unsaid: all.filter((date) => !said.has(date)),
  };
}

function group<K>(
  spent: readonly Spent[],
  key: (of: Spent) => K,
  order: (a: K, b: K) => number,
): CostSum<K>[] {
  const groups = new Map<K, Spent[]>();
  for (const each of spent) {
    const of = groups.get(key(each));
    if (of === undefined) groups.set(key(each), [each]);
    else of.push(each);
  }
  return [...groups]
    .sort(([a], [b]) => order(a, b))
    .map(([of, members]) => {
      const hours = members.filter((each) => each.hours !== null);
      return {
        of,
        amount: members.reduce((sum, each) => sum + each.amount, 0),
        hours: hours.length === 0 ? null : hours.reduce((sum, each) => sum + each.hours!, 0),
        rows: members.map((each) => each.source),
      };
    });
}

function rowsText(of: readonly { row: number }[]): string {
  const rows = of.map((each) => each.row);
  const shown =
    rows.length > 6 ? `${rows.slice(0, 6).join(', ')} and ${rows.length - 6} more` : rows.join(', ');
  return `${rows.length === 1 ? 'Row' : 'Rows'} ${shown}`;
}
