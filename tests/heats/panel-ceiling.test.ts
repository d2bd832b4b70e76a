import { describe, expect, it } from 'vitest';
import { plasticMoment, pushCeiling, yieldLineFactor } from '../../src/heats/panel-ceiling.ts';
import { seededUniform } from '../../src/maths/seeded.ts';
import { panelJob } from '../panels/panel-job.ts';

/**
 * Work of a mechanism of flat facets that meet under the load, by virtual work from the facets' slopes (Johansen's
 * method itself, not the closed forms under test): unit deflection at the load, m = m′ = 1.
 *
 * @param rim corners around the load, in order; `turns[i]`: the side from corner i to the next lies on an edge that
 * turns freely; `open`: the first and last corner lie on a free edge through the load, and the rim is not closed
 */
function work(
  rim: readonly (readonly [number, number])[],
  turns: (side: number) => boolean,
  open: boolean,
): number {
  const sides = open ? rim.length - 1 : rim.length;
  const slopes = Array.from({ length: sides }, (_, i) => {
    const [[ax, ay], [bx, by]] = [rim[i]!, rim[(i + 1) % rim.length]!];
    // w = 1 − g·r with w = 0 at both corners.
    const det = ax * by - ay * bx;
    return [(by - ay) / det, (ax - bx) / det] as const;
  });
  let sum = 0;
  for (let i = 0; i < sides; i++) {
    const [[ax, ay], [bx, by]] = [rim[i]!, rim[(i + 1) % rim.length]!];
    if (!turns(i)) sum += Math.hypot(bx - ax, by - ay) * Math.hypot(...slopes[i]!);
    if (open && i === 0) continue;
    const [before, after] = [slopes[(i + sides - 1) % sides]!, slopes[i]!];
    sum += Math.hypot(ax, ay) * Math.hypot(before[0] - after[0], before[1] - after[1]);
  }
  return sum;
}

const circle = (n: number, from = 0, to = 2 * Math.PI) =>
  Array.from({ length: n }, (_, i) => {
    const a = from + ((to - from) * i) / n;
    return [Math.cos(a), Math.sin(a)] as const;
  });

describe('yield-line load of a plate under a point load, multiples of m_p', () => {
  it('is 4π inside a clamped plate, Johansen’s fan (references H), whatever the plate’s shape', () => {
    expect(yieldLineFactor({ turning: 0, free: false })).toBeCloseTo(4 * Math.PI, 12);
    // Worked out facet by facet: many facets come down to it from above.
    expect(work(circle(360), () => false, false)).toBeCloseTo(4 * Math.PI, 2);
    expect(work(circle(360), () => true, false)).toBeCloseTo(2 * Math.PI, 2);
  });

  it('is 8 for a square free to turn on all edges, loaded in its middle (4(a/b + b/a), Johansen)', () => {
    const square = [
      [-1, -1],
      [1, -1],
      [1, 1],
      [-1, 1],
    ] as const;
    expect(work(square, () => true, false)).toBeCloseTo(8, 12);
    expect(yieldLineFactor({ turning: 4, free: false })).toBeCloseTo(8, 12);
    const oblong = square.map(([x, y]) => [2 * x, y] as const);
    expect(work(oblong, () => true, false)).toBeCloseTo(4 * (2 + 1 / 2), 12);
  });

  it('is 4 + 2π in a long strip free to turn on both edges: no mechanism of facets tried does better', () => {
    const factor = yieldLineFactor({ turning: 2, free: false });
    expect(factor).toBeCloseTo(4 + 2 * Math.PI, 12);
    const straight = (c: number) =>
      work(
        [
          [-c, -1],
          [c, -1],
          [c, 1],
          [-c, 1],
        ],
        (side) => side % 2 === 0,
        false,
      );
    for (const c of [0.4, 0.6, Math.SQRT1_2, 1, 1.5]) expect(straight(c)).toBeGreaterThan(factor);
    const fans = (beta: number) => {
      const [r, right] = [1 / Math.cos(beta), circle(60, -Math.PI / 2 + beta, Math.PI / 2 - beta)];
      const rim = [...right, [Math.sin(beta), Math.cos(beta)] as const].map(
        ([x, y]) => [r * x, r * y] as const,
      );
      const other = rim.map(([x, y]) => [-x, -y] as const);
      return work(
        [...rim, ...other],
        (side) => side === rim.length - 1 || side === 2 * rim.length - 1,
        false,
      );
    };
    expect(fans(Math.PI / 4)).toBeCloseTo(factor, 2);
    for (const beta of [0.3, 0.6, 0.95, 1.2]) expect(fans(beta)).toBeGreaterThan(factor);
  });

  it('is π + 2 at a free edge; a thousand rims drawn at random all need more', () => {
    const factor = yieldLineFactor({ turning: 0, free: true });
    expect(factor).toBeCloseTo(Math.PI + 2, 12);
    const uniform = seededUniform(7);
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < 1000; k++) {
      const inner = 3 + Math.floor(12 * uniform());
      const reach = 0.7 + uniform();
      const rim = Array.from({ length: inner + 2 }, (_, i) => {
        const a = (Math.PI * i) / (inner + 1);
        const r = i === 0 || i === inner + 1 ? reach : 1 + 0.1 * (uniform() - 0.5);
        return [r * Math.cos(a), r * Math.sin(a)] as const;
      });
      least = Math.min(
        least,
        work(rim, () => false, true),
      );
    }
    // The triangle of two hogging lines by hand: 2(2b/a + a/b) at b = a/√2 is 4√2.
    const triangle = work(
      [
        [1, 0],
        [0, Math.SQRT1_2],
        [-1, 0],
      ],
      () => false,
      true,
    );
    expect(triangle).toBeCloseTo(4 * Math.SQRT2, 12);
    expect(least).toBeGreaterThan(factor);
    const best = [
      [Math.SQRT2, 0] as const,
      ...circle(90, Math.PI / 4, (3 * Math.PI) / 4),
      [-Math.SQRT1_2, Math.SQRT1_2] as const,
      [-Math.SQRT2, 0] as const,
    ];
    expect(work(best, () => false, true)).toBeCloseTo(factor, 2);
  });
});

describe('the ceiling of a panel', () => {
  const map = { crest: { lowerBound: false } };
  const torn = { crest: { lowerBound: true } };
  const push = { share: 0.4, shareSource: 'clause 9' };
  const of = (panel: object, more: object = {}, seen = map) => {
    const job = panelJob(panel, more);
    return pushCeiling(job, job.lines[0]!.panel!, [seen as never]);
  };

  it('is the stated share of the load by hand, rounded down, and the gauge pressure of the jack named', () => {
    // m_p = 36 ksi · (7/16 in)² / 4 = 1.7227 kip·in/in; 4π of it 21.648 kip; 40 % 8.659 kip, down to 8.6.
    expect(plasticMoment(36, 0.4375)).toBeCloseTo(1.72266, 5);
    const clamped = of(
      { push: { ...push, edges: 'clamped', edgesSource: 'calculation 3', jack: 'ram' } },
      { jacks: [{ name: 'ram', ramArea: '2 in2', capacity: '20 kip' }] },
    )!;
    expect(clamped.yieldLoad / 4448.2216).toBeCloseTo(21.648, 2);
    expect(clamped.force / 4448.2216).toBeCloseTo(8.6, 6);
    expect(clamped.jack!.pressure / 6894.757).toBeCloseTo(4300, 1);
    expect(of({ push })!.yieldLoad / 4448.2216).toBeCloseTo(1.72266 * (4 + 2 * Math.PI), 2);
  });

  it('is none without a cited share, less beside a hole, and never above the rating of the jack', () => {
    expect(of({})).toBeNull();
    expect(() => of({ push: { share: 0.4 } })).toThrow();
    expect(() => of({ push: { ...push, edges: 'clamped' } })).toThrow();
    expect(of({ push }, {}, torn)!.factor).toBeCloseTo(4, 12);
    const rated = of(
      { push: { ...push, jack: 'ram' } },
      { jacks: [{ name: 'ram', ramArea: '2 in2', capacity: '5 kip' }] },
    )!;
    expect(rated.jack!.rated).toBe(true);
    expect(rated.force / 4448.2216).toBeCloseTo(5, 6);
  });
});
