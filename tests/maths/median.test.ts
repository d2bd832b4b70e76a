import { describe, expect, it } from 'vitest';
import { median, medianOrNaN } from '../../src/maths/median.ts';
import { createRandom } from '../mechanics/random.ts';

/** The middle of the sorted list: the definition (R's median, type 7 at one half). */
function bySorting(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}

describe('median', () => {
  it('is the middle of the sorted list, short or long, with ties, in any order', () => {
    const random = createRandom('median');
    for (let n = 1; n < 400; n++) {
      const wide = Array.from({ length: n }, () => random.normal());
      const ties = wide.map((v) => Math.round(v));
      const up = [...wide].sort((a, b) => a - b);
      for (const list of [wide, ties, up, [...up].reverse(), wide.map(() => 3)])
        expect(median(list) === bySorting(list)).toBe(true);
    }
  });

  it('leaves the list as it is, and takes no number for the largest', () => {
    const values = Float64Array.from({ length: 101 }, (_, i) => (i * 37) % 101);
    const before = values.slice();
    expect(median(values)).toBe(50);
    expect(values).toEqual(before);
    values[0] = Number.NaN;
    expect(median(values)).toBe(51);
    expect(medianOrNaN([])).toBeNaN();
  });
});
