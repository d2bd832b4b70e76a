import { describe, expect, it } from 'vitest';
import {
  columnStraightness,
  eighthPerFiveFeet,
  eighthPerTenFeet,
  flangeTilt,
  rolledSectionStraightness,
  thousandth,
  unstiffenedWebFlatness,
} from '../../src/job/fabrication-tolerances.ts';
import { PRESET_KEYS, PRESETS, presetRules } from '../../src/job/presets.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { LINE, MEMBER } from '../line-fit-builder.ts';

const facts = { units: 'us', member: MEMBER, lines: [LINE] } as const;
const inches = (metres: number): number => metres / INCH;

describe('worked numbers of fabrication tolerances', () => {
  it('ASTM A6 sweep and camber, flange 6 in and wider; AWS D1.5 girder sweep (from memory of both)', () => {
    for (const [feet, limit] of [
      [20, 0.25],
      [35, 0.4375],
      [40, 0.5],
      [60, 0.75],
      [85, 1.0625],
    ]) {
      expect(inches(eighthPerTenFeet(feet! * FOOT))).toBeCloseTo(limit!, 9);
    }
  });

  it('ASTM A6 sweep, flange under 6 in (from memory of it)', () => {
    expect([20, 40, 60].map((feet) => inches(eighthPerFiveFeet(feet * FOOT)))).toEqual(
      [0.5, 1, 1.5].map((v) => expect.closeTo(v, 9)),
    );
  });

  it('welded columns (from memory of AWS D1.5 3.5 and D1.1)', () => {
    expect([20, 30, 40, 50, 75].map((feet) => inches(columnStraightness(feet * FOOT)))).toEqual(
      [0.25, 0.375, 0.375, 0.4375, 0.75].map((v) => expect.closeTo(v, 9)),
    );
  });

  it('L/1000 (from memory of AISC 303 6.4.2; UK NSSS 5, 9 and 12 m)', () => {
    expect([20, 40, 60].map((feet) => inches(thousandth(feet * FOOT)))).toEqual(
      [0.24, 0.48, 0.72].map((v) => expect.closeTo(v, 9)),
    );
    expect([5, 9, 12].map((m) => thousandth(m) * 1000)).toEqual([5, 9, 12]);
  });

  it('flange tilt max(b/100, 1/4 in) (from memory of AWS D1.1) and web D/150 (D1.1 5.23.6.2 as quoted)', () => {
    expect([12, 24, 30].map((b) => inches(flangeTilt(b * INCH)))).toEqual(
      [0.25, 0.25, 0.3].map((v) => expect.closeTo(v, 9)),
    );
    expect([34.02, 60, 72].map((d) => inches(unstiffenedWebFlatness(d * INCH)))).toEqual(
      [0.2268, 0.4, 0.48].map((v) => expect.closeTo(v, 9)),
    );
  });

  it('EN 10034: 0.30 % to 180 mm (27 mm at 9 m), 0.10 % above 360 mm', () => {
    expect([5, 9, 12].map((m) => rolledSectionStraightness(m, 0.18) * 1000)).toEqual(
      [15, 27, 36].map((v) => expect.closeTo(v, 9)),
    );
    expect(rolledSectionStraightness(9, 0.4) * 1000).toBeCloseTo(9, 9);
    expect(rolledSectionStraightness(9, 0.3) * 1000).toBeCloseTo(13.5, 9);
  });
});

describe('presets', () => {
  it('SPD 4-100: sweep 1/2 in in 20 ft and over the length, tilt 3/8, plumb and web 1/4', () => {
    const rules = presetRules('straightened-spd-4-100', facts)!;
    expect(rules.map((r) => [r.kind, r.over.kind, inches(r.limit), r.line])).toEqual([
      ['sweep', 'whole-line', 0.5, 'bottom-flange'],
      ['sweep', 'chord', 0.5, 'bottom-flange'],
      ['tilt', 'whole-line', expect.closeTo(0.375, 9), null],
      ['plumb', 'whole-line', 0.25, null],
      ['bulge', 'whole-line', 0.25, null],
    ]);
    expect(rules.every((r) => r.source.includes('SPD 4-100') && r.preset === 'straightened-spd-4-100')).toBe(
      true,
    );
  });

  it('Michigan DOT form 0388: 1/2 in over 20 ft, 3/4 in at impact, tilt 1/4, plumb and web 1/2', () => {
    const rules = presetRules('straightened-form-0388', facts)!;
    expect(rules.map((r) => [r.kind, r.over.kind, inches(r.limit)])).toEqual([
      ['sweep', 'chord', 0.5],
      ['sweep', 'impact', expect.closeTo(0.75, 9)],
      ['tilt', 'whole-line', 0.25],
      ['plumb', 'whole-line', 0.5],
      ['bulge', 'whole-line', 0.5],
    ]);
    expect(rules[0]!.over).toEqual({ kind: 'chord', length: 20 * FOOT });
  });

  it('what is remembered and not read says so in its source', () => {
    for (const preset of PRESETS) {
      const source = presetRules(preset.key, facts)![0]!.source;
      if (preset.confidence === 'memory') expect(source).toMatch(/^from memory of /);
      if (preset.confidence === 'second-hand') expect(source).toContain('as quoted by others');
    }
  });

  it('keys are unique and an unknown key is null', () => {
    expect(new Set(PRESET_KEYS).size).toBe(PRESET_KEYS.length);
    expect(presetRules('no-such-set', facts)).toBeNull();
  });
});
