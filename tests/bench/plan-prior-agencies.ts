import {
  FIXED_WORK,
  plainValue,
  type QuantityName,
  quantityOf,
  termOf,
  UNLIKE,
} from '../../src/past/quantities.ts';
import type { PastRecord } from '../../src/past/record.ts';
import { SCATTER } from '../../src/plan/forward.ts';
import { createRandom, type Random } from '../mechanics/random.ts';
import { makeDamage, workDamage } from './plan-agencies.ts';

/**
 * Agencies drawn from the very priors a plan starts from: what an agency differs by, how far its jobs differ, what its crews
 * learn. Intervals must cover their claim here with any number of past jobs, none included; what they cover elsewhere then
 * says how the agencies differ from the priors, not whether the sums are right.
 */
export function makeByPriors(seed: string, jobs: number): { past: PastRecord[]; now: PastRecord } {
  const random = createRandom(seed);
  const names: readonly QuantityName[] = [
    ...(['ratio', 'deadShare', 'veesPerCycle', 'daysPerCycle'] as const),
    ...FIXED_WORK.map((kind): QuantityName => `days: ${kind}`),
  ];
  const agency = new Map(
    names.map((name) => {
      const prior = quantityOf(name, null, null).prior!;
      const term = termOf(name);
      return [
        name,
        {
          mean: prior.mean + prior.meanU * random.normal(),
          spread: halfCauchy(random, prior.farthest ?? UNLIKE) * prior.spread,
          slope: term === null ? 0 : term.slope + term.slopeU * random.normal(),
        },
      ] as const;
    }),
  );
  const dayCost = 2500 + 6000 * random.uniform();
  const priceSpread = 0.1 * halfCauchy(random, UNLIKE);
  const priceSlope = -0.15 + 0.1 * random.normal();
  let crew = random.integer(0, 2);
  const make = (i: number): PastRecord => {
    const damage = makeDamage(random.fork(`damage ${i}`), false);
    const work = random.fork(`work ${i}`);
    const crewJobs = crew++;
    const like = {
      ...{ span: damage.span, flangeWidth: damage.flangeWidth, flangeThickness: damage.flangeThickness },
      ...{ largest: damage.size, rotation: 0, zones: 1, crewJobs, days: null },
    };
    const of = (name: QuantityName): number => {
      const { mean, spread, slope } = agency.get(name)!;
      const term = termOf(name);
      const apart = term === null ? 0 : term.of(like)! - term.usual;
      return plainValue(name, mean + slope * apart + spread * work.normal());
    };
    const [deadShare, daysPerCycle] = [of('deadShare'), of('daysPerCycle')];
    return workDamage(damage, crewJobs, {
      ratio: of('ratio'),
      veesPerCycle: of('veesPerCycle'),
      dead: () => work.uniform() < deadShare,
      cycle: () => Math.exp(SCATTER * work.normal() - SCATTER ** 2 / 2),
      vee: () => 1,
      days: (cycles) => ({
        heating: Math.max(1, Math.round(cycles * daysPerCycle)),
        ...Object.fromEntries(FIXED_WORK.map((kind) => [kind, Math.round(of(`days: ${kind}`))])),
      }),
      cost: (days) =>
        days * dayCost * Math.exp(priceSlope * Math.log(days / 20) + priceSpread * work.normal()),
      ratioError: () => 1 + 0.05 * work.normal(),
    });
  };
  return { past: Array.from({ length: jobs }, (_, i) => make(i)), now: make(jobs) };
}

/** |Cauchy| below `most`, by its distribution function. */
function halfCauchy(random: Random, most: number): number {
  return Math.tan(random.uniform() * Math.atan(most));
}
