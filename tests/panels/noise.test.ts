import { describe, expect, it } from 'vitest';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { fitPanel } from '../../src/panels/fit-panel.ts';
import { fitSurface, type PanelPoint } from '../../src/panels/surface.ts';
import { noiseFactor } from '../../src/progress/noise.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { panelJob } from './panel-job.ts';
import { dent } from './plates.ts';

const SD = 0.0016;

describe('how much the readings of a panel scatter', () => {
  const job = panelJob();
  const line = { ...job.lines[0]!, readingSd: SD };
  const panel = line.panel!;
  const [from, to] = line.bearings;
  const high = panel.heights[1];
  const reading = (cycle: number, i: number, j: number, offset: number): Reading => ({
    ...{ cycle, line: line.name, station: from + ((to - from) * i) / 15, height: (high * j) / 9, offset },
    ...{ state: 'released', sd: null, temperature: null, date: null, time: null, note: null },
    ...{ file: `c${cycle}.csv`, row: 2 + i + 16 * j },
  });
  const factorAt = (scatter: number) => {
    const normal = seededNormal(seededUniform(11));
    const readings: Reading[] = [];
    for (let cycle = 0; cycle < 8; cycle++)
      for (let j = 0; j <= 9; j++)
        for (let i = 0; i <= 15; i++) {
          const bulge = 0.04 * 0.9 ** cycle * dent(i / 15, j / 9, 0.5, 0.5, 0.34, 1.6);
          readings.push(reading(cycle, i, j, bulge + scatter * normal()));
        }
    const sd = { value: SD, source: 'job', degreesOfFreedom: null, reason: '' } as const;
    return noiseFactor(fitPanel(line, panel, assembleSurveys(readings, line), [], sd, 'us'));
  };

  it('is told from what the surface leaves over, what it followed of their errors counted', () => {
    // 8 surveys of 160 readings with errors drawn at the sd stated, and at half as much again; taken for free readings all of them, they
    // would seem 0.8 times as rough.
    expect(Math.abs(factorAt(SD) - 1)).toBeLessThan(0.06);
    expect(Math.abs(factorAt(1.5 * SD) - 1.5)).toBeLessThan(0.12);
  });

  it('by the trace of a smoother: squared changes of its residuals over many draws of the errors', () => {
    // Buja, Hastie & Tibshirani 1989 (Annals of Statistics 17), degrees of freedom for error tr((I − S)(I − S)ᵀ); from memory.
    const shape = { width: 1.5, height: 1, held: ['bottom', 'top', 'from', 'to'] } as const;
    const normal = seededNormal(seededUniform(5));
    const residuals = () => {
      const points: PanelPoint[] = Array.from({ length: 96 }, (_, n) => {
        const [x, y] = [(n % 12) / 11, Math.floor(n / 12) / 7];
        return { x, y, z: 0.05 * dent(x, y, 0.5, 0.5, 0.34, 1.5) + SD * normal(), sd: SD };
      });
      const surface = fitSurface(points, shape);
      return {
        left: points.map((p) => (p.z - surface.expected(p.x, p.y).value) / SD),
        freedom: surface.freedom,
      };
    };
    let [sum, freedom] = [0, 0];
    // The same steel twice: what the surface does not follow of it is in both and drops out.
    for (let pair = 0; pair < 12; pair++) {
      const [a, b] = [residuals(), residuals()];
      sum += a.left.reduce((s, r, i) => s + (r - b.left[i]!) ** 2 / 2, 0);
      freedom += (a.freedom + b.freedom) / 2;
    }
    // 12 pairs of some fifty degrees of freedom: 6 % standard error.
    expect(Math.abs(sum / freedom - 1)).toBeLessThan(0.15);
    expect(freedom / (12 * 96)).toBeLessThan(0.9);
  });
});
