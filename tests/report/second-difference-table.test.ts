import { expect, it } from 'vitest';
import type { LineAnalysis } from '../../src/analysis.ts';
import { htmlText } from '../../src/report/html.ts';
import { quantities } from '../../src/report/quantities.ts';
import { secondDifferenceTable } from '../../src/report/tables.ts';
import { pointCurvatures } from '../../src/zones/point-curvature.ts';

const INCH = 0.0254;

/** A W24x76 flange of 36 ksi, offsets 4, 4.5 and 4.125 in at 12 in, each with 1/16 in of u. */
function table(lowerBound: boolean): string {
  const stations = [4, 4.5, 4.125].map((y, i) => ({
    station: 12 * i * INCH,
    y: y * INCH,
    sd: INCH / 16,
    count: 1,
    setAside: false,
  }));
  // Yield radius 3621.0 in: E·(b/2)/Fy with E 29,000 ksi and b 8.99 in, by hand.
  const pointCurvature = pointCurvatures(stations as never, 1 / (3621.0 * INCH));
  const fit = { pointCurvature, zones: [{ zone: 'A', strainRatio: { lowerBound } }] };
  return htmlText(
    secondDifferenceTable({ line: { name: 'flange' }, fit } as unknown as LineAnalysis, quantities('us', 16)),
  );
}

// Second difference 0.875 in over 144 in² is a radius of 164.57 in: 3621.0 / 164.57 = 22.0. Uncertainty √6·(1/16)/144 per inch
// times 3621.0 in is 3.85, twice that 7.7. Arithmetic on the published formula; no published worked example was found.
it('gives the ratio and its uncertainty at the middle of three stations', () => {
  const text = table(false);
  expect(text).toMatch(/22\.0<\/td><td class="n">± 7\.7</);
  expect(text).not.toContain('at least');
});

it('says the bound before the numbers', () => {
  const text = table(true);
  expect(text.indexOf('at least')).toBeGreaterThan(-1);
  expect(text.indexOf('at least')).toBeLessThan(text.indexOf('22.0'));
});
