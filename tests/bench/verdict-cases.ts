/** Seeded campaigns, from the simulated girder to readings as CSV text, and back through the pipeline to a fit. */

import type { LineFit } from '../../src/analysis.ts';
import type { Job } from '../../src/job/job.ts';
import { readOptions } from '../../src/job/read-options.ts';
import { readReadings } from '../../src/read/readings-csv.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { fitReadings } from '../fit-readings.ts';
import {
  type Campaign,
  nominalRate,
  type Process,
  prepareCampaign,
  simulateCampaign,
} from '../mechanics/campaign.ts';
import { longFormCsv } from '../mechanics/csv.ts';
import { type GirderTruth, simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { randomGirder } from '../mechanics/population.ts';
import { createRandom, type Random } from '../mechanics/random.ts';
import { stationsAlong } from '../mechanics/readings.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
export const TOLERANCE = INCH / 2;
export const USEFUL_GAIN = INCH / 32;
export const KINDS = ['constant', 'decaying', 'stalling', 'resuming', 'overcorrecting'] as const;
export const SDS = [INCH / 32, INCH / 16, INCH / 8] as const;

export interface VerdictCase {
  readonly seed: string;
  readonly kind: (typeof KINDS)[number];
  readonly sd: number;
  readonly cycles: number;
  readonly process: Process;
  /** Stations read each cycle, and the mark readings are rounded to, m. */
  readonly stations: readonly number[];
  readonly rounding: number;
  readonly campaign: Campaign;
  readonly job: Job;
  readonly csv: string;
}

/**
 * Kind and reading sd go round in turn; everything else is drawn. The work is planned to come inside tolerance in 5
 * to 60 cycles, 5 to 40 of which are read; heats of one zone scatter by a quarter; the string is set up anew each
 * cycle, by a quarter of an inch.
 */
export function createVerdictCase(seed: string, index: number): VerdictCase {
  const random = createRandom(seed);
  const kind = KINDS[index % KINDS.length]!;
  const sd = SDS[Math.floor(index / KINDS.length) % SDS.length]!;
  const truth = strikeGirder(random);
  const model = prepareCampaign(truth);
  const draw = random.fork('process');
  const cycles = draw.integer(5, 40);
  const toGo = toGoFrom(model.largest);
  const rate = toGo / (5 * 12 ** draw.uniform());
  const process = drawProcess(kind, rate, cycles, Math.ceil(toGo / rate), draw);
  const spacing = draw.pick([1, 2, 2, 2]) * FOOT;
  const stations = stationsAlong(0, truth.options.span, spacing);
  const rounding = sd < INCH / 20 ? INCH / 32 : INCH / 16;
  const campaign = simulateCampaign(model, {
    cycles,
    process,
    reading: { stations, sd, rounding },
    random: random.fork('campaign'),
  });
  const csv = longFormCsv(campaign.readings, { units: 'us', denominator: 32 });
  const job = jobOf(truth, { readingSd: sd, baseline: { method: 'bearings' } });
  return { seed, kind, sd, cycles, process, stations, rounding, campaign, job, csv };
}

/** A straight girder, struck. One in some thousands cannot be: its second blow meets steel already further out. It is drawn again. */
export function strikeGirder(random: Random): GirderTruth {
  for (let draw = 0; ; draw++) {
    try {
      const girder = randomGirder(random.fork(draw === 0 ? 'girder' : `girder ${draw}`));
      return simulateGirder({ ...girder, sweep: () => 0 });
    } catch (error) {
      if (draw === 9) throw error;
    }
  }
}

function drawProcess(
  kind: VerdictCase['kind'],
  rate: number,
  cycles: number,
  needed: number,
  draw: Random,
): Process {
  const stallAt = draw.integer(3, lastStall(cycles, needed));
  switch (kind) {
    case 'constant':
    case 'overcorrecting':
      return { kind, rate };
    case 'decaying':
      return { kind, rate: 2 * rate, factor: draw.between(0.8, 0.97) };
    case 'stalling':
      return { kind, rate, stallAt };
    case 'resuming':
      return { kind, rate, stallAt, resumeAt: stallAt + draw.integer(4, 8) };
  }
}

function toGoFrom(largest: number): number {
  return Math.max(largest - TOLERANCE, 0.25 * INCH);
}

function lastStall(cycles: number, needed: number): number {
  return Math.max(3, Math.min(cycles - 5, Math.floor(0.8 * needed)));
}

export interface PossibleProcess {
  readonly process: Process;
  /** Probability; they sum to 1. */
  readonly weight: number;
}

/** Rates and decays are drawn from a range; this many stand for it. */
const RATES = 48;
const DECAYS = 8;

/** Every process `createVerdictCase` may draw for a girder bent by `largest` (m) and read for `cycles`. */
export function possibleProcesses(largest: number, cycles: number): PossibleProcess[] {
  const toGo = toGoFrom(largest);
  const kind = 1 / KINDS.length / RATES;
  const list: PossibleProcess[] = [];
  for (let i = 0; i < RATES; i++) {
    const rate = toGo / (5 * 12 ** ((i + 0.5) / RATES));
    list.push({ process: { kind: 'constant', rate }, weight: kind });
    list.push({ process: { kind: 'overcorrecting', rate }, weight: kind });
    for (let j = 0; j < DECAYS; j++) {
      const factor = 0.8 + (0.17 * (j + 0.5)) / DECAYS;
      list.push({ process: { kind: 'decaying', rate: 2 * rate, factor }, weight: kind / DECAYS });
    }
    const last = lastStall(cycles, Math.ceil(toGo / rate));
    for (let stallAt = 3; stallAt <= last; stallAt++) {
      const weight = kind / (last - 2);
      list.push({ process: { kind: 'stalling', rate, stallAt }, weight });
      for (let more = 4; more <= 8; more++) {
        list.push({
          process: { kind: 'resuming', rate, stallAt, resumeAt: stallAt + more },
          weight: weight / 5,
        });
      }
    }
  }
  return list;
}

/** The readings as the tool reads them back from the CSV text. */
export function readBack(one: Pick<VerdictCase, 'seed' | 'csv' | 'job'>): readonly Reading[] {
  const result = readReadings(one.csv, readOptions(one.job, 'readings/all.csv'));
  if (result.problems.length > 0) throw new Error(`${one.seed}: ${JSON.stringify(result.problems[0])}`);
  return result.readings;
}

/** The fit of the surveys up to a cycle. */
export function fitTo(one: Pick<VerdictCase, 'job'>, readings: readonly Reading[], cycle: number): LineFit {
  return fitReadings(
    one.job,
    readings.filter((reading) => reading.cycle <= cycle),
  );
}

/** The fit as it would stand at an earlier cycle, geometry as found with all surveys. */
export function upTo(fit: LineFit, cycle: number): LineFit {
  return { ...fit, surveys: fit.surveys.filter((survey) => survey.cycle <= cycle) };
}

/**
 * The true rate of closing in a cycle (m, positive = closing), the lowest of this and the two cycles before, and how
 * many cycles the rate has been what it is.
 */
export function rateAt(
  one: Pick<VerdictCase, 'process'>,
  cycle: number,
): { rate: number; settledRate: number; sinceChange: number } {
  const at = (k: number) => (k < 1 ? Number.POSITIVE_INFINITY : nominalRate(one.process, k));
  let sinceChange = 1;
  while (cycle - sinceChange >= 1 && Math.abs(at(cycle - sinceChange) / at(cycle) - 1) < 0.3) sinceChange++;
  if (at(cycle) === 0) {
    sinceChange = 1;
    while (cycle - sinceChange >= 1 && at(cycle - sinceChange) === 0) sinceChange++;
  }
  return { rate: at(cycle), settledRate: Math.min(at(cycle), at(cycle - 1), at(cycle - 2)), sinceChange };
}

/** Cycle at which the true largest deviation first comes inside tolerance if the same work goes on; Infinity: never. */
export function crossingTime(one: VerdictCase): number {
  const { model } = one.campaign;
  const long = simulateCampaign(model, {
    cycles: one.cycles + 100,
    process: one.process,
    reading: { stations: [0, one.job.member.span], sd: 0, rounding: 0 },
    random: createRandom(one.seed).fork('campaign'),
  });
  const levels = long.truth.map((t) => Math.abs(t.largest.deviation));
  const k = levels.findIndex((level) => level <= TOLERANCE);
  if (k <= 0) return k === 0 ? 0 : Number.POSITIVE_INFINITY;
  return k - 1 + (levels[k - 1]! - TOLERANCE) / (levels[k - 1]! - levels[k]!);
}
