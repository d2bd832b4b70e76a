import { describe, expect, it } from 'vitest';
import { bend, createSection, fibreCount, gaussLegendre, yieldCurvature } from './section.ts';

const INCH = 0.0254;
const KSI = 6.894757293168361e6;
const KIP_INCH = 112.98482902761;

/** Moment at a curvature reached in one go, and at another reached from there. */
function path(section: ReturnType<typeof createSection>, ...curvatures: number[]): number[] {
  let plastic = new Float64Array(fibreCount(section));
  return curvatures.map((curvature) => {
    const next = new Float64Array(plastic.length);
    const out = { moment: 0, stiffness: 0 };
    bend(section, curvature, plastic, next, 0, out);
    plastic = next;
    return out.moment;
  });
}

// W24x76 bottom flange, 36 ksi: AISC Manual dimensions.
const flange = { width: 8.99 * INCH, thickness: 0.68 * INCH };
const steel = { elasticModulus: 29000 * KSI, yieldStress: 36 * KSI, hardening: 0 };

describe('flange section', () => {
  it('integrates polynomials exactly (Gauss–Legendre, 12 points: degree 23)', () => {
    const { nodes, weights } = gaussLegendre(12);
    const integral = nodes.reduce((sum, x, i) => sum + weights[i]! * x ** 23, 0);
    expect(integral).toBeCloseTo(1 / 24, 13);
  });

  it('has the plastic moment bf² t Fy / 4 of a flange plate: 494.62 kip-in for a W24x76 (AISC Manual shape table)', () => {
    const section = createSection([flange], steel, 40);
    const [moment] = path(section, 400 * yieldCurvature(section));
    expect(moment! / KIP_INCH).toBeCloseTo(494.62, 0);
    expect(section.plasticModulus / INCH ** 3).toBeCloseTo(13.739, 2);
  });

  it('has the tee plastic modulus 13.885 in³ of an 8.99 x 0.68 flange and 3 x 0.44 stem about the stem axis', () => {
    const section = createSection([flange, { width: 0.44 * INCH, thickness: 3 * INCH }], steel);
    expect(section.plasticModulus / INCH ** 3).toBeCloseTo(13.885, 2);
  });

  // M/My = 3/2 − 1/(2 μ²): rectangle with an elastic core. From memory of Timoshenko, Strength of Materials, Part II.
  it.each([1, 1.5, 2, 3, 5, 10])(
    'follows the elastic-core moment of a rectangle at strain ratio %d',
    (mu) => {
      const section = createSection([flange], steel, 48);
      const yieldMoment = steel.elasticModulus * section.inertia * yieldCurvature(section);
      const [moment] = path(section, mu * yieldCurvature(section));
      expect(moment! / yieldMoment).toBeCloseTo(1.5 - 0.5 / mu ** 2, 2);
    },
  );

  it('springs back elastically: curvature left = curvature reached − M/EI', () => {
    const section = createSection([flange], { ...steel, hardening: 0.01 });
    const EI = steel.elasticModulus * section.inertia;
    const reached = 12 * yieldCurvature(section);
    const [moment] = path(section, reached);
    const [, left] = path(section, reached, reached - moment! / EI);
    expect(Math.abs(left! / moment!)).toBeLessThan(1e-12);
  });

  it('yields again in reverse after two yield strains at the edge (kinematic hardening, Bauschinger effect)', () => {
    const section = createSection([flange], { ...steel, hardening: 0.02 });
    const ky = yieldCurvature(section);
    const EI = steel.elasticModulus * section.inertia;
    const [top, elastic, beyond] = path(section, 8 * ky, 6.001 * ky, 5.5 * ky);
    expect(top! - elastic!).toBeCloseTo(EI * 1.999 * ky, 3);
    expect(top! - beyond!).toBeLessThan(EI * 2.5 * ky * 0.9999);
  });
});
