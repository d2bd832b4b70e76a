import type { Job } from '../../src/job/job.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import type { Reading } from '../../src/survey/survey.ts';

const INCH = 0.0254;

export interface CampaignOptions {
  readonly cycles: number;
  /** Stations and heights of the grid, spaces along and up. */
  readonly grid?: readonly [number, number];
  readonly sd?: number;
  readonly seed?: number;
  /** Steel at a place in a cycle, m; x and y are shares of the panel. */
  readonly truth: (x: number, y: number, cycle: number) => number;
  /** Places not read. */
  readonly skip?: (x: number, y: number, cycle: number) => boolean;
  /** Written to the sixteenth of an inch, as a crew does. */
  readonly rounded?: boolean;
}

/** Readings of the first line of a job, which is a panel, cycle by cycle, each with a set-up of its own. */
export function panelReadings(job: Job, options: CampaignOptions): Reading[] {
  const line = job.lines[0]!;
  const [from, to] = line.bearings;
  const [low, high] = line.panel!.heights;
  const [nx, ny] = options.grid ?? [10, 7];
  const sd = options.sd ?? INCH / 32;
  const normal = seededNormal(seededUniform(options.seed ?? 1));
  const readings: Reading[] = [];
  for (let cycle = 0; cycle < options.cycles; cycle++) {
    const [offset, lean, skew] = [0.05 + 0.01 * normal(), 0.01 * normal(), 0.004 * normal()];
    for (let j = 0; j <= ny; j++) {
      for (let i = 0; i <= nx; i++) {
        const [x, y] = [i / nx, j / ny];
        const read = options.truth(x, y, cycle) + offset + lean * y + skew * x + sd * normal();
        if (options.skip?.(x, y, cycle)) continue;
        readings.push({
          cycle,
          line: line.name,
          station: from + x * (to - from),
          height: low + y * (high - low),
          offset: options.rounded === false ? read : Math.round(read / (INCH / 16)) * (INCH / 16),
          state: 'released',
          sd: null,
          temperature: null,
          date: `2026-05-${String(4 + cycle).padStart(2, '0')}`,
          time: null,
          note: null,
          file: `readings/cycle-${cycle}.csv`,
          row: 2 + j * (nx + 1) + i,
        });
      }
    }
  }
  return readings;
}
