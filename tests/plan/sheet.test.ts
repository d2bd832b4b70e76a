import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { runInProcess } from '../cli/in-process.ts';

const folder = mkdtempSync(join(tmpdir(), 'sheet-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const ROOT = new URL('../..', import.meta.url).pathname;
const run = (...args: string[]) =>
  runInProcess(args, COMMANDS, { cwd: ROOT, now: () => new Date('2026-03-02T08:00:00Z') });

describe('plan --sheet', () => {
  it('is one self-contained page with the figures of the plan and the deferral, and never over another file', async () => {
    const out = join(folder, 'plan.html');
    expect((await run('plan', 'sample-surveys/saltmarsh-road', '--sheet', '--out', out)).status).toBe(0);
    const text = readFileSync(out, 'utf8');
    const plan = JSON.parse((await run('plan', 'sample-surveys/saltmarsh-road', '--json')).out);
    const tile = (label: string) =>
      new RegExp(`<h2>${label}</h2><p class="big">([^<]*)</p><p class="range">([^<]*)</p>`).exec(text);
    expect(tile('Working days')!.slice(1)).toEqual([
      `${plan.days.median}`,
      `${plan.days.low} to ${plan.days.high}`,
    ]);
    // The level travels with the intervals, and what drives the spread leaves nothing unsaid.
    expect(plan.level).toBe(0.8);
    expect(text).toContain(`${100 * plan.level} % between</th>`);
    const shares = (plan.drivers as { share: number }[]).reduce((sum, { share }) => sum + share, 0);
    expect(shares).toBeGreaterThan(0.85);
    // No start is set and no cost is known: nothing is made up.
    expect(text).toContain('<h2>Finished</h2><p class="big none">not known</p>');
    expect(text).toContain('<h2>Cost</h2><p class="big none">not known</p>');
    expect(text).toContain('a licensed engineer decide');
    expect(text).not.toMatch(/https?:\/\/|<script(?![^>]*type=)/);
    expect(
      (await run('plan', 'sample-surveys/saltmarsh-road', '--sheet', '--out', join(folder, 'a.csv'))).status,
    ).toBe(1);
  });
});
