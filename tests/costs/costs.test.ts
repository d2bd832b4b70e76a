import { describe, expect, it } from 'vitest';
import { readCostLog } from '../../src/costs/cost-log-csv.ts';
import { formatMoney, moneyOf, priceOf } from '../../src/costs/money.ts';
import { sumCosts } from '../../src/costs/sums.ts';
import type { Heat, HeatLog } from '../../src/heats/heat-log.ts';

const JOB = { units: 'us', currency: 'USD' } as const;
const read = (text: string) => readCostLog(text, JOB, 'costs.csv');
const NO_HEATS: HeatLog = { heats: [], gasUnit: null, currency: null };

function heat(row: number, cycle: number, date: string | null, cost: number | null): Heat {
  return {
    cycle,
    pattern: 'vee',
    line: null,
    zone: 'A',
    station: null,
    height: null,
    angle: null,
    depth: null,
    width: null,
    apex: null,
    temperature: null,
    before: null,
    date,
    time: null,
    pressure: null,
    torch: null,
    device: null,
    weather: null,
    gas: null,
    cost,
    note: null,
    file: 'heats.csv',
    row,
  };
}

const GOOD = `date,kind,work,cycle,hours,rate,amount,note
2026-03-02,labour,paint removal,,32,61.25,,four people
2026-03-03,labour,heating,1,24,61.25,1470.00,
2026-03-03,traffic control,,1,,,2150.5,lane closure
2026-03-04,plant,heating,2,8,,,own lift
2026-03-05,gas,,2,,,18.005,
`;

describe('money', () => {
  it('is exact where doubles are not: half a cent goes up, products round once', () => {
    // 1.005 · 100 is 100.49999999999999 as doubles; by hand 1.005 · 100 = 100.50 exactly.
    expect(1.005 * 100).toBeLessThan(100.5);
    expect(priceOf(1.005, 100, 2)).toBe(10050);
    expect(moneyOf(1.005, 2)).toBe(101);
    expect(moneyOf(18.004999, 2)).toBe(1800);
    expect(priceOf(0.333333, 3, 2)).toBe(100);
    // 999,999,999 · 10⁶ less 999,999,999 · 10⁻⁶.
    expect(priceOf(999999999, 999999.999999, 0)).toBe(999999998999000);
  });

  it('ISO 4217: no decimals for JPY, three for KWD (from memory)', () => {
    expect(formatMoney(moneyOf(1234.5, 0), 'JPY', 'en-US')).toBe('1,235 JPY');
    expect(formatMoney(moneyOf(1234.5, 3), 'KWD', 'en-US')).toBe('1,234.500 KWD');
    expect(formatMoney(123456, 'EUR', 'de-DE')).toBe('1.234,56 EUR');
    expect(formatMoney(123456, 'USD', 'en-US')).toBe('1,234.56 USD');
  });
});

describe('cost log', () => {
  it('reads hours, rates and amounts', () => {
    const { log, problems } = read(GOOD);
    expect(problems).toEqual([]);
    // By hand: 32 · 61.25 = 1960.00, 24 · 61.25 = 1470.00.
    expect(log.entries.map((entry) => entry.amount)).toEqual([196000, 147000, 215050, null, 1801]);
    expect(log.entries[2]).toMatchObject({ kind: 'traffic control', cycle: 1, row: 4 });
  });

  it('refuses what cannot be meant, row by row', () => {
    const { problems } = read(`date,kind,hours,rate,amount
2026-03-02,labor,8,60,
2026-03-02,labour,8,60,500
3/4/2026,labour,8,60,
,labour,8,60,
2026-03-02,labour,,60,
2026-03-02,labour,,,
2026-03-02,labour,-8,60,
`);
    expect(problems.map((p) => [p.row, p.column])).toEqual([
      [2, 'kind'],
      [3, 'amount'],
      [4, 'date'],
      [5, 'date'],
      [6, 'hours'],
      [7, 'amount'],
      [8, 'hours'],
    ]);
    expect(problems[0]!.suggestion).toBe('labour?');
    expect(problems[1]!.expected).toContain('480.00');
  });
});

describe('sums', () => {
  it('are exactly the sums of their rows, by kind, day and cycle, and days are counted once', () => {
    const sums = sumCosts(read(GOOD).log, NO_HEATS, 'USD');
    expect(sums.total).toBe(196000 + 147000 + 215050 + 1801);
    expect(sums.byKind.map(({ of, amount }) => [of, amount])).toEqual([
      ['labour', 343000],
      ['gas', 1801],
      ['traffic control', 215050],
    ]);
    expect(sums.byKind[0]).toMatchObject({ hours: 56, rows: [{ row: 2 }, { row: 3 }] });
    expect(sums.byDay.map(({ of }) => of)).toEqual(['2026-03-02', '2026-03-03', '2026-03-05']);
    expect(sums.byCycle.map(({ of, amount }) => [of, amount])).toEqual([
      [1, 362050],
      [2, 1801],
      [null, 196000],
    ]);
    for (const by of [sums.byKind, sums.byCycle]) {
      expect(by.reduce((sum, each) => sum + each.amount, 0)).toBe(sums.total);
    }
    expect(sums.days.all).toHaveLength(4);
    expect(sums.days.byWork).toEqual([
      { work: 'paint removal', dates: ['2026-03-02'] },
      { work: 'heating', dates: ['2026-03-03', '2026-03-04'] },
    ]);
    expect(sums.days.unsaid).toEqual(['2026-03-05']);
    expect(sums.remarks).toEqual(['Row 5 of the cost log has hours and no money.']);
  });

  it('count the gas of a day once, whichever log has it', () => {
    const heats: HeatLog = {
      gasUnit: 'lb',
      currency: 'USD',
      heats: [heat(2, 1, '2026-03-03', 12.5), heat(3, 2, '2026-03-05', 9), heat(4, 3, null, 1)],
    };
    const sums = sumCosts(read(GOOD).log, heats, 'USD');
    expect(sums.byKind.find(({ of }) => of === 'gas')).toEqual({
      of: 'gas',
      amount: 1801 + 1250 + 100,
      hours: null,
      rows: [
        { file: 'costs.csv', row: 6 },
        { file: 'heats.csv', row: 2 },
        { file: 'heats.csv', row: 4 },
      ],
    });
    expect(sums.remarks[0]).toBe(
      'Row 3 of the heat log is not counted: the cost log has gas of the same date.',
    );
    expect(sums.days.byWork.find(({ work }) => work === 'heating')!.dates).toEqual([
      '2026-03-03',
      '2026-03-04',
      '2026-03-05',
    ]);
  });

  it('never mix currencies', () => {
    const heats: HeatLog = { gasUnit: null, currency: 'CAD', heats: [heat(2, 1, '2026-03-03', 12.5)] };
    const sums = sumCosts({ entries: [] }, heats, 'USD');
    expect(sums.total).toBe(0);
    expect(sums.remarks[0]).toContain('counts in CAD');
  });
});
