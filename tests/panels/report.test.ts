import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { contour } from '../../src/report/figures/contours.ts';
import { renderFinal } from '../../src/report/final.ts';
import { panelReadings } from './campaign.ts';
import { panelJob } from './panel-job.ts';
import { dent } from './plates.ts';

const CONTEXT = {
  generated: '2026-03-12',
  tool: 'Sweepbook',
  fraction: 16,
  files: [],
  ledger: [],
  plotly: null,
} as const;

describe('contours', () => {
  it('of a cone are circles: their length and the area inside are those of a circle', () => {
    const n = 81;
    const at = (i: number) => [(i % n) - 40, Math.floor(i / n) - 40] as const;
    const net = {
      columns: n,
      rows: n,
      value: (i: number) => 40 - Math.hypot(...at(i)),
      seen: () => true,
    };
    const segments = contour(net, 15);
    const length = segments.reduce((sum, [a, b, c, d]) => sum + Math.hypot(c - a, d - b), 0);
    expect(length / (2 * Math.PI * 25)).toBeCloseTo(1, 2);
    const inside = segments.reduce((sum, [a, b, c, d]) => {
      const [p, q, r, s] = [a - 40, b - 40, c - 40, d - 40];
      return sum + Math.abs(p * s - r * q) / 2;
    }, 0);
    expect(inside / (Math.PI * 25 ** 2)).toBeCloseTo(1, 2);
  });

  it('stop at what was not seen', () => {
    const net = { columns: 3, rows: 3, value: (i: number) => i % 3, seen: (i: number) => i !== 4 };
    expect(contour(net, 0.5)).toEqual([]);
  });
});

describe('reports of a job with panels only', () => {
  const job = panelJob();
  const hole = (x: number, y: number) => x > 0.85 && y < 0.3;
  const analysis = analyse(
    job,
    panelReadings(job, {
      cycles: 4,
      truth: (x, y, c) => (0.05 - 0.01 * c) * dent(x, y, 0.45, 0.5, 0.45, 60 / 38),
      skip: hole,
    }),
  );

  it('show as found, now and moved on one scale, with the crest and its height', () => {
    for (const text of [renderDaily(analysis, CONTEXT), renderFinal(analysis, CONTEXT)]) {
      expect(text.includes('>As found</text>')).toBe(true);
      expect(text.includes('>Cycle 3, now</text>')).toBe(true);
      expect(text.includes('>Moved</text>')).toBe(true);
      // One scale: one ramp for the three maps of a drawing, wide and narrow.
      const figure = text.slice(text.indexOf('The panel on one scale'));
      expect(figure.slice(0, figure.indexOf('</figure>')).match(/class="ramp"/g)).toHaveLength(2);
      expect(text.includes('height 19 in')).toBe(true);
      expect(!text.includes('NaN')).toBe(true);
    }
  });

  it('cut through the crest, print the grid and say what was taken off', () => {
    const text = renderFinal(analysis, CONTEXT);
    expect(text.includes('Cuts through the crest')).toBe(true);
    expect(text.includes('Taken off first.')).toBe(true);
    expect(text.includes('Heights down, stations across')).toBe(true);
    expect(text.replaceAll('&#39;', "'").includes("not read: 32'-")).toBe(true);
  });

  it('of one survey have one map', () => {
    const one = analyse(
      job,
      panelReadings(job, { cycles: 1, truth: (x, y) => 0.03 * dent(x, y, 0.5, 0.5, 0.4, 60 / 38) }),
    );
    const text = renderDaily(one, CONTEXT);
    expect(text.includes('>As found</text>')).toBe(true);
    expect(!text.includes('>Moved</text>')).toBe(true);
  });
});
