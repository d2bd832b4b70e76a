/**
 * The campaigns crews have (`verdict-days-cases.ts`: dead days, slow starts, parts worked by turns, fading, stalls, resumed work) on
 * panels: the bulge is a sum of bulges of other families than the fit's, each shrinking in its own way, read on a grid of 4 in with sway
 * and bow new to the fit; readings, map and verdict as the tool makes them. Beside it what could be known from the same crests.
 */
import { analyseLine } from '../../src/analyse-line.ts';
import type { LineFit } from '../../src/analysis.ts';
import type { Line } from '../../src/job/job.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { trendOf } from '../../src/progress/trend.ts';
import { createRandom } from '../mechanics/random.ts';
import { panelJob } from '../panels/panel-job.ts';
import { dent } from '../panels/plates.ts';
import { diceOf, INCH, makeCase, member, plate, read } from './panels-cases.ts';
import { cyclesToGo, type Days, drawDays, TOLERANCE, USEFUL_GAIN } from './verdict-days-cases.ts';
import { daysStep } from './verdict-days-girders.ts';
import { type DaysStep, scoreDays, type Tallies } from './verdict-days-scores.ts';
import { type ExactOdds, exactOdds } from './verdict-exact.ts';

const SPACING = 4 * INCH;
/** Readings are rounded to this, m. */
const ROUNDING = INCH / 16;

/** One campaign with its fit and what could be known of it: all that the verdicts do not change. */
export interface PanelFitted {
  readonly days: Days;
  readonly line: Line;
  readonly fit: LineFit;
  /** By cycle: crest as followed, m, its u, and the true one. */
  readonly crests: readonly { readonly value: number; readonly u: number; readonly truth: number }[];
  readonly exact: readonly ExactOdds[];
}

export interface PanelCampaign extends Pick<PanelFitted, 'days' | 'crests'> {
  readonly steps: readonly DaysStep[];
  readonly falseStall: boolean;
}

/** Bulges of height 1, all highest in the middle of the panel, so that a sum of them is highest there too. */
function parts(count: number, aspect: number, pick: <T>(of: readonly T[]) => T) {
  const of = [
    (x: number, y: number) => dent(x, y, 0.5, 0.5, 0.34, aspect),
    (x: number, y: number) => dent(x, y, 0.5, 0.5, 0.24, aspect),
    (x: number, y: number) => plate(aspect, 'uniform').value(x, y) / plate(aspect, 'uniform').middle,
    (x: number, y: number) => plate(aspect, 'middle').value(x, y) / plate(aspect, 'middle').middle,
  ];
  return Array.from({ length: count }, () => pick(of));
}

/**
 * @param particles of the one who knows how campaigns are drawn (`exactOdds`); 0: he is not asked
 */
export function fitPanelCampaign(seed: string, index: number, particles: number): PanelFitted {
  const random = createRandom(`${seed}/panels/${index}`);
  const dice = diceOf(random.integer(1, 1e9));
  const crest = INCH * random.between(1, 3);
  const days = drawDays(index, random.fork('days'), undefined, crest);
  const stated = Math.sqrt(days.sd ** 2 + ROUNDING ** 2 / 12);
  const drawn = makeCase(dice);
  const base = { ...drawn, spacing: SPACING, hole: null, line: { ...drawn.line, readingSd: stated } };
  const aspect = (base.line.bearings[1] - base.line.bearings[0]) / base.line.panel!.heights[1];
  const shapes = parts(days.weights.length, aspect, dice.pick);
  const readings = days.left.slice(0, days.cycles + 1).flatMap((left, cycle) => {
    const bulge = (x: number, y: number) =>
      crest * shapes.reduce((sum, shape, z) => sum + days.weights[z]! * left[z]! * shape(x, y), 0);
    return read({ ...base, bulge }, cycle, dice.normal, days.sd);
  });
  const job = { ...panelJob(), lines: [base.line], usefulGain: USEFUL_GAIN };
  const { fit } = analyseLine({ job, line: base.line, readings, marks: [] });
  const crests = trendOf(fit).map(({ value, u }, cycle) => ({ value, u, truth: days.level[cycle]! }));
  const levelOf = (left: readonly number[], first: number) =>
    first * left.reduce((sum, l, z) => sum + l * days.weights[z]!, 0);
  const exact =
    particles === 0
      ? []
      : exactOdds(crests, days.cycles, days.weights.length, levelOf, `${seed}/${index}`, particles);
  return { days, line: base.line, fit, crests, exact };
}

/** The tool's answers, cycle by cycle, while the steel is truly outside the tolerance. */
export function judgePanelCampaign(
  tallies: Tallies,
  { days, line, fit, crests, exact }: PanelFitted,
): PanelCampaign {
  const acceptance = panelJob().acceptance.map((rule) => ({ ...rule, limit: TOLERANCE }));
  const steps: DaysStep[] = [];
  for (let cycle = 2; cycle <= days.cycles; cycle++) {
    if (days.level[cycle]! <= TOLERANCE + 2 * crests[cycle]!.u) break;
    const early = { ...fit, surveys: fit.surveys.slice(0, cycle + 1) };
    const progress = judgeProgress(line, member, early, USEFUL_GAIN, acceptance, 'us');
    steps.push(daysStep(cycle, progress));
  }
  const falseStall = scoreDays(tallies, days, (cycle) => cyclesToGo(days, cycle), steps, exact);
  return { days, steps, crests, falseStall };
}

/** One line a campaign whose stall was called late or falsely: what was read and what was said. */
export function tellMiss(index: number, { days, steps, crests, falseStall }: PanelCampaign): string | null {
  const { stall } = days;
  const late =
    stall !== null &&
    (steps.at(-1)?.cycle ?? 0) >= stall.from + 4 &&
    !steps.some((s) => s.word === 'stalled' && s.cycle > stall.from && s.cycle <= stall.from + 4);
  if (!late && !falseStall) return null;
  const gains = (m: number) => (m / USEFUL_GAIN).toFixed(1);
  const rows = steps.map(
    ({ cycle, word }) => `${cycle} ${word} ${gains(crests[cycle]!.value)} (${gains(crests[cycle]!.truth)})`,
  );
  return `${falseStall ? 'false' : 'late'}: campaign ${index}, ${days.kind}, sd ${gains(days.sd)}, u ${gains(crests[0]!.u)}, stall ${stall === null ? 'none' : `${stall.from} to ${stall.until}`} · in useful gains, read (true): ${rows.join(', ')}`;
}
