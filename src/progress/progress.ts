import { judgeAcceptance } from '../acceptance/acceptance.ts';
import { measureRule } from '../acceptance/measure-rule.ts';
import type { AcceptanceResult, LineFit, MovementPattern, Progress } from '../analysis.ts';
import type { AcceptanceRule, JobUnits, Line, Member } from '../job/job.ts';
import { limitOnReadings } from '../job/rules.ts';
import { EXPECTED, levelText } from '../maths/coverage-level.ts';
import { median } from '../maths/median.ts';
import { hypot } from '../maths/portable.ts';
import { shortfall, shortfallText } from '../survey/coverage.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { quietCycles } from '../survey/movement.ts';
import { formatLength, formatLimit, formatPlace } from '../units/format-length.ts';
import { type Crossing, forecastCrossing } from './forecast.ts';
import { FEWEST_READINGS, judgeRate, type RateJudgement, SURE } from './judge-rate.ts';
import { follow, MOVES, OPENS, stateChances, type TimedValue } from './movement.ts';
import { type Overcorrection, overcorrection } from './overcorrection.ts';
import { fallingOff, moving, secondOpinion } from './second-opinion.ts';
import { sharedShape } from './shared-shape.ts';
import { judgedValues, type TrendPoint, trendOf } from './trend.ts';
import { cycles, fine, percent } from './words.ts';
import { daysPerCycle } from './working-days.ts';
import { zoneProgress } from './zones.ts';

/** Cycles of forecast beyond the last reading drawn in the fan. */
const DRAWN = 12;

/**
 * Is this line still moving, and how many cycles are left?
 *
 * Order of the verdict: every acceptance rule of the line met (`within-tolerance`); past the baseline on the other
 * side beyond tolerance (`overcorrected`); too few surveys (`not-enough-readings`); then the rate (`judgeRate`).
 * Only surveys read with the jacks off and the steel cooled are judged.
 *
 * @param usefulGain movement of the largest deviation worth another cycle, m
 * @param rules of the whole job
 * @param units the job's, for the reasons
 */
export function judgeProgress(
  line: Line,
  member: Member,
  fit: LineFit,
  usefulGain: number,
  rules: readonly AcceptanceRule[],
  units: JobUnits = 'us',
): Progress {
  const own = rules.filter((rule) => rule.line === line.name);
  const { fit: followed, noise } = sharedShape(fit);
  const trend = trendOf(followed);
  const series = trend.map((p) => ({ cycle: p.cycle, value: p.value, u: noise * p.u }));
  const values = judgedValues(followed, trend);
  const points = series.map((p, i) => ({ at: p.cycle, value: values[i]!, u: p.u }));
  const acceptance = judgeAcceptance(line, member, fit, own, units);
  const tolerance = own.length === 0 ? null : Math.min(...own.map(limitOnReadings));
  const judged = points.length >= FEWEST_READINGS ? judgeRate(points, usefulGain) : null;
  const counted = judged === null ? [] : countedCycles(points, judged);
  const pattern = judged === null ? null : patternOf(points, judged);
  const facts: Facts = {
    line,
    units,
    usefulGain,
    trend,
    series,
    judged,
    pattern,
    acceptance,
    over: overcorrection(fit, tolerance ?? usefulGain),
    since: judged === null ? null : series[judged.since]!.cycle,
    readAt: judgedSurveys(fit).map((survey) => survey.stations.filter((each) => !each.setAside).length),
    lack: lackOf(line, fit, units),
  };
  const { verdict, reason } = verdictOf(facts);
  // Steel that has never been seen to move has no pace: a forecast would be the prior's alone.
  const ahead =
    facts.lack === null && pattern?.neverMoved !== true
      ? forecastFor(line, fit, own, usefulGain, noise, points, judged)
      : null;
  const inside = verdict === 'within-tolerance';
  // A rule read as outside at a place the trend does not follow: "none left" beside it would be wrong, so nothing is forecast.
  const crossing = ahead?.crossing ?? null;
  const elsewhere = crossing?.expected === 0 && acceptance.some((result) => result.result === 'outside');
  const left = inside ? { low: 0, expected: 0, high: 0 } : elsewhere ? null : cyclesLeft(crossing);
  const perCycle = daysPerCycle(judgedSurveys(fit));
  const last = series.at(-1);
  return {
    rate: judged?.rate ?? null,
    level: judged?.level ?? EXPECTED.level,
    rateLow: judged?.low ?? null,
    rateHigh: judged?.high ?? null,
    sinceCycle: facts.since,
    pattern,
    verdict,
    reason,
    untouched: false,
    cyclesLeft: left,
    probabilityWithin: inside ? 1 : elsewhere ? null : (crossing?.probability ?? null),
    series,
    forecast:
      ahead === null || elsewhere || last === undefined
        ? []
        : ahead.crossing.fan.slice(0, DRAWN).map((p, i) => ({ cycle: last.cycle + i + 1, ...p })),
    daysLeft:
      left === null || perCycle === null
        ? null
        : {
            low: left.low * perCycle,
            expected: left.expected * perCycle,
            high: left.high === null ? null : left.high * perCycle,
          },
    secondOpinion:
      new Set(counted.map((point) => point.at)).size >= FEWEST_READINGS ? secondOpinion(counted) : null,
    fallingOff: judged === null ? null : fallingOff(counted, judged.rate),
    zones: zoneProgress(
      line,
      member,
      fit,
      usefulGain,
      tolerance,
      noise,
      judged === null ? null : stillFrom(points, judged),
    ),
    assumptions: assumptions(noise, ahead?.rule ?? null, judged, units),
  };
}

interface Facts {
  readonly line: Line;
  readonly units: JobUnits;
  readonly usefulGain: number;
  readonly trend: readonly TrendPoint[];
  readonly series: Progress['series'];
  readonly judged: RateJudgement | null;
  readonly pattern: MovementPattern | null;
  readonly acceptance: readonly AcceptanceResult[];
  readonly over: Overcorrection | null;
  readonly since: number | null;
  /** Stations read and kept, by judged survey. */
  readonly readAt: readonly number[];
  /** Why the last judged survey can carry no number for the line, as a clause; null: it can. */
  readonly lack: string | null;
}

function lackOf(line: Line, fit: LineFit, units: JobUnits): string | null {
  const last = judgedSurveys(fit).at(-1);
  const lack = last === undefined ? null : shortfall(line, fit, last);
  return lack === null ? null : shortfallText(lack, line.name, last!, units);
}

function verdictOf(facts: Facts): Pick<Progress, 'verdict' | 'reason'> {
  const { units, trend, judged, acceptance, over } = facts;
  const last = trend.at(-1);
  if (last === undefined) {
    return {
      verdict: 'not-enough-readings',
      reason: 'No survey read with the jacks off and the steel cooled.',
    };
  }
  if (facts.lack !== null) {
    const verdict = trend.length < FEWEST_READINGS ? 'not-enough-readings' : 'undecided';
    return { verdict, reason: `Too little to judge: ${facts.lack}.` };
  }
  if (acceptance.length > 0 && acceptance.every((result) => result.result === 'within')) {
    return { verdict: 'within-tolerance', reason: withinReason(facts, last) };
  }
  const halfRead = halfReadReason(facts);
  if (halfRead !== null) return { verdict: 'undecided', reason: halfRead };
  if (over !== null) {
    return {
      verdict: 'overcorrected',
      reason: `Past the baseline on the other side: ${offset(over.now, units)} ± ${fine(2 * over.u, units)} at ${formatPlace(over, units)}, found at ${offset(over.asFound, units)}.`,
    };
  }
  if (judged === null) {
    const movement =
      trend.length === 2
        ? ` Between them the largest deviation went from ${offset(trend[0]!.value, units)} to ${offset(trend[1]!.value, units)} (± ${fine(2 * hypot(trend[0]!.u, trend[1]!.u), units)}).`
        : '';
    return {
      verdict: 'not-enough-readings',
      reason: `${trend.length} of the ${FEWEST_READINGS} surveys a rate needs (jacks off, steel cooled).${movement}`,
    };
  }
  return { verdict: judged.word, reason: rateReason(facts, judged, facts.pattern!) };
}

/** How many times the usual uncertainty makes the last survey too thin to judge by. */
const TOO_THIN = 5;

/**
 * A day's readings keyed in half-way, or half lost, leave the crest of the shape unknown. The rate of the cycles before
 * would then pass for today's answer, so the verdict waits.
 */
function halfReadReason({ units, trend, readAt, line }: Facts): string | null {
  const last = trend.at(-1)!;
  if (trend.length < 2) return null;
  const usual = median(trend.slice(0, -1).map((point) => point.u));
  if (usual <= 0 || last.u <= TOO_THIN * usual) return null;
  const [now, before] = [readAt.at(-1)!, readAt.at(-2)!];
  return `Cycle ${last.cycle} has ${now} ${now === 1 ? 'station' : 'stations'} of ${line.name} read, the survey before it ${before}: its largest deviation is known only to ± ${fine(2 * last.u, units)}, too little to judge. Read the remaining stations.`;
}

function withinReason(facts: Facts, last: TrendPoint): string {
  const { units, acceptance, judged } = facts;
  const closest = acceptance.reduce((a, b) => (share(b) > share(a) ? b : a));
  const away =
    judged?.word === 'regressing' ? ` It is moving away again, ${fine(judged.rate, units)} per cycle.` : '';
  return `Inside every limit of this line; closest is ${closest.rule.label}: ${offset(closest.measured ?? 0, units)} of ${formatLimit(closest.limit, units)}, read after cycle ${last.cycle}.${away}`;
}

function share(result: AcceptanceResult): number {
  return (result.measured ?? 0) / result.limit;
}

/** The readings the rate is quoted from, cycles that stood still left out of the count unless the rate is that of a spell. */
function countedCycles(points: readonly TimedValue[], judged: RateJudgement): TimedValue[] {
  const from = judged.since;
  const still = judged.history.still.slice(from).map((chance) => !judged.spell && chance > 0.5);
  return moving(points.slice(from), still);
}

function patternOf(points: readonly TimedValue[], judged: RateJudgement): MovementPattern {
  const { history, since, spell } = judged;
  const last = points.at(-1)!.at;
  const run = points.slice(since);
  const chances = stateChances(judged.belief);
  const { low, count, high, of, from } = history.recent;
  const still = points.slice(from + 1).flatMap((point, k) => {
    if (history.still[from + k]! <= 0.5) return [];
    const before = points[from + k]!.at;
    return Array.from({ length: point.at - before }, (_, i) => before + i + 1);
  });
  return {
    fromCycle: run[0]!.at,
    toCycle: last,
    movements: run.length - 1,
    gaps: last - run[0]!.at > run.length - 1,
    stoodStill: { count, low, high, of, cycles: still },
    neverMoved: judged.neverMoved,
    spell: spell ? { sinceCycle: run[0]!.at, cycles: last - run[0]!.at } : null,
    whenMoving: judged.whenMoving,
    lastCycle: { closed: chances[MOVES]!, stoodStill: judged.still, opened: chances[OPENS]! },
  };
}

function rateReason(facts: Facts, judged: RateJudgement, pattern: MovementPattern): string {
  const { units, usefulGain, trend, series } = facts;
  const gain = fine(Math.abs(judged.rate), units);
  const interval = `${levelText(judged)} interval ${fine(-judged.high, units)} to ${fine(-judged.low, units)}`;
  const useful = `the useful gain of ${formatLength(usefulGain, { units, as: 'offset', fraction: 64 })}`;
  const over = spanText(pattern);
  switch (judged.word) {
    case 'progressing':
      return `Now closing ${gain} per cycle on ${over} (${interval}), more than ${useful} with ${percent(judged.paced)} probability${stillText(pattern, series)}.`;
    case 'slow':
      return `Now closing only ${gain} per cycle on ${over} (${interval}), less than ${useful} with ${percent(judged.belowUseful)} probability${stillText(pattern, series)}.`;
    case 'stalled':
      return `${pattern.neverMoved ? `It has not moved since it was found, by the readings of ${cycles(pattern.toCycle - trend[0]!.cycle)}` : `No useful movement ${pattern.spell === null ? 'now, by the readings of' : 'over'} ${cycles(pattern.toCycle - pattern.fromCycle)} since cycle ${pattern.fromCycle}`}: closing ${fine(-judged.rate, units)} per cycle (${interval}), below ${useful} with ${percent(judged.belowUseful)} probability${beforeText(pattern, units)}.`;
    case 'regressing':
      return `Moving away from straight by ${gain} per cycle on ${over} (${levelText(judged)} interval ${fine(judged.low, units)} to ${fine(judged.high, units)}).`;
    case 'undecided':
      return `Now ${judged.rate <= 0 ? 'closing' : 'opening'} ${gain} per cycle on ${over} (${interval}), against ${useful}${stillText(pattern, series)}${beforeText(pattern, units)}${doubtOf(judged)}. ${moreWanted(judged)}.`;
  }
}

/** The cycles a rate is read from: "the cycles it moved since cycle 3". */
function spanText({ fromCycle, toCycle, gaps, spell, stoodStill }: MovementPattern): string {
  if (spell !== null) return `the cycles since cycle ${fromCycle}`;
  const which = stoodStill.cycles.some((cycle) => cycle > fromCycle) ? 'the cycles it moved' : 'the cycles';
  return gaps
    ? `${which} from ${fromCycle} to ${toCycle}, not all of which were read`
    : `${which} since cycle ${fromCycle}`;
}

function stillText(pattern: MovementPattern, series: Progress['series']): string {
  if (pattern.spell !== null) return '';
  const at = (cycle: number) => series.find((point) => point.cycle === cycle);
  const { still, back } = quietCycles(pattern, (cycle) => {
    const [before, after] = [at(cycle - 1), at(cycle)];
    return before === undefined || after === undefined
      ? undefined
      : { largest: { movement: after.value - before.value, u: hypot(before.u, after.u) } };
  });
  const named = (cycles: readonly number[]) => (cycles.length <= 4 ? ` (cycle ${cycles.join(', ')})` : '');
  const did = [...counted('stood still', still), ...counted('came back out', back)];
  return did.length === 0 ? '' : `; the largest deviation ${did.join(' and ')}`;

  function counted(what: string, cycles: readonly number[]): string[] {
    return cycles.length === 0
      ? []
      : [`${what} on ${cycles.length} of the last ${pattern.stoodStill.of}${named(cycles)}`];
  }
}

function beforeText({ spell, whenMoving }: MovementPattern, units: JobUnits): string {
  if (spell === null || whenMoving === null) return '';
  return `; on cycles that moved it closed ${fine(-whenMoving.rate, units)} before that`;
}

function doubtOf(judged: RateJudgement): string {
  if (judged.belowUseful < SURE) return '';
  if (judged.mayHaveMovedWell)
    return `; a stall needs three cycles of which none moved by twice the useful gain, and one of the last three did with ${percent(judged.wellMoving)} probability`;
  return judged.creeps ? '; it more likely still creeps than stands still, so it is not called stalled' : '';
}

function moreWanted(judged: RateJudgement): string {
  return judged.moreReadings === null
    ? 'If it goes on like this, more than 20 further cycles of readings would not decide it: the rate is about the useful gain itself'
    : `About ${judged.moreReadings} more ${judged.moreReadings === 1 ? 'cycle' : 'cycles'} of readings like these would decide it`;
}

/** The cycle the line has stood still from, by the word the readings give each day; null: it moved, or may have, in the last one. */
function stillFrom(points: readonly TimedValue[], { history, still }: RateJudgement): number | null {
  if (still <= 0.5) return null;
  let from = points.length - 1;
  while (from > 0 && history.still[from - 1]! > 0.5) from--;
  return points[from]!.at;
}

/** The rule that will be met last, with its forecast; null with too few readings or no rule. */
function forecastFor(
  line: Line,
  fit: LineFit,
  rules: readonly AcceptanceRule[],
  usefulGain: number,
  noise: number,
  largest: readonly TimedValue[],
  judged: RateJudgement | null,
): { rule: AcceptanceRule; crossing: Crossing } | null {
  if (judged === null) return null;
  let slowest: { rule: AcceptanceRule; crossing: Crossing } | null = null;
  for (const rule of rules) {
    const wholeLine = rule.over.kind === 'whole-line';
    const points = wholeLine ? largest : rulePoints(line, fit, rule, noise);
    if (points.length < FEWEST_READINGS) continue;
    const belief = wholeLine ? judged.belief : follow(points, usefulGain).at(-1)!;
    const crossing = forecastCrossing(belief, wholeLine ? limitOnReadings(rule) : rule.limit);
    if (slowest === null || later(crossing, slowest.crossing)) slowest = { rule, crossing };
  }
  return slowest;
}

function later(a: Crossing, b: Crossing): boolean {
  const [ta, tb] = [a.expected ?? Number.POSITIVE_INFINITY, b.expected ?? Number.POSITIVE_INFINITY];
  return ta === tb ? a.probability < b.probability : ta > tb;
}

function rulePoints(line: Line, fit: LineFit, rule: AcceptanceRule, noise: number): TimedValue[] {
  return judgedSurveys(fit).flatMap((survey) => {
    const measure = measureRule(rule, line, survey);
    return 'missing' in measure ? [] : [{ at: survey.cycle, value: measure.value, u: noise * measure.u }];
  });
}

/** Null where getting there is less likely than not: a middle value would pretend otherwise. */
function cyclesLeft(crossing: Crossing | null): Progress['cyclesLeft'] {
  if (crossing === null || crossing.low === null || crossing.expected === null) return null;
  return { low: crossing.low, expected: crossing.expected, high: crossing.high };
}

function assumptions(
  noise: number,
  rule: AcceptanceRule | null,
  judged: RateJudgement | null,
  units: JobUnits,
): string[] {
  if (judged === null) return [];
  const list = [
    'One model of movement gives the word, the rate, the forecast and the chance of getting inside: in a cycle the steel moves, about a pace that stays or fades, with scatter between heats; or stands still; or opens. How often it does each is learnt from the readings.',
    'The rate is that of cycles that move, until two cycles or more in a row stand still; then it is that of those.',
    'A call against the useful gain is made at 90 %: 1 in 10 is wrong where the true rate equals the useful gain, about 1 in 100 where it is steadily twice that. No stall or slow rate is called while any of the last three cycles may have closed by twice the useful gain with more than 1 chance in 100, or 1 in 400 where the last of them more likely moved than stood still or only four have been read and none moved; nor a stall while the steel more likely creeps than stands still.',
  ];
  if (Math.abs(noise - 1) > 0.15) {
    list.push(
      `The readings scatter ${noise.toFixed(1)} times as much as their stated standard deviation; the uncertainties of the trend are scaled by it.`,
    );
  }
  if (rule !== null) {
    list.push(
      `The forecast is for ${rule.label} (${formatLimit(rule.limit, units)}), cycles that stand still counted as often as this job has them. It assumes the same crew, heats and jacks.`,
      'It counts cycles until the steel is inside the limit; showing it with readings needs twice their uncertainty more.',
    );
  }
  return list;
}

function offset(metres: number, units: JobUnits): string {
  return formatLength(metres, { units, as: 'offset' });
}
