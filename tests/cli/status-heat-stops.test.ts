import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addStatus } from '../../src/cli/commands/status.ts';
import { runInProcess } from './in-process.ts';

const SAMPLE = join(import.meta.dirname, '../../sample-surveys/tannery-street');
let root = '';

beforeAll(() => {
  root = mkdtempSync(join(tmpdir(), 'sweepbook-stops-'));
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

/** The sample with its heats, changed; findings of its status and its screen. */
async function statusOf(name: string, change: (job: Record<string, unknown>, heats: string) => string) {
  const folder = join(root, name);
  cpSync(SAMPLE, folder, { recursive: true });
  const job = JSON.parse(readFileSync(join(folder, 'job.json'), 'utf8')) as Record<string, unknown>;
  const heats = change(job, readFileSync(join(folder, 'heats.csv'), 'utf8'));
  writeFileSync(join(folder, 'job.json'), JSON.stringify(job));
  writeFileSync(join(folder, 'heats.csv'), heats);
  const io = { cwd: root, now: () => new Date('2026-01-05T12:00:00Z') };
  const json = await runInProcess(['status', name, '--json'], [addStatus], io);
  const text = await runInProcess(['status', name], [addStatus], io);
  const findings = (JSON.parse(json.out) as { findings: { severity: string; code: string }[] }).findings;
  return { findings, text: text.out };
}

describe('stops about heats are on the first screen', () => {
  it('quenched and tempered steel with a limit above what it bears (1,100 °F, AWS D1.5, second-hand)', async () => {
    const { findings, text } = await statusOf('tempered', (job, heats) => {
      Object.assign(job.member as object, { steel: 'A514', yieldStress: '100 ksi' });
      job.heating = { ...(job.heating as object), limits: { maxTemperature: '1200 F', source: 'a plan' } };
      return heats;
    });
    expect(findings[0]).toMatchObject({ severity: 'stop' });
    expect(findings.map((each) => each.code)).toContain('heat-limits-conflict');
    expect(text).toMatch(/STOP/);
    expect(text).toContain('NEXT  Settle what is marked STOP before any more heat.');
  });

  it('a heat log that cannot be read is named, not passed over', async () => {
    const { findings, text } = await statusOf('faulty', (_job, heats) => `${heats}x,y,z\n`);
    expect(findings.find((each) => each.code === 'heat-log-not-read')).toMatchObject({ severity: 'caution' });
    expect(text.replace(/\s+/g, ' ')).toContain('Its faults: sweepbook heats.');
  });

  it('a sound log of ordinary steel adds nothing', async () => {
    const { findings } = await statusOf('as-it-is', (_job, heats) => heats);
    expect(findings.filter((each) => /heat|temperature|vee/.test(each.code))).toEqual([]);
  });
});
