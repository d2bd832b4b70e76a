import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { analyseLine } from '../../src/analyse-line.ts';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { conclude, prepare } from '../../src/conclude.ts';
import type { JobBundle } from '../../src/page/job-bundle.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { filesOfBook } from '../../src/page/papers/files-of-book.ts';
import { makePapers } from '../../src/page/papers/make-papers.ts';
import {
  begunPractice,
  heated,
  practiceOf,
  readAgain,
  truthShown,
} from '../../src/page/practice/practice-job.ts';
import { runInProcess } from '../cli/in-process.ts';

const MOMENT = { when: '2031-03-04T15:00:00.000Z', fresh: 'page-0123456789abcdef' };
const linesOf = (inputs: Parameters<typeof analyseLine>[0][]) => inputs.map(analyseLine);

describe('a practice on the page', () => {
  let top: string;
  beforeAll(() => {
    top = mkdtempSync(join(tmpdir(), 'sweepbook-practice-'));
  });
  afterAll(() => rmSync(top, { recursive: true, force: true }));
  const run = async (...args: string[]) => {
    const said = await runInProcess(args, COMMANDS, { cwd: top, now: () => new Date(MOMENT.when) });
    expect(said.status, said.err).toBe(0);
    return said.out;
  };
  const analysisOf = (bundle: JobBundle) => {
    const prepared = prepare(openBundle(bundle));
    return conclude(prepared, linesOf([...prepared.lines]));
  };

  it('is the girder, the sheets, the heat log and the reveal of the command line, and its folder goes on there', async () => {
    const words = { vees: '23 ft, 25 ft', pressure: '1000 psi' };
    const begun = begunPractice({ seed: '12', units: 'us', blows: '1', jacks: '' }, MOMENT);
    const { bundle, said } = heated(begun, analysisOf(begun), words, false, '2031-03-04', MOMENT);
    expect(said.every(({ severity }) => severity !== 'stop')).toBe(true);

    await run('practice', 'new', 'own', '--seed', '12');
    await run('add', 'own', 'own/sheets/cycle-00.csv');
    await run('practice', 'heat', 'own', '--vees', words.vees, '--pressure', words.pressure);
    await run('add', 'own', 'own/sheets/cycle-01.csv');
    const own = (file: string) => readFileSync(join(top, 'own', file), 'utf8');
    expect(bundle.files.map(({ file }) => file)).toEqual(['readings/cycle-00.csv', 'readings/cycle-01.csv']);
    for (const { file, text } of [...bundle.files, ...bundle.others]) expect(text, file).toBe(own(file));
    expect(bundle.findings.filter(({ severity }) => severity === 'stop')).toEqual([]);

    const files = filesOfBook(bundle, []);
    for (const [file, bytes] of files) {
      mkdirSync(dirname(join(top, 'page', file)), { recursive: true });
      writeFileSync(join(top, 'page', file), bytes);
    }
    const asked = {
      paper: 'reveal',
      full: false,
      columns: 80,
      name: 'practice',
      files,
      notHere: [],
      keyed: [],
    } as const;
    const made = await makePapers({ ...asked, seal: null, generated: '2031-03-04', tool: 'test' }, (inputs) =>
      linesOf([...inputs]),
    );
    expect(made.papers[0]!.text).toMatch(/truly -1\.6\d°/);
    expect(made.papers[0]!.text).toBe(await run('practice', 'reveal', 'page'));
    expect(made.papers[0]!.text).toBe(await run('practice', 'reveal', 'own'));
    expect(await run('verify', 'page')).toContain('everything is as recorded');

    const again = readAgain(bundle, MOMENT);
    await run('practice', 'read', 'page');
    expect(again.files.find(({ file }) => file.includes('again'))!.text).toBe(
      readFileSync(join(top, 'page/sheets/cycle-01-again-1.csv'), 'utf8'),
    );
    expect(practiceOf(again)!.cycles[1]!.underLoad).toEqual([false, false]);
    const shown = truthShown(again);
    expect(practiceOf(shown)!.revealed).toBe(1);
    expect(() => heated(shown, analysisOf(shown), { vees: '24 ft' }, false, '2031-03-04', MOMENT)).toThrow(
      /this practice is over/,
    );
  });

  it('makes no heat the job’s own checks call dangerous, and none of words it cannot read', () => {
    const begun = begunPractice({ seed: '12', units: 'us', blows: '1', jacks: '24 ft' }, MOMENT);
    const analysis = analysisOf(begun);
    const attempt = (words: { vees: string; pressure?: string; temperature?: string }) =>
      heated(begun, analysis, words, false, '2031-03-04', MOMENT);
    expect(() => attempt({ vees: '24 ft', pressure: '9500 psi' })).toThrow(
      /No heat was made.*above the ceiling/,
    );
    expect(() => attempt({ vees: '24 ft', temperature: '1300 F' })).toThrow(/No heat was made.*the limit is/);
    expect(() => attempt({ vees: 'here' })).toThrow(/No heat was made/);
    expect(() => begunPractice({ seed: '', units: 'si', blows: '1', jacks: 'there' }, MOMENT)).toThrow(
      /could not be used/,
    );
  });
});
