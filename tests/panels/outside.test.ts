import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { PanelSurvey } from '../../src/analysis.ts';
import { exportTables } from '../../src/export/tables.ts';
import { areaPast } from '../../src/survey/panel-map.ts';
import { panelReadings } from './campaign.ts';
import { panelJob } from './panel-job.ts';
import { dent } from './plates.ts';

const INCH = 0.0254;

describe('the area of a panel past its limit', () => {
  it('is that of the circle a cone is cut at, by hand, with what the uncertainty leaves open', () => {
    // A cone 1 high and 1 in radius, on a net of 4 by 4 a hundred steps wide: past 0.4 within r < 0.6; u 0.05 moves r by 0.05.
    const n = 101;
    const r = Array.from({ length: n * n }, (_, i) =>
      Math.hypot(((i % n) / (n - 1)) * 4 - 2, (Math.floor(i / n) / (n - 1)) * 4 - 2),
    );
    const cone = {
      map: {
        ...{ from: 0, to: 4, low: 0, high: 4, columns: n, rows: n },
        deviation: r.map((each) => -Math.max(0, 1 - each)),
        u: r.map(() => 0.05),
        seen: r.map(() => true),
      },
    } as unknown as PanelSurvey;
    const { value, u } = areaPast(cone, 0.4);
    expect(value).toBeCloseTo(Math.PI * 0.6 ** 2, 1);
    expect(u).toBeCloseTo((Math.PI * (0.65 ** 2 - 0.55 ** 2)) / 2, 1);
    expect(areaPast(cone, 1.2)).toEqual({ value: 0, u: 0 });
  });
});

describe('export of a panel', () => {
  it('has a height for every place, and a reading set aside is that of its station alone', () => {
    const job = panelJob();
    const readings = panelReadings(job, {
      cycles: 2,
      truth: (x, y, cycle) => (2 - cycle) * INCH * dent(x, y, 0.5, 0.5, 0.4, 60 / 38),
    });
    const { file, row, cycle, station } = readings[40]!;
    const said = { who: 'R. Alder', why: 'read off the weld', when: '2026-05-09T10:00:00Z' };
    const analysis = analyse(job, readings, [{ file, row, cycle, station, action: 'set-aside', ...said }]);
    // Every reading of one height stands in one row of the sheet here.
    const sheet = readings.map((each) => ({ ...each, row: 2 + Math.round((each.height ?? 0) * 100) }));
    const inRow = sheet[40]!;
    const marked = analyse(job, sheet, [
      { file, row: inRow.row, cycle, station, action: 'set-aside', ...said },
    ]);
    for (const each of [analysis, marked]) {
      const table = exportTables(each).find(({ name }) => name === 'readings')!;
      expect(table.columns.at(-1)).toBe('height_in');
      const aside = table.columns.indexOf('set_aside');
      const out = table.rows.filter((cells) => cells[aside] === true);
      expect(out).toHaveLength(1);
      expect(out[0]!.at(-1)).toBeCloseTo(inRow.height! / INCH, 6);
    }
    const deviations = exportTables(analysis).find(({ name }) => name === 'deviations')!;
    expect(new Set(deviations.rows.map((cells) => cells.at(-1))).size).toBe(8);
  });
});
