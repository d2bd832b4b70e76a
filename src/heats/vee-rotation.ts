import { sin } from '../maths/portable.ts';
import { expansionCoefficient, modulusRatio, yieldRatio } from './temperature-functions.ts';

/** Temperature of the published formula: 1200 °F. */
export const FORMULA_TEMPERATURE = (1200 - 32) / 1.8;
const ROOM_TEMPERATURE = (70 - 32) / 1.8;

export interface VeeHeat {
  /** Included angle of the vee, rad. */
  readonly angle: number;
  /** Steel temperature reached, °C; at most 1200 °F (649 °C). */
  readonly temperature: number;
  /** Jacking moment over plastic moment, Mj/Mp. */
  readonly loadRatio: number;
  /** 1 for a flat plate; another value must come with its source. */
  readonly shapeFactor: number;
  /** 1 without axial load. */
  readonly axialFactor: number;
}

/**
 * Plastic rotation expected of one vee heat, rad: φ = F_l·F_s·F_a·0.0147·sin(θ/3) at 1200 °F with
 * F_l = 0.6 + 2·Mj/Mp (from memory of FHWA-IF-08-999, medium confidence in form and constants).
 *
 * The formula is for 1200 °F. For cooler heats it is scaled by the plastic strain of a perfectly
 * restrained vee, α·ΔT − Fy(T)/E(T), over its value at 1200 °F: our own reading of the published
 * statement that rotation grows with temperature (fhwa.dot.gov/bridge/steel/05.cfm), not a published
 * factor. Single heats vary considerably (same source) and no figure for their scatter was at hand,
 * so the result carries no uncertainty of its own.
 */
export function expectedRotation(heat: VeeHeat, yieldStress: number, elasticModulus: number): number {
  const atFull =
    loadFactor(heat.loadRatio) * heat.shapeFactor * heat.axialFactor * 0.0147 * sin(heat.angle / 3);
  const hot = restrainedPlasticStrain(heat.temperature, yieldStress, elasticModulus);
  const full = restrainedPlasticStrain(FORMULA_TEMPERATURE, yieldStress, elasticModulus);
  return atFull * Math.max(0, hot / full);
}

/** F_l of `expectedRotation`: what a restraining moment, over the plastic moment, adds to the rotation of a vee. */
export function loadFactor(loadRatio: number): number {
  return 0.6 + 2 * loadRatio;
}

/**
 * Most that a vee can turn without jacking: its material held so perfectly that all expansion beyond
 * yield becomes plastic, φ = 2·ε_p·tan(θ/2) (from memory of Holt 1971). Rotation in rad.
 */
export function perfectRestraintRotation(
  angle: number,
  temperature: number,
  yieldStress: number,
  elasticModulus: number,
): number {
  const strain = restrainedPlasticStrain(temperature, yieldStress, elasticModulus);
  return 2 * Math.max(0, strain) * Math.tan(angle / 2);
}

/** Heating from 70 °F (21 °C): α(T)·ΔT − Fy(T)/E(T), no unit. */
function restrainedPlasticStrain(temperature: number, yieldStress: number, elasticModulus: number): number {
  const expansion = expansionCoefficient(temperature) * (temperature - ROOM_TEMPERATURE);
  const yieldStrain = (yieldStress * yieldRatio(temperature)) / (elasticModulus * modulusRatio(temperature));
  return expansion - yieldStrain;
}

/** Open-end width of a vee, m: 2·depth·tan(θ/2). */
export function openWidth(angle: number, depth: number): number {
  return 2 * depth * Math.tan(angle / 2);
}
