import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { type PastRecord, pastLineText, readPastJobs } from '../../src/past/record.ts';
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
    expect(files).toEqual(['past-1.jsonl']);
    for (const file of files) {
      const text = readFileSync(join(ROOT, 'tests/past/versions', file), 'utf8');
      const { lines, problems } = readPastJobs(text, file, sha256Hex);
      expect(problems).toEqual([]);
      expect(lines.map(({ record: each }) => [each.outcome, each.cycles, each.days.all ?? null])).toEqual([
        ['within', 9, 16],
        ['stopped', null, null],
      ]);
      expect(lines[0]!.record.damage.zones[0]!.rotation).toBe(0.081);
      const later = readPastJobs(text.replaceAll('sweepbook/past/1', 'sweepbook/past/9'), file, sha256Hex);
      expect(later.lines).toEqual([]);
      expect(later.problems.map((problem) => problem.found)).toEqual(Array(2).fill('a record of version 9'));
    }
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

  it('takes a record typed in by hand, and refuses one with faults by key', async () => {
    const file = join(folder, 'by-hand.json');
    writeFileSync(file, JSON.stringify(record));
    expect((await run('past', 'add', '--from', file, '--past', folder)).status).toBe(0);
    writeFileSync(file, JSON.stringify({ ...record, outcome: 'fine', cycels: 3 }));
    const refused = await run('past', 'add', '--from', file, '--past', folder);
    expect(refused.status).toBe(1);
    expect(refused.err).toContain('"cycles"?');
    expect(refused.err).toContain('outcome');
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
