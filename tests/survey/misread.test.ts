import { describe, expect, it } from 'vitest';
import { explainMisread, type MisreadQuestion } from '../../src/survey/misread.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

/** Slips are common practice, no source; each case is the slip made on purpose. */
const us = (offset: number, expected: number, more: Partial<MisreadQuestion> = {}) =>
  explainMisread({
    station: 24 * FOOT,
    offset: offset * INCH,
    expected: expected * INCH,
    u: INCH / 16,
    units: 'us',
    ...more,
  });
const si = (offset: number, expected: number) =>
  explainMisread({ station: 7.5, offset: offset / 1000, expected: expected / 1000, u: 0.001, units: 'si' });

describe('explainMisread', () => {
  it.each([
    ['inch', 4.3125, 3.3],
    ['foot', 15.3125, 3.3],
    ['sign', -3.3125, 3.3],
    ['fraction', 3.375, 3.78],
    ['counted-back', 3.125, 3.85],
    ['fraction-lost', 51, 5.1],
    ['digits-swapped', 21, 12.02],
    ['decimal-point', 32.5, 3.26],
    ['other-unit', 84.14, 3.31],
  ] as const)('%s: %d in for %d in', (kind, offset, expected) => {
    const misread = us(offset, expected);
    expect(misread.kind).toBe(kind);
    expect(misread.meant! / INCH).toBeCloseTo(expected, 0);
    expect(misread.message).toContain(`24'-0"`);
  });

  it.each([
    ['ten-millimetres', 94, 84.3],
    ['hundred-millimetres', 184, 84.3],
    ['digits-swapped', 48, 84.2],
    ['decimal-point', 8.4, 84.2],
    ['sign', -84, 84],
  ] as const)('%s: %d mm for %d mm', (kind, offset, expected) => {
    expect(si(offset, expected).kind).toBe(kind);
  });

  it('names exchanged decimals', () => {
    expect(us(3.52, 3.25, { u: INCH / 1000 }).kind).toBe('digits-swapped');
  });

  it('names readings exchanged with a neighbour, and lines written twice', () => {
    const neighbours = [
      { station: 22 * FOOT, offset: 2 * INCH, expected: 2.02 * INCH },
      { station: 26 * FOOT, offset: 3.0625 * INCH, expected: 4.7 * INCH },
    ];
    const swapped = us(4.75, 3.1, { neighbours });
    expect(swapped.kind).toBe('swapped-neighbours');
    expect(swapped.message).toContain(`26'-0"`);
    expect(us(2, 3.3, { neighbours }).kind).toBe('copied-neighbour');
  });

  it('names readings exchanged with one station between them, and not as two slips of their own', () => {
    const neighbours = [
      { station: 25 * FOOT, offset: 3.9 * INCH, expected: 3.9 * INCH },
      { station: 26 * FOOT, offset: 3.125 * INCH, expected: 4.125 * INCH },
    ];
    // Alone it is one inch off, and so is the other.
    expect(us(4.125, 3.125, { neighbours: neighbours.slice(0, 1) }).kind).toBe('inch');
    const swapped = us(4.125, 3.125, { neighbours });
    expect(swapped.kind).toBe('swapped-neighbours');
    expect(swapped.message).toContain(`exchanged with 26'-0"`);
  });

  it('a reading in sixteenths is no slip of one that no rule shows: 6 1/2 is not 5.6 with its digits exchanged', () => {
    expect(us(6.5, 5.6).kind).toBe('inch');
    expect(us(2.5, 5.2).kind).toBe('unexplained');
    expect(us(6.53, 5.63).kind).toBe('digits-swapped');
    expect(us(21, 12).kind).toBe('digits-swapped');
  });

  it('names a wrong station when the offset fits there', () => {
    const misread = us(1.5, 3.1, {
      expectedAt: (station) => (Math.abs(station - 42 * FOOT) < 0.01 ? 1.5 * INCH : 3 * INCH),
    });
    expect(misread).toMatchObject({ kind: 'wrong-station' });
    expect(misread.meantStation! / FOOT).toBeCloseTo(42, 9);
  });

  it('tries the station nobody read, and one off, before a wrong fraction', () => {
    // 24 ft reads 1 1/4 in where 1 1/2 in is expected: 2/4 counted as 1/4, or what belongs to 30 ft, which nobody read.
    const read = [14, 16, 18, 20, 22, 26, 28, 32, 34].map((feet) => ({
      station: feet * FOOT,
      offset: 3 * INCH,
      expected: 3 * INCH,
    }));
    const fits = (feet: number) => (station: number) =>
      Math.abs(station - feet * FOOT) < 0.01 ? 1.25 * INCH : 3 * INCH;
    const missing = us(1.25, 1.5, { neighbours: read, expectedAt: fits(30) });
    expect(missing.kind).toBe('wrong-station');
    expect(missing.meantStation! / FOOT).toBeCloseTo(30, 9);
    const oneOff = us(1.25, 1.5, { neighbours: read, expectedAt: fits(25) });
    expect(oneOff.kind).toBe('wrong-station');
    expect(oneOff.meantStation! / FOOT).toBeCloseTo(25, 9);
    // A station with a good reading of its own cannot have been meant as easily.
    expect(us(1.25, 1.5, { neighbours: read, expectedAt: fits(34) }).kind).toBe('fraction');
    expect(us(1.25, 1.5, { neighbours: read }).kind).toBe('fraction');
  });

  it('names nothing where no slip fits', () => {
    const misread = us(3.3125, 5.1);
    expect(misread.kind).toBe('unexplained');
    expect(misread.message).toMatch(/no common slip/);
  });
});
