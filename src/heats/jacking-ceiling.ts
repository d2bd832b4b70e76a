import { MEGAPASCAL, PSI } from '../units/factors.ts';
import type { LoadLimit } from './load-limit.ts';
import { governingMoment, type SetUpGeometry } from './moment-set-up.ts';

export interface CeilingInput {
  /** Plastic modulus of the part that bends, m³. */
  readonly plasticModulus: number;
  /** Pa */
  readonly yieldStress: number;
  readonly limit: LoadLimit;
  readonly setUp: SetUpGeometry;
  /** Station (m) and effective ram area (m²) of each jack; all are taken to stand at one gauge pressure. */
  readonly jacks: readonly { readonly name: string; readonly station: number; readonly ramArea: number }[];
  /** Smallest mark of the gauge, Pa: the ceiling is rounded down to it. */
  readonly gaugeDivision: number;
}

export interface JackingCeiling {
  /** Plastic moment at ambient temperature, N·m. */
  readonly plasticMoment: number;
  /** Largest jacking moment allowed, N·m. */
  readonly moment: number;
  readonly limit: LoadLimit;
  /** Where the moment governs, station in m. */
  readonly governsAt: number;
  /** Gauge pressure before rounding, Pa.. */
  readonly exactPressure: number;
  /** Gauge pressure rounded down to the gauge division, Pa. */
  readonly pressure: number;
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
  /** Why no uncertainty is given. */
  readonly uncertainty: string;
}

/**
 * Gauge pressure at which the jacks together bend the member to the allowed share of its plastic
 * moment: p = k·Fy·Z / max|Σ Aᵢ·m(x; aᵢ)|, with m the moment of a unit force in the set-up and Aᵢ
 * the ram areas. The plastic moment is that of the cold section: only the vee is hot, and the
 * published limits are stated that way (from memory of FHWA-IF-08-999).
 *
 * @throws RangeError when there is no jack, or a jack lies outside the supports or on one
 */
export function jackingCeiling(input: CeilingInput): JackingCeiling {
  if (input.jacks.length === 0) throw new RangeError('a ceiling needs at least one jack');
  const plasticMoment = input.yieldStress * input.plasticModulus;
  const moment = input.limit.fraction * plasticMoment;
  const perPascal = governingMoment(
    input.setUp,
    input.jacks.map((jack) => ({ station: jack.station, force: jack.ramArea })),
  );
  if (perPascal.moment === 0) throw new RangeError('the jacks stand on the supports and bend nothing');
  const exactPressure = moment / perPascal.moment;
  const pressure = floorTo(exactPressure, input.gaugeDivision);
  return {
    plasticMoment,
    moment,
    limit: input.limit,
    governsAt: perPascal.station,
    exactPressure,
    pressure,
    psi: floorTo(pressure / PSI, 1),
    megapascals: floorTo(pressure / MEGAPASCAL, 0.1),
    jacks: input.jacks.map(({ name, station, ramArea }) => ({
      name,
      station,
      force: exactPressure * ramArea,
      forceAtCeiling: pressure * ramArea,
    })),
    uncertainty:
      'No uncertainty is given: the ceiling follows from the specified yield stress, nominal dimensions and an ideal set-up. Friction, jack alignment, a yield stress other than specified and moment already in the member are not in it.',
  };
}

/** Largest multiple of `step` not above `value`; a value within rounding of a multiple is that multiple. */
function floorTo(value: number, step: number): number {
  const count = Math.floor(value / step + 1e-9);
  return Math.round(count * step * 1e9) / 1e9;
}
