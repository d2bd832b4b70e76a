import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { SCANNED } from '../../sample-surveys/scanned-girder.ts';
import { addScan } from '../../src/cli/commands/scan.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { scanSection } from '../../src/papers/scan-views.ts';
import { htmlText } from '../../src/report/html.ts';
import { quantities } from '../../src/report/quantities.ts';
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
    const errors = rows.map((row) => {
      const [, , station, offset, sd] = row.split(',').map(Number) as [
        number,
        number,
        number,
        number,
        number,
      ];
      const error = offset * 0.0254 - (truthAt(SCANNED[cycle]!, station * 0.3048).positive.y - 0.15);
      return { station, error, sd: sd * 0.0254 };
    });
    // A scan brought from another frame may stand off as a whole by what its targets leave, here up to 6 mm: that goes with the
    // set-up of its survey, a straight line.
    const off = cycle === 0 ? [0, 0] : straightLine(errors.map((e) => [e.station, e.error]));
    expect(Math.abs(off[0]!)).toBeLessThan(0.006);
    for (const { station, error, sd } of errors) {
      expect(Math.abs(error - off[0]! - off[1]! * station), `cycle ${cycle} at ${station} ft`).toBeLessThan(
        Math.max(0.0015, 4 * sd),
      );
    }
    const page = readFileSync(join(folder, `reed-lane/reports/scan-preview-cycle-${cycle}.html`), 'utf8');
    expect(page).toContain(`Imported as scans/cycle-${cycle}`);
  });
});

/** Offset and slope of the least-squares line through points, by the textbook's formula. */
function straightLine(points: readonly (readonly [number, number])[]): [number, number] {
  const mean = (k: 0 | 1) => points.reduce((sum, p) => sum + p[k], 0) / points.length;
  const [x, y] = [mean(0), mean(1)];
  const slope =
    points.reduce((sum, p) => sum + (p[0] - x) * (p[1] - y), 0) /
    points.reduce((sum, p) => sum + (p[0] - x) ** 2, 0);
  return [y - slope * x, slope];
}

it('the reports show how the flange was followed: the daily sheet the newest survey, the final report the first too', async () => {
  const job = join(folder, 'reed-lane');
  const shown = async (final: boolean) => {
    const section = scanSection(await openJob(job), quantities('us', 16), final);
    const text = section === null ? '' : htmlText(section.body);
    return { text, cycles: [...text.matchAll(/<h3>Cycle (\d)/g)].map((m) => m[1]) };
  };
  expect((await shown(false)).cycles).toEqual(['1']);
  expect((await shown(true)).cycles).toEqual(['0', '1']);
  const section = (await shown(true)).text;
  // Plan, elevation and how well it fits, each wide and narrow, and ten slices or more of either survey.
  expect(section.match(/<svg/g)!.length).toBeGreaterThan(2 * (6 + 10));
  expect(section).toContain('bottom-flange, flange-tilt');
  expect(section.length).toBeLessThan(700_000);
  // Another survey's figures are not shown: the view says which bytes it belongs to.
  const view = join(job, 'scans/cycle-1-cycle-1.view.json');
  writeFileSync(view, readFileSync(view, 'utf8').replace(/"sha256":"../, '"sha256":"zz'));
  expect((await shown(true)).cycles).toEqual(['0']);
});

it('what cannot be written beside an import does not undo it; where things are to go is asked before the cloud is read', async () => {
  const job = join(folder, 'linked');
  cpSync(join(import.meta.dirname, '../../sample-surveys/reed-lane-scan'), job, { recursive: true });
  mkdirSync(join(job, 'scans'));
  const elsewhere = join(folder, 'elsewhere.json');
  symlinkSync(elsewhere, join(job, 'scans/cycle-0-as-found.view.json'));
  const scan = (...more: string[]) =>
    runInProcess(['scan', 'linked/as-found.las', '--job', 'linked', '--cycle', '0', ...more], [addScan], {
      cwd: folder,
      now: () => new Date('2031-05-06T07:08:09Z'),
    });
  const named = await scan('--preview', 'linked/job.json');
  expect(named).toMatchObject({ status: 1, out: '' });
  expect(named.err).toContain('.html');
  expect((await openJob(job)).readings).toEqual([]);
  const ran = await scan('--line', 'flange-tilt');
  expect(ran.status, ran.err).toBe(0);
  expect(ran.err).toMatch(/Caution: the survey is imported, but .*view\.json .*link/);
  expect((await openJob(job)).readings.length).toBeGreaterThan(15);
  expect(existsSync(elsewhere)).toBe(false);
});
