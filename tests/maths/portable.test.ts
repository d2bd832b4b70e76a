import { describe, expect, it } from 'vitest';
import { asinh, atan, cos, exp, hypot, log, power, sin, sinh } from '../../src/maths/portable.ts';

/**
 * Values of the NIST Digital Library of Mathematical Functions' own definitions, to 16 digits: e (4.2.11), ln 2, π/4
 * (4.23); sinh 1 = (e − 1/e)/2 (4.28.1). The rest against the engine's own functions, which are right to a digit or two.
 */
describe('functions the same in every engine', () => {
  it('gives published constants', () => {
    expect(Math.abs(exp(1) - Math.E)).toBeLessThanOrEqual(Number.EPSILON * 2);
    expect(log(2)).toBe(Math.LN2);
    expect(4 * atan(1)).toBe(Math.PI);
    expect(sinh(1)).toBeCloseTo(1.1752011936438014, 15);
    expect(hypot(3, 4)).toBe(5);
    expect(power(1.5, 5)).toBe(7.59375);
    expect(power(7, 0)).toBe(1);
  });

  it('keeps to the engine within a few units of the last digit', () => {
    const pairs = [
      [exp, Math.exp],
      [sin, Math.sin],
      [cos, Math.cos],
      [atan, Math.atan],
      [sinh, Math.sinh],
      [asinh, Math.asinh],
    ] as const;
    for (const [ours, theirs] of pairs) {
      for (let x = -6; x <= 6; x += 0.0137) {
        expect(Math.abs(ours(x) - theirs(x))).toBeLessThanOrEqual(
          8e-16 * Math.max(Math.abs(theirs(x)), 1e-3),
        );
      }
      for (const x of [1e-9, 1e-5, 1e-3, 0.49999, 0.50001]) {
        expect(Math.abs(ours(x) / theirs(x) - 1)).toBeLessThan(4e-15);
      }
    }
    for (let x = 1e-6; x < 50; x *= 1.13) expect(log(x)).toBeCloseTo(Math.log(x), 13);
  });
});
