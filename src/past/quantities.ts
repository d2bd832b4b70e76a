import { WORK_KINDS, type WorkKind } from '../costs/cost-log.ts';
import { EXPECTED, endsOf } from '../maths/coverage-level.ts';
import { exp, log } from '../maths/portable.ts';
import type { Estimate, Pooled, Prior, Term } from './pool.ts';
import { pool, pooledQuantile } from './pool.ts';
import { linesOf, type PastRecord } from './record.ts';

/** Crews do not differ by more than three times what is held usual: without this a prior alone would reckon with months of painting. */
export const UNLIKE = 3;

/** What makes one job like another: all lengths in m, null where not known. */
export interface JobLikeness {
  readonly span: number;
  readonly flangeWidth: number;
  readonly flangeThickness: number;
  readonly largest: number;
  readonly rotation: number;
  readonly zones: number;
  readonly crewJobs: number | null;
  /** Working days in all. */
  readonly days: number | null;
}

export function likenessOf(record: PastRecord): JobLikeness {
  const { section, damage } = record;
  return {
    span: Math.max(...record.spans),
    flangeWidth: section.flangeWidth,
    flangeThickness: section.flangeThickness,
    largest: damage.largest,
    rotation: damage.zones.reduce((sum, zone) => sum + zone.rotation, 0),
    zones: damage.zones.length,
    crewJobs: record.crewJobs,
    days: record.days.all ?? null,
  };
}

/**
 * How far another job counts for this one, 0 to 1: exp(−d²/2), d² the sum of squared differences of span, plastic modulus
 * of the flange (t·b²/4), largest deviation, degree of damage and number of zones, as logarithms over the scales below.
 * Largest deviation and degree of damage say much the same, so each counts half. A job half as large in everything counts
 * about seven tenths. What the crew had done before, and how much more work a larger
 * bend is beside the heating, are terms of their own (`termOf`). Common practice, no source.
 */
export function likeness(a: JobLikeness, b: JobLikeness): number {
  const ratio = (x: number, y: number, scale: number) => (x > 0 && y > 0 ? (log(x / y) / scale) ** 2 : 0);
  const modulus = (job: JobLikeness) => job.flangeThickness * job.flangeWidth ** 2;
  const d2 =
    ratio(a.span, b.span, 1.7) +
    ratio(modulus(a), modulus(b), 2.8) +
    ratio(a.largest, b.largest, 1.84) +
    ratio(a.rotation, b.rotation, 1.84) +
    ratio(a.zones, b.zones, 1.7);
  return exp(-d2 / 2);
}

/** Work that takes days of its own, whatever the bend; heating is counted by cycles. */
export const FIXED_WORK = WORK_KINDS.filter((kind) => kind !== 'heating' && kind !== 'reading');

export type QuantityName =
  | 'ratio'
  | 'deadShare'
  | 'veesPerCycle'
  | 'daysPerCycle'
  | 'bulgeShare'
  | 'costPerDay'
  | 'gasPerVee'
  | `days: ${WorkKind}`;

interface Quantity {
  /** In words, as a plan names it. */
  readonly label: string;
  /** Null: there is none; only past jobs or the job itself can say. */
  readonly prior: Prior | null;
  /**
   * What a finished job says, on the scale it is pooled on (a logarithm, a logit; days of other work by `rootOfDays`); null
   * where it does not.
   *
   * @param share dead days over cycles of all jobs together, which a job of few cycles is read from
   */
  readonly of: (record: PastRecord, share: number) => { value: number; u: number } | null;
}

/** A term with what it is of, and where its prior comes from. */
interface StatedTerm extends Term {
  readonly source: string;
  /** Said after the source of the quantity, where the term is in it. */
  readonly fitted: string;
  /** Of the job that the prior of the quantity speaks of. */
  readonly usual: number;
  /** How far jobs lie apart where one does not say, as an sd. */
  readonly unknown: number;
  /** What tells a job apart; null where that is not known. */
  readonly of: (job: JobLikeness) => number | null;
}

/** What tells jobs apart in a quantity beside their likeness; null where nothing does. */
export function termOf(name: QuantityName): StatedTerm | null {
  switch (name) {
    case 'veesPerCycle':
      // Learning goes with the logarithm of what was done before (Wright 1936, J. Aeronaut. Sci. 3, from memory).
      return {
        slope: 0.25,
        slopeU: 0.15,
        fitted: '; for what this crew has done before',
        // A crew that has done one.
        usual: log(2),
        unknown: 0.6,
        // Five jobs teach what there is to learn.
        of: ({ crewJobs }) => (crewJobs === null ? null : log(1 + Math.min(crewJobs, 5))),
        source: `a crew’s second job costs markedly less than its first: it makes about a fifth more vees in a cycle, between nothing and two fifths (${CP})`,
      };
    case 'days: paint removal':
    case 'days: plating':
    case 'days: painting':
      // Half of that of the days themselves, which are its square.
      return {
        slope: 0.125 * rootOfDays(USUAL_DAYS[name.slice('days: '.length) as WorkKind]!).value,
        slopeU: 0.1 * rootOfDays(USUAL_DAYS[name.slice('days: '.length) as WorkKind]!).value,
        fitted: '; for damage as large as this',
        // Ten inches.
        usual: log(0.25),
        unknown: 0.6,
        of: ({ largest }) => (largest > 0 ? log(largest) : null),
        source: `twice the damage takes about a fifth more days of it, between nothing and half as many again (${CP})`,
      };
    case 'costPerDay':
      return {
        slope: -0.15,
        slopeU: 0.1,
        fitted: '; for as many days as this',
        // Never asked: the cost of a day has no prior of its own.
        usual: log(20),
        unknown: 0.4,
        of: ({ days }) => (days !== null && days > 0 ? log(days) : null),
        source: `a job of twice the days costs about a tenth less a day, since some of the money is paid once, between nothing and a sixth (${CP})`,
      };
    default:
      return null;
  }
}

const CP = 'common practice, no source';
/** Standard error of the logarithm of a count of whole days: rounding alone, 1/√12 of a day (JCGM 100:2008, F.2.2.1). */
const dayU = (days: number) => 0.29 / (days + 0.5);

/**
 * Days of other work are pooled as the root of the count and 3/8 (Anscombe 1948, Biometrika 35, from memory): small counts
 * scatter evenly there, where logarithms would make of a few days that differ a tail of many.
 */
export function rootOfDays(days: number): { readonly value: number; readonly u: number } {
  // One u for all: a smaller one for larger counts would let them pull the mean up.
  return { value: Math.sqrt(days + 0.375), u: 0.1 };
}

/** Every quantity a plan draws, with its prior in one sentence. */
export function quantityOf(name: QuantityName, currency: string | null, gasUnit: string | null): Quantity {
  switch (name) {
    case 'ratio':
      return {
        label: 'observed over expected rotation of a vee',
        prior: {
          mean: log(0.8),
          meanU: 0.3,
          spread: 0.2,
          source: `vees turn about 0.8 of what the published formula expects, on nine jobs in ten between 0.4 and 1.6 (${CP})`,
        },
        of: ({ ratio }) =>
          ratio === null ? null : { value: log(ratio.value), u: Math.max(0.02, ratio.u / ratio.value) },
      };
    case 'deadShare':
      return {
        label: 'share of cycles in which nothing moves',
        prior: {
          mean: log(1 / 9),
          meanU: 0.6,
          spread: 0.4,
          source: `about one cycle in ten moves hardly anything, between one in thirty and one in three (${CP})`,
        },
        // Working response and weight of a logistic regression at the share of all jobs (McCullagh and Nelder 1989, 2.5,
        // from memory): logits of single jobs lean toward a half, far where a job has ten cycles and none is dead.
        of: ({ deadCycles, cycles }, share) => {
          if (deadCycles === null || cycles === null || cycles < 1) return null;
          const variance = 1 / (cycles * share * (1 - share));
          return {
            value: log(share / (1 - share)) + (Math.min(deadCycles, cycles) - cycles * share) * variance,
            u: Math.sqrt(variance),
          };
        },
      };
    case 'veesPerCycle':
      return {
        label: 'vees a cycle',
        prior: {
          mean: log(4),
          meanU: 0.35,
          spread: 0.15,
          source: `a crew makes about four vees in a cycle, between two and eight (${CP})`,
        },
        of: (record) => {
          const { vees } = record;
          // In cycles on a panel no vees are made; without a log by cycles all count.
          const cycles = (record.schema === 'sweepbook/past/1' ? null : record.veeCycles) ?? record.cycles;
          return vees === null || cycles === null || vees < 1 || cycles < 1
            ? null
            : { value: log(vees / cycles), u: 0.05 };
        },
      };
    case 'daysPerCycle':
      return {
        label: 'working days a cycle',
        prior: {
          mean: 0,
          meanU: 0.2,
          spread: 0.15,
          source: `one cycle of heating, cooling and reading takes about one working day (${CP})`,
        },
        of: ({ days, cycles }) =>
          days.heating === undefined || days.heating < 1 || cycles === null || cycles < 1
            ? null
            : { value: log(days.heating / cycles), u: dayU(days.heating) },
      };
    case 'bulgeShare':
      return {
        label: 'share of a bulge as found that a cycle closes',
        prior: {
          mean: log(1 / 8),
          meanU: 0.45,
          spread: 0.3,
          source: `a cycle of heats takes about an eighth off a bulge, between a twentieth and a third (${CP})`,
        },
        of: (record) => bulgeShareOf(record),
      };
    case 'costPerDay':
      return {
        label: `cost of a working day${currency === null ? '' : `, ${currency}`}`,
        prior: null,
        of: ({ cost, days }) =>
          cost === null ||
          cost.currency !== currency ||
          cost.total <= 0 ||
          !withLabour(cost) ||
          !(days.all! > 0)
            ? null
            : { value: log(cost.total / days.all!), u: 0.03 },
      };
    case 'gasPerVee':
      return {
        label: `gas a vee${gasUnit === null ? '' : `, ${gasUnit}`}`,
        prior: null,
        of: ({ gas, vees }) =>
          gas === null || gas.unit !== gasUnit || gas.amount <= 0 || vees === null || vees < 1
            ? null
            : { value: log(gas.amount / vees), u: 0.1 },
      };
    default: {
      const kind = name.slice('days: '.length) as WorkKind;
      const usual = USUAL_DAYS[kind] ?? 0;
      return {
        label: `days of ${kind}`,
        prior: {
          // Of the days' mean, not their middle: roots scatter by nearly a half, and a mean is that much above its root squared.
          mean: Math.sqrt(usual + 0.375 - 0.2),
          meanU: 0.17 * rootOfDays(usual).value,
          // Half is what counts scatter by anyhow (a Poisson count, on this scale).
          spread: 0.4,
          // Twice that is a fifth of a day to five where two are usual. With the bound of the others (to seven) every
          // kind had a tail that it has not, and six of them together made a job's days too wide.
          farthest: 2,
          source: `${kind} takes about ${usual} ${usual === 1 ? 'day' : 'days'}, mostly between half and twice that (${CP})`,
        },
        of: ({ days }) => {
          const counted = days[kind] ?? (accountedFor(days) ? 0 : undefined);
          return counted === undefined ? null : rootOfDays(counted * shareBeside(days));
        },
      };
    }
  }
}

/**
 * What a moving cycle took off the bulges of a job, in shares of them as found, as a logarithm: cycles that stood still are
 * drawn on their own. A panel whose heats were not logged says nothing, for it may have waited for other heats.
 */
function bulgeShareOf(record: PastRecord): { value: number; u: number } | null {
  const moving = 1 - (record.deadCycles ?? 0) / Math.max(1, record.cycles ?? 1);
  const read = linesOf(record).flatMap(({ kind, largestByCycle: series, heatedCycles }) => {
    const [found, last] = [series[0]?.largest ?? 0, series.at(-1)?.largest ?? 0];
    return kind === 'bulge' && heatedCycles !== null && heatedCycles > 0 && last < found
      ? [{ closed: 1 - last / found, cycles: heatedCycles }]
      : [];
  });
  if (read.length === 0 || moving <= 0) return null;
  const cycles = read.reduce((sum, each) => sum + each.cycles, 0);
  const closed = read.reduce((sum, each) => sum + each.closed, 0);
  // Heats scatter by about a third from cycle to cycle.
  return { value: log(closed / (cycles * moving)), u: Math.max(0.1, 0.35 / Math.sqrt(cycles)) };
}

/** Money by kind without labour (gas from the heat log alone) is not what a day costs; a sum that is not split is taken whole. */
function withLabour({ byKind }: NonNullable<PastRecord['cost']>): boolean {
  return Object.keys(byKind).length === 0 || (byKind.labour ?? 0) > 0;
}

/** Days by kind that come to the days in all: a kind left out had none. */
function accountedFor({ all, ...byKind }: PastRecord['days']): boolean {
  const sum = Object.values(byKind).reduce<number>((total, days) => total + (days ?? 0), 0);
  return all !== undefined && sum > 0 && sum >= all;
}

/**
 * A day on which two kinds of work were done stands under both, and would count twice in a plan's sum: heating first, the
 * other kinds share the days that are left.
 */
function shareBeside({ all, heating = 0, reading = 0, ...others }: PastRecord['days']): number {
  const sum = Object.values(others).reduce<number>((total, days) => total + (days ?? 0), 0);
  if (all === undefined || sum === 0) return 1;
  return Math.min(1, Math.max(0, all - heating) / sum);
}

const USUAL_DAYS: Partial<Record<WorkKind, number>> = {
  'set-up': 2,
  'paint removal': 3,
  plating: 2,
  painting: 2,
  inspection: 1,
  'clean-up': 1,
};

/** One quantity of the job at hand, with everything a reader needs to judge it. */
export interface Learnt {
  readonly name: QuantityName;
  readonly label: string;
  readonly pooled: Pooled;
  /** Median and interval at `EXPECTED.level`, in plain units. */
  readonly low: number;
  readonly median: number;
  readonly high: number;
  /** "from 7 of your jobs", "common practice …", "this job itself". */
  readonly source: string;
  /** The same in a few words. */
  readonly brief: string;
  /** What tells jobs apart in it, in words with its figure; null where nothing does, or the job at hand does not say. */
  readonly term: string | null;
  /** Jobs used and how far each counts, most like first. */
  readonly jobs: readonly { readonly job: string; readonly weight: number }[];
}

/** A finished job beside the one at hand. */
export interface Weighed {
  readonly record: PastRecord;
  readonly like: JobLikeness;
  /** How far it counts, 0 to 1 (`likeness`). */
  readonly weight: number;
}

/** Finished jobs with their likeness to the one at hand, most like first. */
export function weigh(past: readonly PastRecord[], here: JobLikeness): Weighed[] {
  return past
    .map((record) => {
      const like = likenessOf(record);
      return { record, like, weight: likeness(here, like) };
    })
    .sort((a, b) => b.weight - a.weight);
}

/**
 * What section and damage make: another job counts by its likeness. What crew and agency make (vees and days a cycle, money,
 * set-up) goes less with the damage, and counts by the root of it.
 */
const OF_THE_STEEL: ReadonlySet<QuantityName> = new Set<QuantityName>([
  ...(['ratio', 'deadShare', 'gasPerVee'] as const),
  ...(['days: paint removal', 'days: plating', 'days: painting'] as const),
]);

/** Jobs a quantity is pooled from: four hundred tell the mean of all to a twentieth of what jobs differ by; more cost time only. */
const MOST_POOLED = 400;

/**
 * A quantity as the past, the prior and the job itself say it; null where none of them says anything.
 *
 * @param past most like first (`weigh`); of thousands the most like hundreds are used
 * @param own what the job itself has shown or states, on the quantity's scale
 */
export function learn(
  name: QuantityName,
  past: readonly Weighed[],
  here: JobLikeness,
  own: { readonly value: number; readonly u: number; readonly source: string } | null,
  money: { readonly currency: string | null; readonly gasUnit: string | null },
): Learnt | null {
  const quantity = quantityOf(name, money.currency, money.gasUnit);
  // What this job states or has shown of its own price holds for its own days.
  const term = name === 'costPerDay' && own !== null ? null : termOf(name);
  const mine = term?.of(here) ?? null;
  const share = name === 'deadShare' ? shareOf(past) : 0;
  const estimates: Estimate[] = [];
  for (const { record, like, weight } of past) {
    if (estimates.length === MOST_POOLED) break;
    const said = quantity.of(record, share);
    if (said === null) continue;
    const theirs = term?.of(like) ?? null;
    // Where one of the two does not say, it may be as far apart as jobs usually are.
    const known = mine !== null && theirs !== null;
    const blur = term === null || known ? 0 : term.unknown * Math.abs(term.slope);
    const u = Math.sqrt(said.u ** 2 + blur ** 2);
    const counts = OF_THE_STEEL.has(name) ? weight : Math.sqrt(weight);
    estimates.push({
      job: record.job,
      value: said.value,
      u,
      weight: counts,
      apart: known ? theirs - mine : 0,
    });
  }
  const stated = quantity.prior === null ? null : { farthest: UNLIKE, ...quantity.prior };
  const prior = stated ?? priorOfPast(estimates) ?? (own === null ? null : vague(own));
  if (prior === null) return null;
  const pooled = pool(
    prior,
    estimates,
    own,
    term === null ? null : { ...term, priorApart: mine === null ? 0 : term.usual - mine },
  );
  const [low, high] = endsOf(EXPECTED);
  const plain = (p: number) => {
    const value = plainValue(name, pooledQuantile(pooled, p));
    return name.startsWith('days: ') ? Math.round(value) : value;
  };
  const used = estimates.filter((each) => each.weight >= 0.01).sort((a, b) => b.weight - a.weight);
  return {
    name,
    label: quantity.label,
    pooled,
    low: plain(low),
    median: plain(0.5),
    high: plain(high),
    source: sourceText(own, used, quantity.prior) + (term === null || mine === null ? '' : term.fitted),
    brief: briefText(own, used),
    term: term === null || mine === null ? null : termText(name, term, pooled, used),
    jobs: used.map(({ job, weight }) => ({ job, weight })),
  };
}

/**
 * From the scale a quantity is pooled on to what a reader sees, inside what can be: the tails of a pooled quantity know nothing
 * of crews, who make neither a hundred vees in a cycle nor turn ten times what the formula expects.
 */
export function plainValue(name: QuantityName, value: number): number {
  switch (name) {
    case 'ratio':
      return within(exp(value), 0.1, 4);
    case 'deadShare':
      return within(1 / (1 + exp(-value)), 0, 0.8);
    case 'veesPerCycle':
      return within(exp(value), 1, 40);
    case 'daysPerCycle':
      return within(exp(value), 0.2, 5);
    case 'bulgeShare':
      return within(exp(value), 0.01, 1);
    case 'costPerDay':
    case 'gasPerVee':
      return exp(within(value, -20, 20));
    default:
      return within(Math.max(0, value) ** 2 - 0.375, 0, 60);
  }
}

function within(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}

/** Dead days over cycles of all jobs, as far as each counts, with one of ten before any (the prior's own middle). */
function shareOf(past: readonly Weighed[]): number {
  let [dead, cycles] = [1, 10];
  for (const { record, weight } of past) {
    if (record.deadCycles === null || record.cycles === null) continue;
    dead += weight * Math.min(record.deadCycles, record.cycles);
    cycles += weight * record.cycles;
  }
  return within(dead / cycles, 0.01, 0.7);
}

const TERM_OF: Partial<Record<QuantityName, string>> = {
  veesPerCycle: 'a crew’s second job over its first',
  costPerDay: 'twice the days',
};

/** The term in words: by how much the second job of a crew, twice the damage or twice the days change it. */
function termText(
  name: QuantityName,
  { source }: StatedTerm,
  { slope, population }: Pooled,
  used: readonly Estimate[],
): string {
  const more = (value: number) => {
    switch (name) {
      case 'veesPerCycle':
      case 'costPerDay':
        return exp(value * log(2)) - 1;
      default:
        return (1 + (value * log(2)) / Math.max(0.5, population.mean)) ** 2 - 1;
    }
  };
  const percent = (value: number) => {
    const share = Math.round(100 * more(value));
    return share < 0 ? `${-share} % less` : `${share} % more`;
  };
  const { mean, sd } = slope!;
  // The ends of an interval of 80 % of a normal distribution.
  const [low, high] = [mean - 1.2816 * sd, mean + 1.2816 * sd];
  const from =
    used.length === 0 ? '' : `; with ${used.length === 1 ? 'the past job' : `${used.length} past jobs`}`;
  return `${TERM_OF[name] ?? 'twice the damage'}: ${percent(mean)} (${percent(low)} to ${percent(high)}); ${source}${from}`;
}

/** Money and gas have no prior worth stating: the jobs themselves give their middle, wide enough that one job does not rule. */
function priorOfPast(estimates: readonly Estimate[]): Prior | null {
  if (estimates.length === 0) return null;
  const weight = estimates.reduce((sum, each) => sum + each.weight + 0.01, 0);
  const mean = estimates.reduce((sum, each) => sum + (each.weight + 0.01) * each.value, 0) / weight;
  // So unsure that it says next to nothing: its middle is of the same jobs, which must not count twice.
  return { mean, meanU: 1.5, spread: 0.1, farthest: UNLIKE, source: 'the jobs themselves' };
}

function vague(own: { readonly value: number }): Prior {
  return { mean: own.value, meanU: 1, spread: 0.3, source: 'this job itself' };
}

function briefText(own: { readonly source: string } | null, used: readonly Estimate[]): string {
  const jobs = used.length === 0 ? [] : [`${used.length} past ${used.length === 1 ? 'job' : 'jobs'}`];
  const said = [...(own === null ? [] : [own.source]), ...jobs];
  if (said.length === 0) return CP;
  return said.join(' and ');
}

function sourceText(
  own: { readonly source: string } | null,
  used: readonly Estimate[],
  prior: Prior | null,
): string {
  const parts: string[] = [];
  if (own !== null) parts.push(own.source);
  if (used.length > 0) {
    const worth = used.reduce((sum, each) => sum + each.weight, 0);
    parts.push(
      `from ${used.length} past ${used.length === 1 ? 'job' : 'jobs'} (as much as ${worth.toFixed(1)} like this one)`,
    );
  }
  if (prior !== null) parts.push(parts.length === 0 ? prior.source : `starting from: ${prior.source}`);
  return parts.join('; ');
}
