import { win32 } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shellWord } from '../../src/cli/shell-word.ts';
import { isInside } from '../../src/cli/store/layout.ts';
import { onceLetGo } from '../../src/cli/store/write-atomic.ts';
import { safeCsvName } from '../../src/job/csv-name.ts';
import { KeptFile } from '../../src/ledger/record.ts';

const held = (code: string) => Object.assign(new Error(code), { code });

describe('a rename or removal of a file that another program holds', () => {
  it('is tried again on Windows until it is let go', () => {
    let tries = 0;
    const rename = () => {
      if (++tries < 3) throw held(tries === 1 ? 'EPERM' : 'EBUSY');
    };
    onceLetGo(rename, 'win32');
    expect(tries).toBe(3);
  });

  it('is given up after a second with the error of the system', () => {
    let tries = 0;
    const rename = () => {
      tries++;
      throw held('EACCES');
    };
    expect(() => onceLetGo(rename, 'win32')).toThrow('EACCES');
    expect(tries).toBe(8);
  });

  it('is not tried again for another error, or elsewhere', () => {
    for (const [code, platform] of [
      ['ENOSPC', 'win32'],
      ['EACCES', 'linux'],
    ] as const) {
      let tries = 0;
      const rename = () => {
        tries++;
        throw held(code);
      };
      expect(() => onceLetGo(rename, platform)).toThrow(code);
      expect(tries).toBe(1);
    }
  });
});

/** Windows by its rules for paths, which Node has on every system; Windows itself was not tried. */
describe('names under the rules of Windows', () => {
  it.each([
    ['C:\\Jobs\\Girder 4', 'c:\\jobs\\girder 4\\reports\\daily.html', true],
    ['C:\\Jobs\\Girder 4', 'C:/Jobs/Girder 4/reports/daily.html', true],
    ['C:\\Jobs\\Girder 4', 'C:\\Jobs\\Girder 4', false],
    ['C:\\Jobs\\Girder 4', 'C:\\Jobs\\Girder 4 copy\\daily.html', false],
    ['C:\\Jobs\\Girder 4', 'D:\\Jobs\\Girder 4\\daily.html', false],
    ['C:\\Jobs\\Girder 4', '\\\\server\\share\\daily.html', false],
    ['C:\\Jobs\\Girder 4', 'C:\\Jobs\\Girder 4\\..\\daily.html', false],
    ['C:\\Jobs\\Girder 4', 'C:\\Jobs\\Girder 4\\..daily.html', true],
  ])('%s holds %s: %s', (folder, file, inside) => {
    expect(isInside(folder, file, win32)).toBe(inside);
  });

  it('a file the ledger may name lies in the job’s folder of readings or scans, whatever is in its name', () => {
    const name = fc.string({ unit: fc.constantFrom(...'ab.:\\/ %~'), maxLength: 9 });
    let named = 0;
    fc.assert(
      fc.property(fc.constantFrom('readings/', 'scans/'), name, (into, rest) => {
        const file = `${into}${rest}.csv`;
        if (!KeptFile.shape.file.safeParse(file).success) return;
        named++;
        const folder = 'C:\\Jobs\\4';
        const path = win32.join(folder, ...file.split('/'));
        expect(win32.dirname(path)).toBe(win32.join(folder, into).replace(/\\$/, ''));
      }),
      { seed: 24, numRuns: 3000 },
    );
    expect(named).toBeGreaterThan(200);
  });

  it.each(['CON', 'nul.csv', 'Aux.txt', 'com1.csv', 'COM\u00b9.csv', 'lpt\u00b3.csv', 'prn.old.csv'])(
    'a sheet called %s is not kept under a name that is a device',
    (given) => {
      expect(safeCsvName(given)).toMatch(/^readings-/);
    },
  );

  it('and a name in a command to copy is one word in both its shells', () => {
    expect(shellWord('C:\\Jobs\\girder-4', 'win32')).toBe('C:\\Jobs\\girder-4');
    expect(shellWord("C:\\Jobs\\O'Hara & son", 'win32')).toBe(`"C:\\Jobs\\O'Hara & son"`);
    expect(shellWord("it's", 'linux')).toBe(`'it'\\''s'`);
  });
});
