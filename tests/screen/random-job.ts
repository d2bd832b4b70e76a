import type { Job } from '../../src/job/job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import type { Mark, Reading } from '../../src/survey/survey.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';

/** A job made by hand rules, not by the estimator's: kinked or rounded shapes, odd stations, cycles and limits. */
export interface RandomJob {
  readonly job: Job;
  readonly readings: readonly Reading[];
  readonly marks: readonly Mark[];
}

const SPAN = 60;

/**
 * One small job from a seed: one to three lines; cycles that move, stand still or open; surveys left out, read in part,
 * with the jacks on, or hot; limits over the line, over a chord, at the blow, or none; misreadings and marks by hand.
 */
export function randomJob(seed: number): RandomJob {
  const uniform = seededUniform(seed);
  const normal = seededNormal(uniform);
  const chance = (p: number) => uniform() < p;
  const pick = <T>(from: readonly T[]): T => from[Math.floor(uniform() * from.length)]!;

  // A fitted line takes most of the time, so only some jobs have one.
  const swept = seed % 15 === 0;
  const kinds = [...(swept ? ['sweep'] : []), ...['tilt', 'plumb'].filter(() => chance(swept ? 0.4 : 0.7))];
  if (kinds.length === 0) kinds.push('tilt');
  const lines: Record<string, object> = {};
  const acceptance: object[] = [];
  const readings: Reading[] = [];
  const marks: Mark[] = [];
  const last = pick([0, 1, 2, 3, 4, 5, 6, 8]);
  const cycles = Array.from({ length: last + 1 }, (_, c) => c).filter(
    (c) => c === 0 || c === last || !chance(0.15),
  );

  for (const kind of kinds) {
    const name = `${kind}-line`;
    lines[name] = { kind, bearings: ['0 ft', `${SPAN} ft`], positive: 'north', impact: '26 ft' };
    const found = kind === 'sweep' ? 2 + 6 * uniform() : 0.1 + 1.5 * uniform();
    const limit = pick([0.25, 0.5, 1]);
    const rules = pick([
      ['none'],
      ['whole line'],
      ['whole line'],
      ['20 ft'],
      ['whole line', '20 ft'],
      ['impact'],
    ]);
    for (const over of rules) {
      if (over === 'none') continue;
      // A chord or the blow is asked of lines that run along the member.
      const extent =
        kind === 'sweep' ? (over === 'impact' ? { at: 'impact' } : { over }) : { over: 'whole line' };
      acceptance.push({ line: name, limit: `${limit} in`, ...extent });
      if (kind !== 'sweep') break;
    }
    const step = kind === 'sweep' ? pick([3, 4, 5]) : pick([5, 10, 15]);
    const stations = Array.from({ length: Math.floor(SPAN / step) + 1 }, (_, i) => i * step);
    const crest = pick([18, 24, 30, 40]);
    const reach = kind === 'sweep' ? 16 : 60;
    const shape = (s: number) => Math.max(0, 1 - (Math.abs(s - crest) / reach) ** pick([1, 1]));
    const noise = pick([0.02, 0.05, 0.09]);
    let height = found;
    const pace = found * pick([0.05, 0.15, 0.3]);
    let before = 0;
    for (const cycle of cycles) {
      for (let c = before + 1; c <= cycle; c++) {
        const state = uniform();
        if (state < 0.2) continue;
        height += state > 0.93 ? pace * 0.5 : -pace * (0.6 + 0.8 * uniform());
        height = Math.max(height, -0.3 * found);
      }
      before = cycle;
      const part = cycle === last && cycle > 0 ? pick(['all', 'all', 'all', 'one', 'half', 'middle']) : 'all';
      const read = stations.filter(
        (s, i) =>
          part === 'all' ||
          (part === 'one' && i === 0) ||
          (part === 'half' && s <= SPAN / 2) ||
          (part === 'middle' && Math.abs(s - crest) <= 10),
      );
      const survey = (
        state: Reading['state'],
        factor: number,
        where: readonly number[],
        hot: boolean,
      ): void => {
        const string = 3 + 0.1 * normal();
        for (const s of where) {
          const wrong = chance(0.01) ? 1 : 0;
          const inches =
            height * factor * shape(s) + noise * normal() + wrong + (kind === 'sweep' ? string : 0);
          const row = readings.length + 2;
          readings.push({
            cycle,
            line: name,
            station: s * FOOT,
            offset: (Math.round(inches * 16) / 16) * INCH,
            state,
            sd: null,
            temperature: hot ? 200 : chance(0.5) ? 25 : null,
            date: `2025-03-${String(cycle + 3).padStart(2, '0')}`,
            time: null,
            note: null,
            file: 'readings/a.csv',
            row,
          });
          const mark = {
            file: 'readings/a.csv',
            row,
            who: 'A. Reader',
            why: 'looked again',
            when: '2025-03-20T08:00:00Z',
          };
          if (chance(0.01)) marks.push({ ...mark, action: 'set-aside' });
          else if (wrong > 0 && chance(0.5)) marks.push({ ...mark, action: 'reinstate' });
        }
      };
      if (chance(0.2))
        survey(
          'restrained',
          0.6,
          chance(0.5) ? stations : stations.filter((s) => Math.abs(s - crest) <= 9),
          false,
        );
      if (cycle > 0 && chance(0.08)) continue;
      survey('released', 1, read, cycle === last && cycle > 0 && chance(0.15));
    }
  }
  const job = parseJob(
    JSON.stringify({
      job: `Random job ${seed}`,
      units: 'us',
      member: {
        span: `${SPAN} ft`,
        yieldStress: '36 ksi',
        flangeWidth: '12 in',
        flangeThickness: '1 in',
        depth: '36 in',
        ...(chance(0.5) ? { diaphragms: ['15 ft', '30 ft', '45 ft'] } : {}),
      },
      lines,
      ...(acceptance.length > 0 ? { acceptance } : {}),
    }),
  );
  return { job, readings, marks };
}
