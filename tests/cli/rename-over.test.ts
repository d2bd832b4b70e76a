import { describe, expect, it } from 'vitest';
import { renameOver } from '../../src/cli/store/write-atomic.ts';

const held = (code: string) => Object.assign(new Error(code), { code });

describe('a rename over a file that another program holds', () => {
  it('is tried again on Windows until it is let go', () => {
    let tries = 0;
    const rename = () => {
      if (++tries < 3) throw held(tries === 1 ? 'EPERM' : 'EBUSY');
    };
    renameOver('a', 'b', rename, 'win32');
    expect(tries).toBe(3);
  });

  it('is given up after a second with the error of the system', () => {
    let tries = 0;
    const rename = () => {
      tries++;
      throw held('EACCES');
    };
    expect(() => renameOver('a', 'b', rename, 'win32')).toThrow('EACCES');
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
      expect(() => renameOver('a', 'b', rename, platform)).toThrow(code);
      expect(tries).toBe(1);
    }
  });
});
