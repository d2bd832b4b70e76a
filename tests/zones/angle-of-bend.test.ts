import { describe, expect, it } from 'vitest';
import type { Zone } from '../../src/analysis.ts';
import { degreeOfDamage, degreeOfDamageU } from '../../src/zones/degree-of-damage.ts';
import { angleFindings } from '../../src/zones/findings.ts';
import { fitOf, LINE } from '../line-fit-builder.ts';

// FHWA-IF-99-004 / FHWA-IF-08-999 (formula from memory): offsets 0 and 2.5 in 120 in apart, 3 and 0.25 in 132 in apart
// give 0.0416606 rad; u with 1/16 in a reading.
const published = {
  angle: degreeOfDamage({ y1: 0, y2: 2.5, length: 120 }, { y3: 3, y4: 0.25, length: 132 }),
  u: degreeOfDamageU([1 / 16, 1 / 16, 1 / 16, 1 / 16], 120, 132),
};
const zone = (rotation: number, changes: Partial<Zone> = {}): Zone => ({
  ...fitOf([{ cycle: 0, shape: () => 0, zones: [{ zone: 'A', rotation, u: 0.002 }] }]).zones[0]!,
  degreeOfDamage: published,
  ...changes,
});
const codes = (one: Zone) => angleFindings(LINE, [one]).map((finding) => finding.code);

describe('published angle of bend against the fitted rotation', () => {
  it('is silent where they agree within three combined u', () => {
    // u of the angle: 1/16·√2·√(1/120² + 1/132²) = 0.995 mrad; with 2 mrad, 2.234; three of them, 6.70 mrad.
    expect(published.u).toBeCloseTo(0.000995, 6);
    expect(codes(zone(0.0416606))).toEqual([]);
    expect(codes(zone(0.0416606 + 0.0066))).toEqual([]);
    expect(codes(zone(0.0416606 + 0.0068))).toEqual(['angle-of-bend-disagrees']);
    expect(codes(zone(0.0416606 - 0.0068))).toEqual(['angle-of-bend-disagrees']);
  });

  it('says both values with their u', () => {
    const [finding] = angleFindings(LINE, [zone(0.055)]);
    expect(finding!.message).toContain('is 2.39° (u 0.06°)');
    expect(finding!.message).toContain('is 3.15° (u 0.11°)');
    expect(finding!.message).toContain('differ by 0.76°, 6.0 times their combined u');
    expect(finding).toMatchObject({ severity: 'note', line: LINE.name });
  });

  it('says nothing from reaches too short, of a bend that is not plastic, or without the angle', () => {
    const short = { angle: 0.02, u: degreeOfDamageU([1 / 16, 1 / 16, 1 / 16, 1 / 16], 18, 24) };
    expect(codes(zone(0.055, { degreeOfDamage: short }))).toEqual([]);
    expect(codes(zone(0.055, { class: 'elastic' }))).toEqual([]);
    expect(codes(zone(0.055, { degreeOfDamage: null }))).toEqual([]);
  });
});
