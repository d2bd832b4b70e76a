import type { Analysis, LineAnalysis, Verdict } from '../analysis.ts';
import type { WorkKind } from '../costs/cost-log.ts';
import { currencyDigits, moneyOf } from '../costs/money.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
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
import { type PlannedZone, SCATTER, workOff } from './forward.ts';

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
   * Whether the cycles left come from the readings' own forecast or from vees simulated forward; or that heating ends:
   * with `plates`, because the readings say it stands still, or `done`, because the line is inside its limits.
   */
  readonly basis: 'readings' | 'as-found' | 'plates' | 'done';
  /** Largest deviation at which work stops, m: the limit less what measurement leaves uncertain. */
  readonly aim: number;
  readonly limit: number;
  /** Share of the futures that get inside at all; null where heating ends. */
  readonly probability: number | null;
  readonly vees: Spread | null;
  readonly cycles: Spread | null;
  /** Working days from the cycle the plan counts from. */
  readonly days: Spread | null;
  readonly closureHours: Spread | null;
  readonly finish: { readonly low: string; readonly median: string; readonly high: string | null } | null;
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
}

/**
 * How long the work takes, how many closures and what it costs, as medians and intervals. Before the first heat the
 * zones as found are worked off with vees as planned; once the readings forecast, their cycles are taken as they
 * are, so that a plan and the status cannot disagree. Deterministic: draws come from a fixed seed.
 */
export function planJob(input: PlanInput): PlanResult {
  const { analysis, heats } = input;
  const entry = decidingSweep(analysis);
  if (entry === null)
    return refuse('no sweep or camber line of the job has been read', 'the as-found readings of one');
  const limit = tightestLimit(entry);
  if (limit === null)
    return refuse(
      `no limit is set on ${entry.line.name}: a plan needs to know when work stops`,
      'a limit under acceptance',
    );
  const judged = entry.progress.series;
  const last = judged.at(-1);
  if (last === undefined)
    return refuse(
      `${entry.line.name} has no survey that can be judged`,
      'one read with jacks off and steel cooled',
    );
  const aim = Math.max(limit / 2, limit - 2 * last.u);
  const set = { limit, aim, fromCycle: last.cycle };
  const { verdict } = entry.progress;
  const needed = NEEDED[verdict];
  if (verdict === 'stalled' && platesGiven(analysis, entry))
    return planned(simulate(input, entry, { ...set, basis: 'plates', zones: [] }));
  if (needed !== undefined)
    return refuse(
      `the readings of ${entry.line.name} say "${verdict}": days reckoned from vees would contradict them (see status)`,
      needed,
    );
  if (verdict === 'within-tolerance')
    return planned(simulate(input, entry, { ...set, basis: 'done', zones: [] }));
  if (judged.length > 2 && entry.progress.cyclesLeft !== null)
    return planned(simulate(input, entry, { ...set, basis: 'readings', zones: [] }));
  const zones = plannedZones(entry, heats);
  if (zones === null)
    return refuse(
      `what one vee turns cannot be said for ${entry.line.name}`,
      'the temperature of the heats or the steel, and how the member is held (restraint)',
    );
  return planned(simulate(input, entry, { ...set, basis: 'as-found', zones }));
}

function planned(plan: Plan): PlanResult {
  return { plan, reason: null, needed: null };
}

function refuse(reason: string, needed: string): PlanResult {
  return { plan: null, reason, needed };
}

/** Words of the readings beside which no plan of further heats can stand, and what would have to come first. */
const NEEDED: Partial<Record<Verdict, string>> = {
  stalled:
    'the cause found and changed (temperature reached, place of the vees, restraint) and readings that show it moving again; or the plates that end the heating (plates, plan.days.plating), which are then planned',
  regressing:
    'the line read again, jacks off and steel cooled, closing again, and the engineer’s word on why it opened',
  overcorrected:
    'the line read again, jacks off and steel cooled, and the engineer’s word on heats to the other side or on leaving it',
};

/** Whether the job says enough of plates to plan with them: where they go, or how many days they take. */
function platesGiven({ job }: Analysis, entry: LineAnalysis): boolean {
  return job.plates.some((plate) => plate.line === entry.line.name) || (job.plan.days.plating ?? 0) > 0;
}

interface Set {
  readonly limit: number;
  readonly aim: number;
  readonly basis: Plan['basis'];
  readonly zones: readonly PlannedZone[];
  readonly fromCycle: number;
}

function simulate(input: PlanInput, entry: LineAnalysis, set: Set): Plan {
  const { job } = input.analysis;
  const fields = job.plan;
  const gasUnit = input.heats.quantities.gasUnit;
  const here = likenessHere(input.analysis, entry);
  const past = weigh(input.past, here);
  const quantity = (name: QuantityName) =>
    learn(name, past, here, ownEstimate(name, input, entry), { currency: job.currency, gasUnit });
  // Once heats are made the paint is off and the set-up stands, logged or not.
  const ended = set.basis === 'plates' || set.basis === 'done';
  const before: readonly WorkKind[] = [
    ...(set.fromCycle > 0 ? (['set-up', 'paint removal'] as const) : []),
    ...(set.basis === 'done' ? (['plating'] as const) : []),
  ];
  const fixed = FIXED_WORK.filter((kind) => !before.includes(kind) && (input.daysDone?.[kind] ?? 0) === 0);
  const learnt = [
    ...(set.basis === 'as-found' ? [quantity('ratio'), quantity('deadShare'), quantity('veesPerCycle')] : []),
    ...(ended ? [] : [quantity('daysPerCycle')]),
    ...fixed.map((kind) => quantity(`days: ${kind}`)),
    quantity('costPerDay'),
    ...(ended ? [] : [quantity('gasPerVee')]),
  ].filter((each) => each !== null);
  const uniform = seededUniform(SEED);
  const normal = seededNormal(uniform);
  const futures = Array.from({ length: FUTURES }, () => {
    const drawn = new Map(
      learnt.map((each) => [each.name, plainValue(each.name, drawPooled(each.pooled, uniform, normal))]),
    );
    const value = (name: QuantityName) => drawn.get(name) ?? null;
    const worked = ended ? { cycles: 0, vees: null } : heating(entry, set, value, uniform, normal);
    const heatingDays = wholeDays(worked.cycles, value('daysPerCycle') ?? 1);
    const days = fixed.reduce((sum, kind) => sum + Math.round(value(`days: ${kind}`) ?? 0), heatingDays);
    const price = value('costPerDay');
    const gas = value('gasPerVee');
    return {
      ...worked,
      days,
      cost: price === null ? null : days * price,
      gas: gas === null || worked.vees === null ? null : worked.vees * gas,
      finish:
        fields.start === null || !Number.isFinite(days)
          ? null
          : finishDate(fields.start, Math.max(1, days), fields, () => uniform() < fields.weatherDays / 100),
      drawn,
    };
  });
  const spread = (of: (future: (typeof futures)[number]) => number | null) => spreadOf(futures.map(of));
  const days = spread((future) => future.days);
  return {
    job: job.name,
    line: entry.line.name,
    fromCycle: set.fromCycle,
    level: EXPECTED.level,
    basis: set.basis,
    aim: set.aim,
    limit: set.limit,
    probability: ended
      ? null
      : futures.filter((future) => Number.isFinite(future.cycles)).length / futures.length,
    vees: spread((future) => (Number.isFinite(future.cycles) ? future.vees : Number.POSITIVE_INFINITY)),
    cycles: ended ? null : spread((future) => future.cycles),
    days,
    closureHours:
      days === null || fields.closureHours === null
        ? null
        : spread((future) => future.days * fields.closureHours!),
    finish: finishOf(fields.start, futures),
    cost: rounded(
      spread((future) => future.cost),
      job.currency,
    ),
    gas: spread((future) => future.gas),
    currency: job.currency,
    gasUnit,
    drivers: driversOf(learnt, futures, set.basis),
    learnt,
    assumptions: assumptionsOf(set, entry, fields, learnt),
  };
}

/** Days that cycles take, whole: the middle of the plan must not lean because part of a day is counted as one. */
export function wholeDays(cycles: number, daysPerCycle: number): number {
  return cycles === 0 ? 0 : Math.max(1, Math.round(cycles * daysPerCycle));
}

/** Cycles and vees of one future, from the readings' forecast or by working off the zones. */
function heating(
  entry: LineAnalysis,
  set: Set,
  value: (name: QuantityName) => number | null,
  uniform: () => number,
  normal: () => number,
): { cycles: number; vees: number | null } {
  if (set.basis === 'readings') {
    return { cycles: forecastCycles(entry, uniform()), vees: null };
  }
  return workOff(
    set.zones,
    entry.line.bearings,
    set.aim,
    {
      ratio: value('ratio') ?? 1,
      deadShare: value('deadShare') ?? 0,
      veesPerCycle: value('veesPerCycle') ?? 1,
      scatter: SCATTER,
    },
    uniform,
    normal,
  );
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

/** The sweep or camber line furthest outside its limit: what the time goes into. */
function decidingSweep(analysis: Analysis): LineAnalysis | null {
  const able = analysis.lines.filter(
    ({ line, progress }) => (line.kind === 'sweep' || line.kind === 'camber') && progress.series.length > 0,
  );
  const outside = (entry: LineAnalysis) =>
    entry.progress.series.at(-1)!.value / (tightestLimit(entry) ?? Infinity);
  return able.reduce<LineAnalysis | null>((a, b) => (a === null || outside(b) > outside(a) ? b : a), null);
}

/** Limit on the whole line; where there are only others, the smallest of them. */
function tightestLimit({ acceptance }: LineAnalysis): number | null {
  const whole = acceptance.filter((result) => result.rule.over.kind === 'whole-line');
  const of = whole.length > 0 ? whole : acceptance;
  return of.length === 0 ? null : Math.min(...of.map((result) => result.limit));
}

function plannedZones(entry: LineAnalysis, heats: HeatsOfJob): PlannedZone[] | null {
  const mine = heats.zones.filter((zone) => zone.line === entry.line.name);
  if (mine.length === 0 || mine.some((zone) => zone.planned === null || zone.planned <= 0)) return null;
  return mine.map((zone) => ({
    station: zone.station,
    rotation: zone.sense * zone.remaining,
    rotationU: zone.remainingU,
    expectedVee: zone.planned!,
  }));
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
  };
}

/** What the job states or has shown itself, on the scale of the quantity; null where it says nothing. */
function ownEstimate(
  name: QuantityName,
  { analysis, heats, daysDone }: PlanInput,
  entry: LineAnalysis,
): { value: number; u: number; source: string } | null {
  const { plan } = analysis.job;
  const stated = 'as the job states';
  if (name === 'veesPerCycle') {
    const logged = heats.quantities.cycles.map((cycle) => cycle.heats).filter((count) => count > 0);
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
    const cycles = entry.progress.series.at(-1)?.cycle ?? 0;
    const done = daysDone?.heating ?? 0;
    if (done > 0 && cycles > 0) {
      return { value: log(done / cycles), u: 0.5 / (done + 0.5), source: `${cycles} cycles of this job` };
    }
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
    return plan.costPerDay === null ? null : { value: log(plan.costPerDay), u: 0.05, source: stated };
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

function assumptionsOf(
  set: Set,
  entry: LineAnalysis,
  fields: Analysis['job']['plan'],
  learnt: readonly Learnt[],
): string[] {
  return [
    basisText(set, entry),
    ...(set.basis === 'readings' || set.basis === 'as-found'
      ? [
          'Damage that shows only when heating starts, a plate instead of the last heats, and work on other members are not in it.',
        ]
      : ['Making and delivering of plates, and work on other members, are not in it.']),
    ...(fields.weatherDays === 0 ? ['No day is lost to weather: plan.weatherDays says otherwise.'] : []),
    ...(fields.start === null ? ['Counts only: plan.start gives dates.'] : []),
    ...(learnt.some((each) => each.name === 'costPerDay')
      ? []
      : [
          'No cost: neither the job (plan.costPerDay) nor a past job in its currency says what a working day costs.',
        ]),
    'An estimate for planning; the owner’s specification, local codes and a licensed engineer decide.',
  ];
}

function basisText({ basis, fromCycle }: Set, { line, progress }: LineAnalysis): string {
  switch (basis) {
    case 'readings':
      return `Cycles left are those of the readings of ${line.name}, as the status says them.`;
    case 'plates':
      return `${line.name} has stalled by its readings, and no further heat is in this plan: plates go on, and the work is finished. Whether to go on heating instead is for the engineer to say.`;
    case 'done':
      return `${line.name} is inside its limits: no further heat is in this plan, only the work that finishes the job.`;
    case 'as-found': {
      const silent =
        progress.series.length > 2 ? ' The readings say no pace yet; once they do, it counts instead.' : '';
      return `The zones of ${line.name} as ${fromCycle === 0 ? 'found' : 'they are now'} are worked off with vees as planned, the largest at the crest first.${silent}`;
    }
  }
}
