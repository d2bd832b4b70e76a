import { describe, expect, it } from 'vitest';
import type { PanelSurvey } from '../../src/analysis.ts';
import { yieldedOf } from '../../src/panels/yielded.ts';

const INCH = 0.0254;
const KSI = 6.894757293168361e6;

/** A plate at one place, bent there; its crest is 1 in toward the positive side. */
const bent = (along: number, up: number, twist: number, out = 1) =>
  ({
    map: { deviation: [out * INCH] },
    crest: { deviation: INCH },
    bending: [{ along: along / INCH, up: up / INCH, twist: twist / INCH, u: 0 }],
  }) as unknown as PanelSurvey;

describe('where a plate has yielded', () => {
  it('is where its radius is under E·t/(2·Fy): 176 in for 7/16 in of 36 ksi steel (elementary bending, by hand)', () => {
    const radius = (29000 * 0.4375) / (2 * 36);
    expect(radius).toBeCloseTo(176.2, 1);
    const { ratio, crease } = yieldedOf(bent(1 / radius, 0, 0), 0.4375 * INCH, 36 * KSI, 29000 * KSI);
    expect(ratio[0]).toBeCloseTo(1, 9);
    expect(crease[0]).toBe(true);
  });

  it('goes by the principal curvature: pure twist k is bending of k and -k at 45 degrees (Mohr)', () => {
    const turned = yieldedOf(bent(0, 0, 0.01), 0.4375 * INCH, 36 * KSI, 29000 * KSI);
    const straight = yieldedOf(bent(0.01, -0.01, 0), 0.4375 * INCH, 36 * KSI, 29000 * KSI);
    expect(turned.ratio[0]).toBeCloseTo(straight.ratio[0]!, 9);
    expect(turned.crease[0]).toBe(false);
  });

  it('tells the creases from the dome: a fold, and the foot where the plate bends back, are creases', () => {
    const crease = (along: number, up: number) =>
      yieldedOf(bent(along, up, 0), 0.4375 * INCH, 36 * KSI, 29000 * KSI).crease[0];
    // The top of a bulge toward the positive side has its curvature negative, both ways alike.
    expect(crease(-0.01, -0.008)).toBe(false);
    expect(crease(-0.01, -0.002)).toBe(true);
    expect(crease(0.01, 0.008)).toBe(true);
    expect(crease(0.01, -0.004)).toBe(true);
    // A foot may dip a hair to the other side of flat; a bulge to the other side has its dome there.
    const [foot, other] = [-0.02, -0.5].map((out) =>
      yieldedOf(bent(0.01, 0.008, 0, out), 0.4375 * INCH, 36 * KSI, 29000 * KSI),
    );
    expect(foot!.crease[0]).toBe(true);
    expect(other!.crease[0]).toBe(false);
  });
});
