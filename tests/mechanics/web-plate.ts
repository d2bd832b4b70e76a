/**
 * What a web holds its bottom flange with sideways, from the theory of thin plates: the web bends along its depth and along the
 * girder, the flange rolls with it as far as its own torsional stiffness lets it. Lévy's solution for a deflection
 * w(z)·sin(πx/L), four constants from the conditions at both edges (Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells,
 * 2nd ed., § 46; from memory): exact for a half wave of length L between places where the flange cannot roll.
 */
import { Matrix, solve } from 'ml-matrix';
import type { Random } from './random.ts';

const POISSON = 0.3;
const INCH = 0.0254;

export interface WebPlate {
  /** Of the web plate, m. */
  readonly height: number;
  readonly thickness: number;
  readonly flangeWidth: number;
  readonly flangeThickness: number;
  /** Half wave along the girder, m. */
  readonly length: number;
  /** How much the top flange resists rolling, times what a bottom flange does. */
  readonly top: number;
}

interface Edge {
  readonly w: number[];
  readonly slope: number[];
  readonly second: number[];
  readonly third: number[];
}

/** Force by length and deflection of the bottom edge, N/m². */
export function holdOfWeb(web: WebPlate, elasticModulus = 199.947961e9): number {
  const { height, thickness, flangeWidth, flangeThickness, length, top } = web;
  const rigidity = (elasticModulus * thickness ** 3) / 12 / (1 - POISSON ** 2);
  const a = Math.PI / length;
  const torsion = (elasticModulus / 2 / (1 + POISSON)) * ((flangeWidth * flangeThickness ** 3) / 3);
  const roll = torsion * a * a;
  const above = edge(a, 0);
  const below = edge(a, height);
  const moment = ({ w, second }: Edge) =>
    w.map((value, i) => rigidity * (second[i]! - POISSON * a * a * value));
  const rows = [
    above.w,
    moment(above).map((m, i) => m - top * roll * above.slope[i]!),
    below.w,
    moment(below).map((m, i) => m + roll * below.slope[i]!),
  ];
  // Each condition in its own size, so that the system is well scaled.
  const sizes = rows.map((row) => Math.max(...row.map(Math.abs)));
  const right = [0, 0, 1, 0];
  const constants = solve(
    new Matrix(rows.map((row, i) => row.map((value) => value / sizes[i]!))),
    Matrix.columnVector(right.map((value, i) => value / sizes[i]!)),
  ).to1DArray();
  const shear = (i: number) => -rigidity * (below.third[i]! - (2 - POISSON) * a * a * below.slope[i]!);
  return constants.reduce((sum, c, i) => sum + c * shear(i), 0);
}

/** The four functions cosh, z·sinh, sinh, z·cosh of a·z and their derivatives. */
function edge(a: number, z: number): Edge {
  const u = a * z;
  const [c, s] = [Math.cosh(u), Math.sinh(u)];
  return {
    w: [c, u * s, s, u * c],
    slope: [s, s + u * c, c, c + u * s].map((value) => a * value),
    second: [c, 2 * c + u * s, s, 2 * s + u * c].map((value) => a * a * value),
    third: [s, 3 * s + u * c, c, 3 * c + u * s].map((value) => a ** 3 * value),
  };
}

/** What a web is that nobody has measured, beside the flange it stands on: depth, half wave, and how its top is held. */
export interface WebAbout {
  readonly height: number;
  readonly length: number;
  readonly top: number;
}

/**
 * Webs as girders have them: 1/14 to 1/25 of the span deep, deflected over 0.6 to 1.6 of the distance between diaphragms, and
 * held at the top by a deck: as good as clamped (four in ten), or one to a hundred times as stiff as the flange alone (our own
 * ranges; common practice, no source).
 */
export function webAbout(random: Random, span: number, panel: number): WebAbout {
  return {
    height: span / random.between(14, 25),
    length: panel * 0.6 * (1.6 / 0.6) ** random.uniform(),
    top: random.uniform() < 0.4 ? 1e6 : 10 ** random.between(0, 2),
  };
}

/** Thickness at which a web holds so much (N/m²), and the girder's books say: whole 16ths of an inch. Null where no web is made like that. */
export function thicknessFor(hold: number, web: Omit<WebPlate, 'thickness'>): number | null {
  let [thin, thick] = [web.height / 400, web.height / 10];
  for (let i = 0; i < 60; i++) {
    const middle = (thin + thick) / 2;
    if (holdOfWeb({ ...web, thickness: middle }) < hold) thin = middle;
    else thick = middle;
  }
  const thickness = Math.round(thin / (INCH / 16)) * (INCH / 16);
  const slender = web.height / thickness;
  return slender > 35 && slender < 150 ? thickness : null;
}
