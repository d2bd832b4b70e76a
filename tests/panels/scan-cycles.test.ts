import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { analyseOpened } from '../../src/analyse.ts';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { runInProcess } from '../cli/in-process.ts';
import { dent } from './plates.ts';

const INCH = 0.0254;
const folder = mkdtempSync(join(tmpdir(), 'sweepbook-scan-panel-'));
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});
const run = (...args: string[]) =>
  runInProcess(args, COMMANDS, { cwd: folder, now: () => new Date('2026-05-08T12:00:00Z') });

/** 60 by 38 in of web every half inch, a dome of `size` in off the middle; x along, z up, y out of it. */
function cloud(size: number): string {
  const normal = seededNormal(seededUniform(3));
  const rows: string[] = [];
  for (let j = 0; j <= 76; j++)
    for (let i = 0; i <= 120; i++) {
      const [x, z] = [i / 120, j / 76];
      const y = size * INCH * dent(x, z, 0.4, 0.55, 0.35, 60 / 38);
      rows.push(
        `${(60 * INCH * x).toFixed(4)} ${(y + 0.001 * normal()).toFixed(5)} ${(38 * INCH * z).toFixed(4)}`,
      );
    }
  return `${rows.join('\n')}\n`;
}

describe('a panel scanned cycle by cycle', () => {
  it('is imported by bulge like any survey: judged, moved, with its crest where it is', async () => {
    const job = {
      job: 'Scan trial',
      units: 'us',
      member: {
        ...{ span: '62 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
        webThickness: '7/16 in',
      },
      panels: {
        'web-3': {
          ...{ stations: ['28 ft', '33 ft'], heights: ['0 in', '38 in'], positive: 'north' },
          held: ['bottom', 'top', 'from', 'to'],
        },
      },
      acceptance: [{ line: 'web-3', limit: '1/4 in' }],
    };
    writeFileSync(join(folder, 'job.json'), JSON.stringify(job));
    const corners = '0,0,0 1.524,0,0 1.524,0,0.9652 0,0,0.9652';
    const take = (cycle: number, panel: string) =>
      run(
        ...[
          'bulge',
          `c${cycle}.xyz`,
          '--job',
          '.',
          '--cycle',
          String(cycle),
          '--units',
          'm',
          '--columns',
          'x,y,z',
        ],
        ...['--panel', panel, '--corners', corners, '--positive', '0,1,0', '--cell', '50 mm'],
        ...(panel === 'web-3' ? [] : ['--readings']),
      );
    writeFileSync(join(folder, 'c0.xyz'), cloud(2));
    writeFileSync(join(folder, 'c1.xyz'), cloud(1.5));
    const wrong = await take(0, 'web-9');
    expect(wrong.status).toBe(1);
    expect(wrong.err).toContain('web-3');
    for (const cycle of [0, 1]) {
      const said = await take(cycle, 'web-3');
      expect(said.err).toBe('');
      expect(said.out).toContain('readings of panel web-3: scans/');
    }
    const [panel] = analyseOpened(await openJob(folder)).lines;
    const { surveys } = panel!.fit;
    expect(surveys.map(({ cycle }) => cycle)).toEqual([0, 1]);
    surveys.forEach(({ panel: map }, k) => {
      const size = [2, 1.5][k]!;
      expect(Math.abs(map!.crest.deviation / INCH - size)).toBeLessThan(0.05 * size);
      expect(map!.crest.station / 0.3048).toBeCloseTo(28 + 0.4 * 5, 0);
      expect(Math.abs(map!.crest.height / INCH - 0.55 * 38)).toBeLessThan(1.5);
    });
    expect(panel!.movements[0]!.largest.movement / INCH).toBeCloseTo(-0.5, 1);
    // Drawn once in the report, as a panel of the job, not as a map beside it.
    const report = await run('report', '.', '--plain', '--full', '--out', 'r.html');
    expect(report.status).toBe(0);
    const text = readFileSync(join(folder, 'r.html'), 'utf8');
    expect(text).toContain('Panel web-3');
    expect(text).not.toContain('Panels mapped from scans');
  });
});
