import { sin } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';
import { type ElasticNodes, tentDeflection } from './elastic.ts';

/** Readings of one survey as the fit sees them: baseline's known parts off, one row a reading. */
export interface Rows {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Standard deviation of each row, m. */
  readonly sd: Float64Array;
}

/**
 * What is known of a line before looking at its readings, in the units of the fit (m, rad).
 * Every prior is a normal distribution with mean 0 unless said otherwise.
 */
export interface LineModel {
  /** Ends of the line's chord: its bearings. */
  readonly from: number;
  readonly to: number;
  /** Supports along all steel that carries moment to the line: with piers it begins and ends beyond it. */
  readonly nodes: ElasticNodes;
  /** Bearings that hold the steel: those of the line, or of the whole member where it runs on over piers, m. */
  readonly bearings: readonly number[];
  /** True where the nodes are the job's diaphragms; false where they stand for unknown ones. */
  readonly nodesGiven: boolean;
  /** Curvature at first yield, 1/m. */
  readonly yieldCurvature: number;
  /** Prior rows on the elastic node curvatures: each row Σ c_k·m_k ~ N(0, 1). */
  readonly elasticPriors: readonly Float64Array[];
  /** Original sweep: half waves between bearings, each of an amplitude of its own. */
  readonly sweeps: readonly Sweep[];
  /** Prior sd of a zone's rotation, rad. */
  readonly rotationSd: number;
  /** Distance from support to support: the mean of the given ones, a guess where they are not, m. */
  readonly panel: number;
  /** What is known of the web's sideways hold on the flange; null where the line is not bent sideways. */
  readonly web: WebHold | null;
  /** Reach of the line that the job says was struck, m; null where it does not say. */
  readonly struck: readonly [number, number] | null;
  /** Length a blow is spread over, m. */
  readonly patch: number;
  /** How well the diaphragms' places are known, m; 0 where the job gives them. */
  readonly placeSd: number;
  /** How well the stated station of the blow is known, m. */
  readonly impactSd: number;
  /** Sd of a free peak's place about its start (weak; keeps the step finite), m. */
  readonly peakSd: number;
}

/** Chance that a blow lies outside the reach said to be struck: marks wear off, and a second blow may leave few (common practice, no source). */
const ELSEWHERE = 0.1;

/** Prior density of a blow whose station is not stated, 1/m: even along the line, or nearly all of it over the struck reach. */
export function blowDensity({ from, to, struck }: LineModel, at: number): number {
  const length = to - from;
  if (struck === null) return 1 / length;
  const reach = struck[1] - struck[0];
  return ELSEWHERE / length + (at >= struck[0] && at <= struck[1] ? (1 - ELSEWHERE) / reach : 0);
}

function sweepAt({ from, to, waves, alone }: Sweep, s: number): number {
  if (!alone && (s < from || s > to)) return 0;
  return sin((waves * Math.PI * (s - from)) / (to - from));
}

/** Whether a support is a bearing, which does not give. */
export function isBearing({ bearings }: LineModel, station: number): boolean {
  return bearings.includes(station);
}

/** The web's hold before the readings: ln of stiffness by length over EI (1/m⁴), and the deflection over κ_y (m²) at which it yields. */
export interface WebHold {
  readonly mean: number;
  readonly sd: number;
  readonly yields: number | null;
}

/** So many half waves between two bearings. */
export interface Sweep {
  readonly from: number;
  readonly to: number;
  readonly waves: 1 | 2;
  /** Prior sd of the amplitude, m. */
  readonly sd: number;
  /** Whether the line reads no other span: readings beyond the bearings then go on along the wave. */
  readonly alone: boolean;
}

/** Columns of everything but the zones: chord (offset at `from`, at `to`), sweeps, elastic nodes. */
export const CHORD = 2;

/** Place of the first elastic node's column. */
export function elasticFrom(model: LineModel): number {
  return CHORD + model.sweeps.length;
}

export function fixedColumns(model: LineModel, x: Float64Array): Float64Array[] {
  const { from, to, nodes } = model;
  const length = to - from;
  const columns = [
    Float64Array.from(x, (s) => (to - s) / length),
    Float64Array.from(x, (s) => (s - from) / length),
    ...model.sweeps.map((sweep) => Float64Array.from(x, (s) => sweepAt(sweep, s))),
  ];
  const whole = nodes.stations[0] === from && nodes.stations.at(-1) === to;
  for (let k = 1; k < nodes.stations.length - 1; k++) {
    const start = whole ? 0 : tentDeflection(nodes, k, from);
    const tilt = whole ? 0 : (tentDeflection(nodes, k, to) - start) / length;
    columns.push(Float64Array.from(x, (s) => tentDeflection(nodes, k, s) - start - tilt * (s - from)));
  }
  return columns;
}

/**
 * Where a survey was read and how much each reading weighs, with the fixed part factored: everything of a fit that does
 * not depend on what was read. Surveys read alike share one.
 */
export interface Design {
  readonly qr: Qr;
  /** Columns over the readings, unweighted. */
  readonly raw: readonly Float64Array[];
  /** Prior rows over the columns. */
  readonly priors: readonly Float64Array[];
  readonly columns: number;
  /** Rows of readings, then prior rows. */
  readonly rows: number;
  readonly weight: Float64Array;
  readonly model: LineModel;
  readonly x: Float64Array;
}

/** The fixed part factored once for given row weights: what is left of any column after it. */
export interface FixedFactor extends Design {
  /** The part shared with surveys read alike. */
  readonly design: Design;
  /** Weighted readings after the fixed part (length rows − rank). */
  readonly left: Float64Array;
  /** Qᵀy in full, for the coefficients. */
  readonly right: Float64Array;
}

/**
 * `off[i]` true: row i is set aside.
 *
 * @param known designs made before, of this model; one with the same stations and weights is used again, a new one is added
 */
export function factorFixed(
  model: LineModel,
  rows: Rows,
  off: readonly boolean[],
  scale: number,
  known: Design[] = [],
): FixedFactor {
  const weight = Float64Array.from(rows.sd, (sd, i) => (off[i] ? 0 : 1 / (sd * scale)));
  let design = known.find((each) => same(each.x, rows.x) && same(each.weight, weight));
  if (!design) {
    design = createDesign(model, rows.x, weight);
    known.push(design);
  }
  const { qr } = design;
  const right = new Float64Array(design.rows);
  for (let i = 0; i < weight.length; i++) right[i] = rows.y[i]! * weight[i]!;
  qr.apply(right);
  return { ...design, design, left: right.slice(qr.rank), right };
}

function createDesign(model: LineModel, x: Float64Array, weight: Float64Array): Design {
  const raw = fixedColumns(model, x);
  const priors = priorsOf(model, raw.length);
  const rows = x.length + priors.length;
  const without = { raw, priors, columns: raw.length, rows, weight, model, x };
  return { ...without, qr: stackFixed(without, 0) };
}

/** The fixed part's columns over readings and priors in a factor of so many rows more, for columns with priors of their own. */
export function stackFixed({ raw, priors, rows, weight, x }: Omit<Design, 'qr'>, more: number): Qr {
  const n = x.length;
  const qr = new Qr(rows + more);
  raw.forEach((column, j) => {
    const full = new Float64Array(rows + more);
    for (let i = 0; i < n; i++) full[i] = column[i]! * weight[i]!;
    priors.forEach((row, r) => {
      full[n + r] = row[j]!;
    });
    qr.push(full);
  });
  return qr;
}

/** Log of the determinant of the prior's root over the elastic curvatures: what makes scores of different nodes comparable, nats. */
export function evidenceOf({ elasticPriors }: LineModel): number {
  const qr = new Qr(elasticPriors.length);
  const columns = elasticPriors[0]?.length ?? 0;
  for (let j = 0; j < columns; j++) qr.push(Float64Array.from(elasticPriors, (row) => row[j]!));
  return qr.logDeterminant();
}

/** A column over the readings as a factor of so many rows takes it: weighted, zero below the readings. */
export function weighted(design: Design, column: ArrayLike<number>, rows = design.rows): Float64Array {
  const full = new Float64Array(rows);
  for (let i = 0; i < column.length; i++) full[i] = column[i]! * design.weight[i]!;
  return full;
}

export function same(a: Float64Array, b: Float64Array): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

/** What the fixed part leaves of a column given over the readings. */
export function leftOver(fixed: FixedFactor, column: Float64Array): Float64Array {
  return fixed.qr.apply(weighted(fixed, column)).slice(fixed.qr.rank);
}

function priorsOf(model: LineModel, columns: number): Float64Array[] {
  const sweep = model.sweeps.map(({ sd }, k) => {
    const row = new Float64Array(columns);
    row[CHORD + k] = 1 / sd;
    return row;
  });
  const elastic = model.elasticPriors.map((prior) => {
    const row = new Float64Array(columns);
    row.set(prior, elasticFrom(model));
    return row;
  });
  return [...sweep, ...elastic];
}
