import type { PastRecord } from '../../src/past/record.ts';
import { createRandom, type Random } from '../mechanics/random.ts';

/**
 * Agencies and their jobs, made another way than a plan reckons: vees draw from a skewed (gamma) ratio, dead days come in
 * clusters, crews learn, days beside the heating are Poisson counts that grow with the damage, money has a fixed part, logs
 * have holes. They differ within what the priors say in words (two to eight vees a cycle, about a day a cycle, heats that scatter by
 * 15 to 50 %, set-up and painting half to twice what is usual, a day's price by a tenth from job to job), by other laws.
 */
export interface Agency {
  readonly past: PastRecord[];
  readonly now: PastRecord;
  /** The same damage worked off again by the same agency, as often as wanted: what nobody could know beforehand. */
  readonly again: (count: number) => PastRecord[];
}

export function makeAgency(seed: string, jobs: number, allSmall: boolean, several = false): Agency {
  const random = createRandom(seed);
  const agency = {
    ratio: 0.45 + 0.8 * random.uniform(),
    dead: 0.03 + 0.25 * random.uniform() ** 2,
    vees: 2 + 3.5 * random.uniform(),
    dayCost: 2500 + 6000 * random.uniform(),
    paint: 1 + 4 * random.uniform(),
    /** What the heats of one cycle scatter by together, as an sd. */
    scatter: 0.15 + 0.35 * random.uniform(),
    daysPerCycle: 0.8 + 0.5 * random.uniform(),
    // No two agencies set up, paint and clean up alike.
    beside: Array.from({ length: 5 }, () => 0.6 + 0.9 * random.uniform()),
  };
  let crew = random.integer(0, 2);
  const bulgeShare = 0.07 + 0.13 * random.fork('bulge').uniform();
  const make = (i: number, small: boolean) => {
    const [steel, work] = [random.fork(`job ${i}`), random.fork(`work ${i}`)];
    const crewJobs = crew++;
    const course = courseOf(work, agency, crewJobs);
    const first = workDamage(makeDamage(steel, small), crewJobs, course);
    return several ? withOthers(first, steel.fork('others'), crewJobs, course, bulgeShare) : first;
  };
  const past = Array.from({ length: jobs }, (_, i) => holes(make(i, allSmall), random));
  const done = crew;
  const again = (count: number) =>
    Array.from({ length: count }, (_, i) =>
      workDamage(
        makeDamage(random.fork(`job ${jobs}`), false),
        done,
        courseOf(random.fork(`again ${i}`), agency, done),
      ),
    );
  return { past, now: make(jobs, false), again };
}

/** How one job is worked: what the description of its damage does not say. */
export interface Course {
  readonly ratio: number;
  readonly veesPerCycle: number;
  /** Whether nothing moves in the next cycle. */
  readonly dead: () => boolean;
  /** What the heats of one cycle turn, and of one vee in it, over what is usual. */
  readonly cycle: () => number;
  readonly vee: () => number;
  readonly days: (cycles: number, size: number) => Readonly<Record<string, number>>;
  readonly cost: (days: number) => number;
  /** Error of the ratio as the record has it. */
  readonly ratioError: () => number;
}

interface Ways {
  readonly ratio: number;
  readonly dead: number;
  readonly vees: number;
  readonly dayCost: number;
  readonly paint: number;
  readonly scatter: number;
  readonly daysPerCycle: number;
  readonly beside: readonly number[];
}

function courseOf(work: Random, ways: Ways, crewJobs: number): Course {
  const learnt = 1 + 0.15 * Math.min(crewJobs, 3);
  // Gamma with shape 12 by a sum of exponentials: skewed, cv 0.29.
  const own = Array.from({ length: 12 }, () => -Math.log(1 - work.uniform())).reduce((a, b) => a + b) / 12;
  const [setUp, painting, plating, inspection, cleanUp] = ways.beside as [
    number,
    number,
    number,
    number,
    number,
  ];
  let spell = 0;
  return {
    ratio: ways.ratio * own,
    veesPerCycle: Math.max(1, ways.vees * learnt * (0.8 + 0.4 * work.uniform())),
    dead: () => {
      if (spell > 0) spell--;
      else if (work.uniform() < ways.dead * 0.7) spell = work.uniform() < 0.3 ? 2 : 1;
      return spell > 0;
    },
    cycle: () => 1 + Math.sqrt(3) * ways.scatter * (2 * work.uniform() - 1),
    vee: () => 0.7 + 0.6 * work.uniform(),
    days: (cycles, size) => ({
      heating: Math.max(1, Math.round(cycles * ways.daysPerCycle * (1 + 0.05 * work.normal()))),
      'set-up': poisson(work, 2 * setUp),
      'paint removal': 1 + poisson(work, ways.paint * (0.5 + size)),
      painting: poisson(work, 2 * painting),
      plating: poisson(work, (size > 0.3 ? 3 : 1) * plating),
      inspection: poisson(work, inspection),
      'clean-up': poisson(work, cleanUp),
    }),
    cost: (days) => 8000 + days * ways.dayCost * (0.85 + 0.3 * work.uniform()),
    ratioError: () => 1 + 0.05 * work.normal(),
  };
}

/**
 * The same job with a bend of the other flange and a bulge of the web, worked off one after the other, which no plan reckons with:
 * it lets the crew go to and fro between flanges.
 */
function withOthers(
  first: PastRecord,
  random: Random,
  crewJobs: number,
  course: Course,
  bulgeShare: number,
): PastRecord {
  const other = makeDamage(random, true);
  const scale = first.spans[0]! / other.span;
  const second = workDamage(
    {
      ...other,
      span: first.spans[0]!,
      stations: other.stations.map((x) => x * scale),
      rotations: other.rotations.map((rotation) => rotation / scale),
    },
    crewJobs,
    course,
  );
  const bulge = [random.between(0.02, 0.05)];
  const share = bulgeShare * random.between(0.8, 1.2);
  let dead = first.deadCycles! + second.deadCycles!;
  while (bulge.at(-1)! > 0.0064 && bulge.length < 100) {
    const still = course.dead();
    if (still) dead++;
    bulge.push(bulge.at(-1)! - (still ? 0 : bulge[0]! * share * course.cycle()));
  }
  const before = first.cycles! + second.cycles!;
  const cycles = before + bulge.length - 1;
  const days = course.days(cycles, first.damage.largest);
  const all = Object.values(days).reduce((a, b) => a + b, 0);
  const after = (series: readonly number[], from: number) =>
    series.map((largest, i) => ({ cycle: i === 0 ? 0 : from + i, largest: Math.max(0, largest) }));
  return {
    ...first,
    schema: 'sweepbook/past/2',
    damage: { ...first.damage, line: 'bottom', kind: 'sweep', part: 'bottom', heatedCycles: first.cycles },
    beside: [
      {
        ...second.damage,
        ...{ line: 'top', kind: 'sweep', part: 'top', heatedCycles: second.cycles },
        largestByCycle: after(
          second.largestByCycle.map(({ largest }) => largest),
          first.cycles!,
        ),
      },
      {
        ...{ line: 'web', kind: 'bulge', part: 'web', heatedCycles: bulge.length - 1 },
        ...{ largest: bulge[0]!, limit: 0.0064, zones: [] },
        largestByCycle: after(bulge, before),
      },
    ],
    veeCycles: before,
    cycles,
    vees: first.vees! + second.vees!,
    deadCycles: dead,
    days: { ...days, all },
    cost: { currency: 'USD', total: Math.round(course.cost(all)), byKind: {} },
  };
}

export type Damage = ReturnType<typeof makeDamage>;

/** A bend as found, one to three zones. */
export function makeDamage(random: Random, small: boolean) {
  const span = random.between(12, 40);
  const flangeWidth = random.between(0.25, 0.5);
  const flangeThickness = random.between(0.018, 0.04);
  const limit = 0.0127;
  const size = small ? random.between(0.04, 0.12) : random.between(0.05, 0.45);
  const zones = Array.from({ length: small ? 1 : random.integer(1, 3) }, (_, i) => i);
  const shares = zones.map(() => 0.4 + random.uniform());
  const expectedVee = random.between(0.0015, 0.0035);
  const stations = zones.map((i) => span * ((i + 1) / (zones.length + 1) + random.between(-0.05, 0.05)));
  // Rotations that give the wanted crest: the largest of the hinge shapes' sums.
  const unit = crestOf(shares, stations, span);
  const rotations = shares.map((share) => (share * size) / unit);
  return { span, flangeWidth, flangeThickness, limit, size, expectedVee, stations, rotations };
}

/** Works a bend off and writes the record of it. */
export function workDamage(damage: Damage, crewJobs: number, course: Course): PastRecord {
  const { span, flangeWidth, flangeThickness, limit, size, expectedVee, stations, rotations } = damage;
  const left = [...rotations];
  const largestByCycle = [{ cycle: 0, largest: crestOf(left, stations, span) }];
  let [cycles, vees, dead, carried] = [0, 0, 0, 0];
  while (crestOf(left, stations, span) > limit && cycles < 250) {
    cycles++;
    carried += course.veesPerCycle;
    const count = Math.max(1, Math.floor(carried));
    carried = Math.max(0, carried - count);
    vees += count;
    if (course.dead()) dead++;
    else {
      const turned = course.ratio * course.cycle();
      for (let vee = 0; vee < count; vee++) {
        const most = left.reduce((best, rotation, i) => (rotation > left[best]! ? i : best), 0);
        left[most] = Math.max(0, left[most]! - turned * expectedVee * course.vee());
      }
    }
    largestByCycle.push({ cycle: cycles, largest: crestOf(left, stations, span) });
  }
  const days = course.days(cycles, size);
  const all = Object.values(days).reduce((a, b) => a + b, 0);
  const total = course.cost(all);
  return {
    schema: 'sweepbook/past/1',
    job: `invented ${crewJobs}`,
    finished: null,
    units: 'si',
    spans: [span],
    section: {
      flangeWidth,
      flangeThickness,
      webThickness: null,
      depth: null,
      yieldStress: 250e6,
      steel: null,
    },
    damage: {
      largest: largestByCycle[0]!.largest,
      limit,
      zones: rotations.map((rotation, i) => ({
        rotation,
        strainRatio: null,
        station: stations[i]!,
        vees: null,
        expectedVee,
      })),
    },
    largestByCycle,
    cycles,
    vees,
    ratio: { value: course.ratio * course.ratioError(), u: 0.05 * course.ratio },
    deadCycles: dead,
    days: { ...days, all },
    gas: null,
    cost: { currency: 'USD', total: Math.round(total), byKind: {} },
    crewJobs,
    outcome: 'within',
    verdicts: [],
  };
}

/** Three in ten of what a log should hold is not there. */
function holes(record: PastRecord, random: Random): PastRecord {
  const lost = () => random.uniform() < 0.3;
  return {
    ...record,
    ratio: lost() ? null : record.ratio,
    deadCycles: lost() ? null : record.deadCycles,
    vees: lost() ? null : record.vees,
    cost: lost() ? null : record.cost,
    crewJobs: lost() ? null : record.crewJobs,
  };
}

function crestOf(rotations: readonly number[], stations: readonly number[], span: number): number {
  return Math.max(
    ...stations.map((x) =>
      rotations.reduce((sum, rotation, i) => {
        const s = stations[i]!;
        return sum + (rotation * (x <= s ? x * (span - s) : s * (span - x))) / span;
      }, 0),
    ),
  );
}

function poisson(random: Random, mean: number): number {
  let [count, left] = [0, mean + Math.log(random.uniform() + 1e-12)];
  while (left > 0) {
    count++;
    left += Math.log(random.uniform() + 1e-12);
  }
  return count;
}
