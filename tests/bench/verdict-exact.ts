/**
 * What could be known of a campaign of days: a judge who is told how such campaigns are drawn (all but what this one is), the number
 * of cycles, the zones' shares in the crest and how readings err, and follows it by Bayes' rule. A particle filter on the very
 * generator (`drawWork`, `workDay`), so nothing of it is simplified; what is left is the luck of the draw, less with more particles
 * (bootstrap filter: Gordon, Salmond & Smith 1993; systematic resampling: Kitagawa 1996). By the Neyman–Pearson lemma no rule on the
 * same readings calls more stalls for as many false ones, on the average over such campaigns.
 */
import { createRandom, type Random } from '../mechanics/random.ts';
import {
  type Day,
  drawAhead,
  drawWork,
  KINDS,
  USEFUL_GAIN,
  type Work,
  workDay,
} from './verdict-days-cases.ts';

/** What is believed after a reading. */
export interface ExactOdds {
  /** Chance that any of the last three cycles closed by twice the useful gain. */
  readonly well: number;
}

interface Particle {
  readonly work: Work;
  readonly day: Day;
  readonly level: number;
  /** Closing in the last three cycles, the latest first. */
  readonly moved: readonly [number, number, number];
}

/** Particles of a kind that must be left standing after a reading, as a share; fewer: more are sent on from the same places, so many times at most. */
const ALIVE = 0.1;
const MOST_SENT = 20;
/** A kind of campaign with less than this chance (as a logarithm, against the likeliest) is given up. */
const GIVEN_UP = -14;

/**
 * Each kind of campaign is followed by particles of its own and weighed by how well it foretold the readings, so that none dies out while
 * there is a chance of it.
 *
 * @param read level by cycle from 0, m, with its standard uncertainty
 * @param cycles the campaign is read for
 * @param zones number of zones
 * @param levelOf level, m, of a crest found at `crest` with so much left in each zone
 * @param count particles
 * @returns by cycle from 1
 */
export function exactOdds(
  read: readonly { readonly value: number; readonly u: number }[],
  cycles: number,
  zones: number,
  levelOf: (left: readonly number[], crest: number) => number,
  seed: string,
  count: number,
): ExactOdds[] {
  const random = createRandom(`${seed}/exact`);
  const first = read[0]!;
  const own = Math.ceil(count / KINDS.length);
  let kinds = KINDS.map((kind) => ({
    log: 0,
    well: 0,
    particles: Array.from({ length: own }, (): Particle => {
      const crest = Math.max(first.u, first.value + first.u * random.normal());
      const work = drawWork(kind, cycles, zones, crest, random);
      const day = { left: new Array<number>(zones).fill(1), deadLeft: 0, asked: 0, quiet: false };
      return { work, day, level: crest, moved: [0, 0, 0] };
    }),
  }));
  return read.slice(1).map(({ value, u }, k) => {
    kinds = kinds.map(({ log, particles }) => {
      const sent: Particle[] = [];
      const logs: number[] = [];
      let weighed = { weights: [] as number[], alive: 0, log: 0 };
      for (let n = 0; n < MOST_SENT && weighed.alive < ALIVE * own; n++) {
        for (const particle of particles) {
          const next = workedOn(particle, k, levelOf, random);
          sent.push(next);
          logs.push(-0.5 * ((value - next.level) / u) ** 2);
        }
        weighed = weigh(logs);
      }
      const well = sent.reduce(
        (sum, { moved }, i) => sum + (Math.max(...moved) >= 2 * USEFUL_GAIN ? weighed.weights[i]! : 0),
        0,
      );
      return {
        log: log + weighed.log,
        well,
        particles: resample(sent, weighed.weights, own, random.uniform()),
      };
    });
    const top = Math.max(...kinds.map(({ log }) => log));
    kinds = kinds.filter(({ log }) => log - top > GIVEN_UP);
    const total = kinds.reduce((sum, { log }) => sum + Math.exp(log - top), 0);
    return { well: kinds.reduce((sum, { log, well }) => sum + Math.exp(log - top) * well, 0) / total };
  });
}

/** A particle after one more cycle. */
function workedOn(
  { work, day, level, moved }: Particle,
  done: number,
  levelOf: (left: readonly number[], crest: number) => number,
  random: Random,
): Particle {
  const ahead = drawAhead(work, done, random);
  const next = { ...day, left: [...day.left] };
  workDay(ahead, next, done + 1, random);
  const now = levelOf(next.left, work.crest);
  return { work: ahead, day: next, level: now, moved: [level - now, moved[0], moved[1]] };
}

/** Weights that sum to 1, the number of equal ones they amount to, and the log of the mean before they were made to sum to 1. */
function weigh(logs: readonly number[]): { weights: number[]; alive: number; log: number } {
  const top = logs.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const raw = logs.map((log) => Math.exp(log - top));
  const total = raw.reduce((a, b) => a + b, 0);
  const weights = raw.map((w) => w / total);
  const alive = 1 / weights.reduce((sum, w) => sum + w * w, 0);
  return { weights, alive, log: top + Math.log(total / logs.length) };
}

/** `count` particles, each as often as its weight says, from evenly spaced marks. Particles are never changed in place. */
function resample(
  sent: readonly Particle[],
  weights: readonly number[],
  count: number,
  offset: number,
): Particle[] {
  const out: Particle[] = [];
  let reached = weights[0]!;
  let i = 0;
  for (let k = 0; k < count; k++) {
    const mark = (k + offset) / count;
    while (reached < mark && i < sent.length - 1) reached += weights[++i]!;
    out.push(sent[i]!);
  }
  return out;
}

/** Chances of twice the useful gain a call may leave, from the readiest to the strictest. */
export const STRICTNESS = [0.1, 0.05, 0.02, 0.01] as const;

/**
 * Whether the one who knows calls a stall: by the chance that the claim is false and by nothing else, which calls the most stalls for as many
 * false ones. The tool asks for 90 % of a pace below the useful gain beside.
 */
export function exactStall({ well }: ExactOdds, strict: number): boolean {
  return well <= strict;
}
