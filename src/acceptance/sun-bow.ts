/** Thermal expansion of structural steel, 1/°C (6.5e-6 /°F; AISC 303, from memory of it). */
const EXPANSION = 11.7e-6;

/**
 * Bow of a free member with one flange edge warmer than the other: α·ΔT·L²/(8b), the mid-ordinate of the arc whose
 * edges differ in length by α·ΔT. Diaphragms and bearings lower it.
 *
 * @param length m
 * @param width flange width, m
 * @param warmer edge-to-edge difference, °C
 * @returns m
 */
export function sunBow(length: number, width: number, warmer: number): number {
  return (EXPANSION * warmer * length ** 2) / (8 * width);
}
