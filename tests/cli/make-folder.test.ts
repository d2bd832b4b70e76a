import { existsSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { makeFolder } from '../../src/cli/store/make-folder.ts';

const folder = mkdtempSync(join(tmpdir(), 'sweepbook-folder-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('making a folder', () => {
  it('makes what is missing above it and leaves what is there alone', () => {
    const deep = join(folder, 'a', 'b', 'c');
    makeFolder(deep);
    makeFolder(deep);
    expect(statSync(deep).isDirectory()).toBe(true);
  });

  it('says what stands in the way', () => {
    const file = join(folder, 'file');
    writeFileSync(file, '');
    expect(() => makeFolder(file)).toThrow(/EEXIST/);
    expect(() => makeFolder(join(file, 'under'))).toThrow(/ENOTDIR/);
  });

  it('gives up where the system answers "no such folder" for ever', () => {
    if (!existsSync('/proc/self')) {
      console.warn('no /proc here: not tried');
      return;
    }
    expect(() => makeFolder('/proc/nowhere/deeper')).toThrow(/ENOENT/);
  });
});
