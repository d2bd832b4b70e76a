import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Key, pressKey } from '../../src/page/keypad.ts';
import { keyOf } from '../../src/page/keys.ts';
import { parseLength } from '../../src/units/parse-length.ts';

/** Presses keys one after another into an empty field. */
function pressed(...names: readonly string[]): string {
  return names.reduce((text, name) => pressKey(text, keyOf(name)!), '');
}

describe('keypad', () => {
  it('writes readings as the trade does', () => {
    expect(pressed('digit 3', 'fraction 5')).toBe('3 5/16');
    expect(pressed('fraction 8')).toBe('1/2');
    expect(pressed('digit 1', 'digit 2', 'fraction 12', 'sign')).toBe('-12 3/4');
    expect(pressed('digit 5', 'feet', 'digit 3', 'fraction 8')).toBe(`5'-3 1/2"`);
    expect(pressed('digit 0')).toBe('0');
    expect(pressed('digit 3', 'fraction 5', 'thirty-second')).toBe('3 11/32');
    expect(pressed('digit 3', 'fraction 5', 'fraction 0')).toBe('3');
    expect(pressed('digit 8', 'digit 4', 'half')).toBe('84.5');
    expect(pressed('fraction 11', 'sign')).toBe('-11/16');
    expect(pressed('digit 0', 'fraction 11', 'sign', 'sign')).toBe('11/16');
    expect(pressed('digit 5', 'feet', 'fraction 11', 'sign')).toBe(`-5'-11/16"`);
  });

  it('rubs out a piece at a time', () => {
    const all = ['digit 5', 'feet', 'digit 3', 'fraction 8', 'sign'];
    expect(pressed(...all, 'back')).toBe(`-5'-3"`);
    expect(pressed(...all, 'back', 'back', 'back', 'back', 'back')).toBe('');
  });

  it('starts anew in a filled field, but the sign and rubbing out work on what is there', () => {
    expect(pressKey('3 5/16', { kind: 'digit', digit: '4' }, true)).toBe('4');
    expect(pressKey('3 5/16', { kind: 'sign' }, true)).toBe('-3 5/16');
    expect(pressKey('3 5/16', { kind: 'back' }, true)).toBe('3');
  });

  it('never rewrites what was typed in another form', () => {
    expect(pressKey('3 in', { kind: 'fraction', sixteenths: 4 })).toBe('3 in');
    expect(pressKey('3 in', { kind: 'back' })).toBe('3 i');
  });

  it('gives the length its keys say, whatever whole inches and sixteenths (0.0254 m an inch, exact by definition)', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 99 }),
        fc.integer({ min: 0, max: 15 }),
        fc.boolean(),
        (inches, over, minus) => {
          const keys = [...String(inches)].map((digit) => `digit ${digit}`);
          const text = pressed(...keys, `fraction ${over}`, ...(minus ? ['sign'] : []));
          const read =
            text === '' || text === '-' ? { ok: true, metres: 0 } : parseLength(text, { unit: 'in' });
          const expected = (minus ? -1 : 1) * (inches + over / 16) * 0.0254;
          return read.ok && Math.abs((read as { metres: number }).metres - expected) < 1e-12;
        },
      ),
      { numRuns: 2000 },
    );
  });

  it('makes only texts that are a length or one in the making, whatever is pressed', () => {
    const names = [
      'digit 0',
      'digit 7',
      'fraction 3',
      'fraction 0',
      'thirty-second',
      'point',
      'half',
      'feet',
      'sign',
      'back',
    ];
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...names), { maxLength: 14 }), (keys) => {
        let text = '';
        for (const name of keys) text = pressKey(text, keyOf(name) as Key);
        expect(text).toMatch(/^-?(?:\d+'-)?(?:\d*\.?\d*)?(?: ?\d+\/(?:2|4|8|16|32))?"?$/);
      }),
    );
  });
});
