import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { runInProcess } from '../cli/in-process.ts';

const SAMPLES = new URL('../../sample-surveys/', import.meta.url).pathname;
let folder: string;
let job: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sweepbook-report-command-'));
  job = join(folder, 'job');
  cpSync(join(SAMPLES, 'tannery-street'), job, { recursive: true });
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const report = (...argv: string[]) =>
  runInProcess(['report', ...argv], COMMANDS, { cwd: folder, now: () => new Date('2025-10-01T09:00:00Z') });

describe('sweepbook report', () => {
  it('writes the daily sheet into the job, says where, and leaves nothing else behind', async () => {
    const { out, err, status } = await report('job', '--full', '--plain');
    expect({ out, err, status }).toEqual({ out: 'job/reports/daily-cycle-14.html\n', err: '', status: 0 });
    expect(readdirSync(join(job, 'reports'))).toEqual(['daily-cycle-14.html']);
    const page = readFileSync(join(job, 'reports/daily-cycle-14.html'), 'utf8');
    expect(page).toContain('Tannery Street over the mill race, girder 1');
    expect(page).toContain('1 Oct 2025');
    expect(page).toContain('Heats and jacking');
    expect(page).toContain('Filler schedule');
    expect(page.endsWith('</html>\n')).toBe(true);
  });

  it('prints facts as JSON, and carries the library where it is not left out', async () => {
    const { out } = await report('job', '--final', '--json', '--out', 'f.html');
    const facts = JSON.parse(out) as { report: string; path: string; bytes: number };
    expect(facts).toMatchObject({ report: 'final', path: join(folder, 'f.html') });
    const text = readFileSync(join(folder, 'f.html'));
    expect(facts.bytes).toBe(text.length);
    expect(facts.bytes).toBeGreaterThan(4_800_000);
    expect(/Work done[\s\S]*14 working days/.test(text.toString('utf8'))).toBe(true);
  });

  it('refuses a target that could be an input', async () => {
    const before = readFileSync(join(job, 'job.json'), 'utf8');
    const { status, err } = await report('job', '--plain', '--out', 'job/job.json');
    expect(status).toBe(1);
    expect(err).toMatch(/\.html/);
    expect(readFileSync(join(job, 'job.json'), 'utf8')).toBe(before);
  });

  it('knows wrong usage from unusable input', async () => {
    expect((await report('job', '--fraction', '10')).status).toBe(2);
    expect((await report()).status).toBe(2);
    expect((await report('no-such-folder')).status).toBe(1);
    rmSync(join(job, 'readings'), { recursive: true });
    rmSync(join(job, 'ledger.jsonl'));
    const empty = await report('job', '--plain');
    expect(empty.status).toBe(1);
    expect(empty.err).toMatch(/no readings yet/);
    expect(existsSync(join(job, 'reports'))).toBe(false);
  });

  it('reports the readings even where the heat log is faulty, and says what is wrong with it', async () => {
    writeFileSync(join(job, 'heats.csv'), 'cycle,station,pattern\n1,<b>x</b>,vee\n');
    const { status, err } = await report('job', '--plain', '--out', 'd.html');
    expect(status).toBe(0);
    expect(err).toMatch(/^caution: heats\.csv could not be used/m);
    // The two pages name it too: nothing there may look as if no heat had been logged.
    expect(readFileSync(join(folder, 'd.html'), 'utf8')).toMatch(
      /heats\.csv could not be used.*heats\.csv:2: station/s,
    );
    await report('job', '--full', '--plain', '--out', 'full.html');
    const page = readFileSync(join(folder, 'full.html'), 'utf8');
    expect(page).toContain('heats.csv could not be used');
    expect(page).toMatch(/heats\.csv:2: station: found .*&lt;b&gt;x&lt;\/b&gt;/);
  });

  it('says that a file was changed since its import, and keeps the seal of the ledger', async () => {
    const name = readdirSync(join(job, 'readings'))[0]!;
    writeFileSync(
      join(job, 'readings', name),
      `${readFileSync(join(job, 'readings', name), 'utf8')}\n# touched\n`,
    );
    await report('job', '--final', '--plain', '--out', 'd.html');
    const page = readFileSync(join(folder, 'd.html'), 'utf8');
    expect(page).toContain('CHANGED since it was imported');
    expect(page).toMatch(/Seal of ledger record \d+: <span class="hash">[0-9a-f]{64}</);
  });
});
