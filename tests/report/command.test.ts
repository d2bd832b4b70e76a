import { cpSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { findBrowser, printPdf } from '../../src/cli/print-pdf.ts';
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
    expect(page).toContain('Oct 1, 2025');
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
    expect(text.toString('utf8')).toMatch(/Work done[\s\S]*and the weather: not recorded/);
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

  it('puts the claim on page one and in an appendix: exact sums traceable to rows, days by kind, the rest not recorded', async () => {
    const settings = JSON.parse(readFileSync(join(job, 'job.json'), 'utf8')) as Record<string, unknown>;
    writeFileSync(
      join(job, 'job.json'),
      JSON.stringify({
        ...settings,
        currency: 'USD',
        claim: { owner: 'County of Ash', claimNumber: 'C-118' },
      }),
    );
    // By hand: 32 × 61.25 = 1960.00, 16 × 61.25 = 980.00, 2150.50; the heat log's gas comes on top.
    writeFileSync(
      join(job, 'costs.csv'),
      'date,kind,work,cycle,hours,rate,amount\n2025-08-30,labour,paint removal,,32,61.25,\n' +
        '2025-09-09,traffic control,,1,,,2150.5\n2025-10-02,labour,painting,,16,61.25,\n',
    );
    await report('job', '--final', '--plain', '--out', 'f.html');
    const text = readFileSync(join(folder, 'f.html'), 'utf8');
    const gas = readFileSync(join(job, 'heats.csv'), 'utf8')
      .split('\n')
      .filter((line) => /^\d+,/.test(line))
      .reduce((sum, line) => sum + Math.round(Number(line.split(',')[14]) * 100), 0);
    const total = ((196000 + 98000 + 215050 + gas) / 100).toLocaleString('en-US', {
      minimumFractionDigits: 2,
    });
    const first = text.slice(0, text.indexOf('id="contents"'));
    expect(first.replace(/\u00a0/g, ' ')).toContain(`${total} USD`);
    expect(first).toMatch(/\d+ working days: 1 paint removal, \d+ heating, 1 painting/);
    expect(first).toContain('Not recorded: a check for cracks after the last heat (cycle 14)');
    const claim = text.slice(text.indexOf('<h2 id="claim">'), text.indexOf('<h2 id="cracks">'));
    expect(claim).toMatch(
      /labour<\/th><td class="n">2,940\.00.USD<\/td><td class="n">48<\/td><td>costs\.csv, rows 2, 4</,
    );
    expect(claim).toMatch(/Owner<\/dt><dd>County of Ash.*Police report<\/dt><dd>not recorded/s);
    expect(claim).toContain('Oct 2, 2025');
    expect(text).toMatch(/<th scope="row">costs\.csv<\/th>[\s\S]*?[0-9a-f]{64}/);

    writeFileSync(
      join(job, 'checks.csv'),
      'date,cycle,when,method,where,by,result\n2025-10-01,14,after heating,dye,zone B,T. Aru,no crack\n',
    );
    writeFileSync(join(job, 'costs.csv'), 'date,kind,amount\n2025-10-02,labour,many\n');
    await report('job', '--final', '--plain', '--out', 'f.html');
    const again = readFileSync(join(folder, 'f.html'), 'utf8');
    expect(again).toContain('dye, zone B, 2025-10-01, by T. Aru: no crack');
    expect(again).not.toContain('a check for cracks after the last heat');
    expect(again).toMatch(/costs\.csv could not be used.*costs\.csv:2: amount/s);
    expect(again).toMatch(/<strong>Cost:<\/strong> not recorded/);
  });

  it.runIf(findBrowser() !== null)('prints a PDF of the same two pages beside the sheet', async () => {
    const { out, status } = await report('job', '--pdf', '--out', 'd.html');
    expect({ out, status }).toEqual({ out: 'd.html\nd.pdf\n', status: 0 });
    const pdf = readFileSync(join(folder, 'd.pdf'), 'latin1');
    expect(pdf.startsWith('%PDF-')).toBe(true);
    expect(pdf.match(/\/Type\s*\/Page\b/g)).toHaveLength(2);
  });

  it('keeps the report and says how to print it where there is no browser', () => {
    expect(() => printPdf('d.html', null)).toThrow(/d\.html is written.*print it/);
  });
});
