import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  decimalUnit,
  formatDecimal,
  formatLength,
  formatUncertainty,
} from '../../src/units/format-length.ts';
import { parseLength } from '../../src/units/parse-length.ts';

/** Formatting then reading gives the value back to half the resolution, and formatting again the same text. */
const INCH = 0.0254;
const settings = { numRuns: 3000, seed: 7 } as const;
const metres = fc.oneof(
  fc.double({ min: -60, max: 60, noNaN: true }),
  fc.integer({ min: -20_000, max: 20_000 }).map((ticks) => (ticks / 64) * INCH),
  fc.integer({ min: -60_000, max: 60_000 }).map((ticks) => ticks / 1000),
);
const as = fc.constantFrom('offset' as const, 'station' as const);
const sign = fc.constantFrom('always' as const, 'negative' as const);

function back(text: string, units: 'us' | 'si', how: 'offset' | 'station'): number {
  const parsed = parseLength(text, { unit: decimalUnit(units, how), station: how === 'station' });
  if (!parsed.ok) throw new Error(`${text}: ${parsed.expected}`);
  return parsed.metres;
}

describe('format, then read', () => {
  it('trade fractions', () => {
    fc.assert(
      fc.property(
        metres,
        as,
        sign,
        fc.constantFrom(2, 4, 8, 16, 32, 64),
        fc.boolean(),
        (value, how, signs, fraction, unit) => {
          // Without its unit a station stays feet-inches; an offset is read in inches.
          const format = { units: 'us', as: how, fraction, sign: signs, unit } as const;
          const text = formatLength(value, format);
          const read = back(text, 'us', how);
          expect(Math.abs(read - value)).toBeLessThanOrEqual(INCH / fraction / 2 + 1e-9);
          expect(formatLength(read, format)).toBe(text);
        },
      ),
      settings,
    );
  });

  it('millimetres and metres', () => {
    fc.assert(
      fc.property(
        metres,
        as,
        sign,
        fc.constantFrom(0, 1, 2, 3),
        fc.boolean(),
        (value, how, signs, digits, unit) => {
          const format = { units: 'si', as: how, digits, sign: signs, unit } as const;
          const text = formatLength(value, format);
          const read = back(text, 'si', how);
          expect(Math.abs(read - value)).toBeLessThanOrEqual(
            (how === 'offset' ? 0.001 : 1) * 10 ** -digits * 0.5 + 1e-9,
          );
          expect(formatLength(read, format)).toBe(text);
        },
      ),
      settings,
    );
  });

  it('a dimension of steel loses nothing but its .0', () => {
    const dimension = (value: number) => formatLength(value, { units: 'si', as: 'offset', trim: true });
    expect([0.3, 0.2286, 0, 0.1].map(dimension)).toEqual(['300 mm', '228.6 mm', '0 mm', '100 mm']);
    fc.assert(
      fc.property(metres, (value) => {
        expect(back(dimension(value), 'si', 'offset')).toBe(
          back(formatLength(value, { units: 'si', as: 'offset' }), 'si', 'offset'),
        );
      }),
      settings,
    );
  });

  it('decimals for hovers', () => {
    fc.assert(
      fc.property(metres, as, fc.constantFrom('us' as const, 'si' as const), (value, how, units) => {
        const text = formatDecimal(value, { units, as: how });
        const half = {
          usoffset: 0.0005 * INCH,
          usstation: 0.005 * 0.3048,
          sioffset: 0.005e-3,
          sistation: 0.0005,
        }[`${units}${how}`];
        expect(Math.abs(back(text, units, how) - value)).toBeLessThanOrEqual(half + 1e-9);
      }),
      settings,
    );
  });

  it('uncertainties keep two significant digits down to a ten-thousandth', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.001 * INCH, max: 0.1, noNaN: true }), (u) => {
        expect(Math.abs(back(formatUncertainty(u, 'us'), 'us', 'offset') / u - 1)).toBeLessThan(0.051);
      }),
      settings,
    );
  });

  it('never shows NaN', () => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY]) {
      for (const units of ['us', 'si'] as const) {
        expect(formatLength(value, { units, as: 'offset' })).toBe('–');
        expect(formatDecimal(value, { units, as: 'station' })).toBe('–');
        expect(formatUncertainty(value, units)).toBe('–');
      }
    }
  });
});
