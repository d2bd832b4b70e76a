import { describe, expect, it } from 'vitest';
import { robustFit } from '../../src/maths/robust-fit.ts';
import { createRandom } from '../mechanics/random.ts';

describe('robustFit', () => {
  const x = Array.from({ length: 30 }, (_, i) => i);
  const one = x.map(() => 1);

  it('gives the exact plane back under three gross blunders in ten (redescending weights; Huber & Ronchetti, from memory)', () => {
    const bend = x.map((v) => Math.sin(v / 4));
    const y = x.map((v, i) => 2 - 0.1 * v + 0.8 * bend[i]! + (v % 10 < 3 ? 40 + v : 0));
    const fit = robustFit([one, x, bend], y, 1e-6)!;
    expect(fit.coefficients[0]).toBeCloseTo(2, 9);
    expect(fit.coefficients[1]).toBeCloseTo(-0.1, 9);
    expect(fit.coefficients[2]).toBeCloseTo(0.8, 9);
  });

  it('finds the scale of normal noise (1.4826·MAD is consistent for it) within its scatter', () => {
    const random = createRandom('robust fit');
    const many = Array.from({ length: 2000 }, (_, i) => i / 1000 - 1);
    const fit = robustFit(
      [many.map(() => 1), many],
      many.map((v) => 3 + v + 0.5 * random.normal()),
      1e-9,
    )!;
    expect(fit.scale / 0.5).toBeGreaterThan(0.93);
    expect(fit.scale / 0.5).toBeLessThan(1.07);
  });

  it('gives nothing where the columns do not determine a fit', () => {
    expect(robustFit([one, one], x, 1)).toBeNull();
    expect(robustFit([one, x], [1, 2, 3], 1)).toBeNull();
  });
});
