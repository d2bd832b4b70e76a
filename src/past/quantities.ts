import { WORK_KINDS, type WorkKind } from '../costs/cost-log.ts';
import { EXPECTED, endsOf } from '../maths/coverage-level.ts';
import { exp, log } from '../maths/portable.ts';
import type { Estimate, Pooled, Prior } from './pool.ts';
import { pool, pooledQuantile } from './pool.ts';
import type { PastRecord } from './record.ts';

/** Crews do not differ by more than three times what is held usual: without this a prior alone would reckon with months of painting. */
const UNLIKE = 3;

/** What makes one job like another: all lengths in m, null where not known. */
export interface JobLikeness {
  readonly span: number;
  readonly flangeWidth: number;
  readonly flangeThickness: number;
  readonly largest: number;
  readonly rotation: number;
  readonly zones: number;
  readonly crewJobs: number | null;
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
  };
}

/**
 * How far another job counts for this one, 0 to 1: exp(−d²/2), d² the sum of squared differences of span, plastic modulus
 * of the flange (t·b²/4), largest deviation, degree of damage and number of zones, as logarithms over the scales below, and
 * of what the crew had done before. A job half as large in everything counts about a third. Common practice, no source.
 */
export function likeness(a: JobLikeness, b: JobLikeness): number {
  const ratio = (x: number, y: number, scale: number) => (x > 0 && y > 0 ? (log(x / y) / scale) ** 2 : 0);
  const modulus = (job: JobLikeness) => job.flangeThickness * job.flangeWidth ** 2;
  const learnt = (jobs: number) => Math.min(jobs, 3) / 2;
  const crews =
    a.crewJobs === null || b.crewJobs === null ? 0 : (learnt(a.crewJobs) - learnt(b.crewJobs)) ** 2;
  const d2 =
    ratio(a.span, b.span, 1.2) +
    ratio(modulus(a), modulus(b), 2) +
    ratio(a.largest, b.largest, 0.9) +
    ratio(a.rotation, b.rotation, 0.9) +
    ratio(a.zones, b.zones, 1.2) +
    crews;
  return exp(-d2 / 2);
}

/** Work that takes days of its own, whatever the bend; heating is counted by cycles. */
export const FIXED_WORK = WORK_KINDS.filter((kind) => kind !== 'heating' && kind !== 'reading');

export type QuantityName =
  | 'ratio'
  | 'deadShare'
  | 'veesPerCycle'
  | 'daysPerCycle'
  | 'costPerDay'
  | 'gasPerVee'
  | `days: ${WorkKind}`;

interface Quantity {
  /** In words, as a plan names it. */
  readonly label: string;
  /** Null: there is none; only past jobs or the job itself can say. */
  readonly prior: Prior | null;
  /** What a finished job says, on the scale it is pooled on (a logarithm, a logit; days plus a half as a logarithm); null where it does not. */
  readonly of: (record: PastRecord) => { value: number; u: number } | null;
}

const CP = 'common practice, no source';
/** Standard error of the logarithm of a count of whole days: rounding alone, 1/√12 of a day (JCGM 100:2008, F.2.2.1). */
const dayU = (days: number) => 0.29 / (days + 0.5);

/** Every quantity a plan draws, with its prior in one sentence. */
export function quantityOf(name: QuantityName, currency: string | null, gasUnit: string | null): Quantity {
  switch (name) {
    case 'ratio':
      return {
        label: 'observed over expected rotation of a vee',
        prior: {
          mean: log(0.8),
          meanU: 0.35,
          spread: 0.25,
          source: `vees turn about 0.8 of what the published formula expects, on nine jobs in ten between 0.4 and 1.6 (${CP})`,
        },
        of: ({ ratio }) =>
          ratio === null ? null : { value: log(ratio.value), u: Math.max(0.02, ratio.u / ratio.value) },
      };
    case 'deadShare':
      return {
        label: 'share of cycles in which nothing moves',
        prior: {
          mean: log(1 / 7),
          meanU: 0.6,
          spread: 0.4,
          source: `about one cycle in eight moves hardly anything, between one in thirty and one in three (${CP})`,
        },
        // Empirical logit with its variance (Gart and Zweifel 1967, Biometrika 54, from memory).
        of: ({ deadCycles, cycles }) =>
          deadCycles === null || cycles === null || cycles < 1
            ? null
            : {
                value: log((deadCycles + 0.5) / (Math.max(0, cycles - deadCycles) + 0.5)),
                u: Math.sqrt(1 / (deadCycles + 0.5) + 1 / (Math.max(0, cycles - deadCycles) + 0.5)),
              },
      };
    case 'veesPerCycle':
      return {
        label: 'vees a cycle',
        prior: {
          mean: log(4),
          meanU: 0.4,
          spread: 0.3,
          source: `a crew makes about four vees in a cycle, between two and eight (${CP})`,
        },
        of: ({ vees, cycles }) =>
          vees === null || cycles === null || vees < 1 || cycles < 1
            ? null
            : { value: log(vees / cycles), u: 0.05 },
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
    case 'costPerDay':
      return {
        label: `cost of a working day${currency === null ? '' : `, ${currency}`}`,
        prior: null,
        of: ({ cost, days }) =>
          cost === null || cost.currency !== currency || cost.total <= 0 || !(days.all! > 0)
            ? null
            : { value: log(cost.total / days.all!), u: 0.1 },
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
          mean: log(usual + 0.5),
          meanU: 0.6,
          spread: 0.3,
          source: `${kind} takes about ${usual} ${usual === 1 ? 'day' : 'days'}, half or twice that as well (${CP})`,
        },
        of: ({ days }) => {
          const counted = days[kind];
          return counted === undefined ? null : { value: log(counted + 0.5), u: dayU(counted) };
        },
      };
    }
  }
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
  /** Jobs used and how far each counts, most like first. */
  readonly jobs: readonly { readonly job: string; readonly weight: number }[];
}

/**
 * A quantity as the past, the prior and the job itself say it; null where none of them says anything.
 *
 * @param own what the job itself has shown or states, on the quantity's scale
 */
export function learn(
  name: QuantityName,
  past: readonly PastRecord[],
  here: JobLikeness,
  own: { readonly value: number; readonly u: number; readonly source: string } | null,
  money: { readonly currency: string | null; readonly gasUnit: string | null },
): Learnt | null {
  const quantity = quantityOf(name, money.currency, money.gasUnit);
  const estimates = past.flatMap((record): Estimate[] => {
    const said = quantity.of(record);
    return said === null ? [] : [{ job: record.job, ...said, weight: likeness(here, likenessOf(record)) }];
  });
  const stated = quantity.prior === null ? null : { ...quantity.prior, farthest: UNLIKE };
  const prior = stated ?? priorOfPast(estimates) ?? (own === null ? null : vague(own));
  if (prior === null) return null;
  const pooled = pool(prior, estimates, own);
  const [low, high] = endsOf(EXPECTED);
  const plain = (p: number) => plainValue(name, pooledQuantile(pooled, p));
  const used = estimates.filter((each) => each.weight >= 0.01).sort((a, b) => b.weight - a.weight);
  return {
    name,
    label: quantity.label,
    pooled,
    low: plain(low),
    median: plain(0.5),
    high: plain(high),
    source: sourceText(own, used, quantity.prior),
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
    case 'costPerDay':
    case 'gasPerVee':
      return exp(within(value, -20, 20));
    default:
      return within(exp(within(value, -5, 5)) - 0.5, 0, 60);
  }
}

function within(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}

/** Money and gas have no prior worth stating: the jobs themselves give their middle, wide enough that one job does not rule. */
function priorOfPast(estimates: readonly Estimate[]): Prior | null {
  if (estimates.length === 0) return null;
  const weight = estimates.reduce((sum, each) => sum + each.weight + 0.01, 0);
  const mean = estimates.reduce((sum, each) => sum + (each.weight + 0.01) * each.value, 0) / weight;
  return { mean, meanU: 0.5, spread: 0.3, source: 'the jobs themselves' };
}

function vague(own: { readonly value: number }): Prior {
  return { mean: own.value, meanU: 1, spread: 0.3, source: 'this job itself' };
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
