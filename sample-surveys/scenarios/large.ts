/** A job as large as jobs get: for benches and timings, made on demand, never committed. */
import { type Process, prepareCampaign, simulateCampaign } from '../../tests/mechanics/campaign.ts';
import { longFormCsv } from '../../tests/mechanics/csv.ts';
import { simulateGirder } from '../../tests/mechanics/girder.ts';
import { createRandom } from '../../tests/mechanics/random.ts';
import { evening, FOOT, INCH, KSI, type Sample, workingDays } from './sample.ts';

const SPAN = 90 * FOOT;

/** Line names, what they measure and how far they were pushed, in. */
const LINES = [
  { name: 'bottom-flange', kind: 'sweep', set: 5 },
  { name: 'bottom-flange-far-edge', kind: 'sweep', set: 4.8 },
  { name: 'top-flange', kind: 'sweep', set: 1.2 },
  { name: 'camber', kind: 'camber', set: 1.5 },
  { name: 'flange-tilt', kind: 'tilt', set: 0.8 },
  { name: 'web-plumb', kind: 'plumb', set: 0.9 },
] as const;

/** Up to 6 lines, each read at `stations` stations in cycles 0 to `cycles` − 1. One CSV a cycle. */
export function largeSample(size: { cycles?: number; stations?: number; lines?: number } = {}): Sample {
  const cycles = size.cycles ?? 40;
  const count = size.stations ?? 100;
  const lines = LINES.slice(0, size.lines ?? 6);
  const random = createRandom('large');
  const days = workingDays('2025-01-06', cycles);
  const stations = Array.from({ length: count }, (_, i) => (SPAN * i) / (count - 1));
  const campaigns = lines.map(({ name, set }) => {
    const truth = simulateGirder({
      span: SPAN,
      flangeWidth: 14 * INCH,
      flangeThickness: INCH,
      yieldStress: 36 * KSI,
      hardening: 0.006,
      diaphragms: [18, 36, 54, 72].map((feet) => ({ station: feet * FOOT, stiffness: 1.2e7 })),
      impacts: [{ station: 40 * FOOT, patch: FOOT, set: set * INCH }],
    });
    const process: Process = { kind: 'decaying', rate: 0.06 * set * INCH, factor: 0.96 };
    return simulateCampaign(prepareCampaign(truth), {
      cycles: cycles - 1,
      process,
      reading: { stations, sd: INCH / 20, rounding: INCH / 16, line: name },
      date: (cycle) => days[cycle] ?? null,
      random: random.fork(name),
    });
  });
  const readings = campaigns.flatMap((campaign) => campaign.readings);
  return {
    folder: 'large',
    seed: 'large',
    story: `${lines.length} lines of ${count} stations over ${cycles} cycles`,
    units: 'us',
    started: '2025-01-03T12:00:00.000Z',
    job: {
      job: 'Long Meadow viaduct, girder 9 (invented, for timing)',
      units: 'us',
      member: {
        span: '90 ft',
        yieldStress: '36 ksi',
        flangeWidth: '14 in',
        flangeThickness: '1 in',
        diaphragms: ['18 ft', '36 ft', '54 ft', '72 ft'],
      },
      lines: Object.fromEntries(
        lines.map(({ name, kind }) => [
          name,
          { kind, bearings: ['0 ft', '90 ft'], positive: 'away from the blow', impact: '40 ft' },
        ]),
      ),
      acceptance: lines.map(({ name }) => ({ line: name, limit: '1/2 in', over: 'whole line' })),
    },
    files: days.map((_, cycle) => ({
      name: `cycle-${String(cycle).padStart(2, '0')}.csv`,
      text: longFormCsv(
        readings.filter((r) => r.cycle === cycle),
        { units: 'us', columns: ['line', 'date'] },
      ),
      when: evening(days.at(-1)!),
    })),
    truth: Object.fromEntries(lines.map(({ name }, i) => [name, campaigns[i]!])),
  };
}
