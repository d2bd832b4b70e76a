import { createHash } from 'node:crypto';
import { cpSync, lstatSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { keepFiles } from '../../src/cli/store/keep-files.ts';
import { writeAtomic } from '../../src/cli/store/write-atomic.ts';

const SAMPLE = new URL('../../sample-surveys/tannery-street/', import.meta.url).pathname;

describe('a link planted under the name of a temporary file', () => {
  let folder: string;
  let victim: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-planted-'));
    victim = join(folder, 'victim.txt');
    writeFileSync(victim, 'not yours');
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('is never written through when a file is replaced', () => {
    symlinkSync(victim, join(folder, `.writing-${process.pid}-ledger.jsonl`));
    writeAtomic(join(folder, 'ledger.jsonl'), 'ours');
    expect(readFileSync(victim, 'utf8')).toBe('not yours');
    expect(lstatSync(join(folder, 'ledger.jsonl')).isFile()).toBe(true);
    expect(readFileSync(join(folder, 'ledger.jsonl'), 'utf8')).toBe('ours');
  });

  it('is never written through, nor taken as a reading, when files are imported', async () => {
    const job = join(folder, 'job');
    cpSync(SAMPLE, job, { recursive: true });
    const text = 'cycle,station,offset\n40,0,0\n';
    const sha256 = createHash('sha256').update(text).digest('hex');
    symlinkSync(victim, join(job, 'readings', `.incoming-${sha256}`));
    const facts = { original: 'new.csv', rows: 1, readings: 1, surveys: [], setAside: [] };
    const { kept } = await keepFiles(
      job,
      [{ from: { text }, sha256, into: 'readings', name: 'new.csv', facts }],
      () => '2031-01-01T00:00:00.000Z',
      1000,
    );
    expect(readFileSync(victim, 'utf8')).toBe('not yours');
    expect(lstatSync(join(job, kept[0]!.file)).isFile()).toBe(true);
    expect(readFileSync(join(job, kept[0]!.file), 'utf8')).toBe(text);
  });
});
