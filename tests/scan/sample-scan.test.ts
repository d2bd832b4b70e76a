import { cpSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { SCANNED } from '../../sample-surveys/scanned-girder.ts';
import { addScan } from '../../src/cli/commands/scan.ts';
import { truthAt } from '../bench/raycast/girder.ts';
import { runInProcess } from '../cli/in-process.ts';

/** The sample of a scanned job does what its README says, and gives the shape its clouds were cast from. */
const folder = mkdtempSync(join(tmpdir(), 'sweepbook-reed-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

it('reed-lane-scan: two scans, the second from another frame, give the girders they were cast from', async () => {
  cpSync(join(import.meta.dirname, '../../sample-surveys/reed-lane-scan'), join(folder, 'reed-lane'), {
    recursive: true,
  });
  const run = (...args: string[]) =>
    runInProcess(['scan', ...args, '--job', 'reed-lane', '--preview'], [addScan], {
      cwd: folder,
      now: () => new Date('2031-05-06T07:08:09Z'),
    });
  const scans = [
    await run('reed-lane/as-found.las', '--cycle', '0'),
    await run('reed-lane/cycle-1.las', '--cycle', '1', '--targets', 'reed-lane/cycle-1-targets.csv'),
  ];
  scans.forEach((scan, cycle) => {
    expect(scan.status, scan.err).toBe(0);
    const csv = readFileSync(
      join(folder, 'reed-lane/scans', ['cycle-0-as-found.csv', 'cycle-1-cycle-1.csv'][cycle]!),
      'utf8',
    );
    const rows = csv.split('\n').filter((row) => row.startsWith(`${cycle},bottom-flange`));
    expect(rows.length).toBeGreaterThan(35);
    // The line runs between the picks of scan.json, at y = 0.15 m at both ends.
    for (const row of rows) {
      const [, , station, offset, sd] = row.split(',').map(Number) as [
        number,
        number,
        number,
        number,
        number,
      ];
      const error = offset * 0.0254 - (truthAt(SCANNED[cycle]!, station * 0.3048).positive.y - 0.15);
      expect(Math.abs(error), `cycle ${cycle} at ${station} ft`).toBeLessThan(
        Math.max(0.0015, 4 * sd * 0.0254),
      );
    }
    const page = readFileSync(join(folder, `reed-lane/reports/scan-preview-cycle-${cycle}.html`), 'utf8');
    expect(page).toContain(`Imported as scans/cycle-${cycle}`);
  });
});
