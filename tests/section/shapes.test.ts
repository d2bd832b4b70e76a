import { describe, expect, it } from 'vitest';
import { bendingProperties, type Rectangle } from '../../src/section/rectangles.ts';
import { iSection, plateSection, teeSection } from '../../src/section/shapes.ts';

// Properties scale as powers of length, so the tests work in inches throughout.

/**
 * AISC Manual Part 1 tables. d, bf, tf, tw, Zx (and Zy but for W30x99, W21x62) read second-hand; the
 * rest from memory of the AISC Manual.
 */
const AISC = [
  {
    name: 'W36x150',
    weight: 150,
    A: 44.3,
    d: 35.9,
    bf: 12.0,
    tf: 0.94,
    tw: 0.625,
    Zx: 581,
    Zy: 70.9,
    Ix: 9040,
    Iy: 270,
  },
  {
    name: 'W33x130',
    weight: 130,
    A: 38.3,
    d: 33.1,
    bf: 11.5,
    tf: 0.855,
    tw: 0.58,
    Zx: 467,
    Zy: 59.5,
    Ix: 6710,
    Iy: 218,
  },
  {
    name: 'W30x99',
    weight: 99,
    A: 29.0,
    d: 29.7,
    bf: 10.5,
    tf: 0.67,
    tw: 0.52,
    Zx: 312,
    Zy: 38.6,
    Ix: 3990,
    Iy: 128,
  },
  {
    name: 'W27x94',
    weight: 94,
    A: 27.6,
    d: 26.9,
    bf: 10.0,
    tf: 0.745,
    tw: 0.49,
    Zx: 278,
    Zy: 38.8,
    Ix: 3270,
    Iy: 124,
  },
  {
    name: 'W24x76',
    weight: 76,
    A: 22.4,
    d: 23.9,
    bf: 8.99,
    tf: 0.68,
    tw: 0.44,
    Zx: 200,
    Zy: 28.6,
    Ix: 2100,
    Iy: 82.5,
  },
  {
    name: 'W21x62',
    weight: 62,
    A: 18.3,
    d: 21.0,
    bf: 8.24,
    tf: 0.615,
    tw: 0.4,
    Zx: 144,
    Zy: 21.7,
    Ix: 1330,
    Iy: 57.5,
  },
] as const;

const below = (computed: number, table: number): number => 100 * (1 - computed / table);

describe('rolled shapes against the AISC Manual tables: only the fillets are missing', () => {
  for (const shape of AISC) {
    it(shape.name, () => {
      const section = iSection(shape.d, shape.bf, shape.tf, shape.tw);
      const strong = bendingProperties(section, 'horizontal');
      const weak = bendingProperties(section, 'vertical');
      // Zx 1.0 to 1.6 % below the table (its dimensions are rounded too), Zy within 0.7 %.
      expect(below(strong.plasticModulus, shape.Zx)).toBeGreaterThan(0.95);
      expect(below(strong.plasticModulus, shape.Zx)).toBeLessThan(1.6);
      expect(Math.abs(below(weak.plasticModulus, shape.Zy))).toBeLessThan(0.7);
      // Fillets lie far from the strong axis's plastic axis but nearer than the flanges, and on the weak axis.
      expect(below(strong.inertia, shape.Ix)).toBeGreaterThan(0.4);
      expect(below(strong.inertia, shape.Ix)).toBeLessThan(2);
      // Tables round bf to three figures (W30x99: 10.45 in is printed 10.5), which Iy feels three times over.
      expect(Math.abs(below(weak.inertia, shape.Iy))).toBeLessThan(1.5);
      expect(below(strong.area, shape.A)).toBeGreaterThan(0);
      expect(below(strong.area, shape.A)).toBeLessThan(2.6);
      expect(weak.area).toBeCloseTo(strong.area, 12);
      // A table row with a wrong dimension shows in the weight: 3.403 lb/ft per square inch of steel.
      expect(Math.abs(3.403 * shape.A - shape.weight)).toBeLessThan(1.2);
    });
  }

  it('notices a copied row with a wrong depth and flange (W36x150 given as 36.33 deep, 1.128 thick)', () => {
    const wrong = bendingProperties(iSection(36.33, 12, 1.128, 0.625), 'horizontal');
    expect(below(wrong.plasticModulus, 581)).toBeLessThan(-5);
    expect(3.403 * wrong.area).toBeGreaterThan(160);
  });
});

describe('closed forms', () => {
  it('a flange plate in its own plane: Z = t·b²/4, I = t·b³/12, S = t·b²/6', () => {
    const p = bendingProperties(plateSection(8.99, 0.68), 'vertical');
    expect(p.plasticModulus).toBeCloseTo((0.68 * 8.99 ** 2) / 4, 12);
    expect(p.inertia).toBeCloseTo((0.68 * 8.99 ** 3) / 12, 11);
    expect(p.elasticModulus).toBeCloseTo((0.68 * 8.99 ** 2) / 6, 12);
    expect(p.plasticModulus / p.elasticModulus).toBeCloseTo(1.5, 12);
  });

  // Three-plate formulas of any mechanics text: b·t·(d − t) + tw·(d − 2t)²/4 and t·b²/2 + (d − 2t)·tw²/4.
  for (const { name, d, bf, tf, tw } of AISC) {
    it(`${name}: three-plate plastic moduli`, () => {
      const section = iSection(d, bf, tf, tw);
      const zx = bf * tf * (d - tf) + (tw * (d - 2 * tf) ** 2) / 4;
      const zy = (tf * bf ** 2) / 2 + ((d - 2 * tf) * tw ** 2) / 4;
      expect(bendingProperties(section, 'horizontal').plasticModulus).toBeCloseTo(zx, 9);
      expect(bendingProperties(section, 'vertical').plasticModulus).toBeCloseTo(zy, 10);
    });
  }

  // Worked apart in exact arithmetic from "the plastic axis halves the area": area, axis from the outer
  // flange face, Z about the horizontal axis, Z about the vertical axis (inches).
  const tees = [
    [8.99, 0.68, 3, 0.44, 7.4332, 0.41342, 3.4196, 13.885],
    [12, 0.94, 6, 0.625, 15.03, 0.62625, 15.37, 34.426],
    [10, 1, 10, 1, 20, 1, 55, 27.5],
    [6, 0.5, 6, 0.5, 6, 0.5, 9.75, 4.875],
    [8.99, 0.68, 20, 0.44, 14.913, 3.7332, 85.977, 14.707],
  ] as const;
  for (const [bf, tf, hs, tw, area, axis, zHorizontal, zVertical] of tees) {
    it(`tee ${bf} × ${tf} with stem ${hs} × ${tw}`, () => {
      const flat = bendingProperties(teeSection(bf, tf, hs, tw), 'horizontal');
      const upright = bendingProperties(teeSection(bf, tf, hs, tw), 'vertical');
      const agrees = (value: number, published: number) =>
        expect(Math.abs(value / published - 1)).toBeLessThan(6e-5);
      agrees(flat.area, area);
      agrees(flat.plasticAxis, axis);
      agrees(flat.plasticModulus, zHorizontal);
      agrees(upright.plasticModulus, zVertical);
    });
  }

  it('two separate plates: the modulus does not depend on where in the gap the axis is put', () => {
    const pair: Rectangle[] = [
      { across: 0, up: 0.5, width: 4, height: 1 },
      { across: 0, up: 9.5, width: 4, height: 1 },
    ];
    const p = bendingProperties(pair, 'horizontal');
    expect(p.plasticAxis).toBeCloseTo(5, 12);
    expect(p.plasticModulus).toBeCloseTo(4 * 9, 12);
  });

  it('turning a section by 90° swaps its axes', () => {
    const section = teeSection(12, 0.94, 6, 0.625);
    const turned = section.map((r) => ({ across: r.up, up: r.across, width: r.height, height: r.width }));
    const a = bendingProperties(section, 'horizontal');
    const b = bendingProperties(turned, 'vertical');
    expect(b).toEqual(a);
  });
});
