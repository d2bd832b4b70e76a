import { describe, expect, it } from 'vitest';
import type { Line } from '../../src/job/job.ts';
import { strainFindings } from '../../src/zones/findings.ts';
import { publishedStrain } from '../../src/zones/point-curvature.ts';
import { zone } from '../heats/fixtures.ts';

const INCH = 0.0254;
const line = { name: 'flange' } as Line;

/**
 * Three equally spaced offsets, 1/R = |y₋ − 2y + y₊|/h² and μ = R_y/R with R_y = E·y_max/F_y (FHWA-IF-99-004, from
 * memory; no published worked example could be found, the numbers are worked by hand from the formula).
 */
const WORKED = [
  { offsets: [4, 4.5, 4.125], h: 12, half: 4.495, fy: 36, ratio: 22.0 },
  { offsets: [1.25, 2, 1.5], h: 6, half: 4.495, fy: 50, ratio: 90.52 },
  { offsets: [6, 7.5, 6.75], h: 6, half: 6, fy: 50, ratio: 217.5 },
  { offsets: [2, 2.875, 2], h: 3, half: 4.12, fy: 36, ratio: 645.3 },
];

function stationsOf({ offsets, h }: (typeof WORKED)[number], leftOut: readonly number[] = []) {
  return offsets.map((y, i) => ({
    station: i * h * INCH,
    y: y * INCH,
    sd: INCH / 16,
    count: 1,
    setAside: leftOut.includes(i),
  }));
}
const yieldCurvature = (w: (typeof WORKED)[number]) => w.fy / 29000 / (w.half * INCH);

describe('the published strain ratio beside the fitted one', () => {
  for (const w of WORKED) {
    it(`offsets ${w.offsets.join(', ')} in at ${w.h} in: ${w.ratio}`, () => {
      const found = publishedStrain(stationsOf(w), 0, 2 * w.h * INCH, yieldCurvature(w))!;
      expect(Math.abs(found.ratio / w.ratio - 1)).toBeLessThan(5e-4);
      // √6·σ/h² (GUM, JCGM 100:2008, 5.1.2).
      expect(found.u).toBeCloseTo((Math.sqrt(6) * (1 / 16)) / w.h ** 2 / (w.fy / 29000 / w.half), 6);
      expect(found.leftOut).toBe(false);
    });
  }

  it('a crest that the fit leaves out still counts', () => {
    const w = WORKED[2]!;
    const found = publishedStrain(stationsOf(w, [1]), 0, 2 * w.h * INCH, yieldCurvature(w))!;
    expect(found.ratio).toBeCloseTo(217.5, 1);
    expect(found.leftOut).toBe(true);
    const said = strainFindings(line, [zone('A', 0, 0.3, 0.1, { publishedStrain: found })], 'us');
    expect(said).toHaveLength(1);
    expect(said[0]!.message).toContain('leaves out');
  });

  it('two stations: there is none', () => {
    expect(publishedStrain(stationsOf(WORKED[0]!).slice(0, 2), 0, 1, 1)).toBeNull();
  });
});

describe('the caution past 100 times yield strain', () => {
  const at = (peak: number, ratio: number, more: object = {}) =>
    strainFindings(
      line,
      [
        zone('A', 1, 2, 0.1, {
          strainRatio: { mean: peak / 2, peak, peakU: 4, lowerBound: false, ...more },
          publishedStrain: { ratio, u: 3, station: 1.5, leftOut: false },
        }),
      ],
      'us',
    );

  it('fires when either passes it, and shows both', () => {
    expect(at(60, 80)).toEqual([]);
    expect(at(120, 80)[0]!.message).toMatch(/120 ± 8 by the fitted shape, 80 ± 6 by the published/);
    expect(at(60, 130)[0]!.message).toMatch(/60 ± 8 by the fitted shape, 130 ± 6 by the published/);
  });

  it('says the bound first where stations are too far apart', () => {
    const [bound] = at(110, 40, { lowerBound: true });
    expect(bound!.message).toMatch(/^The stations are too far apart[\s\S]*at least 110/);
  });
});
