import {
  appendFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { analyseOpened } from '../../src/analyse.ts';
import { analyseLine, type LineInputs } from '../../src/analyse-line.ts';
import type { Analysis } from '../../src/analysis.ts';
import { analyseFolder } from '../../src/cli/analyse-kept.ts';
import { keptPaper } from '../../src/cli/kept-papers.ts';
import { filesOfFolder } from '../../src/cli/store/files-of-folder.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import type { JobFiles } from '../../src/folder/job-files.ts';
import { readLogs } from '../../src/papers/logs.ts';
import { statusDocument } from '../../src/status/status-document.ts';

/** Names of the lines that were really worked out. */
const fitted: string[] = [];
const counting = async (lines: readonly LineInputs[]) =>
  lines.map((inputs) => {
    fitted.push(inputs.line.name);
    return analyseLine(inputs);
  });

const CORE = 'c0'.repeat(32);
let work: string;
let folder: string;

beforeEach(() => {
  work = mkdtempSync(join(tmpdir(), 'sweepbook-kept-'));
  vi.stubEnv('XDG_STATE_HOME', join(work, 'state'));
  folder = join(work, 'job');
  mkdirSync(join(folder, 'readings'), { recursive: true });
  writeFileSync(
    join(folder, 'job.json'),
    JSON.stringify({
      job: 'Two lines of a spare girder',
      units: 'si',
      member: { span: 20, yieldStress: '250 MPa', flangeWidth: 300, flangeThickness: 25, diaphragms: [10] },
      lines: {
        'bottom-flange': { kind: 'sweep', bearings: [0, 20], positive: 'north' },
        'web-lean': { kind: 'plumb', bearings: [0, 20], positive: 'north' },
      },
      acceptance: [{ line: 'bottom-flange', limit: 12, over: 'whole line' }],
    }),
  );
  for (const cycle of [0, 1, 2]) addSurvey(cycle, ['bottom-flange', 'web-lean']);
  fitted.length = 0;
});

afterEach(() => {
  vi.unstubAllEnvs();
  rmSync(work, { recursive: true, force: true });
});

/** A crease at 8 m that closes by a tenth a cycle, and a lean that follows it; digits of their own for every line. */
function addSurvey(cycle: number, lines: readonly string[]): void {
  const rows = lines.flatMap((line, k) =>
    Array.from({ length: 21 }, (_, station) => {
      const crease = 40 * Math.min(station / 8, (20 - station) / 12) * (1 - cycle / 10);
      const offset = Math.round(crease / (k + 1) + ((station * 7 + cycle * 3 + k) % 5) / 4);
      return `${cycle},${line},${station},${offset}`;
    }),
  );
  const name = `cycle-${cycle}-${lines.join('-')}.csv`;
  writeFileSync(join(folder, 'readings', name), `cycle,line,station,offset\n${rows.join('\n')}\n`);
}

const text = (analysis: Analysis): string => JSON.stringify(statusDocument(analysis));
const run = async (core = CORE): Promise<string> =>
  text(await analyseFolder(await openJob(folder), core, counting));
const fromNothing = async (): Promise<string> => {
  const answer = text(analyseOpened(await openJob(folder)));
  fitted.length = 0;
  return answer;
};
const keptFile = (): string => join(folder, '.kept', 'lines');

describe('kept papers', () => {
  let made: number;
  beforeEach(() => {
    made = 0;
  });
  /** What any paper starts from: the job, its readings, its logs and what is wrong with them. */
  const make = async (files: JobFiles): Promise<string> => {
    made++;
    const { source, job, readings, findings } = await openJob(folder, files);
    return JSON.stringify([job, readings, findings, readLogs(source, job)]);
  };
  const paper = (wish: unknown = 'status', code: string | null = CORE) => keptPaper(folder, wish, make, code);
  const papers = () => readdirSync(join(folder, '.kept')).filter((name) => name.startsWith('paper-'));
  const inFolder = (...names: string[]) => join(folder, ...names);

  it('are made once, and again for another command, width or program', async () => {
    const first = await paper();
    expect(await paper()).toBe(first);
    expect(made).toBe(1);
    await paper(['status', 120]);
    await paper('status', 'c1'.repeat(32));
    expect(made).toBe(3);
    expect(await paper()).toBe(first);
    expect(made).toBe(3);
  });

  it('are made anew after whatever happens to a file they were made of, also one that was not there', async () => {
    const survey = inFolder('readings', 'cycle-1-bottom-flange-web-lean.csv');
    const sound = readFileSync(survey, 'utf8');
    const job = readFileSync(inFolder('job.json'), 'utf8');
    const changes: readonly (() => void)[] = [
      () =>
        writeFileSync(
          survey,
          sound.replace(/\d$/m, (digit) => String((Number(digit) + 1) % 10)),
        ),
      () => rmSync(survey),
      () => writeFileSync(survey, sound),
      () => cpSync(survey, inFolder('readings', 'again.csv')),
      () => rmSync(inFolder('readings', 'again.csv')),
      () => writeFileSync(inFolder('job.json'), job.replace('"limit":12', '"limit":13')),
      () => writeFileSync(inFolder('heats.csv'), 'cycle,station,pattern\n1,8,vee\n'),
      () => writeFileSync(inFolder('heats.csv'), 'cycle,station,pattern\n1,9,vee\n'),
      () => writeFileSync(inFolder('costs.csv'), 'date,what,amount\n'),
      () => writeFileSync(inFolder('ledger.jsonl'), '{"seq":1}\n'),
      () => writeFileSync(inFolder('.ledger-head'), 'no seal'),
      () => mkdirSync(inFolder('panels')),
      () => writeFileSync(inFolder('panels', 'web.csv'), 'station,height,offset\n'),
      () => mkdirSync(inFolder('photos')),
      () => writeFileSync(inFolder('photos', 'a.jpg'), 'a picture put there by hand'),
    ];
    let before = await paper();
    for (const [i, change] of changes.entries()) {
      change();
      made = 0;
      const now = await paper();
      // An empty folder changes nothing that is said, and may cost a look.
      if (!/mkdir/.test(String(change))) expect(made, `change ${i + 1}`).toBe(1);
      made = 0;
      expect(now, `change ${i + 1}`).toBe(await make(filesOfFolder(folder)));
      before = await paper();
      expect(before).toBe(now);
    }
  });

  it('that cannot be made any more are not told from memory: the fault is', async () => {
    await paper();
    writeFileSync(inFolder('job.json'), '{');
    await expect(paper()).rejects.toThrow(/job\.json/);
    rmSync(inFolder('job.json'));
    await expect(paper()).rejects.toThrow(/is not a job/);
  });

  it('changed by anybody, put under another name or kept by somebody else do not count', async () => {
    const sound = await paper();
    const [name] = papers();
    const file = inFolder('.kept', name!);
    const text = readFileSync(file, 'utf8');
    const better = text.replace('bottom-flange', 'bottom-flangE');
    expect(better).not.toBe(text);
    for (const spoilt of [better, text.slice(0, -9), `${text}x`, '', text.replace(/^.*\n/, '')]) {
      writeFileSync(file, spoilt);
      made = 0;
      expect(await paper()).toBe(sound);
      expect(made).toBe(1);
      expect(readFileSync(file, 'utf8')).toBe(text);
    }
    await paper('card');
    const other = papers().find((each) => each !== name)!;
    cpSync(file, inFolder('.kept', other));
    made = 0;
    await paper('card');
    expect(made).toBe(1);
    vi.stubEnv('XDG_STATE_HOME', join(work, 'another person'));
    expect(await paper()).toBe(sound);
    expect(made).toBe(2);
  });

  it('of files that change while they are read are not kept', async () => {
    const hurried = async (files: JobFiles): Promise<string> => {
      const first = files.digest('job.json')!.sha256;
      appendFileSync(inFolder('job.json'), '\n');
      return first + files.digest('job.json')!.sha256;
    };
    await keptPaper(folder, 'status', hurried, CORE);
    expect(existsSync(inFolder('.kept'))).toBe(false);
  });

  it('are a dozen at most, and none of a program that runs from source', async () => {
    await paper('status', null);
    expect(existsSync(inFolder('.kept'))).toBe(false);
    for (let columns = 60; columns < 75; columns++) await paper(['status', columns]);
    expect(papers()).toHaveLength(12);
    made = 0;
    await paper(['status', 74]);
    expect(made).toBe(0);
  });
});

describe('kept answers', () => {
  it('give the same answer to the last digit, and nothing is fitted again', async () => {
    const plain = await fromNothing();
    expect(await run()).toBe(plain);
    expect(fitted).toEqual(['bottom-flange', 'web-lean']);
    expect(await run()).toBe(plain);
    expect(fitted).toHaveLength(2);
  });

  it('of a job with one survey more: only the line it was read on is fitted again', async () => {
    await run();
    addSurvey(3, ['web-lean']);
    const plain = await fromNothing();
    expect(await run()).toBe(plain);
    expect(fitted).toEqual(['web-lean']);
  });

  it('are not used for another limit, another core or one changed reading', async () => {
    await run();
    fitted.length = 0;
    await run('c1'.repeat(32));
    expect(fitted).toHaveLength(2);
    const job = join(folder, 'job.json');
    writeFileSync(job, readFileSync(job, 'utf8').replace('"limit":12', '"limit":13'));
    const limit = await fromNothing();
    expect(await run()).toBe(limit);
    expect(fitted).toHaveLength(2);
    appendFileSync(
      join(folder, 'readings', 'cycle-2-bottom-flange-web-lean.csv'),
      '2,bottom-flange,10.5,31\n',
    );
    const reading = await fromNothing();
    expect(reading).not.toBe(limit);
    expect(await run()).toBe(reading);
    expect(fitted).toEqual(['bottom-flange']);
  });

  it('changed by anybody are made anew', async () => {
    const plain = await run();
    const sound = readFileSync(keptFile(), 'utf8');
    // Better news than the readings give, in a file that is otherwise whole.
    const forged = sound.replaceAll('"deviation":', '"deviation":0,"was":');
    expect(forged).not.toBe(sound);
    for (const text of [forged, sound.slice(0, -40), sound.slice(40), '', `${sound}x`, 'sweepbook']) {
      writeFileSync(keptFile(), text);
      fitted.length = 0;
      expect(await run()).toBe(plain);
      expect(fitted).toHaveLength(2);
      expect(readFileSync(keptFile(), 'utf8')).toBe(sound);
    }
  });

  it('of somebody else do not count, however well they are made', async () => {
    const plain = await run();
    vi.stubEnv('XDG_STATE_HOME', join(work, 'another person'));
    fitted.length = 0;
    expect(await run()).toBe(plain);
    expect(fitted).toHaveLength(2);
    expect(await run()).toBe(plain);
    expect(fitted).toHaveLength(2);
  });

  it('are no part of the record: verify passes over them, and without them all works', async () => {
    await run();
    expect(readdirSync(join(folder, '.kept')).sort()).toEqual(['.gitignore', 'lines']);
    const { ok, files } = await verifyJob(folder, null);
    expect(ok).toBe(true);
    expect(files.map((each) => each.file).join()).not.toContain('.kept');
    rmSync(join(folder, '.kept'), { recursive: true });
    fitted.length = 0;
    await run();
    expect(fitted).toHaveLength(2);
  });

  it('cannot be kept where there is no place for them: the answer comes all the same', async () => {
    const plain = await fromNothing();
    // A file where the folder should be, a link that leads out, and no place for this user's secret.
    writeFileSync(join(folder, '.kept'), '');
    expect(await run()).toBe(plain);
    rmSync(join(folder, '.kept'));
    const elsewhere = join(work, 'elsewhere');
    mkdirSync(elsewhere);
    symlinkSync(elsewhere, join(folder, '.kept'));
    expect(await run()).toBe(plain);
    expect(readdirSync(elsewhere)).toEqual([]);
    rmSync(join(folder, '.kept'));
    writeFileSync(join(work, 'a file'), '');
    vi.stubEnv('XDG_STATE_HOME', join(work, 'a file'));
    expect(await run()).toBe(plain);
    expect(existsSync(join(folder, '.kept'))).toBe(false);
  });

  it('are not made by a program that runs from source', async () => {
    await analyseFolder(await openJob(folder));
    expect(existsSync(join(folder, '.kept'))).toBe(false);
  });

  it('go along in a copy of the folder', async () => {
    const plain = await run();
    cpSync(folder, join(work, 'copy'), { recursive: true });
    folder = join(work, 'copy');
    fitted.length = 0;
    expect(await run()).toBe(plain);
    expect(fitted).toEqual([]);
  });
});
