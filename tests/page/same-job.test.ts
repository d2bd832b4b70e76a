import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { hashBytes } from '../../src/cli/store/hash-file.ts';
import { appendToLedger } from '../../src/cli/store/ledger.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { bundleOfFiles, type GivenFile, rehashed } from '../../src/page/folder-files.ts';
import { bundleText, type JobBundle, parseBundle } from '../../src/page/job-bundle.ts';
import { sameJob } from '../../src/page/same-job.ts';
import { runInProcess } from '../cli/in-process.ts';

let top: string;
beforeEach(() => {
  top = mkdtempSync(join(tmpdir(), 'sweepbook-same-'));
});
afterEach(() => rmSync(top, { recursive: true, force: true }));

let minute = 0;
const now = () => new Date(Date.UTC(2031, 4, 4, 8, minute++));
const run = (...args: string[]) => runInProcess(args, COMMANDS, { cwd: top, now });
const NEW = [
  '--span',
  '40 ft',
  '--flange-width',
  '12 in',
  '--flange-thickness',
  '1 in',
  '--line',
  'edge:sweep',
];
/** Offsets nobody else reads, by seed. */
async function add(job: string, cycle: number, seed: number): Promise<void> {
  const rows = Array.from(
    { length: 11 },
    (_, i) => `${cycle},${4 * i},${((i * (10 - i) * 3 + i * i * seed) % 50) / 16}`,
  );
  writeFileSync(join(top, 'day.csv'), `cycle,station,offset\n${rows.join('\n')}\n`);
  expect((await run('add', job, 'day.csv')).status).toBe(0);
}
const bundle = async (job: string) => pageBundle(await openJob(join(top, job)));
/** Every file of a folder as a browser gives it. */
function given(job: string, inside = ''): GivenFile[] {
  return readdirSync(join(top, job, inside), { withFileTypes: true }).flatMap((entry) => {
    const path = inside === '' ? entry.name : `${inside}/${entry.name}`;
    if (entry.isDirectory()) return given(job, path);
    return [{ path: `${job}/${path}`, text: readFileSync(join(top, job, path), 'utf8') }];
  });
}
const stops = ({ findings }: Pick<JobBundle, 'findings'>) =>
  findings.filter((each) => each.severity === 'stop').map((each) => each.code);

describe('a job that comes in again', () => {
  it('is the same as it grows, by its id', async () => {
    await run('new', 'a', ...NEW);
    const begun = await bundle('a');
    await add('a', 0, 1);
    const first = await bundle('a');
    await add('a', 1, 2);
    const second = await bundle('a');
    for (const [x, y] of [
      [begun, first],
      [first, second],
      [second, first],
      [begun, second],
    ] as const)
      expect(sameJob(x, y)).toBe('same');
    await run('new', 'b', ...NEW);
    expect(sameJob(first, await bundle('b'))).toBe('other');
  });

  it('an older job is joined made before and after it got its id, by either key', async () => {
    await run('new', 'a', ...NEW);
    const text = readFileSync(join(top, 'a', 'job.json'), 'utf8').replace(/ *"id": .*\n/, '');
    await add('a', 0, 1);
    // As older versions left it: no id in job.json, none in the ledger.
    const path = join(top, 'a', 'ledger.jsonl');
    const [, imported] = readFileSync(path, 'utf8').split('\n');
    const { id: _, ...record } = JSON.parse(imported!);
    const line = JSON.stringify({ ...record, seq: 1, previous: '0'.repeat(64) });
    writeFileSync(path, `${line}\n`);
    writeFileSync(join(top, 'a', '.ledger-head'), `1 ${hashBytes(line)}\n`);
    writeFileSync(join(top, 'a', 'job.json'), text);
    const before = await bundle('a');
    expect(before.job).not.toContain('"id"');
    await add('a', 1, 2);
    const after = await bundle('a');
    expect(after.job).toContain('"id"');
    expect(sameJob(before, after)).toBe('same');
    expect(sameJob(after, before)).toBe('same');
    // And where only the ledger has the id (job.json written over by an editor).
    expect(sameJob(after, { ...after, job: text })).toBe('same');
  });

  it('a folder copied for another girder is asked about, however much was copied', async () => {
    await run('new', 'a', ...NEW);
    cpSync(join(top, 'a'), join(top, 'b'), { recursive: true });
    await add('a', 0, 1);
    await add('b', 0, 2);
    expect(sameJob(await bundle('a'), await bundle('b'))).toBe('ask');
    // Only job.json copied, its id put back by hand into a ledger of its own.
    const kept = await bundle('a');
    const lines = kept.ledgerText!.split('\n');
    const other = { ...kept, ledgerText: `${lines[0]!.replace('"when":"2031', '"when":"2032')}\n` };
    expect(sameJob(kept, other)).toBe('ask');
    // Readings exchanged by hand under the same ledger.
    const swapped = {
      ...kept,
      files: kept.files.map((file) => ({ ...file, text: file.text.replace('0,4,', '0,4,1') })),
    };
    expect(sameJob(kept, swapped)).toBe('ask');
    // A line renamed in the office is no other girder.
    const renamed = {
      ...kept,
      files: kept.files.map((file) => ({ ...file, text: file.text.replace('station', 'chainage') })),
    };
    expect(sameJob(kept, renamed)).toBe('same');
  });
});

describe('what the page carries and compares', () => {
  const cells = (shift: number) =>
    Array.from({ length: 25 }, (_, i) => ({
      ...{ column: i % 5, row: Math.floor(i / 5), u: 0.1 * (i % 5), v: 0.1 * Math.floor(i / 5), count: 30 },
      ...{ deviation: 0.01 * Math.sin(i) + shift * Math.cos(7 * i), sd: 0.0004 },
    }));
  function map(job: string, cycle: number, shift: number, cloud: string): void {
    const files = {
      json: JSON.stringify({ cycle, map: { panel: { name: 'W1' }, cells: cells(shift) } }),
      csv: `u,v\n${cycle}\n`,
    };
    mkdirSync(join(top, job, 'panels'), { recursive: true });
    const entries = Object.entries(files).map(([ending, text]) => {
      const file = `panels/cycle-${cycle}-W1.${ending}`;
      writeFileSync(join(top, job, file), text);
      return { file, sha256: hashBytes(text) };
    });
    const source = { name: `${cloud}.ply`, sha256: hashBytes(cloud) };
    const entry = { kind: 'panel' as const, panel: 'W1', cycle, files: entries, source };
    appendToLedger(join(top, job), entry, now().toISOString());
  }
  const codes = async (job: string) =>
    (await verifyJob(join(top, job), null)).findings.map((each) => each.code);

  it('panel maps go along in the whole-job file and are compared there as in the folder', async () => {
    await run('new', 'a', ...NEW);
    await add('a', 0, 1);
    map('a', 0, 0, 'first');
    map('a', 3, 0.002, 'second');
    const whole = await bundle('a');
    expect(whole.panels?.map((each) => each.file)).toEqual([
      'panels/cycle-0-W1.csv',
      'panels/cycle-0-W1.json',
      'panels/cycle-3-W1.csv',
      'panels/cycle-3-W1.json',
    ]);
    expect(rehashed(parseBundle(bundleText(whole), 'x')).findings).toEqual(whole.findings);
    expect(bundleOfFiles(given('a')).panels).toEqual(whole.panels);
    for (const at of whole.panels!.keys()) {
      const edited = whole.panels!.map((each, i) =>
        i === at ? { ...each, text: each.text.replace(/\d/, '7') } : each,
      );
      expect(stops(rehashed({ ...whole, panels: edited }))).toEqual(['panel-changed']);
    }
    // A file from before panels went along says that it could not compare them.
    const { panels: _, ...older } = whole;
    expect(rehashed(older).findings.map((each) => each.code)).toContain('panel-maps-not-here');
    // The same in the folder, taken by the page and by the command line.
    writeFileSync(join(top, 'a', 'panels/cycle-3-W1.csv'), 'u,v\n4\n');
    expect(stops(bundleOfFiles(given('a')))).toEqual(['panel-changed']);
    expect(bundleOfFiles(given('a')).findings).toEqual((await openJob(join(top, 'a'))).findings);
  });

  it('one cloud saved again in other bytes is no second cycle of a panel; two scans of still steel are', async () => {
    await run('new', 'a', ...NEW);
    map('a', 0, 0, 'first');
    // Re-saved: coordinates rounded anew, a hundredth of what two scans differ by.
    map('a', 3, 0.000004, 'the same, saved as another format');
    expect(await codes('a')).toEqual(['panel-map-twice']);
    expect((await run('status', 'a')).out).toMatch(/STOP: Panel W1: the maps of cycles 0 and 3 agree better/);
    // Two scans: every cell differs by about its scatter.
    map('a', 3, 0.0004, 'second');
    expect(await codes('a')).toEqual([]);
  });

  it('cost log, crack checks and an agency’s rules go along and are compared', async () => {
    await run('new', 'a', ...NEW);
    const path = join(top, 'a', 'job.json');
    const rules = {
      ...{ schema: 'sweepbook/preset/1', key: 'our-district', title: 'Ours', source: 'our manual' },
      rules: [{ kind: 'sweep', limit: '3/8 in', over: 'whole line', source: 'clause 4.2' }],
    };
    writeFileSync(join(top, 'a', 'rules.json'), JSON.stringify(rules));
    writeFileSync(join(top, 'a', 'costs.csv'), 'date,kind,amount\n2031-05-01,labour,120\n');
    writeFileSync(
      path,
      JSON.stringify({
        ...JSON.parse(readFileSync(path, 'utf8')),
        acceptance: [{ presetFile: 'rules.json' }],
      }),
    );
    await add('a', 0, 1);
    const whole = await bundle('a');
    expect(whole.others.map((each) => each.file).sort()).toEqual(['costs.csv', 'rules.json']);
    expect(stops(rehashed(whole))).toEqual([]);
    expect(stops(bundleOfFiles(given('a')))).toEqual([]);
    for (const [at, code] of [
      ['rules.json', 'rule-set-changed'],
      ['costs.csv', 'cost-log-edited'],
    ] as const) {
      const others = whole.others.map((each) =>
        each.file === at ? { ...each, text: each.text.replace(/[123]/, '9') } : each,
      );
      expect(stops(rehashed({ ...whole, others }))).toEqual([code]);
    }
  });
});
