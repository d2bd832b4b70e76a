import { describe, expect, it } from 'vitest';
import { chooseFill } from '../../src/plates/fillers.ts';

const SIXTEENTHS = [1, 2, 3, 4, 6, 8].map((n) => n / 16);

describe('fillers from stock', () => {
  it('takes the thickest stack that fits: 13/16 from stock to 1/2 in is 1/2 + 1/4 + 1/16', () => {
    const fill = chooseFill(13 / 16, SIXTEENTHS, 3);
    expect(fill.plies).toEqual([0.5, 0.25, 0.0625]);
    expect(fill.left).toBeCloseTo(0, 12);
  });

  it('one ply rather than two of the same thickness', () => {
    expect(chooseFill(0.25, SIXTEENTHS, 3).plies).toEqual([0.25]);
  });

  it('is never thicker than the gap and leaves less than the thinnest stock when plies allow', () => {
    for (let gap = 0; gap < 0.9; gap += 0.0137) {
      const fill = chooseFill(gap, SIXTEENTHS, 4);
      expect(fill.thickness).toBeLessThanOrEqual(gap + 1e-6);
      expect(fill.left).toBeLessThan(1 / 16 + 1e-6);
    }
  });

  it('looking for the thickest first would be beaten: 0.6 from 0.5, 0.3 in two plies is 0.3 + 0.3', () => {
    expect(chooseFill(0.6, [0.5, 0.3], 2).plies).toEqual([0.3, 0.3]);
  });

  it('nothing fits a gap thinner than the stock', () => {
    expect(chooseFill(0.03, SIXTEENTHS, 3)).toEqual({ plies: [], thickness: 0, left: 0.03 });
  });
});
