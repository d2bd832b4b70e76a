import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { LineInputs } from '../../src/analyse-line.ts';
import { analyseLine } from '../../src/analyse-line.ts';
import { fitLines } from '../../src/cli/line-threads.ts';
import { prepare } from '../../src/conclude.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { type BundledCli, bundleCli } from './run-cli.ts';

let cli: BundledCli;
beforeAll(async () => {
  cli = await bundleCli();
});
afterAll(() => cli.remove());

/** Two lines with 780 readings each: enough to be worth a thread. */
function twoLines(): readonly LineInputs[] {
  const girder = simulateGirder({
    span: 18,
    flangeWidth: 0.3,
    flangeThickness: 0.025,
    yieldStress: 250e6,
    diaphragms: [{ station: 9, stiffness: 2e7 }],
    impacts: [{ station: 6, patch: 0.3, set: 0.06 }],
  });
  const job = jobOf(girder);
  const lines = ['one', 'two'].map((name) => ({ ...job.lines[0]!, name }));
  const readings = lines.flatMap((line, k) =>
    Array.from({ length: 60 }, (_, cycle) =>
      Array.from(
        { length: 13 },
        (__, i): Reading => ({
          ...{ cycle, line: line.name, station: i * 1.5, state: 'released', sd: null, temperature: null },
          ...{ date: null, time: null, note: null, file: 'readings/a.csv', row: cycle * 13 + i + 2 },
          offset:
            (k + 1) * 0.02 * Math.min(i / 4, (12 - i) / 8) * (1 - cycle / 80) + ((i * 7 + cycle) % 5) / 2000,
        }),
      ),
    ).flat(),
  );
  return prepare({ job: { ...job, lines }, readings, marks: [], findings: [], declarations: [] }).lines;
}

describe('lines worked out in threads', () => {
  it('come back in their order, to the last digit as one after the other', async () => {
    const lines = twoLines();
    const here = lines.map(analyseLine);
    expect(await fitLines(lines, cli.path)).toEqual(here);
    // A thread that cannot start, and one that ends at once, leave the work to this one.
    const broken = join(cli.path, '..', 'broken.mjs');
    writeFileSync(broken, 'throw new Error("no");');
    expect(await fitLines(lines, broken)).toEqual(here);
    expect(await fitLines(lines, join(cli.path, '..', 'nothing-here.mjs'))).toEqual(here);
  });
});
