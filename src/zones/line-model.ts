import type { Line, Member } from '../job/job.ts';
import type { LineModel } from './model.ts';

/** Distance between supports taken where the job gives no diaphragms: 15 ft, a common spacing (common practice, no source). */
const GUESS_PANEL = 4.572;
/** Locked-in elastic curvature at a node, share of first yield. */
const ELASTIC_SHARE = 0.6;
/** A bumper, a load's edge: 15 in (common practice, no source). */
const PATCH = 0.38;
/** Scrape marks place a blow to about 6 in (common practice, no source). */
const IMPACT_SD = 0.15;

/** Curvature at first yield of the outer fibre, 1/m: κ_y = F_y / (E·y), y half the width (sweep) or half the depth (camber). */
export function yieldCurvatureOf(line: Line, member: Member): number {
  return member.yieldStress / member.elasticModulus / extremeFibre(line, member);
}

/** Distance from the bending axis to the outer fibre, m. */
export function extremeFibre(line: Line, member: Member): number {
  return line.kind === 'camber' && member.depth !== null ? member.depth / 2 : member.flangeWidth / 2;
}

/** What is known of the line before its readings: bearings, supports, and the size of every prior. */
export function createLineModel(line: Line, member: Member): LineModel {
  const [from, to] = line.bearings;
  const length = to - from;
  const yieldCurvature = yieldCurvatureOf(line, member);
  const given = member.diaphragms;
  const inner = given === null ? [] : given.filter((d) => d > from + 0.01 * length && d < to - 0.01 * length);
  const panel = given === null ? Math.min(GUESS_PANEL, length / 3) : length / (inner.length + 1);
  const stations = given === null ? denseNodes(from, to, panel) : [from, ...inner, to];
  const count = stations.length - 2;
  const reference = line.baseline.method === 'reference';
  return {
    from,
    to,
    nodes: { stations },
    nodesGiven: given !== null,
    yieldCurvature,
    elasticPriors:
      given === null
        ? smoothPriors(stations, yieldCurvature, panel)
        : freePriors(count, ELASTIC_SHARE * yieldCurvature),
    sweepSd: reference ? [length / 10000, length / 10000] : [length / 1000, length / 1500],
    rotationSd: 0.1,
    panel,
    patch: PATCH,
    placeSd: 0,
    impactSd: IMPACT_SD,
    peakSd: length,
  };
}

/** The places of so many diaphragms are known to this share of their distance: bays are about even (common practice, no source). */
const PLACE_SHARE = 0.08;

/** The same line on so many diaphragms in about even bays. What they add to the struck beam's own moments is small. */
export function onDiaphragms(model: LineModel, count: number): LineModel {
  const { from, to } = model;
  const panel = (to - from) / (count + 1);
  return {
    ...model,
    nodes: { stations: Array.from({ length: count + 2 }, (_, i) => from + i * panel) },
    panel,
    placeSd: PLACE_SHARE * panel,
    elasticPriors: freePriors(count, BEYOND * model.yieldCurvature),
  };
}

/** The same line on diaphragms found at these places: what surveys after the as-found one are locked against. */
export function onPlaces(model: LineModel, places: readonly number[]): LineModel {
  const { from, to } = model;
  return {
    ...model,
    nodes: { stations: [from, ...places, to] },
    panel: (to - from) / (places.length + 1),
    elasticPriors: freePriors(places.length, ELASTIC_SHARE * model.yieldCurvature),
  };
}

/** Sd of the moment at a diaphragm beyond the struck beam's own, over M_y. */
export const BEYOND = 0.02;

function denseNodes(from: number, to: number, panel: number): number[] {
  const cells = Math.max(6, Math.min(24, Math.round((3 * (to - from)) / panel)));
  return Array.from({ length: cells + 1 }, (_, i) => from + ((to - from) * i) / cells);
}

/** Node curvatures independent, each of that sd, 1/m. */
export function freePriors(count: number, sd: number): Float64Array[] {
  return Array.from({ length: count }, (_, k) => {
    const row = new Float64Array(count);
    row[k] = 1 / sd;
    return row;
  });
}

/**
 * Diaphragms anywhere, about one a panel: M/EI is a broken line with few kinks, described by its mean square
 * kink. Rows: each node within the yield bound, each change of slope about what one diaphragm a panel gives.
 */
function smoothPriors(stations: readonly number[], yieldCurvature: number, panel: number): Float64Array[] {
  const count = stations.length - 2;
  const h = stations[1]! - stations[0]!;
  const kink = ((2 * ELASTIC_SHARE * yieldCurvature) / panel) * Math.sqrt(h / panel);
  const rows = freePriors(count, ELASTIC_SHARE * (1.5 * yieldCurvature));
  for (let k = 0; k < count; k++) {
    const row = new Float64Array(count);
    const at = (j: number, value: number) => {
      if (j >= 0 && j < count) row[j]! += value / (h * kink);
    };
    at(k - 1, 1);
    at(k, -2);
    at(k + 1, 1);
    rows.push(row);
  }
  return rows;
}
