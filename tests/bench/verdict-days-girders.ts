/**
 * The campaigns crews have (`verdict-days-cases.ts`) on simulated girders: zones worked by turns, dead days, slow starts and resumed work
 * change the shape as the mechanics has it, and the readings go through CSV, fit and verdict.
 */
import type { LineFit } from '../../src/analysis.ts';
import type { Job } from '../../src/job/job.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { valueAt } from '../mechanics/beam.ts';
import { type CampaignModel, largestLeft, prepareCampaign, simulateCampaign } from '../mechanics/campaign.ts';
import { longFormCsv } from '../mechanics/csv.ts';
import { jobOf } from '../mechanics/job.ts';
import { createRandom } from '../mechanics/random.ts';
import { stationsAlong } from '../mechanics/readings.ts';
import { type KnownReading, knownReading } from './verdict-bounds.ts';
import { fitTo, readBack, strikeGirder, upTo } from './verdict-cases.ts';
import { type Days, drawDays, SDS, TOLERANCE, USEFUL_GAIN } from './verdict-days-cases.ts';
import type { DaysStep } from './verdict-days-scores.ts';
import { type ExactOdds, exactOdds } from './verdict-exact.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

/** One campaign with its fit and what could be known of it: all that the verdicts do not change. */
export interface DaysFitted {
  /** `level` as the mechanics has it, beyond the cycles read as well. */
  readonly days: Days;
  readonly job: Job;
  readonly fit: LineFit;
  readonly known: readonly KnownReading[];
  readonly exact: readonly ExactOdds[];
}

/** @param particles of the one who knows (`exactOdds`); 0: he is not asked */
export function fitDays(seed: string, index: number, particles: number): DaysFitted {
  const random = createRandom(`${seed}/days/${index}`);
  const truth = strikeGirder(random);
  const model = prepareCampaign(truth);
  const drawn = drawDays(index, random.fork('days'), sharesInCrest(model), model.largest);
  const { sd, cycles } = drawn;
  const spacing = random.fork('spacing').pick([1, 2, 2, 2]) * FOOT;
  const stations = stationsAlong(0, truth.options.span, spacing);
  const rounding = sd === SDS[0] ? INCH / 32 : INCH / 16;
  const campaign = simulateCampaign(model, {
    cycles,
    process: { kind: 'none' },
    left: drawn.left,
    reading: { stations, sd, rounding },
    random: random.fork('campaign'),
  });
  const job = jobOf(truth, { readingSd: sd, baseline: { method: 'bearings' } });
  const csv = longFormCsv(campaign.readings, { units: 'us', denominator: 32 });
  const fit = { ...fitTo({ job }, readBack({ seed: `${seed}/days/${index}`, csv, job }), cycles), zones: [] };
  const days = onGirder(drawn, model);
  const known = campaign.truth.map(({ cycle, deviation, largest }) => {
    const read = campaign.readings.filter((reading) => reading.cycle === cycle);
    return knownReading(
      read.map((reading) => reading.station),
      read.map((reading) => reading.offset),
      read.map((reading) => valueAt(truth.grid, deviation, reading.station)),
      Math.abs(largest.deviation),
      sd,
      rounding,
    );
  });
  const coarse = coarser(model);
  const exact =
    particles === 0
      ? []
      : exactOdds(
          known,
          cycles,
          model.parts.length,
          (left, crest) => (crest / model.largest) * largestLeft(coarse, left),
          `${seed}/days/${index}`,
          particles,
        );
  return { days, job, fit, known, exact };
}

/**
 * The same days with the level and the pace as the mechanics has them: what every zone being worked alike would close the crest by, from
 * where the zones stand. As they go unevenly the crest is no longer what it was, and neither is what a turn of one brings.
 */
function onGirder(drawn: Days, model: CampaignModel): Days {
  const level = drawn.left.map((left) => largestLeft(model, left));
  const pace = drawn.pace.map((asked, cycle) => {
    if (cycle === 0) return asked;
    const before = drawn.left[cycle - 1]!;
    const after = before.map((left) => Math.max(0, left - asked / model.largest));
    return level[cycle - 1]! - largestLeft(model, after);
  });
  return { ...drawn, level, pace };
}

/** What each zone adds to the crest as found; what yielded outside the zones is spread over them. */
function sharesInCrest({ parts, rest }: CampaignModel): number[] {
  const at = (i: number) => parts.reduce((sum, { shape }) => sum + shape[i]!, rest[i]!);
  let crest = 0;
  for (let i = 1; i < rest.length; i++) if (Math.abs(at(i)) > Math.abs(at(crest))) crest = i;
  const sum = parts.reduce((total, { shape }) => total + shape[crest]!, 0);
  return parts.map(({ shape }) => shape[crest]! / sum);
}

/** Every fourth node: the crest is flat, and thousands of particles ask for it. */
function coarser({ parts, rest }: CampaignModel): Pick<CampaignModel, 'parts' | 'rest'> {
  const thin = (a: Float64Array) => a.filter((_, i) => i % 4 === 0);
  return { parts: parts.map((part) => ({ ...part, shape: thin(part.shape) })), rest: thin(rest) };
}

/** The tool's answers, cycle by cycle, while the steel is truly outside the tolerance. */
export function judgeDays({ days, job, fit, known }: DaysFitted): DaysStep[] {
  const steps: DaysStep[] = [];
  for (let cycle = 2; cycle <= days.cycles; cycle++) {
    if (days.level[cycle]! <= TOLERANCE + 2 * known[cycle]!.u) break;
    const progress = judgeProgress(
      job.lines[0]!,
      job.member,
      upTo(fit, cycle),
      USEFUL_GAIN,
      job.acceptance,
      'us',
    );
    steps.push(daysStep(cycle, progress));
  }
  return steps;
}

/** What of the tool's answer after a cycle is scored. */
export function daysStep(
  cycle: number,
  { cyclesLeft, probabilityWithin, pattern, verdict, rateLow, rateHigh }: ReturnType<typeof judgeProgress>,
): DaysStep {
  return {
    cycle,
    word: verdict,
    low: rateLow ?? Number.NaN,
    high: rateHigh ?? Number.NaN,
    onMoving: pattern !== null && pattern.spell === null && pattern.lastCycle.opened <= 0.5,
    left:
      cyclesLeft === null || probabilityWithin === null || verdict === 'within-tolerance'
        ? null
        : { low: cyclesLeft.low, high: cyclesLeft.high, probability: probabilityWithin },
  };
}
