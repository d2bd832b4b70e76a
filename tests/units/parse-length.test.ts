import { describe, expect, it } from 'vitest';
import { formatLength } from '../../src/units/format-length.ts';
import { parseLength } from '../../src/units/parse-length.ts';

const inches = (text: string, options: Partial<Parameters<typeof parseLength>[1]> = {}) => {
  const parsed = parseLength(text, { unit: 'in', ...options });
  if (!parsed.ok) throw new Error(`${text}: ${parsed.expected}`);
  return parsed.metres / 0.0254;
};
const refusal = (text: string, options: Partial<Parameters<typeof parseLength>[1]> = {}) => {
  const parsed = parseLength(text, { unit: 'in', ...options });
  if (parsed.ok) throw new Error(`${text} was read as ${parsed.metres} m`);
  return parsed;
};

describe('trade notation (feet, inches and fractions: common practice, no source)', () => {
  it.each([
    [`12'-5 1/2"`, 149.5],
    [`3'-8 9/16"`, 44.5625],
    [`0'-0 1/16"`, 0.0625],
    [`-0'-2 13/16"`, -2.8125],
    [`5'-3 1/2"`, 63.5],
    [`5' 3 1/2`, 63.5],
    [`5'3"`, 63],
    [`5'-1/2"`, 60.5],
    [`5'-3-1/2"`, 63.5],
    ['5 ft 3 in', 63],
    ['5 ft. 3 in.', 63],
    ['5′-3½″', 63.5],
    ['5’ 3 ½”', 63.5],
    ['−0 1/16', -0.0625],
    ['3⁵⁄₁₆', 3.3125],
    ["3 1/2''", 3.5],
    ['3/8', 0.375],
    ['63 1/2', 63.5],
    ['3-5/16"', 3.3125],
    ['1.25 ft', 15],
    // As a program prints the nearest double to 1/10 + 2/10 (IEEE 754).
    ['0.30000000000000004', 0.30000000000000004],
    ['0.30000000000000004 ft', 3.6000000000000005],
    ['5 1/2 ft', 66],
    ['25.4 mm', 1],
    ['2.54cm', 1],
    ['0.0254 m', 1],
    ['+3/8', 0.375],
    ['- 3/8', -0.375],
    ['.5', 0.5],
    ['3.', 3],
  ])('%s', (text, expected) => {
    expect(inches(text)).toBeCloseTo(expected, 10);
  });

  it('reads the metres of a foot and an inch exactly (international foot 0.3048 m, NIST SP 811 B.8, from memory)', () => {
    expect(parseLength('1', { unit: 'ft' })).toEqual({ ok: true, metres: 0.3048, unit: 'ft' });
    expect(parseLength('1', { unit: 'in' })).toEqual({ ok: true, metres: 0.0254, unit: 'in' });
  });
});

describe('stations (common practice, no source)', () => {
  it('reads 100-ft and 1000-m stations', () => {
    const us = parseLength('12+34.56', { unit: 'ft', station: true });
    expect(us.ok && us.metres / 0.3048).toBeCloseTo(1234.56, 9);
    const si = parseLength('1+234.5', { unit: 'm', station: true });
    expect(si.ok && si.metres).toBeCloseTo(1234.5, 9);
  });

  it('refuses a short plus station and says what it could be', () => {
    expect(refusal('12+6.5', { unit: 'ft', station: true }).suggestion).toBe('12+06.5?');
    expect(refusal('12+06.5').expected).toContain('offset');
  });
});

describe('what is refused', () => {
  it('never reads a blank as zero', () => {
    for (const blank of ['', ' ', '\t', '\u00a0']) expect(refusal(blank).expected).toContain('not a blank');
  });

  it('says both readings of an ambiguous cell', () => {
    expect(refusal('3-5/16').suggestion).toBe('3 5/16 in or 3 ft 5/16 in?');
    expect(refusal('5-3').suggestion).toBe(`5'-3" or 5.3?`);
    expect(refusal('51/8').suggestion).toBe('5 1/8 or 6.375?');
    expect(refusal('5-3-7').suggestion).toBe(`5'-3 7/8" or 5'-3 7/16"?`);
    expect(refusal('5 3/8', { unit: 'ft' }).suggestion).toBe('5 3/8 in or 5.375 ft?');
    expect(refusal('1,234').suggestion).toBe('1234 or 1.234?');
  });

  it('reads dashed lengths only where the job says what they are', () => {
    expect(inches('5-3-7', { dashed: 'eighths' })).toBeCloseTo(63.875, 10);
    expect(inches('5-3-8', { dashed: 'sixteenths' })).toBeCloseTo(63.5, 10);
    expect(refusal('5-3-8', { dashed: 'eighths' }).expected).toContain('under 8');
  });

  it('reads a decimal comma only where it is declared', () => {
    expect(inches('31,5', { decimalComma: true })).toBeCloseTo(31.5, 12);
    expect(refusal('31,5').suggestion).toBe('31.5?');
    expect(refusal('1.234,5', { decimalComma: true }).suggestion).toBe('1234,5?');
  });

  it.each([
    '1e3',
    '0x10',
    'Infinity',
    'NaN',
    '--3',
    '3+1/2',
    '1/0',
    '3 5 /16',
    'n/a',
    '-',
    '=1+1',
    '5\'14"',
    "5.5' 3",
  ])('%s', (text) => {
    expect(refusal(text).ok).toBe(false);
  });
});

describe('formatLength', () => {
  const us = (value: number, as: 'offset' | 'station') => formatLength(value * 0.0254, { units: 'us', as });

  it('carries and reduces fractions', () => {
    expect(us(44.59, 'station')).toBe(`3'-8 9/16"`);
    expect(us(11.97, 'station')).toBe(`1'-0"`);
    expect(us(0.0625, 'station')).toBe(`0'-0 1/16"`);
    expect(us(-2.8125, 'station')).toBe(`-0'-2 13/16"`);
    expect(us(149.5, 'station')).toBe(`12'-5 1/2"`);
    expect(us(3.3125, 'offset')).toBe('3 5/16 in');
    expect(us(-0.0625, 'offset')).toBe('-1/16 in');
    expect(us(-0.01, 'offset')).toBe('0 in');
  });

  it('writes millimetres and metres for si', () => {
    expect(formatLength(0.08413, { units: 'si', as: 'offset' })).toBe('84.1 mm');
    expect(formatLength(9.45, { units: 'si', as: 'station' })).toBe('9.45 m');
    expect(formatLength(Number.NaN, { units: 'si', as: 'station' })).toBe('–');
  });
});
