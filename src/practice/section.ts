/**
 * A flange (with, if wished, part of its web) bent about its strong axis, as fibres of elastic-plastic steel
 * with linear kinematic hardening. The moment is integrated over the fibres, so partial yielding, the plastic
 * moment, springback and residual stress follow from the steel alone. SI: m, Pa, N·m, 1/m.
 */
export interface Rectangle {
  /** Size across the bending axis (flange width; web thickness), m. */
  readonly width: number;
  /** Size along the bending axis (flange thickness; web depth taken along), m. */
  readonly thickness: number;
}

export interface Steel {
  readonly elasticModulus: number;
  readonly yieldStress: number;
  /** Tangent modulus after yield over the elastic modulus, 0 ≤ ratio < 1. */
  readonly hardening: number;
}

export interface Section {
  readonly steel: Steel;
  /** Largest distance from the bending axis to a fibre, m. */
  readonly extreme: number;
  /** Second moment of area, m⁴. */
  readonly inertia: number;
  /** Plastic modulus, m³: Σ t b²/4. */
  readonly plasticModulus: number;
  /** Distance of each fibre from the bending axis, m: half the section, the other half is its mirror. */
  readonly arms: Float64Array;
  /** Area of each fibre and its mirror together, m². */
  readonly areas: Float64Array;
}

/** Gauss–Legendre nodes and weights on [0, 1] by Newton on the Legendre recurrence. */
export function gaussLegendre(count: number): { nodes: number[]; weights: number[] } {
  const nodes: number[] = [];
  const weights: number[] = [];
  for (let i = 1; i <= count; i++) {
    let x = Math.cos((Math.PI * (i - 0.25)) / (count + 0.5));
    let slope = 1;
    for (let pass = 0; pass < 50; pass++) {
      let p0 = 1;
      let p1 = x;
      for (let k = 2; k <= count; k++) [p0, p1] = [p1, ((2 * k - 1) * x * p1 - (k - 1) * p0) / k];
      slope = (count * (x * p1 - p0)) / (x * x - 1);
      const step = p1 / slope;
      x -= step;
      if (Math.abs(step) < 1e-15) break;
    }
    nodes.push((1 - x) / 2);
    weights.push(1 / ((1 - x * x) * slope * slope));
  }
  return { nodes, weights };
}

/**
 * Rectangles all centred on the bending axis. The first one gets `fibres` Gauss points on its half width and one
 * more fibre of no area on its very edge, so that first yield is seen where it happens.
 */
export function createSection(rectangles: readonly Rectangle[], steel: Steel, fibres = 12): Section {
  const arms: number[] = [];
  const areas: number[] = [];
  rectangles.forEach(({ width, thickness }, index) => {
    const { nodes, weights } = gaussLegendre(index === 0 ? fibres : 2);
    nodes.forEach((node, i) => {
      arms.push((node * width) / 2);
      areas.push(weights[i]! * width * thickness);
    });
  });
  const extreme = Math.max(...rectangles.map(({ width }) => width / 2));
  arms.push(extreme);
  areas.push(0);
  return {
    steel,
    extreme,
    inertia: rectangles.reduce((sum, r) => sum + (r.thickness * r.width ** 3) / 12, 0),
    plasticModulus: rectangles.reduce((sum, r) => sum + (r.thickness * r.width ** 2) / 4, 0),
    arms: Float64Array.from(arms),
    areas: Float64Array.from(areas),
  };
}

export function fibreCount(section: Section): number {
  return section.arms.length;
}

/** Curvature at first yield, 1/m. */
export function yieldCurvature({ steel, extreme }: Section): number {
  return steel.yieldStress / steel.elasticModulus / extreme;
}

/**
 * Moment (N·m) and tangent stiffness (N·m²) at a curvature, from the plastic strains committed so far
 * (`from`, at `offset`); the plastic strains reached are written to `to`. Return mapping for linear kinematic
 * hardening (Simo & Hughes, Computational Inelasticity, box 1.5; from memory).
 */
export function bend(
  section: Section,
  curvature: number,
  from: Float64Array,
  to: Float64Array,
  offset: number,
  result: { moment: number; stiffness: number },
): void {
  const { elasticModulus: E, yieldStress, hardening } = section.steel;
  const H = (E * hardening) / (1 - hardening);
  const tangent = E * hardening;
  let moment = 0;
  let stiffness = 0;
  for (let i = 0; i < section.arms.length; i++) {
    const arm = section.arms[i]!;
    const area = section.areas[i]!;
    const plastic = from[offset + i]!;
    const trial = E * (curvature * arm - plastic);
    const relative = trial - H * plastic;
    const over = Math.abs(relative) - yieldStress;
    if (over <= 0) {
      to[offset + i] = plastic;
      moment += area * arm * trial;
      stiffness += area * arm * arm * E;
    } else {
      const flow = (Math.sign(relative) * over) / (E + H);
      to[offset + i] = plastic + flow;
      moment += area * arm * (trial - E * flow);
      stiffness += area * arm * arm * tangent;
    }
  }
  result.moment = moment;
  result.stiffness = stiffness;
}
