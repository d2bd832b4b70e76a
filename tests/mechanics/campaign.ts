/**
 * A heat-straightening campaign on a simulated girder: vee heats take plastic curvature out of each zone cycle by
 * cycle, the beam on its springs finds a new balance each time, and a crew reads it with a string set up anew.
 * The beam is elastic between heats, so its shape is linear in the plastic curvature left in each zone: one solve a
 * zone, then each cycle is a sum.
 */
import type { Reading } from '../../src/survey/survey.ts';
import { assemble, curvatureOf, factorize, internalForces, unitLoad, valueAt } from './beam.ts';
import type { GirderTruth } from './girder.ts';
import type { Random } from './random.ts';
import { type Blunder, type ReadingOptions, readProfile } from './readings.ts';

/**
 * How the work goes, as the closing of the largest deviation per cycle (m per cycle, positive) when every zone is
 * worked alike. Past `stallAt` cycles nothing moves; `factor` is the decay per cycle.
 */
export type Process =
  | { readonly kind: 'constant'; readonly rate: number }
  | { readonly kind: 'decaying'; readonly rate: number; readonly factor: number }
  | { readonly kind: 'stalling'; readonly rate: number; readonly stallAt: number }
  | { readonly kind: 'resuming'; readonly rate: number; readonly stallAt: number; readonly resumeAt: number }
  | { readonly kind: 'overcorrecting'; readonly rate: number }
  | { readonly kind: 'none' };

/** Rate asked of the crew's heats in a cycle (1, 2, …), m. Scatter comes on top. */
export function nominalRate(process: Process, cycle: number): number {
  switch (process.kind) {
    case 'none':
      return 0;
    case 'constant':
    case 'overcorrecting':
      return process.rate;
    case 'decaying':
      return process.rate * process.factor ** (cycle - 1);
    case 'stalling':
      return cycle > process.stallAt ? 0 : process.rate;
    case 'resuming':
      return cycle > process.stallAt && cycle <= process.resumeAt ? 0 : process.rate;
  }
}

/** The linear answers of one girder, made once and used for as many campaigns as wanted. */
export interface CampaignModel {
  readonly truth: GirderTruth;
  /** Displacement (m, at the nodes) and total zone rotations (rad) from the plastic curvature of each zone as found. */
  readonly parts: readonly { readonly shape: Float64Array; readonly rotations: readonly number[] }[];
  /** Displacement from yielded steel outside the zones listed (negligible runs); it stays. */
  readonly rest: Float64Array;
  readonly largest: number;
  /** Displacement of a 1 N jack at a station. */
  readonly jack: (station: number) => Float64Array;
}

export interface CampaignOptions {
  /** Heating cycles after the as-found survey. */
  readonly cycles: number;
  readonly process: Process;
  /** Coefficient of variation of the movement of one zone in one cycle. Default 0.25. */
  readonly scatter?: number;
  /** Share of the nominal rate each zone gets. Default 1 for all. */
  readonly zoneShare?: readonly number[];
  /** Share of each zone's plastic curvature left, by cycle from 0: given here, it is not worked out from `process`. */
  readonly left?: readonly (readonly number[])[];
  /** Every process but `overcorrecting` stops heating once this share of the first deviation is left. Default 0. */
  readonly restAt?: number;
  /** Plastic curvature made by the work itself: rad per cycle at a station from a cycle on. */
  readonly newBend?: { readonly station: number; readonly fromCycle: number; readonly rotation: number };
  /** Jacks left on for a restrained reading before the released one: station and force (N; sign = direction). */
  readonly restrained?: {
    readonly station: number;
    readonly force: number;
    readonly cycles: readonly number[];
  };
  /** How each survey is read. String offset and tilt are drawn anew unless given. */
  readonly reading: Omit<ReadingOptions, 'random' | 'cycle' | 'state' | 'file' | 'firstRow'>;
  /** What is read otherwise in a cycle: other stations, repeats, a string set up anew somewhere else. */
  readonly readingOf?: (cycle: number) => Partial<CampaignOptions['reading']>;
  /** Sd of the string's offset (m) and tilt (rad) from set-up to set-up. Default 1/4 in and 1/4 in over the span. */
  readonly stringSd?: { readonly offset: number; readonly tilt: number };
  /** Blunders of each cycle; default none. */
  readonly blunders?: (cycle: number) => number;
  /** ISO date of each cycle; default none. */
  readonly date?: (cycle: number) => string | null;
  readonly random: Random;
}

interface CycleTruth {
  readonly cycle: number;
  /** Deviation from the true baseline at the nodes, m. */
  readonly deviation: Float64Array;
  readonly largest: { readonly station: number; readonly deviation: number };
  /** Total curvature across each true zone, rad. */
  readonly rotations: readonly number[];
  /** Share of each zone's plastic curvature left. */
  readonly left: readonly number[];
  /** Rate asked for in this cycle, m (0 at cycle 0). */
  readonly nominalRate: number;
  /** Closing of |largest deviation| that came of it, m. */
  readonly movement: number;
}

export interface Campaign {
  readonly model: CampaignModel;
  readonly truth: readonly CycleTruth[];
  readonly readings: readonly Reading[];
  readonly blunders: readonly Blunder[];
}

export function prepareCampaign(truth: GirderTruth): CampaignModel {
  const { grid, section, springs } = truth;
  const EI = section.steel.elasticModulus * section.inertia;
  const bedding = truth.options.bedding ?? 0;
  const solve = factorize(
    assemble(
      grid,
      grid.stations.map(() => EI),
      springs,
      bedding,
    ),
  );
  const respond = (plastic: readonly number[]) =>
    solve(
      internalForces(
        grid,
        plastic.map((k) => EI * k),
      ),
    );
  const inZone = (i: number, z: number) =>
    grid.stations[i]! >= truth.zones[z]!.from && grid.stations[i]! <= truth.zones[z]!.to;
  const rotationsOf = (shape: Float64Array) => {
    const curvature = curvatureOf(grid, shape);
    return truth.zones.map((_, z) =>
      curvature.reduce((sum, k, i) => (inZone(i, z) ? sum + grid.spacing * k : sum), 0),
    );
  };
  const parts = truth.zones.map((_, z) => {
    const shape = respond(truth.plasticCurvature.map((k, i) => (inZone(i, z) ? k : 0)));
    return { shape, rotations: rotationsOf(shape) };
  });
  const rest = Float64Array.from(truth.displacement);
  for (const { shape } of parts) for (let i = 0; i < rest.length; i++) rest[i]! -= shape[i]!;
  return {
    truth,
    parts,
    rest,
    largest: Math.max(...truth.displacement.map(Math.abs)),
    jack: (station) => solve(unitLoad(grid, station, 0)),
  };
}

export function simulateCampaign(model: CampaignModel, options: CampaignOptions): Campaign {
  const { random, process, reading } = options;
  const { grid } = model.truth;
  const heats = random.fork('heats');
  const crew = random.fork('crew');
  const stringSd = options.stringSd ?? {
    offset: 0.00635,
    tilt: 0.00635 / model.truth.options.span,
  };
  const bend = options.newBend ? kinkShape(model, options.newBend.station) : null;
  const jack = options.restrained ? model.jack(options.restrained.station) : null;

  let left = model.parts.map(() => 1);
  const cycles: CycleTruth[] = [];
  const readings: Reading[] = [];
  const blunders: Blunder[] = [];
  for (let cycle = 0; cycle <= options.cycles; cycle++) {
    const rate = cycle === 0 ? 0 : nominalRate(process, cycle);
    if (options.left !== undefined) left = [...options.left[cycle]!];
    for (let z = 0; z < left.length && cycle > 0 && options.left === undefined; z++) {
      const share = (options.zoneShare?.[z] ?? 1) * (1 + (options.scatter ?? 0.25) * heats.normal());
      const next = left[z]! - (share * rate) / model.largest;
      const rest = options.restAt ?? 0;
      left[z] = process.kind === 'overcorrecting' ? next : left[z]! <= rest ? left[z]! : Math.max(next, 0);
    }
    const made = options.newBend
      ? options.newBend.rotation * Math.max(0, cycle - options.newBend.fromCycle + 1)
      : 0;
    cycles.push(stateOf(model, cycle, left, rate, bend, made, cycles[cycle - 1]));

    const usual = { ...reading, ...options.readingOf?.(cycle) };
    const survey = (state: 'released' | 'restrained', profile: (station: number) => number) => {
      const file = `readings/cycle-${String(cycle).padStart(2, '0')}.csv`;
      const set = readProfile(profile, {
        ...usual,
        stringOffset: usual.stringOffset ?? stringSd.offset * crew.normal(),
        stringTilt: usual.stringTilt ?? stringSd.tilt * crew.normal(),
        blunders: state === 'released' ? (options.blunders?.(cycle) ?? 0) : 0,
        date: options.date?.(cycle) ?? null,
        random: crew,
        cycle,
        state,
        file,
        firstRow: 2 + readings.filter((r) => r.file === file).length,
      });
      for (const blunder of set.blunders)
        blunders.push({ ...blunder, index: blunder.index + readings.length });
      readings.push(...set.readings);
    };
    const { deviation } = cycles[cycle]!;
    const shape = (station: number) =>
      valueAt(grid, model.truth.baseline, station) + valueAt(grid, deviation, station);
    const held = options.restrained;
    if (held && jack && held.cycles.includes(cycle))
      survey('restrained', (station) => shape(station) + held.force * valueAt(grid, jack, station));
    survey('released', shape);
  }
  return { model, truth: cycles, readings, blunders };
}

/** |Largest deviation|, m, with so much left in each zone. */
export function largestLeft(
  { parts, rest }: Pick<CampaignModel, 'parts' | 'rest'>,
  left: readonly number[],
): number {
  let largest = 0;
  for (let i = 0; i < rest.length; i++) {
    let deviation = rest[i]!;
    for (let z = 0; z < parts.length; z++) deviation += left[z]! * parts[z]!.shape[i]!;
    largest = Math.max(largest, Math.abs(deviation));
  }
  return largest;
}

function stateOf(
  model: CampaignModel,
  cycle: number,
  left: readonly number[],
  rate: number,
  bend: Float64Array | null,
  made: number,
  before: CycleTruth | undefined,
): CycleTruth {
  const deviation = Float64Array.from(model.rest);
  const rotations = model.truth.zones.map((_, z) =>
    model.parts.reduce((sum, part, p) => sum + left[p]! * part.rotations[z]!, 0),
  );
  model.parts.forEach(({ shape }, z) => {
    for (let i = 0; i < deviation.length; i++) deviation[i]! += left[z]! * shape[i]!;
  });
  if (bend) for (let i = 0; i < deviation.length; i++) deviation[i]! += made * bend[i]!;
  let at = 0;
  for (let i = 1; i < deviation.length; i++) if (Math.abs(deviation[i]!) > Math.abs(deviation[at]!)) at = i;
  const largest = { station: model.truth.grid.stations[at]!, deviation: deviation[at]! };
  return {
    cycle,
    deviation,
    largest,
    rotations,
    left: [...left],
    nominalRate: rate,
    movement: before ? Math.abs(before.largest.deviation) - Math.abs(largest.deviation) : 0,
  };
}

/** Displacement from 1 rad of plastic rotation spread over 1 m about a station. */
function kinkShape(model: CampaignModel, station: number): Float64Array {
  const { grid, section, springs, options } = model.truth;
  const EI = section.steel.elasticModulus * section.inertia;
  const solve = factorize(
    assemble(
      grid,
      grid.stations.map(() => EI),
      springs,
      options.bedding ?? 0,
    ),
  );
  const inside = grid.stations.map((s): number => (Math.abs(s - station) <= 0.5 ? 1 : 0));
  const sum = inside.reduce((a, b) => a + b, 0) * grid.spacing;
  return solve(
    internalForces(
      grid,
      inside.map((k) => (EI * k) / sum),
    ),
  );
}
