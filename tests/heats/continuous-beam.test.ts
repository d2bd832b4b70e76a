import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { continuousBeam } from '../../src/heats/continuous-beam.ts';
import { jackingCeiling } from '../../src/heats/jacking-ceiling.ts';
import { governingMoment } from '../../src/heats/moment-set-up.ts';
import { seededUniform } from '../../src/maths/seeded.ts';
import { bendingProperties } from '../../src/section/rectangles.ts';
import { plateSection } from '../../src/section/shapes.ts';
import { stiffnessBeam } from './stiffness-beam.ts';
import { INCH, KIP, KSI, PSI } from './units.ts';

const rigid = (stations: readonly number[]) => stations.map((station) => ({ station, compliance: 0 }));
const equal = (spans: number) => rigid(Array.from({ length: spans + 1 }, (_, i) => i));

/** A uniform load of 1 over these spans of length 1, as many small forces: moments are off by less than 1e-6. */
function uniform(spans: readonly number[]) {
  const pieces = 500;
  return spans.flatMap((span) =>
    Array.from({ length: pieces }, (_, k) => ({ station: span + (k + 0.5) / pieces, force: 1 / pieces })),
  );
}

describe('continuous beams against handbook tables', () => {
  // Table 2.1 of a handbook of civil engineering formulas, p. 50, read in a public copy: uniformly loaded beams over
  // equal spans, moment over each support in w·l² and shear either side of each support in w·l.
  const TABLE = [
    { moments: [1 / 8], reactions: [3 / 8, 10 / 8] },
    { moments: [1 / 10, 1 / 10], reactions: [4 / 10, 11 / 10] },
    { moments: [3 / 28, 2 / 28, 3 / 28], reactions: [11 / 28, 32 / 28, 26 / 28] },
    { moments: [4 / 38, 3 / 38, 3 / 38, 4 / 38], reactions: [15 / 38, 43 / 38, 37 / 38] },
    { moments: [11 / 104, 8 / 104, 9 / 104], reactions: [41 / 104, 118 / 104, 100 / 104, 106 / 104] },
    { moments: [15 / 142, 11 / 142, 12 / 142], reactions: [56 / 142, 161 / 142, 137 / 142, 143 / 142] },
  ];
  for (const [i, row] of TABLE.entries()) {
    it(`${i + 2} equal spans, uniform load`, () => {
      const spans = i + 2;
      const beam = continuousBeam(equal(spans), uniform(Array.from({ length: spans }, (_, k) => k)));
      row.moments.forEach((m, k) => {
        expect(beam.momentAt(k + 1)).toBeCloseTo(-m, 5);
      });
      row.reactions.forEach((r, k) => {
        expect(beam.reactions[k]!.force).toBeCloseTo(r, 5);
      });
    });
  }

  it('three equal spans, uniform load on two at one side (a beam table read in a public copy)', () => {
    const beam = continuousBeam(equal(3), uniform([0, 1]));
    const reactions = beam.reactions.map((r) => r.force);
    for (const [k, printed] of [0.383, 1.2, 0.45, -0.033].entries()) {
      expect(Math.abs(reactions[k]! - printed)).toBeLessThan(5.1e-4);
    }
    expect(Math.abs(beam.momentAt(0.383) - 0.0735)).toBeLessThan(1e-4);
    // Printed at 0.538 of the second span: two digits changed places, its shear of 0.583 is nought at 0.583.
    expect(Math.abs(beam.momentAt(1.583) - 0.0534)).toBeLessThan(1.1e-4);
    expect(Math.abs(beam.momentAt(2) + 0.0333)).toBeLessThan(5e-5);
  });

  // Three-moment equation by hand.
  it('two equal spans, one force at midspan: −3PL/32 over the middle, 13PL/64 under the force', () => {
    const beam = continuousBeam(equal(2), [{ station: 0.5, force: 1 }]);
    expect(beam.momentAt(1)).toBeCloseTo(-3 / 32, 12);
    expect(beam.momentAt(0.5)).toBeCloseTo(13 / 64, 12);
    // Reactions 13/32, 11/16, −3/32 (AISC Manual Table 3-23, case 29, from memory of it).
    expect(beam.reactions.map((r) => r.force * 32)).toEqual([
      expect.closeTo(13, 10),
      expect.closeTo(22, 10),
      expect.closeTo(-3, 10),
    ]);
  });

  it('two equal spans, a force anywhere: −P·a·b·(l + a)/(4l²) over the middle (AISC Table 3-23, case 30, from memory)', () => {
    for (const a of [0.13, 0.41, 0.77]) {
      const beam = continuousBeam(equal(2), [{ station: a, force: 1 }]);
      expect(beam.momentAt(1)).toBeCloseTo((-a * (1 - a) * (1 + a)) / 4, 12);
    }
  });

  it('three equal spans, a force at the middle of an end span: −PL/10, +PL/40, PL/5', () => {
    const beam = continuousBeam(equal(3), [{ station: 0.5, force: 1 }]);
    expect(beam.momentAt(1)).toBeCloseTo(-0.1, 12);
    expect(beam.momentAt(2)).toBeCloseTo(0.025, 12);
    expect(beam.momentAt(0.5)).toBeCloseTo(0.2, 12);
  });

  it('a jack set for fixed ends passes the share on a flange that runs on: 20/20/20 ft, end bay, 8/5 of it', () => {
    const jack = [{ station: 0.5, force: 1 }];
    const fixed = governingMoment({ kind: 'fixed', from: 0, to: 1 }, jack).moment;
    const on = governingMoment({ kind: 'continuous', from: 0, to: 3, supports: equal(3) }, jack).moment;
    expect(on / fixed).toBeCloseTo(1.6, 12);
  });

  it('a support that gives all but lets go; one that hardly gives holds', () => {
    const on = (compliance: number) =>
      continuousBeam(
        [
          { station: 0, compliance: 0 },
          { station: 4, compliance },
          { station: 10, compliance: 0 },
        ],
        [{ station: 3, force: 1 }],
      ).momentAt(3);
    expect(on(1e9)).toBeCloseTo((3 * 7) / 10, 6);
    expect(on(1e-9)).toBeCloseTo(on(0), 6);
    expect(on(5)).toBeGreaterThan(on(0));
    expect(on(5)).toBeLessThan(on(1e9));
  });

  it('refuses a force beyond the supports', () => {
    expect(() => continuousBeam(equal(2), [{ station: 2.1, force: 1 }])).toThrow(RangeError);
  });
});

describe('continuous beams against matrix stiffness', () => {
  it('moments and support forces of 60 odd beams agree to nine digits', () => {
    const random = seededUniform(15);
    for (let i = 0; i < 60; i++) {
      const spans = 1 + Math.floor(6 * random());
      const stations = [0];
      for (let k = 0; k < spans; k++) stations.push(stations[k]! + 1.5 + 9 * random());
      const supports = stations.map((x, k) => ({
        x,
        stiffness: i % 2 === 0 || k === 0 || k === spans ? null : 0.02 + 3 * random(),
      }));
      const forces = Array.from({ length: 1 + Math.floor(3 * random()) }, () => ({
        x: stations.at(-1)! * (0.02 + 0.96 * random()),
        force: random() - 0.3,
      }));
      const other = stiffnessBeam(supports, forces, 1);
      const beam = continuousBeam(
        supports.map((s) => ({ station: s.x, compliance: s.stiffness === null ? 0 : 1 / s.stiffness })),
        forces.map((f) => ({ station: f.x, force: f.force })),
      );
      other.reactions.forEach((r, k) => {
        expect(beam.reactions[k]!.force).toBeCloseTo(r, 9);
      });
      for (let k = 0; k <= 30; k++) {
        const x = (stations.at(-1)! * k) / 30;
        expect(beam.momentAt(x)).toBeCloseTo(other.momentAt(x), 8);
      }
    }
  });
});

/** Inches, kips, ksi. Made by worked/make-jacking.py: matrix stiffness, strips and a fine grid, nothing of ours. */
interface WorkedCase {
  readonly supports: readonly { readonly x: number; readonly stiffness: number | null }[];
  readonly b: number;
  readonly t: number;
  readonly fy: number;
  readonly fraction: number;
  readonly jacks: readonly { readonly x: number; readonly area: number }[];
  readonly psi: number;
  readonly governsAt: number;
  readonly reactions: readonly number[];
}
const WORKED = JSON.parse(
  readFileSync(new URL('worked/jacking.json', import.meta.url), 'utf8'),
) as readonly WorkedCase[];

describe('thirty worked jacking cases', () => {
  it('are thirty', () => {
    expect(WORKED).toHaveLength(30);
  });
  for (const [i, w] of WORKED.entries()) {
    it(`case ${i + 1}: ${w.supports.length - 1} spans, ${w.jacks.length} jacks`, () => {
      const properties = bendingProperties(plateSection(w.b, w.t), 'vertical');
      const rigidity = 29000 * properties.inertia;
      const ceiling = jackingCeiling({
        plasticModulus: properties.plasticModulus * INCH ** 3,
        yieldStress: w.fy * KSI,
        limit: { fraction: w.fraction, source: 'worked case' },
        setUp: {
          kind: 'continuous',
          from: 0,
          to: w.supports.at(-1)!.x * INCH,
          supports: w.supports.map((s) => ({
            station: s.x * INCH,
            compliance: s.stiffness === null ? 0 : (rigidity / s.stiffness) * INCH ** 3,
          })),
        },
        jacks: w.jacks.map((jack, k) => ({
          name: `jack ${k + 1}`,
          station: jack.x * INCH,
          ramArea: jack.area * INCH ** 2,
        })),
        gaugeDivision: 1,
      });
      expect(Math.abs(ceiling.exactPressure / PSI / w.psi - 1)).toBeLessThan(1e-6);
      expect(ceiling.governsAt / INCH).toBeCloseTo(w.governsAt, 4);
      w.reactions.forEach((kips, k) => {
        expect(ceiling.reactions[k]!.force / KIP).toBeCloseTo(kips, 3);
      });
    });
  }
});
