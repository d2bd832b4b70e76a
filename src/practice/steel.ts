/**
 * The simulated girder a crew practises on. Its truth is mechanics alone (`girder.ts`): the flange is struck, then
 * every vee leaves bent steel straighter by what its hot, held-back expansion upsets. Nothing here knows how the tool
 * estimates or what it expects of a vee. Everything follows from a seed and from what was done; SI throughout.
 */
import { FOOT, INCH, KSI } from '../units/factors.ts';
import { curvatureOf, unitLoad, valueAt } from './beam.ts';
import { type GirderOptions, type GirderTruth, simulateGirder, solveElastic } from './girder.ts';
import { createRandom, type Random } from './random.ts';

/** What a practice was begun with. */
export interface PracticeSetUp {
  readonly seed: string;
  readonly units: 'us' | 'si';
  /** Blows the girder took. */
  readonly blows: 1 | 2;
  /** Distance between the stations read, m. */
  readonly spacing: number;
}

/** A jack as it stands: `push` is the side of the line it pushes toward. */
export interface PlacedJack {
  readonly station: number;
  /** m² */
  readonly ramArea: number;
  readonly push: 1 | -1;
}

/** One vee: `open` is the side of the line its open end lies on, which is the side it shortens. */
export interface PracticeVee {
  readonly station: number;
  /** rad */
  readonly angle: number;
  readonly open: 1 | -1;
}

/** What was done in one cycle. */
export interface PracticeHeat {
  readonly cycle: number;
  readonly vees: readonly PracticeVee[];
  /** Steel temperature reached, °C. */
  readonly temperature: number;
  /** Gauge pressure of all jacks, Pa; 0: jacks off. */
  readonly pressure: number;
  readonly jacks: readonly PlacedJack[];
}

/** The steel after a cycle. */
export interface PracticeState {
  readonly cycle: number;
  /** At the nodes, 1/m and m. */
  readonly plastic: readonly number[];
  readonly displacement: ArrayLike<number>;
  /** Displacement the jacks of the cycle would hold on top, m. */
  readonly pushed: ArrayLike<number>;
  /** Hardly anything moved, whatever was heated. */
  readonly dead: boolean;
  /** What each vee turned, rad, as it straightens or bends: + where the slope grows with station. */
  readonly turned: readonly number[];
}

/** Lengths of span, stations and sections are whole in the units of the job, as on a drawing. */
function whole(metres: number, unit: number): number {
  return Math.round(metres / unit) * unit;
}

/** Draws for one seed: more than enough for one that can be straightened. */
const MOST_DRAWS = 8;

/**
 * The girder of a seed: a common size, struck once or twice, held by its diaphragms. Draws that no crew would be set to
 * (bent too far, or locked in so hard that no jack may push) are passed over; the seed decides, so it is the same every time.
 */
export function practiceGirder({ seed, units, blows }: PracticeSetUp): GirderTruth {
  let last: GirderTruth | null = null;
  for (let draw = 0; draw < MOST_DRAWS; draw++) {
    const options = drawn(createRandom(`${seed}/girder ${draw}`), units === 'us', blows);
    try {
      last = simulateGirder(options);
    } catch {
      // The springs would not let this blow stand: another one.
      continue;
    }
    if (worthDoing(last)) break;
  }
  if (last === null) throw new Error(`no girder of seed ${seed}`);
  return last;
}

/** Largest rotation of one bend, rad, and largest locked-in share of the plastic moment at a blow. */
const HARDEST = { rotation: 0.1, lockedIn: 0.4 };

function worthDoing({ zones, options, grid, moment, section }: GirderTruth): boolean {
  const plasticMoment = section.plasticModulus * section.steel.yieldStress;
  return (
    zones.every((zone) => Math.abs(zone.rotation) <= HARDEST.rotation) &&
    options.impacts.every(
      ({ station }) => Math.abs(valueAt(grid, moment, station)) <= HARDEST.lockedIn * plasticMoment,
    )
  );
}

function drawn(random: Random, us: boolean, blows: 1 | 2): GirderOptions {
  const [long, fine, coarse] = us ? [FOOT, INCH / 16, INCH / 2] : [0.5, 0.001, 0.01];
  const span = whole(random.between(48, 70) * FOOT, long);
  const bays = random.integer(2, 4);
  const stiffness = 10 ** random.between(5, 5.5);
  const side = random.pick([1, -1]);
  // A blow lands between diaphragms, where nothing but the flange stands against it.
  const bay = random.integer(0, bays - 1);
  const blow = (where: number, set: number) => ({
    station: whole((span * (where + 0.5 + random.between(-0.15, 0.15))) / bays, long),
    patch: random.between(0.6, 1.5) * FOOT,
    set,
  });
  const first = blow(bay, side * random.between(2.5, 4.5) * INCH);
  const second = blow(bay === 0 ? bays - 1 : 0, first.set * random.between(0.5, 0.8));
  return {
    span,
    flangeWidth: whole(random.between(10, 14) * INCH, coarse),
    flangeThickness: whole(random.between(0.7, 1.1) * INCH, fine),
    yieldStress: us ? 36 * KSI : 250e6,
    hardening: 0.006,
    grid: 3 * INCH,
    diaphragms: Array.from({ length: bays - 1 }, (_, i) => ({
      station: whole((span * (i + 1)) / bays, us ? FOOT : 0.1),
      stiffness: stiffness * random.between(0.8, 1.25),
    })),
    impacts: blows === 1 ? [first] : [first, second],
  };
}

/** Mean coefficient of expansion of carbon steel up to about 650 °C, 1/K (common practice, no source). */
const EXPANSION = 1.4e-5;
/** Below this steel expands and comes back as it was; from the upper one it upsets in full, °C (common practice, no source). */
const SOFTENS: readonly [number, number] = [370, 650];
/** Share of its expansion that a vee upsets unpushed, and how much more at the full plastic moment (made up for practice). */
const HELD = { unpushed: 0.4, pushed: 0.5 };

/**
 * What one vee turns on average, rad. Hot steel in a vee of angle θ wants to grow in proportion to its width, by α ΔT
 * a metre; what its surroundings do not let out is upset and, when cold, missing. Held back altogether the sides would
 * turn 2 α ΔT tan(θ/2) (Holt 1971, from memory, uses the same picture for an upper bound); here a share of it is.
 *
 * @param help moment that bends the way the vee does, over the plastic moment; negative where it works against it
 */
export function veeTurn(angle: number, temperature: number, help: number): number {
  const most = 2 * EXPANSION * Math.max(0, temperature - 20) * Math.tan(angle / 2);
  const soft = Math.min(1, Math.max(0, (temperature - SOFTENS[0]) / (SOFTENS[1] - SOFTENS[0])));
  return most * soft * Math.min(1, Math.max(0.05, HELD.unpushed + HELD.pushed * help));
}

/** What of a girder no drawing says, and a crew finds out. */
function ways(seed: string): { readonly give: number; readonly deadShare: number } {
  const random = createRandom(`${seed}/ways`);
  return { give: Math.exp(0.2 * random.normal()), deadShare: random.between(0.05, 0.2) };
}

/** The steel as found and after each cycle, in order: one more than there are heats. */
export function practiceStates(
  setUp: PracticeSetUp,
  truth: GirderTruth,
  heats: readonly PracticeHeat[],
): PracticeState[] {
  const { grid, section } = truth;
  const EI = section.steel.elasticModulus * section.inertia;
  const plasticMoment = section.plasticModulus * section.steel.yieldStress;
  const elastic = solveElastic(truth);
  const { give, deadShare } = ways(setUp.seed);
  const still = new Float64Array(grid.stations.length);
  let plastic = [...truth.plasticCurvature];
  const states: PracticeState[] = [
    { cycle: 0, plastic, displacement: truth.displacement, pushed: still, dead: false, turned: [] },
  ];
  for (const heat of heats) {
    const random = createRandom(`${setUp.seed}/cycle ${heat.cycle}`);
    const dead = random.uniform() < deadShare;
    const day = (dead ? 0.03 : 1) * Math.exp(0.15 * random.normal());
    const load = new Float64Array(grid.stations.length);
    for (const { station, ramArea, push } of heat.jacks) {
      const unit = unitLoad(grid, station, 0);
      for (let i = 0; i < load.length; i++) load[i]! += push * heat.pressure * ramArea * unit[i]!;
    }
    const pushed = heat.pressure > 0 ? elastic.underLoad(load) : still;
    const jacking = curvatureOf(grid, pushed);
    const locked = curvatureOf(grid, states.at(-1)!.displacement).map((k, i) => k - plastic[i]!);
    const next = [...plastic];
    const turned = heat.vees.map(({ station, angle, open }) => {
      const moment = EI * (valueAt(grid, jacking, station) + valueAt(grid, locked, station));
      const turn =
        give *
        day *
        Math.exp(0.2 * random.normal()) *
        veeTurn(angle, heat.temperature, (open * moment) / plasticMoment);
      const half = Math.max(truth.options.flangeWidth * Math.tan(angle / 2), 1.5 * grid.spacing);
      const inside = grid.stations.map((s) => Math.max(0, 1 - Math.abs(s - station) / half));
      const sum = inside.reduce((a, b) => a + b, 0) * grid.spacing;
      inside.forEach((weight, i) => {
        next[i]! += (open * turn * weight) / sum;
      });
      return open * turn;
    });
    plastic = next;
    states.push({
      cycle: heat.cycle,
      plastic,
      displacement: elastic.afterPlastic(plastic),
      pushed,
      dead,
      turned,
    });
  }
  return states;
}

/** Total curvature over a stretch, rad. */
export function rotationOver(
  truth: GirderTruth,
  { displacement }: Pick<PracticeState, 'displacement'>,
  from: number,
  to: number,
): number {
  const curvature = curvatureOf(truth.grid, displacement);
  return truth.grid.stations.reduce(
    (sum, s, i) => (s >= from && s <= to ? sum + truth.grid.spacing * curvature[i]! : sum),
    0,
  );
}

/** Largest |deviation|, signed, and where, m. */
export function largestOf(
  truth: GirderTruth,
  { displacement }: Pick<PracticeState, 'displacement'>,
): { readonly station: number; readonly deviation: number } {
  let at = 0;
  for (let i = 1; i < displacement.length; i++)
    if (Math.abs(displacement[i]!) > Math.abs(displacement[at]!)) at = i;
  return { station: truth.grid.stations[at]!, deviation: displacement[at]! };
}
