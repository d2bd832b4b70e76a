import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { type PastRecord, parsePastRecord, pastLineText, readPastJobs } from '../../src/past/record.ts';
import { sha256Hex } from '../../src/sha256.ts';
import { makeAgency } from '../bench/plan-agencies.ts';
import { runInProcess } from '../cli/in-process.ts';

const folder = mkdtempSync(join(tmpdir(), 'past-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const ROOT = new URL('../..', import.meta.url).pathname;
const run = (...args: string[]) =>
  runInProcess(args, COMMANDS, { cwd: ROOT, now: () => new Date('2026-03-02T08:00:00Z') });
const record: PastRecord = makeAgency('a', 1, false).past[0]!;

describe('a file of past jobs', () => {
  it('gives back what was written, and names a line that was changed', () => {
    const line = pastLineText(record, sha256Hex);
    expect(readPastJobs(line, 'past.jsonl', sha256Hex)).toEqual({
      lines: [{ sha256: JSON.parse(line).sha256, record }],
      problems: [],
      replaced: [],
    });
    const changed = line.replace(`"cycles":${record.cycles}`, `"cycles":${record.cycles! + 1}`);
    expect(changed).not.toBe(line);
    const read = readPastJobs(`${changed}${line}{"x":1}\nno json\n`, 'past.jsonl', sha256Hex);
    expect(read.lines).toHaveLength(1);
    expect(read.problems.map((problem) => problem.row)).toEqual([1, 3, 3, 3, 4]);
    expect(read.problems[0]!.found).toContain('changed after it was written');
  });

  it('every version ever written is read whole, and a later one is named, not called damaged', () => {
    // One file of each version, as that version wrote it; never written anew.
    const files = readdirSync(join(ROOT, 'tests/past/versions'));
    expect(files).toEqual(['past-1.jsonl', 'past-2.jsonl']);
    for (const file of files) {
      const text = readFileSync(join(ROOT, 'tests/past/versions', file), 'utf8');
      const { lines, problems } = readPastJobs(text, file, sha256Hex);
      expect(problems).toEqual([]);
      expect(lines.map(({ record: each }) => [each.outcome, each.cycles, each.days.all ?? null])).toEqual([
        ['within', 9, 16],
        ['stopped', null, null],
      ]);
      expect(lines[0]!.record.damage.zones[0]!.rotation).toBe(0.081);
      const later = readPastJobs(
        text.replaceAll(/sweepbook\/past\/\d/g, 'sweepbook/past/9'),
        file,
        sha256Hex,
      );
      expect(later.lines).toEqual([]);
      expect(later.problems.map((problem) => problem.found)).toEqual(Array(2).fill('a record of version 9'));
    }
  });

  it('of two records of one job the later counts, and a line twice is one; jobs of no known day stay apart', () => {
    const first = { ...record, job: 'Old Forge Lane', finished: '2009-10-02' };
    const again = { ...first, cycles: record.cycles! + 1 };
    const text = [first, record, { ...record, job: 'other' }, again, record]
      .map((each) => pastLineText(each, sha256Hex))
      .join('');
    const { lines, replaced } = readPastJobs(text, 'past.jsonl', sha256Hex);
    expect(lines.map((line) => [line.record.job, line.record.cycles! - record.cycles!])).toEqual([
      ['other', 0],
      ['Old Forge Lane', 1],
      [record.job, 0],
    ]);
    expect(replaced.map((line) => line.record.job)).toEqual(['Old Forge Lane', record.job]);
  });

  it('a finished job is distilled, listed, shown and planned with; twice is once', async () => {
    const added = await run(
      'past',
      'add',
      'sample-surveys/tannery-street',
      '--outcome',
      'plated',
      '--past',
      folder,
    );
    expect(added).toMatchObject({ status: 0, err: '' });
    // The same record once more, typed in: twice is once.
    const [kept] = readFileSync(join(folder, 'past.jsonl'), 'utf8').trim().split('\n');
    writeFileSync(join(folder, 'typed.json'), JSON.stringify(JSON.parse(kept!).record));
    const again = await run('past', 'add', '--from', join(folder, 'typed.json'), '--past', folder);
    expect(again.out).toContain('is there already');
    const text = readFileSync(join(folder, 'past.jsonl'), 'utf8');
    const { lines } = readPastJobs(text, 'past.jsonl', sha256Hex);
    expect(lines).toHaveLength(1);
    // By hand from the sample's heats.csv: 14 cycles of four vees.
    expect(lines[0]!.record).toMatchObject({ outcome: 'plated', cycles: 14, vees: 56, units: 'us' });
    expect(lines[0]!.record.verdicts).toHaveLength(15);
    const shown = await run('past', 'show', lines[0]!.sha256.slice(0, 8), '--past', folder);
    expect(JSON.parse(shown.out).record.job).toBe(lines[0]!.record.job);
    // Stalled by its readings: no plan of further heats stands beside that word, but the job has plates to end with.
    const ended = await run('plan', 'sample-surveys/tannery-street', '--past', folder);
    expect(ended.status).toBe(0);
    expect(ended.out).toContain('ends the\nheating, with plates');
    expect(ended.out).not.toMatch(/^ {2}(cycles|vees)/m);
    expect(ended.out).toMatch(/^ {2}working days +\d/m);
    const plan = JSON.parse(
      (await run('plan', 'sample-surveys/saltmarsh-road', '--past', folder, '--json')).out,
    );
    expect(plan.schema).toBe('sweepbook/plan/1');
    expect(plan.learnt.some((each: { jobs: unknown[] }) => each.jobs.length === 1)).toBe(true);
    // One model of movement: the cycles of the plan are those of the status.
    const status = JSON.parse((await run('status', 'sample-surveys/saltmarsh-road', '--json')).out);
    const [line] = status.lines;
    expect(plan.basis).toBe('readings');
    expect(plan.cycles.low).toBe(Math.ceil(line.progress.cyclesLeft.low));
    expect(plan.cycles.median).toBe(Math.ceil(line.progress.cyclesLeft.expected));
  }, 180_000);

  it('takes a record typed in by hand, units in words and the unknown left out, and refuses faults by key', async () => {
    const file = join(folder, 'by-hand.json');
    const typed = {
      ...{ job: 'Old Forge Lane', units: 'us', spans: '60 ft', outcome: 'within', cycles: 14 },
      section: { flangeWidth: '12 in', flangeThickness: '3/4 in', yieldStress: '36 ksi' },
      damage: { largest: '7 1/2 in', zones: [{ rotation: '4.5 deg' }] },
      days: { heating: 14, all: 21 },
      cost: { currency: 'USD', total: 84_000 },
    };
    const add = async (record: object) => {
      writeFileSync(file, JSON.stringify(record));
      return run('past', 'add', '--from', file, '--past', folder);
    };
    expect(await add(typed)).toMatchObject({ status: 0, err: '' });
    const { lines } = readPastJobs(readFileSync(join(folder, 'past.jsonl'), 'utf8'), 'past.jsonl', sha256Hex);
    const kept = lines.find(({ record: each }) => each.job === 'Old Forge Lane')!.record;
    // By hand: 60 · 0.3048, 7.5 · 0.0254, 4.5π/180; 36 ksi is 248.2 MPa.
    expect(kept.spans[0]).toBeCloseTo(18.288, 9);
    expect(kept.damage.largest).toBeCloseTo(0.1905, 9);
    expect(kept.damage.zones[0]!.rotation).toBeCloseTo(0.0785398, 6);
    expect(kept.section.yieldStress / 1e6).toBeCloseTo(248.21, 2);
    expect(kept).toMatchObject({ vees: null, deadCycles: null, verdicts: [], cost: { byKind: {} } });
    const [, shown] = /```json\n(\{ "job": "Old Forge Lane"[\s\S]*?)\n```/.exec(
      readFileSync(join(ROOT, 'README.md'), 'utf8'),
    )!;
    expect(parsePastRecord(shown!, 'README.md').days.all).toBe(21);
    // A whole record as the file holds it is taken as it is.
    expect((await add(record)).status).toBe(0);
    const refused = await add({
      ...typed,
      ...{ outcome: 'fine', cycels: 3, cycles: '14', spans: ['60'] },
      // Inches, degrees and ksi typed as plain numbers, which are metres, radians and pascals.
      section: { flangeWidth: 12, flangeThickness: '3/4 in', yieldStress: 36 },
      damage: { largest: 7.5, zones: [{ rotation: 4.5 }] },
    });
    expect(refused.status).toBe(1);
    for (const key of [
      'outcome',
      'cycels',
      'cycles',
      'spans[0]',
      'section.flangeWidth',
      'section.yieldStress',
      'damage.largest',
      'damage.zones[0].rotation',
    ])
      expect(refused.err).toContain(`by-hand.json: ${key}: found`);
    expect(refused.err).toContain('"cycles"?');
    expect(refused.err).toContain('found 7.5 metres, expected its unit written with it');
    for (const odd of [null, [], 3, { damage: null }, { spans: [null], damage: { zones: [null] } }])
      expect((await add(odd as object)).status).toBe(1);
  });

  it('wrong usage is 2: no folder named, neither job nor record, no outcome, options that say two things or nothing', async () => {
    expect((await run('past', 'list')).status).toBe(2);
    expect((await run('past', 'add', '--past', folder)).status).toBe(2);
    expect((await run('past', 'add', 'sample-surveys/tannery-street', '--past', folder)).status).toBe(2);
    expect(
      (await run('past', 'add', '--from', 'x.json', '--outcome', 'within', '--past', folder)).status,
    ).toBe(2);
    expect((await run('past', 'list', '--past', join(folder, 'nothing'))).status).toBe(1);
    expect((await run('plan', 'sample-surveys/saltmarsh-road', '--sheet', '--json')).status).toBe(2);
    expect((await run('plan', 'sample-surveys/saltmarsh-road', '--out', 'x.html')).status).toBe(2);
  });
});
