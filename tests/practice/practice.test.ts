import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { PRACTICE_WARNING } from '../../src/job/practice-mark.ts';
import { solveElastic } from '../../src/practice/girder.ts';
import {
  largestOf,
  type PracticeHeat,
  practiceGirder,
  practiceStates,
  rotationOver,
  veeTurn,
} from '../../src/practice/steel.ts';
import { runInProcess, type Said } from '../cli/in-process.ts';

const SET_UP = { seed: '12', units: 'us', blows: 1, spacing: 0.6096 } as const;

describe('the simulated steel', () => {
  const truth = practiceGirder(SET_UP);
  const zone = truth.zones[0]!;
  const straightens = zone.rotation > 0 ? -1 : 1;
  const heat = (cycle: number, change: Partial<PracticeHeat['vees'][number]> = {}): PracticeHeat => ({
    cycle,
    vees: [{ station: zone.centre, angle: Math.PI / 4, open: straightens, ...change }],
    temperature: 640,
    pressure: 0,
    jacks: [],
  });

  it('a vee held back altogether turns 2 α ΔT tan(θ/2), and none that is too cool', () => {
    // By hand, after Holt 1971 (from memory): 2 × 1.4e-5 × 630 K × tan 22.5° = 7.307 mrad.
    expect(veeTurn(Math.PI / 4, 650, 2)).toBeCloseTo(7.307e-3, 6);
    expect(veeTurn(Math.PI / 4, 365, 2)).toBe(0);
    expect(veeTurn(Math.PI / 4, 650, -2)).toBeGreaterThan(0);
    expect(veeTurn(Math.PI / 4, 650, 0.5)).toBeGreaterThan(1.3 * veeTurn(Math.PI / 4, 650, 0));
  });

  it('lies as found where its plastic curvature and its springs put it', () => {
    const shape = solveElastic(truth).afterPlastic(truth.plasticCurvature);
    const apart = truth.displacement.map((w, i) => Math.abs(w - shape[i]!));
    expect(Math.max(...apart)).toBeLessThan(0.001 * Math.abs(largestOf(truth, truth).deviation));
  });

  it('is straightened by vees on the bend, bent further on the wrong side, and bent anew elsewhere', () => {
    const after = (made: PracticeHeat[]) => practiceStates(SET_UP, truth, made).at(-1)!;
    const crest = (made: PracticeHeat[]) => Math.abs(largestOf(truth, after(made)).deviation);
    const three = (change: Partial<PracticeHeat['vees'][number]>) => [1, 2, 3].map((c) => heat(c, change));
    expect(crest(three({}))).toBeLessThan(0.9 * crest([]));
    expect(crest(three({ open: straightens === 1 ? -1 : 1 }))).toBeGreaterThan(1.05 * crest([]));
    const elsewhere = truth.options.span * (zone.centre > truth.options.span / 2 ? 0.2 : 0.8);
    const bent = after(three({ station: elsewhere }));
    expect(Math.abs(rotationOver(truth, bent, elsewhere - 0.5, elsewhere + 0.5))).toBeGreaterThan(3e-3);
  });

  it('is the same every time, and another with another seed', () => {
    const again = practiceStates(SET_UP, practiceGirder(SET_UP), [heat(1)]);
    expect(again).toEqual(practiceStates(SET_UP, truth, [heat(1)]));
    expect(practiceGirder({ ...SET_UP, seed: '13' }).options).not.toEqual(truth.options);
  });

  it('has dead days, about one in eight', () => {
    const heats = Array.from({ length: 25 }, (_, i) => ({ ...heat(i + 1), vees: [] }));
    const days = ['a', 'b', 'c', 'd', 'e', 'f'].flatMap((seed) =>
      practiceStates({ ...SET_UP, seed }, truth, heats).slice(1),
    );
    const dead = days.filter((state) => state.dead).length;
    // Shares are drawn between 1 in 20 and 1 in 5: of 150 days 8 to 30, and a little beyond by chance.
    expect(dead).toBeGreaterThan(5);
    expect(dead).toBeLessThan(40);
  });
});

describe('sweepbook practice', () => {
  const top = mkdtempSync(join(tmpdir(), 'practice-'));
  afterAll(() => rmSync(top, { recursive: true, force: true }));
  const say = (...args: string[]): Promise<Said> =>
    runInProcess(args, COMMANDS, { cwd: top, now: () => new Date('2025-06-07T08:00:00Z') });
  const read = (file: string) => readFileSync(join(top, file), 'utf8');

  beforeAll(async () => {
    expect((await say('practice', 'new', 'p', '--seed', '12')).status).toBe(0);
    expect((await say('add', 'p', 'p/sheets/cycle-00.csv')).status).toBe(0);
  });

  it('refuses what the job’s own checks call dangerous, and then changes nothing', async () => {
    const before = read('p/practice.json');
    const hard = await say('practice', 'heat', 'p', '--vees', '24 ft', '--pressure', '9500 psi');
    expect(hard.status).toBe(1);
    expect(hard.err).toMatch(/above the ceiling/);
    const hot = await say('practice', 'heat', 'p', '--vees', '24 ft', '--temperature', '1300 F');
    expect([hot.status, hot.err]).toEqual([1, expect.stringContaining('the limit is')]);
    // A fault in what was typed is named by it, not by the row of the log it would have made.
    const off = await say('practice', 'heat', 'p', '--vees', '800 ft');
    expect(off.status).toBe(1);
    expect(off.err).toContain('--vees: found "800", expected a station on the member');
    const early = await say('practice', 'heat', 'p', '--vees', '24 ft', '--before', '400 F');
    expect([early.status, early.err]).toEqual([1, expect.stringContaining('should first cool')]);
    expect(read('p/practice.json')).toBe(before);
    expect(existsSync(join(top, 'p/heats.csv'))).toBe(false);
  });

  it('a folder that is not there or no practice is named as that', async () => {
    for (const command of [
      ['heat', 'nothing', '--vees', '24 ft'],
      ['read', 'nothing'],
      ['reveal', 'nothing'],
    ])
      expect(await say('practice', ...command)).toMatchObject({
        status: 1,
        err: expect.stringContaining('there is no job folder'),
      });
  });

  it('heats, writes the next sheet, and at the end shows the truth beside the tool', async () => {
    const made = await say('practice', 'heat', 'p', '--vees', '23 ft, 25 ft', '--pressure', '1000 psi');
    expect([made.status, made.out]).toEqual([0, expect.stringContaining('cycle-01.csv')]);
    const twice = await say('practice', 'heat', 'p', '--vees', '24 ft');
    expect([twice.status, twice.err]).toEqual([1, expect.stringContaining('no readings of cycle 1')]);
    await say('add', 'p', 'p/sheets/cycle-01.csv');
    // A log with heats that were not made (a practice stopped between log and practice) is told, row by row.
    const log = read('p/heats.csv');
    writeFileSync(join(top, 'p/heats.csv'), log + log.split('\n')[1]!.replace(/^1/, '2') + '\n');
    const ahead = await say('practice', 'heat', 'p', '--vees', '24 ft');
    expect([ahead.status, ahead.err]).toEqual([
      1,
      expect.stringContaining('heats.csv:4: cycle: found a heat of cycle 2'),
    ]);
    writeFileSync(join(top, 'p/heats.csv'), log);
    const { out } = await say('practice', 'reveal', 'p', '--json');
    const revealed = JSON.parse(out);
    const truth = practiceGirder(SET_UP);
    expect(revealed.cycles[0].truth).toEqual(largestOf(truth, truth));
    expect(Math.abs(revealed.cycles[1].truth.deviation)).toBeLessThan(
      Math.abs(revealed.cycles[0].truth.deviation),
    );
    expect(revealed.zones[0].said.zone).toBe('B');
    expect(revealed.stations.within / revealed.stations.all).toBeGreaterThan(0.8);
    expect((await say('practice', 'reveal', 'p')).out).toMatch(/truly -1\.6\d°; the tool says zone B/);
    // Who knows the truth no longer practises on it; the girder can still be read.
    const over = await say('practice', 'heat', 'p', '--vees', '24 ft');
    expect([over.status, over.err]).toEqual([
      1,
      expect.stringMatching(/this practice is over[\s\S]*a truth shown after cycle 1/),
    ]);
    expect(read('p/heats.csv')).toBe(log);
    expect((await say('practice', 'read', 'p')).status).toBe(0);
    expect(JSON.parse(read('p/practice.json'))).toMatchObject({ revealed: 1, cycles: { length: 2 } });
  });

  it('works in metres too, and a heat as planned, at its limit, is not refused', async () => {
    await say('practice', 'new', 's', '--seed', '3', '--units', 'si', '--blows', '2');
    await say('add', 's', 's/sheets/cycle-00.csv');
    const made = await say('practice', 'heat', 's', '--vees', '2.2 m', '--angle', '30 deg');
    expect([made.status, made.err]).toEqual([0, expect.not.stringContaining('limit')]);
    expect(read('s/heats.csv').split('\n')[0]).toContain('station_m,pattern,angle_deg,depth_mm');
  });

  it('keeps its truth to itself until then', () => {
    const open = ['job.json', 'practice.json', 'sheets/cycle-00.csv', 'ledger.jsonl'];
    for (const file of open) expect(read(`p/${file}`), file).not.toMatch(/rotation|plastic|stiffness|crest/);
  });

  it('can be filed nowhere as a job', async () => {
    expect((await say('status', 'p')).out).toContain('PRACTICE: ');
    expect((await say('verify', 'p')).out).toContain(PRACTICE_WARNING);
    await say('card', 'p', '--out', 'card.html');
    expect(read('card.html')).toContain(`<p class="practice-band">${PRACTICE_WARNING}</p>`);
    const kept = await say('past', 'add', 'p', '--outcome', 'within', '--past', 'past');
    expect([kept.status, kept.err]).toEqual([1, expect.stringContaining('a practice on a simulated girder')]);

    // Without its id the ledger says so; a copy of its job.json begins another practice.
    cpSync(join(top, 'p'), join(top, 'q'), { recursive: true });
    const job = JSON.parse(read('q/job.json'));
    writeFileSync(join(top, 'q/job.json'), JSON.stringify({ ...job, id: '0000-not-a-practice' }));
    expect((await say('status', 'q')).out).toMatch(/STOP: job\.json carries the id/);
    mkdirSync(join(top, 'r'));
    writeFileSync(join(top, 'r/job.json'), read('p/job.json'));
    await say('add', 'r', 'p/sheets/cycle-00.csv');
    expect(JSON.parse(read('r/job.json')).id).toMatch(/^practice-/);
  });

  it('its readings count in no other job', async () => {
    const { $schema: _, id: __, ...job } = JSON.parse(read('p/job.json'));
    mkdirSync(join(top, 'real/readings'), { recursive: true });
    writeFileSync(join(top, 'real/job.json'), JSON.stringify(job));
    const added = await say('add', 'real', 'p/sheets/cycle-00.csv');
    expect([added.status, added.err]).toEqual([1, expect.stringContaining('simulated girder')]);
    cpSync(join(top, 'p/sheets/cycle-00.csv'), join(top, 'real/readings/by-hand.csv'));
    expect((await say('status', 'real')).out).toMatch(
      /STOP: readings\/by-hand\.csv holds readings of a practice/,
    );
  });
});
