/**
 * The same data fitted by R packages (tests/published/independent-fit, with the script and versions) and by this
 * project's least squares and robust line.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { type LeastSquares, solveLeastSquares } from '../../src/maths/least-squares.ts';
import { robustPolynomial } from '../../src/maths/robust-line.ts';

interface Kinked {
  readonly name: string;
  readonly x: number[];
  readonly y: number[];
  readonly breaks: number[];
  readonly breakSe: number[];
  readonly slopes: number[];
  readonly slopeSe: number[];
  readonly rss: number;
}
interface Robust {
  readonly name: string;
  readonly x: number[];
  readonly y: number[];
  readonly coefficients: [number, number];
  readonly se: [number, number];
  readonly scale: number;
  readonly weights: number[];
}
const fixtures = JSON.parse(
  readFileSync(new URL('../published/independent-fit/fixtures.json', import.meta.url), 'utf8'),
) as { kinks: Kinked[]; lines: Robust[] };

/** Least squares in everything; the kinks by golden section, one after the other, until they stay. */
function brokenLine(x: readonly number[], y: readonly number[], start: readonly number[]) {
  const at = (breaks: readonly number[]): LeastSquares =>
    solveLeastSquares([x.map(() => 1), x, ...breaks.map((b) => x.map((v) => Math.max(0, v - b)))], y);
  const breaks = start.slice();
  const golden = (Math.sqrt(5) - 1) / 2;
  for (let round = 0; round < 25; round++)
    for (let j = 0; j < breaks.length; j++) {
      const rss = (b: number) => at(breaks.map((v, k) => (k === j ? b : v))).rss;
      let [low, high] = [breaks[j]! - 0.2, breaks[j]! + 0.2];
      for (let pass = 0; pass < 30; pass++) {
        const a = high - golden * (high - low);
        const b = low + golden * (high - low);
        if (rss(a) < rss(b)) high = b;
        else low = a;
      }
      if (rss((low + high) / 2) < rss(breaks[j]!)) breaks[j] = (low + high) / 2;
    }
  return { breaks, fit: at(breaks) };
}

describe('broken lines against R segmented', () => {
  for (const one of fixtures.kinks)
    it(`${one.name}: breaks, slopes and residual sum of squares`, () => {
      const { breaks, fit } = brokenLine(
        one.x,
        one.y,
        one.breaks.map((b) => b + 0.1),
      );
      // segmented stops at its own tolerance; with three kinks a little short of the least squares.
      expect(fit.rss).toBeLessThan(one.rss * (1 + 1e-6));
      const short = one.rss / fit.rss - 1;
      const share = short < 1e-5 ? 0.05 : 0.6;
      expect(short).toBeLessThan(0.01);
      breaks.forEach((b, j) => {
        expect(Math.abs(b - one.breaks[j]!)).toBeLessThan(share * one.breakSe[j]!);
      });
      let slope = fit.coefficients[1]!;
      expect(Math.abs(slope - one.slopes[0]!)).toBeLessThan(share * one.slopeSe[0]!);
      breaks.forEach((_, j) => {
        slope += fit.coefficients[2 + j]!;
        expect(Math.abs(slope - one.slopes[j + 1]!)).toBeLessThan(share * one.slopeSe[j + 1]!);
      });
    });
});

describe('robust straight reach against R robustbase::lmrob', () => {
  for (const one of fixtures.lines)
    it(one.name, () => {
      const sd = one.x.map(() => 0.0016);
      const fit = robustPolynomial(one.x, one.y, sd, 1);
      const slope = fit.coefficients[1]!;
      const intercept = fit.coefficients[0]! - slope * fit.about;
      // Different estimators of one line: they agree well within either's standard error.
      expect(Math.abs(slope - one.coefficients[1])).toBeLessThan(0.5 * one.se[1]);
      expect(Math.abs(intercept - one.coefficients[0])).toBeLessThan(0.5 * one.se[0]);
      // Both throw out the same readings.
      expect(fit.kept.map((kept) => !kept)).toEqual(one.weights.map((w) => w < 0.05));
    });
});
