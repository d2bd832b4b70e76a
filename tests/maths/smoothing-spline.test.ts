import { describe, expect, it } from 'vitest';
import { smoothingSpline } from '../../src/maths/smoothing-spline.ts';

describe('a cubic smoothing spline', () => {
  const at = [0, 1, 2.5, 3, 4.2, 5, 6];
  const value = [0, 1, 0.5, 2, 1.5, 3, 2.2];

  it('is that of scipy 1.17.1: make_smoothing_spline(at, value, w=1/sd**2, lam=1/0.7), value and derivative', () => {
    const f = smoothingSpline(at, value, [0.3, 0.2, 0.3, 0.5, 0.1, 0.3, 0.2], 0.7);
    const expected: [number, number, number][] = [
      [0, 0.13987576, 0.90845268],
      [0.3, 0.40751591, 0.85949617],
      [1, 0.86700802, 0.36449141],
      [1.7, 0.92646547, -0.09339226],
      [2.5, 0.88701568, 0.12697442],
      [4.2, 1.56573015, 0.87523555],
      [4.9, 2.23901919, 0.75446011],
      [6, 2.30242666, -0.30302058],
    ];
    for (const [x, y, slope] of expected) {
      expect(f(x)[0]).toBeCloseTo(y, 7);
      expect(f(x)[1]).toBeCloseTo(slope, 7);
    }
  });

  it('meets values known without doubt, and is straight beyond its ends and through values on a line', () => {
    const exact = smoothingSpline(
      at,
      value,
      at.map(() => 1e-9),
      1,
    );
    at.forEach((x, i) => {
      expect(exact(x)[0]).toBeCloseTo(value[i]!, 6);
    });
    const [[y, slope], [beyond, same]] = [exact(6), exact(8)];
    expect(same).toBeCloseTo(slope, 9);
    expect(beyond).toBeCloseTo(y + 2 * slope, 9);
    const line = smoothingSpline(
      at,
      at.map((x) => 3 - 2 * x),
      at.map(() => 0.4),
      1,
    );
    for (const x of [-1, 0.4, 3.3, 7]) expect(line(x)[0]).toBeCloseTo(3 - 2 * x, 9);
  });
});
