import { MEGAPASCAL, PSI } from '../units/factors.ts';
import type { LoadLimit } from './load-limit.ts';
import type { LockedIn } from './locked-in.ts';
import { bendingOf, kinksOf, type SetUpGeometry } from './moment-set-up.ts';

export interface CeilingJack {
  readonly name: string;
  /** m */
  readonly station: number;
  /** Effective ram area, m². */
  readonly ramArea: number;
  /** Rated force, N; null or left out: not stated. */
  readonly capacity?: number | null;
  /** Which way it pushes along the line's offsets. Default 1. */
  readonly push?: 1 | -1;
}

export interface CeilingInput {
  /** Plastic modulus of the part that bends, m³. */
  readonly plasticModulus: number;
  /** Pa */
  readonly yieldStress: number;
  readonly limit: LoadLimit;
  readonly setUp: SetUpGeometry;
  /** All are taken to stand at one gauge pressure. */
  readonly jacks: readonly CeilingJack[];
  /** Smallest mark of the gauge, Pa: the ceiling is rounded down to it. */
  readonly gaugeDivision: number;
  /** Rated pressure of pump and hoses, Pa; null or left out: not stated. */
  readonly pumpRating?: number | null;
  /** What the blow left in the member; null or left out: not known. */
  readonly lockedIn?: LockedIn | null;
  /** Sense of the forces as `jacks` gives them (1) or all turned round (−1); null or left out: not known, the worse is taken. */
  readonly sense?: 1 | -1 | null;
}

export interface JackingCeiling {
  /** Plastic moment at ambient temperature, N·m. */
  readonly plasticMoment: number;
  /** Largest jacking moment allowed, N·m. */
  readonly moment: number;
  readonly limit: LoadLimit;
  /** Where the moment governs, station in m. */
  readonly governsAt: number;
  /** Of `moment`, what the blow left there acting the same way as the jacks, N·m; null where it is not known. */
  readonly lockedIn: { readonly moment: number; readonly u: number } | null;
  /** Gauge pressure at which the jacks alone, whatever is locked in, reach the share, Pa. */
  readonly alone: number;
  /** Gauge pressure before rounding and whatever the jacks and pump are rated for, Pa. */
  readonly exactPressure: number;
  /** Gauge pressure the crew may use: within the ceiling and the ratings, rounded down to the gauge division, Pa. */
  readonly pressure: number;
  /** Rating that is reached before the ceiling; null where the ceiling comes first or nothing is rated. */
  readonly rating: { readonly pressure: number; readonly of: string } | null;
  /**
   * Ram area of the largest jack, the others in proportion, m², with which the ceiling falls on a readable part of the
   * gauge (`atMost`) or inside the ratings (`atLeast`); null where the rams at hand do.
   */
  readonly ram: { readonly atMost: number | null; readonly atLeast: number | null };
  /** The same ceiling as whole psi and tenths of MPa, each rounded down. */
  readonly psi: number;
  readonly megapascals: number;
  /** Force of each jack, N: at the exact pressure, and at the rounded ceiling (what the crew may use). */
  readonly jacks: readonly {
    readonly name: string;
    readonly station: number;
    readonly force: number;
    readonly forceAtCeiling: number;
  }[];
  /** What each support must hold at the ceiling, N, positive against the jacks. */
  readonly reactions: readonly { readonly station: number; readonly force: number }[];
  /** Why no uncertainty is given. */
  readonly uncertainty: string;
}

/** Marks of the gauge a ceiling should span, so that a mark is a tenth of it. Common practice, no source. */
const MARKS = 10;

/**
 * Gauge pressure at which the jacks together, with what the blow left in the member where it acts the same way, bend
 * it to the allowed share of its plastic moment: p = min (k·Fy·Z − M_locked) / |Σ Aᵢ·m(x; aᵢ)|, with m the moment of a
 * unit force in the set-up and Aᵢ the ram areas. The plastic moment is that of the cold section: only the vee is hot,
 * and the published limits are stated that way (from memory of FHWA-IF-08-999).
 *
 * @throws RangeError when there is no jack, or a jack lies outside the supports or on one
 */
export function jackingCeiling(input: CeilingInput): JackingCeiling {
  if (input.jacks.length === 0) throw new RangeError('a ceiling needs at least one jack');
  const plasticMoment = input.yieldStress * input.plasticModulus;
  const moment = input.limit.fraction * plasticMoment;
  const forces = input.jacks.map((jack) => ({
    station: jack.station,
    force: jack.ramArea * (jack.push ?? 1),
  }));
  const bending = bendingOf(input.setUp, forces);
  const lockedIn = input.lockedIn ?? null;
  const sense = input.sense ?? null;
  /** What is locked in and acts as the jacks do, N·m, never negative. */
  const withJacks = (station: number, perPascal: number) => {
    const locked = lockedIn?.momentAt(station) ?? 0;
    return sense === null ? Math.abs(locked) : Math.max(0, locked * Math.sign(perPascal) * sense);
  };
  let governs: { station: number; pressure: number } | null = null;
  const [low, high] = [
    Math.min(input.setUp.from, input.setUp.to),
    Math.max(input.setUp.from, input.setUp.to),
  ];
  const places = [...kinksOf(input.setUp, forces), ...(lockedIn?.stations ?? [])];
  const reach = Math.max(...places.map((x) => Math.abs(bending.momentAt(x))));
  for (const station of places) {
    const perPascal = bending.momentAt(station);
    // Rounding is no moment.
    if (station < low || station > high || Math.abs(perPascal) <= 1e-12 * reach) continue;
    const pressure = Math.max(0, moment - withJacks(station, perPascal)) / Math.abs(perPascal);
    if (governs === null || pressure < governs.pressure) governs = { station, pressure };
  }
  const alone = moment / reach;
  if (governs === null) throw new RangeError('the jacks stand on the supports and bend nothing');
  const exactPressure = governs.pressure;
  const lowest = lowestRating(input);
  const rating = lowest !== null && lowest.pressure < exactPressure ? lowest : null;
  const pressure = floorTo(Math.min(exactPressure, rating?.pressure ?? exactPressure), input.gaugeDivision);
  const largestRam = Math.max(...input.jacks.map((jack) => jack.ramArea));
  const readable = MARKS * input.gaugeDivision;
  return {
    plasticMoment,
    moment,
    limit: input.limit,
    governsAt: governs.station,
    lockedIn:
      lockedIn === null
        ? null
        : {
            moment: withJacks(governs.station, bending.momentAt(governs.station)),
            u: lockedIn.uAt(governs.station),
          },
    alone,
    exactPressure,
    pressure,
    rating,
    ram: {
      atMost: exactPressure > 0 && exactPressure < readable ? (largestRam * exactPressure) / readable : null,
      atLeast: rating === null ? null : (largestRam * exactPressure) / rating.pressure,
    },
    psi: floorTo(pressure / PSI, 1),
    megapascals: floorTo(pressure / MEGAPASCAL, 0.1),
    jacks: input.jacks.map(({ name, station, ramArea }) => ({
      name,
      station,
      force: exactPressure * ramArea,
      forceAtCeiling: pressure * ramArea,
    })),
    reactions: bending.reactions.map(({ station, force }) => ({ station, force: force * pressure })),
    uncertainty:
      'No uncertainty is given: the ceiling follows from the specified yield stress, nominal dimensions and an ideal set-up. Friction, jack alignment, a yield stress other than specified and bearings that give are not in it.',
  };
}

/** The first of pump and jacks to reach its rating; null where none is stated. */
function lowestRating(input: CeilingInput): { pressure: number; of: string } | null {
  const ratings = input.jacks.flatMap((jack) =>
    jack.capacity == null ? [] : [{ pressure: jack.capacity / jack.ramArea, of: jack.name }],
  );
  if (input.pumpRating != null) ratings.push({ pressure: input.pumpRating, of: 'pump' });
  return ratings.reduce<{ pressure: number; of: string } | null>(
    (least, one) => (least === null || one.pressure < least.pressure ? one : least),
    null,
  );
}

/** Largest multiple of `step` not above `value`; a value within rounding of a multiple is that multiple. */
function floorTo(value: number, step: number): number {
  const count = Math.floor(value / step + 1e-9);
  return Math.round(count * step * 1e9) / 1e9;
}
