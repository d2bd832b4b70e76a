import { describe, expect, it } from 'vitest';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import { isUnknownGrade, temperatureLimit } from '../../src/heats/temperature-limit.ts';
import { celsius, DEGREE, INCH } from './units.ts';

describe('temperature limit by grade', () => {
  it('1200 °F for steels that are not quenched and tempered (FHWA-IF-08-999 chapter 5; grades from memory)', () => {
    for (const grade of [
      'A36',
      'ASTM A36',
      'A7',
      'A572 Gr. 50',
      'A588',
      'A709 Grade 50W',
      'a709-36',
      'M270 Gr 50',
    ]) {
      expect(temperatureLimit(grade)!.value, grade).toBeCloseTo(celsius(1200), 6);
    }
    // The source gives the same limit as 650 °C.
    expect(temperatureLimit('A36')!.value).toBeCloseTo(650, -1);
  });

  it('1100 °F for quenched and tempered steel (AWS D1.5, second-hand; A514 from memory of FHWA-IF-08-999)', () => {
    for (const grade of ['A514', 'A709 Gr 100W', 'A709 Grade 100']) {
      expect(temperatureLimit(grade)!.value, grade).toBeCloseTo(celsius(1100), 6);
      expect(isUnknownGrade(temperatureLimit(grade))).toBe(false);
    }
  });

  it('no built-in limit where published values conflict: grade 70W', () => {
    for (const grade of ['A709 Gr 70W', 'HPS 70W', 'A709 HPS-70W'])
      expect(temperatureLimit(grade), grade).toBeNull();
  });

  it('the lower limit, said to be a stand-in, where the grade is unknown or not given', () => {
    for (const grade of [null, '', 'old steel', 'S355']) {
      expect(temperatureLimit(grade)!.value).toBeCloseTo(celsius(1100), 6);
      expect(isUnknownGrade(temperatureLimit(grade))).toBe(true);
    }
  });
});

describe('limits of heating', () => {
  it('published: below 250 °F before the next heat (state form 0388), open end 3 to 10 in and 12 in apart (SPD 4-100)', () => {
    const limits = heatLimits('A36', 8 * INCH, null);
    expect(limits.coolBelow.value).toBeCloseTo(celsius(250), 9);
    expect(limits.openWidth.low).toBeCloseTo(3 * INCH, 12);
    expect(limits.openWidth.high).toBeCloseTo(10 * INCH, 12);
    expect(limits.spacing.value).toBeCloseTo(12 * INCH, 12);
    expect(heatLimits('A36', 16 * INCH, null).spacing.value).toBeCloseTo(16 * INCH, 12);
    for (const limit of Object.values(limits)) expect(limit.source.length).toBeGreaterThan(20);
  });

  it('the job’s own limits stand before the published ones, with the job’s source', () => {
    const limits = heatLimits('A36', 12 * INCH, {
      maxTemperature: celsius(1100),
      coolBelow: null,
      veeAngle: [0, 20 * DEGREE],
      veeDepth: null,
      openWidth: null,
      spacing: null,
      repairs: null,
      source: 'owner’s special provision, clause 4',
    });
    expect(limits.maxTemperature).toEqual({
      value: celsius(1100),
      source: 'owner’s special provision, clause 4',
    });
    expect(limits.veeAngle.high).toBeCloseTo(20 * DEGREE, 12);
    expect(limits.coolBelow.source).toContain('0388');
  });
});
