import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeSamples, SAMPLES } from '../../sample-surveys/make.ts';
import { BRICKFIELD_CREST } from '../../sample-surveys/scenarios/brickfield-row.ts';
import { BROKEN_FILES } from '../../sample-surveys/scenarios/broken.ts';
import { analyseOpened } from '../../src/analyse.ts';
import { addFiles } from '../../src/cli/store/add-files.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { InputError } from '../../src/input-error.ts';

const COMMITTED = new URL('../../sample-surveys', import.meta.url).pathname;
let made: string;

beforeAll(async () => {
  made = mkdtempSync(join(tmpdir(), 'sweepbook-samples-test-'));
  await makeSamples(made);
});
afterAll(() => rmSync(made, { recursive: true, force: true }));

function filesIn(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    return statSync(path).isDirectory() ? filesIn(path) : [path];
  });
}

describe('bundled samples', () => {
  it('come out of the script byte for byte as committed', () => {
    const again = filesIn(made).map((path) => relative(made, path));
    expect(again.length).toBeGreaterThan(60);
    for (const path of again) {
      const [a, b] = [readFileSync(join(made, path)), readFileSync(join(COMMITTED, path))];
      expect(a.equals(b), `${path} differs: run "npm run samples" and commit`).toBe(true);
    }
    for (const { folder } of SAMPLES.map((make) => make())) {
      const committed = filesIn(join(COMMITTED, folder)).map((path) => relative(COMMITTED, path));
      const kept = committed.filter((path) => !path.includes('/reports/'));
      expect(again).toEqual(expect.arrayContaining(kept));
    }
  });

  for (const make of SAMPLES) {
    const sample = make();
    it(`${sample.folder} opens without a finding, every offset as the simulated crew read it`, async () => {
      const { readings, findings, files } = await openJob(join(made, sample.folder));
      expect(findings).toEqual([]);
      expect(files.every((file) => file.standing === 'known')).toBe(true);
      for (const [line, campaign] of Object.entries(sample.truth)) {
        const key = (r: { cycle: number; state: string; station: number; offset: number }) =>
          `${r.cycle} ${r.state} ${r.station.toFixed(4)} ${r.offset.toFixed(6)}`;
        const read = readings.filter((r) => r.line === line).map(key);
        expect(read.sort()).toEqual(campaign.readings.map(key).sort());
      }
    });
  }

  it('tannery-street has a heat log of four vees a cycle, one of them too hot', async () => {
    const { job } = await openJob(join(made, 'tannery-street'));
    const text = readFileSync(join(made, 'tannery-street', 'heats.csv'), 'utf8');
    const { log, problems, notRead } = readHeatLog(text, job, 'heats.csv');
    expect(problems).toEqual([]);
    expect(notRead).toEqual([]);
    expect(log.heats).toHaveLength(4 * 14);
    const limit = (1200 - 32) / 1.8;
    expect(log.heats.filter((heat) => heat.temperature! > limit + 1e-9).map((heat) => heat.cycle)).toEqual([
      5,
    ]);
  });

  it('end as the README says: inside tolerance, stalled an inch out, still closing', () => {
    const [juniper, tannery, saltmarsh] = SAMPLES.map((make) => make().truth['bottom-flange']?.truth);
    expect(Math.abs(juniper!.at(-1)!.largest.deviation)).toBeLessThan(0.25 * 0.0254);
    expect(Math.abs(tannery!.at(-1)!.largest.deviation)).toBeGreaterThan(0.9 * 0.0254);
    for (const cycle of tannery!.slice(9)) expect(cycle.movement).toBe(0);
    expect(Math.abs(saltmarsh!.at(-1)!.largest.deviation)).toBeGreaterThan(0.012);
    expect(saltmarsh!.at(-1)!.movement).toBeGreaterThan(0.001);
  });
});

describe('brickfield-row, a torn web panel', () => {
  it('keeps its number a lower bound beside the tear, finds the slip and the days that brought nothing', async () => {
    const [panel] = analyseOpened(await openJob(join(made, 'brickfield-row'))).lines;
    const { surveys } = panel!.fit;
    expect(surveys).toHaveLength(9);
    for (const { panel: map, largest } of surveys) {
      expect(map!.crest.lowerBound).toBe(true);
      expect(Math.abs(largest.deviation)).toBeLessThan(BRICKFIELD_CREST + 2 * largest.u);
    }
    expect(Math.abs(surveys[0]!.largest.deviation)).toBeGreaterThan(0.85 * BRICKFIELD_CREST);
    expect(surveys.map((survey) => survey.setAside.length)).toEqual([0, 0, 0, 0, 1, 0, 0, 0, 0]);
    expect(panel!.progress.pattern!.stoodStill.cycles).toEqual([3, 6]);
    expect(panel!.acceptance[0]!.result).not.toBe('within');
  });
});

describe('broken files', () => {
  it('the sound one is taken', async () => {
    const { kept } = await addFiles(join(made, 'juniper-lane'), [join(made, 'broken', 'sound.csv')], {
      setAside: false,
      when: () => '2025-06-06T21:10:00.000Z',
      waitMs: 0,
    });
    expect(kept[0]!.readings).toBe(5);
  });

  for (const { name, row, column, fault } of BROKEN_FILES) {
    it(`${name} is refused: ${fault}`, async () => {
      const error = await addFiles(join(made, 'juniper-lane'), [join(made, 'broken', name)], {
        setAside: false,
        when: () => '2025-06-07T21:10:00.000Z',
        waitMs: 0,
      }).then(
        () => null,
        (reason: unknown) => reason,
      );
      expect(error).toBeInstanceOf(InputError);
      const { problems } = error as InputError;
      expect(problems.length).toBeGreaterThan(0);
      for (const problem of problems) expect(problem.file).toBe(name);
      if (row !== null) expect(problems[0]!.row).toBe(row);
      if (column !== null) expect(problems[0]!.column).toBe(column);
      expect(problems[0]!.found).not.toMatch(/undefined|\[object/);
    });
  }
});
