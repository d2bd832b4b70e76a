import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { runInProcess } from '../cli/in-process.ts';

const SAMPLE = new URL('../../sample-surveys/tannery-street', import.meta.url).pathname;
let top: string;
let job: string;

beforeAll(() => {
  top = mkdtempSync(join(tmpdir(), 'sweepbook-heats-'));
  job = join(top, 'job');
  cpSync(SAMPLE, job, { recursive: true });
});
afterAll(() => rmSync(top, { recursive: true, force: true }));

const sweepbook = (...args: string[]) =>
  runInProcess(args, COMMANDS, { cwd: top, now: () => new Date('2025-10-01T12:00:00Z') });

describe('sweepbook heats', () => {
  it('prints ceiling, zones, proposal, work, the too hot heat at its row, and the cautions', async () => {
    const { status, out } = await sweepbook('heats', job);
    expect(status).toBe(0);
    expect(out).toMatch(/1250 psi \(8\.6 MPa\) on the gauge/);
    expect(out).toMatch(/Zone B of bottom-flange/);
    expect(out).toContain('for the engineer to decide');
    expect(out).toMatch(/1215 °F[\s\S]*\[heats\.csv:20\]/);
    expect(out).toContain('In all: 56 heats, 14 working days');
    expect(out).toContain('licensed engineer');
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  // The ceiling by hand: flange 10 × 3/4 in, 33 ksi: Mp = 33·0.75·100/4 = 618.75 k-in, half of it 309.4. It runs on over
  // bearings and diaphragms every 12 ft, jack at 29 ft: by the three-moment equation 23.95 in a unit force there, so
  // 309.4/23.95 = 12.92 kip, on 2.24 in² 5767 psi, for the jack alone; what the blow left comes off.
  it('--json is one document in SI with the same ceiling', async () => {
    const { status, out } = await sweepbook('heats', job, '--json');
    expect(status).toBe(0);
    const document = JSON.parse(out);
    expect(document).toMatchObject({ schema: 'sweepbook/heats/1', units: 'SI' });
    const { ceiling } = document.restraint;
    expect(ceiling.alone / 6894.757).toBeCloseTo(5767, -1);
    const left = 309.375 - ceiling.lockedIn.moment / 112.9848;
    expect(ceiling.exactPressure / 6894.757).toBeCloseTo((5767 * left) / 309.375, -1);
    expect(ceiling.psi).toBe(1250);
    expect(document.zones.length).toBeGreaterThan(0);
    expect(document.proposals[0].status).toContain('engineer');
    expect(out).not.toContain('null,null'); // no list of unknowns
    expect(JSON.stringify(document)).not.toMatch(/NaN|Infinity/);
  });

  it('on diaphragms that give the ceiling falls below what was pumped: a stop, and no vees proposed beside it', async () => {
    const soft = join(top, 'soft');
    cpSync(SAMPLE, soft, { recursive: true });
    const text = JSON.parse(readFileSync(join(soft, 'job.json'), 'utf8'));
    const { setUp, setUpSource, ...restraint } = text.restraint;
    expect([setUp, typeof setUpSource]).toEqual(['continuous-rigid', 'string']);
    writeFileSync(join(soft, 'job.json'), JSON.stringify({ ...text, restraint }));
    const { out } = await sweepbook('heats', soft);
    expect(out).toMatch(/its diaphragms give\.\s+As the\s+struck flange shows/);
    expect(out).toMatch(/STOP: Gauge at [\s\S]*above the ceiling of 800 psi/i);
    expect(out).toMatch(/None: a stop stands/);
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(80);
  });

  it('a faulty log ends with status 1 and every fault with its row and column', async () => {
    const broken = join(top, 'broken');
    cpSync(SAMPLE, broken, { recursive: true });
    writeFileSync(
      join(broken, 'heats.csv'),
      'cycle,station,pattern,temperature\n1,29 ft,vee,hot\nx,29 ft,vee,1100\n',
    );
    const { status, out, err } = await sweepbook('heats', broken);
    expect(status).toBe(1);
    expect(out).toBe('');
    expect(err).toContain('heats.csv:2: temperature: found "hot"');
    expect(err).toContain('heats.csv:3: cycle: found "x"');
  });

  it('works without a log', async () => {
    const bare = join(top, 'bare');
    cpSync(SAMPLE, bare, { recursive: true });
    rmSync(join(bare, 'heats.csv'));
    const { status, out } = await sweepbook('heats', bare);
    expect(status).toBe(0);
    expect(out).toContain('No heat log (heats.csv)');
    expect(out).toContain('Cycles left to straight');
  });
});

describe('sweepbook plates', () => {
  it('prints the filler schedule and clearance, and as JSON', async () => {
    const text = await sweepbook('plates', job);
    expect(text.status).toBe(0);
    expect(text.out).toMatch(/Station +Gap +Filler/);
    expect(text.out).toContain(`14'-3" before damage`);
    const { out } = await sweepbook('plates', job, '--json');
    const document = JSON.parse(out);
    expect(document.schema).toBe('sweepbook/plates/1');
    for (const gap of document.plates[0].gaps) expect(gap.gap).toBeGreaterThanOrEqual(0);
  });
});

describe('sweepbook card', () => {
  it('writes the card into the reports folder, or where told, and only over an .html name', async () => {
    const first = await sweepbook('card', job);
    expect(first).toMatchObject({ status: 0, out: 'job/reports/crew-card.html\n' });
    expect(readFileSync(join(job, 'reports/crew-card.html'), 'utf8')).toContain('1250 psi');
    const wrong = await sweepbook('card', job, '--out', 'job/job.json');
    expect(wrong.status).toBe(1);
    expect(JSON.parse(readFileSync(join(job, 'job.json'), 'utf8')).units).toBe('us');
  });
});

describe('sweepbook report --final', () => {
  it('carries heats, work done, plates and the log’s findings', async () => {
    const { status } = await sweepbook('report', job, '--final', '--plain', '--out', 'final.html');
    expect(status).toBe(0);
    const text = readFileSync(join(top, 'final.html'), 'utf8');
    for (const title of ['Heats and jacking', 'Work done', '14 working days', 'Plates']) {
      expect(text.includes(title), title).toBe(true);
    }
    expect(/Steel reached 1215\s°F/.test(text)).toBe(true);
  });
});
