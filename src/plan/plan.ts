import type { Analysis, LineAnalysis } from '../analysis.ts';
import type { WorkKind } from '../costs/cost-log.ts';
import { currencyDigits, moneyOf } from '../costs/money.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import { loadFactor } from '../heats/vee-rotation.ts';
import { dateOfDay, dayNumber, WEEKDAYS, type Weekday } from '../job/calendar.ts';
import { EXPECTED, endsOf } from '../maths/coverage-level.ts';
import { log } from '../maths/portable.ts';
import { seededNormal, seededUniform } from '../maths/seeded.ts';
import { drawPooled } from '../past/pool.ts';
import {
  FIXED_WORK,
  type JobLikeness,
  type Learnt,
  learn,
  plainValue,
  type QuantityName,
  rootOfDays,
  weigh,
} from '../past/quantities.ts';
import type { PastRecord } from '../past/record.ts';
import { finishDate } from './calendar.ts';
import { closeBulge, SCATTER, workOff } from './forward.ts';
import { type LineBasis, type LineWork, workOfJob } from './work.ts';

/** Median and interval (at `Plan.level`) of a count; `high` null: more futures than that leaves above it never get there. */
export interface Spread {
  readonly low: number;
  readonly median: number;
  readonly high: number | null;
}

export interface Plan {
  readonly job: string;
  readonly line: string;
  /** Cycle the plan counts from: 0 before the first heat. */
  readonly fromCycle: number;
  /** Coverage of every interval of the plan, 0 to 1, as much on either side. */
  readonly level: number;
  /**
   * Whether the cycles left come from the readings' own forecast, from heats simulated forward (`as-found`), or from both, line
   * by line (`mixed`); or that heating ends: with `plates`, because the readings say it stands still, or `done`, because every
   * line is inside its limits.
   */
  readonly basis: 'readings' | 'as-found' | 'mixed' | 'plates' | 'done';
  /** Every line that counts, furthest outside its limit first, and how. `line`, `aim` and `limit` are those of the one that leads. */
  readonly lines: readonly {
    readonly line: string;
    readonly basis: LineBasis;
    /** Of `along`: the line whose heats bring it in. */
    readonly with: string | null;
    readonly aim: number;
    readonly limit: number;
  }[];
  /** Whether heats are simulated forward, all of them without a restraining force, because the job gives none. */
  readonly unforced: boolean;
  /** Largest deviation at which work stops, m: the limit less what measurement leaves uncertain. */
  readonly aim: number;
  readonly limit: number;
  /** Share of the futures that get inside at all; null where heating ends. */
  readonly probability: number | null;
  readonly vees: Spread | null;
  readonly cycles: Spread | null;
  /** Working days of the heating alone. */
  readonly heatingDays: Spread | null;
  /** Working days from the cycle the plan counts from. */
  readonly days: Spread | null;
  readonly closureHours: Spread | null;
  readonly finish: { readonly low: string; readonly median: string; readonly high: string | null } | null;
  /** First of the days ahead, which the dates count from; null where there are none. */
  readonly from: string | null;
  /** In whole units of the currency. */
  readonly cost: Spread | null;
  readonly gas: Spread | null;
  readonly currency: string | null;
  readonly gasUnit: string | null;
  /** What the spread of the working days comes from, largest first: share of its variance explained. */
  readonly drivers: readonly { readonly label: string; readonly share: number }[];
  readonly learnt: readonly Learnt[];
  readonly assumptions: readonly string[];
}

export type PlanResult =
  | { readonly plan: Plan; readonly reason: null; readonly needed: null }
  /** Why there is none, and what would be needed for one. */
  | { readonly plan: null; readonly reason: string; readonly needed: string };

/** Futures followed. */
const FUTURES = 2000;
const SEED = 41_017;

export interface PlanInput {
  readonly analysis: Analysis;
  readonly heats: HeatsOfJob;
  readonly past: readonly PastRecord[];
  /** Distinct working days logged so far by kind of work; empty before there are logs. */
  readonly daysDone?: Readonly<Record<string, number>>;
  /**
   * Money logged so far, labour in it, in whole units of the job's currency, and dates with any work; left out before there is
   * such a log.
   */
  readonly spent?: { readonly money: number; readonly days: number };
  /** Last day on which the logs have any work, YYYY-MM-DD. */
  readonly lastDay?: string | null;
}

/**
 * How long the work takes, how many closures and what it costs, as medians and intervals: of all lines and panels of the job
 * that are outside their limits (`workOfJob`). Before the first heat the zones as found are worked off with vees as planned;
 * once the readings of a line forecast, their cycles are taken as they are, so that a plan and the status cannot disagree.
 * Lines that come in at the same time take the longest of them; what no heat has acted on yet comes after. Deterministic:
 * draws come from a fixed seed.
 */
export function planJob(input: PlanInput): PlanResult {
  const work = workOfJob(input.analysis, input.heats);
  if (work.refused !== null) return { plan: null, ...work.refused };
  return { plan: simulate(input, work.lines, work.leftOut), reason: null, needed: null };
}

/** Where the cycles of the job come from, all lines together. */
function basisOf(lines: readonly LineWork[]): Plan['basis'] {
  const has = (...of: readonly LineWork['basis'][]) => lines.some(({ basis }) => of.includes(basis));
  if (has('readings')) return has('vees', 'bulge') ? 'mixed' : 'readings';
  if (has('vees', 'bulge')) return 'as-found';
  return has('plates') ? 'plates' : 'done';
}

function simulate(input: PlanInput, lines: readonly LineWork[], leftOut: readonly string[]): Plan {
  const { job } = input.analysis;
  const fields = job.plan;
  const gasUnit = input.heats.quantities.gasUnit;
  const basis = basisOf(lines);
  // The line furthest outside of those with work of their own: it leads, and past jobs are compared by it.
  const first = lines.find((each) => each.basis !== 'done' && each.basis !== 'along') ?? lines[0]!;
  const fromCycle = Math.max(...lines.map(({ entry }) => entry.progress.series.at(-1)!.cycle));
  const here = likenessHere(input.analysis, first.entry);
  // Its own record, kept when it was finished, must not teach what it was planned by.
  const name = job.name.slice(0, 120);
  const past = weigh(
    input.past.filter((record) => record.job !== name || Math.abs(record.spans[0]! - job.member.span) > 0.01),
    here,
  );
  const quantity = (name: QuantityName) =>
    learn(name, past, here, ownEstimate(name, input, lines, fromCycle), { currency: job.currency, gasUnit });
  // Once heats are made the paint is off and the set-up stands, logged or not.
  const ended = basis === 'plates' || basis === 'done';
  const ahead = daysAhead(input, fromCycle);
  const before: readonly WorkKind[] = [
    ...(fromCycle > 0 ? (['set-up', 'paint removal'] as const) : []),
    ...(basis === 'done' ? (['plating'] as const) : []),
  ];
  const fixed = FIXED_WORK.filter((kind) => !before.includes(kind) && (input.daysDone?.[kind] ?? 0) === 0);
  const of = (kind: LineWork['basis']) => lines.filter((each) => each.basis === kind);
  const [vees, bulges] = [of('vees'), of('bulge')];
  const bent = of('readings').filter(takesVees);
  const learnt = [
    ...(vees.length > 0 ? [quantity('ratio')] : []),
    ...(vees.length > 0 || bent.length > 0 ? [quantity('veesPerCycle')] : []),
    ...(vees.length > 0 || bulges.length > 0 ? [quantity('deadShare')] : []),
    ...(bulges.length > 0 ? [quantity('bulgeShare')] : []),
    ...(ended ? [] : [quantity('daysPerCycle')]),
    ...fixed.map((kind) => quantity(`days: ${kind}`)),
    ...(vees.length > 0 || bent.length > 0 ? [quantity('gasPerVee')] : []),
  ].filter((each) => each !== null);
  const uniform = seededUniform(SEED);
  const normal = seededNormal(uniform);
  const worked = Array.from({ length: FUTURES }, () => {
    const drawn = new Map(
      learnt.map((each) => [each.name, plainValue(each.name, drawPooled(each.pooled, uniform, normal))]),
    );
    const value = (name: QuantityName) => drawn.get(name) ?? null;
    const heated = heating(lines, value, uniform, normal);
    const heatingDays = wholeDays(heated.cycles, value('daysPerCycle') ?? 1);
    const days = fixed.reduce((sum, kind) => sum + Math.round(value(`days: ${kind}`) ?? 0), heatingDays);
    const gas = value('gasPerVee');
    return {
      ...heated,
      heatingDays,
      days,
      gas: gas === null || heated.vees === null ? null : heated.vees * gas,
      finish:
        ahead.from === null || !Number.isFinite(days)
          ? null
          : days === 0
            ? (ahead.worked ?? ahead.from)
            : finishDate(ahead.from, days, fields, () => uniform() < fields.weatherDays / 100),
      drawn,
    };
  });
  // What a day costs depends on how many there are: it is asked for the middle of them, and drawn for each future's own.
  const done = Math.max(input.spent?.days ?? 0, fromCycle);
  const usual = Math.max(1, done + (spreadOf(worked.map((future) => future.days))?.median ?? 20));
  const priced = { ...here, days: usual };
  const price = learn('costPerDay', past, priced, ownEstimate('costPerDay', input, lines, fromCycle), {
    currency: job.currency,
    gasUnit,
  });
  const futures = worked.map((future) => ({
    ...future,
    cost:
      price === null
        ? null
        : future.days *
          (Number.isFinite(future.days) ? drawPrice(price, done + future.days, usual, uniform, normal) : 1),
  }));
  const all = price === null ? learnt : [...learnt, price];
  const spread = (part: (future: (typeof futures)[number]) => number | null) => spreadOf(futures.map(part));
  const days = spread((future) => future.days);
  return {
    job: job.name,
    line: first.entry.line.name,
    fromCycle,
    level: EXPECTED.level,
    basis,
    unforced: areUnforced(lines),
    aim: first.aim,
    limit: first.limit,
    lines: lines.map((each) => ({
      line: each.entry.line.name,
      basis: each.basis,
      with: each.with,
      aim: each.aim,
      limit: each.limit,
    })),
    probability: ended
      ? null
      : futures.filter((future) => Number.isFinite(future.cycles)).length / futures.length,
    vees: spread((future) => (Number.isFinite(future.cycles) ? future.vees : Number.POSITIVE_INFINITY)),
    cycles: ended ? null : spread((future) => future.cycles),
    heatingDays: ended ? null : spread((future) => future.heatingDays),
    days,
    closureHours:
      days === null || fields.closureHours === null
        ? null
        : spread((future) => future.days * fields.closureHours!),
    finish: finishOf(ahead.from, futures),
    from: ahead.from,
    cost: rounded(
      spread((future) => future.cost),
      job.currency,
    ),
    gas: spread((future) => future.gas),
    currency: job.currency,
    gasUnit,
    drivers: driversOf(learnt, futures, basis),
    learnt: all,
    assumptions: [
      ...stopText(input),
      ...leftOut,
      ...assumptionsOf(basis, lines, fromCycle, fields, ahead, price !== null),
    ],
  };
}

/** What a day costs in a future of so many days, by a price learnt for the usual number of them. */
export function drawPrice(
  price: Learnt,
  days: number,
  usual: number,
  uniform: () => number,
  normal: () => number,
): number {
  const apart = price.pooled.slope === null ? 0 : log(Math.max(1, days) / usual);
  return plainValue('costPerDay', drawPooled(price.pooled, uniform, normal, apart));
}

/** Days that cycles take, whole: the middle of the plan must not lean because part of a day is counted as one. */
export function wholeDays(cycles: number, daysPerCycle: number): number {
  return cycles === 0 ? 0 : Math.max(1, Math.round(cycles * daysPerCycle));
}

/**
 * Cycles and vees of one future. Lines whose readings forecast come in together, the longest of them counts; lines of one part
 * are as early or late as each other. Zones to be worked off with vees follow, unless the same heats are at work there already;
 * bulges come last, all at the same time.
 */
function heating(
  lines: readonly LineWork[],
  value: (name: QuantityName) => number | null,
  uniform: () => number,
  normal: () => number,
): { cycles: number; vees: number | null } {
  const of = (basis: LineWork['basis']) => lines.filter((each) => each.basis === basis);
  const [read, turned, bulges] = [of('readings'), of('vees'), of('bulge')];
  const luck = new Map<string, number>();
  for (const { part } of read) if (!luck.has(part)) luck.set(part, uniform());
  const forecast = read.map(({ entry, part }) => forecastCycles(entry, luck.get(part)!));
  const longest = Math.max(0, ...forecast);
  const deadShare = value('deadShare') ?? 0;
  const off =
    turned.length === 0
      ? { cycles: 0, vees: 0 }
      : workOff(
          turned.map(({ zones, entry, aim }) => ({ zones, bearings: entry.line.bearings, aim })),
          {
            ratio: value('ratio') ?? 1,
            deadShare,
            veesPerCycle: value('veesPerCycle') ?? 1,
            scatter: SCATTER,
          },
          uniform,
          normal,
        );
  const together = turned.some(({ part }) => luck.has(part));
  // Readings forecast cycles; a crew goes on making as many vees in one as it does.
  const bent = Math.max(0, ...forecast.filter((_, i) => takesVees(read[i]!)));
  const along = Number.isFinite(bent) ? Math.round(bent * (value('veesPerCycle') ?? 0)) : bent;
  const share = value('bulgeShare') ?? 0;
  const closed = bulges.map(({ entry, aim }) => {
    const { series } = entry.progress;
    const crest = { now: series.at(-1)!.value, found: series[0]!.value };
    return closeBulge(crest, aim, { share, deadShare, scatter: SCATTER }, uniform, normal);
  });
  return {
    cycles: (together ? Math.max(longest, off.cycles) : longest + off.cycles) + Math.max(0, ...closed),
    vees:
      turned.length === 0 && !read.some(takesVees)
        ? null
        : together
          ? Math.max(along, off.vees)
          : along + off.vees,
  };
}

/** Bends take vees, and what leans with them; a panel takes heats of other kinds. */
function takesVees({ entry }: LineWork): boolean {
  return entry.line.kind !== 'bulge';
}

/** The p-point of the readings' own forecast: through its middle and the ends of its interval, straight between and beyond them. */
function forecastCycles({ progress }: LineAnalysis, p: number): number {
  const { low, expected, high } = progress.cyclesLeft!;
  const reach = progress.probabilityWithin ?? 1;
  if (p > reach) return Number.POSITIVE_INFINITY;
  const end = high ?? 2 * expected - low;
  const [first] = endsOf(progress);
  const half = 0.5 - first;
  const at =
    p <= 0.5
      ? low + ((expected - low) * (p - first)) / half
      : expected + ((end - expected) * (p - 0.5)) / half;
  return Math.max(0, Math.ceil(at));
}

function likenessHere(analysis: Analysis, entry: LineAnalysis): JobLikeness {
  const { member, plan } = analysis.job;
  const plastic = entry.fit.zones.filter((zone) => zone.class === 'plastic');
  return {
    span: member.span,
    flangeWidth: member.flangeWidth,
    flangeThickness: member.flangeThickness,
    largest: entry.progress.series[0]?.value ?? 0,
    rotation: plastic.reduce((sum, zone) => sum + Math.abs(zone.rotation), 0),
    zones: plastic.length,
    crewJobs: plan.crewJobs,
    days: null,
  };
}

/** What the job states or has shown itself, on the scale of the quantity; null where it says nothing. */
function ownEstimate(
  name: QuantityName,
  { analysis, heats, daysDone, spent }: PlanInput,
  lines: readonly LineWork[],
  fromCycle: number,
): { value: number; u: number; source: string } | null {
  const { plan } = analysis.job;
  const stated = 'as the job states';
  if (name === 'veesPerCycle') {
    const logged = heats.quantities.cycles
      .map(({ byPattern }) => byPattern.find(({ pattern }) => pattern === 'vee')?.heats ?? 0)
      .filter((count) => count > 0);
    if (logged.length > 0) {
      const mean = logged.reduce((sum, count) => sum + count, 0) / logged.length;
      return {
        value: log(mean),
        u: 0.4 / Math.sqrt(logged.length),
        source: `${logged.length} cycles of this job`,
      };
    }
    return plan.veesPerCycle === null ? null : { value: log(plan.veesPerCycle), u: 0.1, source: stated };
  }
  if (name === 'daysPerCycle') {
    const done = daysDone?.heating ?? 0;
    if (done > 0 && fromCycle > 0)
      return {
        value: log(done / fromCycle),
        u: 0.5 / (done + 0.5),
        source: `${fromCycle} cycles of this job`,
      };
    // Without a log the dates of the readings say it, as the status does.
    const dated = lines.map(({ entry }) => entry.progress).find(({ daysLeft }) => daysLeft !== null);
    const { daysLeft, cyclesLeft } = dated ?? {};
    if (daysLeft != null && cyclesLeft != null && cyclesLeft.expected > 0 && daysLeft.expected > 0)
      return {
        value: log(daysLeft.expected / cyclesLeft.expected),
        // As sure as the status takes it to be: the two must not say different days.
        u: 0.03,
        source: 'the dates of the readings of this job',
      };
    return plan.cyclesPerDay === null ? null : { value: -log(plan.cyclesPerDay), u: 0.1, source: stated };
  }
  if (name === 'ratio') {
    const shown = heats.zones.flatMap(({ total }) =>
      total?.ratio == null || total.ratio <= 0 ? [] : [{ value: total.ratio, u: total.ratioU! }],
    );
    if (shown.length === 0) return null;
    const precision = shown.reduce((sum, each) => sum + (each.value / each.u) ** 2, 0);
    const value =
      shown.reduce((sum, each) => sum + (each.value / each.u) ** 2 * log(each.value), 0) / precision;
    return { value, u: Math.max(0.1, 1 / Math.sqrt(precision)), source: 'the heats of this job' };
  }
  if (name === 'costPerDay') {
    if (plan.costPerDay !== null) return { value: log(plan.costPerDay), u: 0.05, source: stated };
    if (spent === undefined || spent.money <= 0 || spent.days < 1) return null;
    const { money, days } = spent;
    return {
      value: log(money / days),
      u: 0.4 / Math.sqrt(days),
      source: `what ${days === 1 ? 'the one day' : `the ${days} days`} of this job cost so far`,
    };
  }
  if (name === 'gasPerVee') {
    const { gas, cycles } = heats.quantities;
    const made = cycles.reduce((sum, cycle) => sum + cycle.heats, 0);
    return gas === null || gas <= 0 || made < 1
      ? null
      : { value: log(gas / made), u: 0.3 / Math.sqrt(made), source: 'the heats of this job' };
  }
  if (name.startsWith('days: ')) {
    const days = plan.days[name.slice('days: '.length)];
    return days === undefined ? null : { value: rootOfDays(days).value, u: 0.02, source: stated };
  }
  return null;
}

function spreadOf(values: readonly (number | null)[]): Spread | null {
  const known = values.filter((value) => value !== null);
  if (known.length < values.length || known.length === 0) return null;
  const sorted = [...known].sort((a, b) => a - b);
  const at = (p: number) => sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))]!;
  const [low, end] = endsOf(EXPECTED);
  const high = at(end);
  if (!Number.isFinite(at(0.5))) return null;
  return { low: at(low), median: at(0.5), high: Number.isFinite(high) ? high : null };
}

/** Two figures of a plan's money are already more than is known. */
function rounded(spread: Spread | null, currency: string | null): Spread | null {
  if (spread === null) return null;
  const digits = currencyDigits(currency);
  const two = (value: number) => {
    const step = 10 ** Math.max(0, Math.floor(Math.log10(Math.max(1, value))) - 1);
    return moneyOf(Math.round(value / step) * step, digits) / 10 ** digits;
  };
  return {
    low: two(spread.low),
    median: two(spread.median),
    high: spread.high === null ? null : two(spread.high),
  };
}

interface DaysAhead {
  readonly from: string | null;
  /** Last day with a reading after heats, or with work in the logs; null before there is one. */
  readonly worked: string | null;
}

/**
 * The first day of the work that is left: what is done lies behind, so it is the day after the last work or reading, and never
 * before the job begins. Where heats were made and nothing carries a date, nobody can say.
 */
function daysAhead({ analysis, lastDay }: PlanInput, fromCycle: number): DaysAhead {
  const { start } = analysis.job.plan;
  const dates = (of: (cycle: number) => boolean) =>
    analysis.lines.flatMap(({ fit }) =>
      fit.surveys.flatMap(({ cycle, date }) => (of(cycle) && date !== null ? [date] : [])),
    );
  const worked = latest([...dates((cycle) => cycle > 0), ...(lastDay == null ? [] : [lastDay])]);
  if (start === null) return { from: null, worked };
  if (worked !== null) return { from: latest([start, dateOfDay(dayNumber(worked) + 1)]), worked };
  return { from: fromCycle > 0 ? null : latest([start, ...dates(() => true)]), worked };
}

function latest(dates: readonly string[]): string | null {
  return dates.reduce<string | null>((a, b) => (a === null || b > a ? b : a), null);
}

/** What the dates count from, where it is not simply the day the job says. */
function datesText(start: string | null, { from, worked }: DaysAhead): string[] {
  if (start === null) return ['Counts only: plan.start gives dates.'];
  if (from === null)
    return [
      'No dates: heats were made, and neither readings nor logs say on which day, so what is left cannot be put in a calendar.',
    ];
  if (from === start) return [];
  return [
    worked === null
      ? `Dates count from ${from}, the day it was read as found: the start the job states lies before it.`
      : `Dates count from ${from}, the day after the last reading or logged work: what waits longer ends later.`,
  ];
}

/** The days of the calendar, so that who reads dates and hours of closure sees what they rest on. */
function calendarText(fields: Analysis['job']['plan'], from: string | null): string {
  const { workdays, holidays, weatherDays, closureHours } = fields;
  const closed = from === null ? [] : holidays.filter((date) => date >= from).sort();
  const days = [
    `${from === null ? 'The' : `The work ahead begins on ${from}; the`} crew works ${listOf(WEEKDAYS.filter((day) => workdays.includes(day)).map((day) => DAY_NAMES[day]))}`,
    ...(closed.length === 0
      ? []
      : [
          `not on ${closed.length > 4 ? `${closed.length} days from ${closed[0]} to ${closed.at(-1)}` : listOf(closed)}`,
        ]),
    weatherDays === 0
      ? 'no day is lost to weather (plan.weatherDays)'
      : `${weatherDays} working days in a hundred are lost to weather`,
    ...(closureHours === null ? [] : [`a working day is ${closureHours} hours of closure`]),
  ];
  return `${days.join('; ')}.`;
}

const DAY_NAMES: Readonly<Record<Weekday, string>> = {
  ...{ mon: 'Monday', tue: 'Tuesday', wed: 'Wednesday', thu: 'Thursday' },
  ...{ fri: 'Friday', sat: 'Saturday', sun: 'Sunday' },
};

function finishOf(
  start: string | null,
  futures: readonly { readonly finish: string | null }[],
): Plan['finish'] {
  if (start === null) return null;
  const sorted = futures.map((future) => future.finish ?? '9999').sort();
  const at = (p: number) => sorted[Math.floor(p * sorted.length)]!;
  if (at(0.5) === '9999') return null;
  const [low, high] = endsOf(EXPECTED);
  return { low: at(low), median: at(0.5), high: at(high) === '9999' ? null : at(high) };
}

/** What no quantity that could be learnt beforehand explains, by what the cycles were followed with. */
const CHANCE: Record<Plan['basis'], string> = {
  readings: 'how many more cycles it takes, which the readings so far leave open',
  'as-found': 'how the heats of each cycle turn out, and what the readings leave open of the bends',
  mixed: 'how many more cycles it takes, which readings and heats so far leave open',
  plates: 'rounding to whole days',
  done: 'rounding to whole days',
};

/**
 * Squared rank correlation of the working days with each drawn quantity: what to learn more about first. The draws are
 * independent, so what is left of 1 is the share of the heating itself, which nothing learnt beforehand takes away.
 */
function driversOf(
  learnt: readonly Learnt[],
  futures: readonly { readonly days: number; readonly drawn: ReadonlyMap<QuantityName, number> }[],
  basis: Plan['basis'],
): Plan['drivers'] {
  const finite = futures.filter((future) => Number.isFinite(future.days));
  if (finite.length < 100) return [];
  const days = ranks(finite.map((future) => future.days));
  const named = learnt
    .filter((each) => each.name !== 'costPerDay' && each.name !== 'gasPerVee')
    .map((each) => ({
      label: each.label,
      share: correlation(days, ranks(finite.map((future) => future.drawn.get(each.name)!))) ** 2,
    }));
  const rest = Math.max(0, 1 - named.reduce((sum, each) => sum + each.share, 0));
  return [...named, { label: CHANCE[basis], share: rest }]
    .filter((each) => each.share >= 0.02)
    .sort((a, b) => b.share - a.share);
}

function ranks(values: readonly number[]): number[] {
  const order = values.map((_, i) => i).sort((a, b) => values[a]! - values[b]!);
  const rank = new Array<number>(values.length);
  for (let i = 0; i < order.length; ) {
    let j = i;
    while (j + 1 < order.length && values[order[j + 1]!] === values[order[i]!]) j++;
    for (let k = i; k <= j; k++) rank[order[k]!] = (i + j) / 2;
    i = j + 1;
  }
  return rank;
}

function correlation(a: readonly number[], b: readonly number[]): number {
  const mean = (of: readonly number[]) => of.reduce((sum, value) => sum + value, 0) / of.length;
  const [meanA, meanB] = [mean(a), mean(b)];
  let [ab, aa, bb] = [0, 0, 0];
  a.forEach((value, i) => {
    ab += (value - meanA) * (b[i]! - meanB);
    aa += (value - meanA) ** 2;
    bb += (b[i]! - meanB) ** 2;
  });
  return aa === 0 || bb === 0 ? 0 : ab / Math.sqrt(aa * bb);
}

/** Every first screen says to settle a stop before any more heat, and a plan must not be read without it. */
function stopText({ analysis, heats }: PlanInput): string[] {
  const stops = [...analysis.findings, ...heats.findings].filter(({ severity }) => severity === 'stop');
  return stops.length === 0
    ? []
    : [
        'A STOP stands on this job (see status): settle it first; this plan holds only if it then still does.',
      ];
}

function assumptionsOf(
  basis: Plan['basis'],
  lines: readonly LineWork[],
  fromCycle: number,
  fields: Analysis['job']['plan'],
  ahead: DaysAhead,
  priced: boolean,
): string[] {
  return [
    ...basisTexts(lines, fromCycle),
    ...(basis === 'plates' || basis === 'done'
      ? ['Making and delivering of plates, and work on other members, are not in it.']
      : [
          'Damage that shows only when heating starts, a plate instead of the last heats, and work on other members are not in it.',
        ]),
    ...datesText(fields.start, ahead),
    calendarText(fields, ahead.from),
    ...(priced
      ? []
      : [
          'No cost: neither the job (plan.costPerDay) nor a past job in its currency says what a working day costs.',
        ]),
    'An estimate for planning; the owner’s specification, local codes and a licensed engineer decide.',
  ];
}

function areUnforced(lines: readonly LineWork[]): boolean {
  const turned = lines.filter((each) => each.basis === 'vees');
  return turned.length > 0 && turned.every(({ loadRatio }) => loadRatio === 0);
}

/** How each line is counted, those counted alike in one sentence. */
function basisTexts(lines: readonly LineWork[], fromCycle: number): string[] {
  const of = (basis: LineWork['basis']) => lines.filter((each) => each.basis === basis);
  const [read, turned, bulges, along] = [of('readings'), of('vees'), of('bulge'), of('along')];
  const texts: string[] = [];
  if (read.length > 0)
    texts.push(
      `Cycles left are those of the readings of ${namesOf(read)}, as the status says them${read.length === 1 ? '' : ': all come in together, and the longest counts'}.`,
    );
  if (turned.length > 0) {
    const silent = turned.some(({ entry }) => entry.progress.series.length > 2 && !entry.progress.untouched)
      ? ' The readings say no pace yet; once they do, it counts instead.'
      : '';
    const shared =
      turned.length === 1
        ? 'the largest at the crest first'
        : 'by one crew, the vees of a cycle going to the line furthest outside its limit';
    const after =
      read.length > 0 && !turned.some(({ part }) => read.some((each) => each.part === part))
        ? ` after ${namesOf(read)}`
        : '';
    texts.push(
      `The zones of ${namesOf(turned)} as ${fromCycle === 0 ? 'found' : 'they are now'} are worked off with vees as planned, ${shared}${after}.${silent}`,
    );
    if (areUnforced(turned))
      texts.push(
        `Vees are reckoned without a restraining force: job.json gives none ("restraint", "jacks"). By the formula one of a quarter of the plastic moment turns each ${(loadFactor(0.25) / loadFactor(0)).toFixed(1)} times as far, so that so many fewer are needed (FHWA-IF-08-999, from memory).`,
      );
  }
  if (bulges.length > 0)
    texts.push(
      `No published formula says what a heat takes off a bulge: ${namesOf(bulges)} ${bulges.length === 1 ? 'is' : 'are'} counted by common practice until three readings show a pace${turned.length + read.length > 0 ? ', after the other heats' : ''}.`,
    );
  for (const carrier of new Set(along.map((each) => each.with))) {
    const names = along.filter((each) => each.with === carrier);
    texts.push(
      `${namesOf(names)} ${names.length === 1 ? 'is' : 'are'} taken to come in with the heats of ${carrier}: no cycles of ${names.length === 1 ? 'its' : 'their'} own are in it.`,
    );
  }
  for (const { entry } of of('plates'))
    texts.push(
      `${entry.line.name} has stalled by its readings, and no further heat on it is in this plan: plates go on, and the work is finished. Whether to go on heating instead is for the engineer to say.`,
    );
  const done = of('done');
  if (done.length === lines.length)
    texts.push(
      `${namesOf(done)} ${done.length === 1 ? 'is inside its limits' : 'are inside their limits'}: no further heat is in this plan, only the work that finishes the job.`,
    );
  return texts;
}

function namesOf(lines: readonly LineWork[]): string {
  return listOf(lines.map(({ entry }) => entry.line.name));
}

function listOf(names: readonly string[]): string {
  return names.length === 1 ? names[0]! : `${names.slice(0, -1).join(', ')} and ${names.at(-1)!}`;
}
