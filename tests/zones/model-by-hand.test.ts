import { describe, expect, it } from 'vitest';
import { degreeOfDamage } from '../../src/zones/degree-of-damage.ts';
import { momentAt } from '../../src/zones/flange-law.ts';
import { firstIntegral, yieldingOf } from '../../src/zones/separate/yielding.ts';

/** The numbers of the worked example in src/zones/MODEL.md, by the closed forms written there. */
describe('a zone by hand', () => {
  const alpha = 0.01;
  const beta = 1 - alpha;
  const B = beta / 2;
  const yieldCurvature = 36 / 29000 / 6;
  const m = beta * (1.5 - 0.5 / 400) + alpha * 20;
  const primitive = (k: number) =>
    (alpha * beta * k * k) / 2 -
    3 * alpha * B * k -
    (B * (2 * beta + alpha)) / k +
    (3 * B * B) / k ** 2 -
    (B * B) / (2 * k ** 4);

  it('moment, length, integral and rotation are those printed', () => {
    expect(m).toBeCloseTo(1.684, 3);
    expect(momentAt(20, alpha)).toBeCloseTo(m, 12);
    const side = (90 * (m - 1)) / (m + 0.4);
    expect(side).toBeCloseTo(29.5, 1);
    const f1 = primitive(20) - primitive(1);
    expect(f1).toBeCloseTo(2.018, 3);
    expect(Math.abs(firstIntegral(yieldingOf(alpha), m) / f1 - 1)).toBeLessThan(2e-4);
    const rotation = ((yieldCurvature * 2 * side) / (m - 1)) * f1;
    expect(rotation).toBeCloseTo(0.0361, 4);
    expect(degreeOfDamage({ y1: 0, y2: 1.8, length: 100 }, { y3: 1.8, y4: 0, length: 100 })).toBeCloseTo(
      0.036,
      3,
    );
    expect(rotation / (2 * side) / yieldCurvature).toBeCloseTo(3, 0);
  });
});
