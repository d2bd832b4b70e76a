/**
 * Published strain ratio μ = ε_max/ε_y = |κ|·y_max·E/F_y: largest bending strain over yield strain, from total
 * curvature (locked-in elastic bending not taken off). FHWA-IF-99-004 / FHWA-IF-08-999 (from memory).
 */
export function strainRatio(
  curvature: number,
  extremeFibre: number,
  yieldStress: number,
  elasticModulus: number,
): number {
  return (Math.abs(curvature) * extremeFibre * elasticModulus) / yieldStress;
}

/**
 * Repairs with strains up to 100 times yield strain were straightened with small effect on properties (abstract,
 * Avent, Mukai & Robinson, tests of heat-straightened plates and beams); it is the limit of what has been proven.
 */
export const PROVEN_STRAIN_RATIO = 100;
