import { describe, expect, it } from 'vitest';
import {
  celsiusFromFahrenheit,
  fahrenheitFromCelsius,
  KIP,
  KSI,
  POUND_FORCE,
} from '../../src/units/factors.ts';
import {
  formatAngle,
  formatArea,
  formatDoubted,
  formatForce,
  formatMilliradians,
  formatPressure,
  formatStress,
  formatTemperature,
} from '../../src/units/format-quantity.ts';
import { parseQuantity } from '../../src/units/parse-quantity.ts';

/** Factors as NIST SP 811 (2008) appendix B.8 prints them, from memory of the document; seven digits there. */
describe('factors against NIST SP 811, from memory', () => {
  it('pound-force 4.448222 N, kip 4.448222e3 N, ksi 6.894757e6 Pa', () => {
    expect(POUND_FORCE / 4.448222).toBeCloseTo(1, 6);
    expect(KIP / 4.448222e3).toBeCloseTo(1, 6);
    expect(KSI / 6.894757e6).toBeCloseTo(1, 6);
  });

  it('temperature: 32 F is 0 C, 212 F is 100 C, -40 is -40', () => {
    expect([32, 212, -40].map(celsiusFromFahrenheit)).toEqual([0, 100, -40]);
    expect([0, 100, -40].map(fahrenheitFromCelsius)).toEqual([32, 212, -40]);
  });
});

describe('parseQuantity', () => {
  const value = (text: string, kind: Parameters<typeof parseQuantity>[1], unit: string) => {
    const parsed = parseQuantity(text, kind, unit);
    if (!parsed.ok) throw new Error(parsed.expected);
    return parsed.value;
  };

  it('reads units, or the one given for a bare number', () => {
    expect(value('36 ksi', 'stress', 'MPa') / KSI).toBeCloseTo(36, 12);
    expect(value('36', 'stress', 'ksi') / KSI).toBeCloseTo(36, 12);
    expect(value('250 MPa', 'stress', 'ksi')).toBe(250e6);
    expect(value('12.7 in2', 'area', 'mm2')).toBeCloseTo(12.7 * 6.4516e-4, 12);
    expect(value('25 kip', 'force', 'kN')).toBeCloseTo(111205.5, 0);
    expect(value('68 °F', 'temperature', 'c')).toBe(20);
    expect(value('45°', 'angle', 'rad')).toBeCloseTo(Math.PI / 4, 12);
  });

  it('refuses blanks, other kinds and words', () => {
    for (const text of ['', ' ', 'thirty-six', '36 ft', '36 ksi ksi', '1e3', 'NaN']) {
      expect(parseQuantity(text, 'stress', 'ksi').ok).toBe(false);
    }
  });
});

describe('formatting', () => {
  it('writes the job units and never NaN', () => {
    expect(formatStress(36 * KSI, 'us')).toBe('36 ksi');
    expect(formatStress(250e6, 'si')).toBe('250 MPa');
    expect(formatForce(25 * KIP, 'us')).toBe('25 kip');
    expect(formatPressure(2.4 * KSI, 'us')).toBe('2400 psi');
    expect(formatPressure(16.5e6, 'si')).toBe('165 bar');
    expect(formatArea(12.7 * 6.4516e-4, 'us')).toBe('12.7 in²');
    expect(formatTemperature(20, 'us')).toBe('68 °F');
    expect(formatAngle(0.03)).toBe('1.72°');
    expect(formatAngle(-1e-9)).toBe('0.00°');
    expect(formatDoubted(14.2, 3.4)).toBe('14 ± 3');
    expect(formatDoubted(5.21, 0.42)).toBe('5.2 ± 0.4');
    expect(formatDoubted(5.21, 0.001)).toBe('5.2 ± 0.1');
    expect(formatMilliradians(0.0301)).toBe('30.1 mrad');
    for (const format of [formatStress, formatForce, formatPressure, formatArea, formatTemperature]) {
      expect(format(Number.NaN, 'us')).toBe('–');
    }
  });
});
