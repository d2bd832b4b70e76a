import type { Line, Member } from '../job/job.ts';
import { supportsOfLine } from '../job/supports.ts';
import { log } from '../maths/portable.ts';
import type { LineModel, Sweep, WebHold } from './model.ts';

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
  const supports = supportsOfLine(line, member);
  const bearings = [supports.from, ...supports.piers, supports.to];
  const given = supports.diaphragms;
  const inner = [...supports.piers, ...(given ?? [])].sort((a, b) => a - b);
  const panel =
    given === null
      ? Math.min(GUESS_PANEL, longestSpan(bearings, from, to) / 3)
      : length / (inner.filter((at) => at > from && at < to).length + 1);
  const stations =
    given === null ? denseNodes(supports.from, supports.to, panel) : [supports.from, ...inner, supports.to];
  const count = stations.length - 2;
  const reference = line.baseline.method === 'reference';
  return {
    from,
    to,
    nodes: { stations },
    bearings,
    nodesGiven: given !== null,
    yieldCurvature,
    elasticPriors:
      given === null
        ? smoothPriors(stations, yieldCurvature, panel)
        : freePriors(count, ELASTIC_SHARE * yieldCurvature),
    sweeps: sweepsOf(bearings, from, to, reference),
    rotationSd: 0.1,
    panel,
    web: webHoldOf(line, member),
    struck: struckOf(from, to, member),
    patch: PATCH,
    placeSd: 0,
    impactSd: IMPACT_SD,
    peakSd: length,
  };
}

/** The struck reach on this line, widened by how well marks place a blow; null where none is said or it covers the line. */
function struckOf(from: number, to: number, { struck }: Member): LineModel['struck'] {
  if (struck === undefined) return null;
  const reach: [number, number] = [
    Math.max(from, struck[0] - 2 * IMPACT_SD),
    Math.min(to, struck[1] + 2 * IMPACT_SD),
  ];
  return reach[1] <= reach[0] || reach[1] - reach[0] >= to - from ? null : reach;
}

/** The places of so many diaphragms are known to this share of their distance: bays are about even (common practice, no source). */
const PLACE_SHARE = 0.08;

/**
 * A strip of web held at the top flange and free to turn at the bottom one is a cantilever, k = E·t³/4h³ by length; where the
 * bottom flange will not roll it is up to four times as stiff. Between the two: twice, give or take a factor of two, which is how far
 * webs as girders have them are from it by the theory of plates (`tests/zones/web-hold.test.ts`). It yields at a deflection of F_y·h²/(1.5·E·t). Where the job does not give depth and web thickness: 3/8 by 36 in, give or take a factor of three
 * (common practice, no source).
 */
function webHoldOf(line: Line, member: Member): WebHold | null {
  if (line.kind !== 'sweep') return null;
  const { depth, webThickness, flangeWidth, flangeThickness } = member;
  const known = depth !== null && webThickness !== null;
  const thickness = known ? webThickness : USUAL_WEB.thickness;
  const height = known ? Math.max(0.1, depth - 2 * flangeThickness) : USUAL_WEB.height;
  const inertia = (flangeWidth ** 3 * flangeThickness) / 12;
  return {
    mean: log((2 * thickness ** 3) / (4 * height ** 3) / inertia),
    sd: known ? log(2) : log(3),
    // Over κ_y = F_y/(E·b/2).
    yields: known ? ((flangeWidth / 2) * height ** 2) / (1.5 * thickness) : null,
  };
}

/** 3/8 by 36 in. */
const USUAL_WEB = { thickness: 0.0095, height: 0.91 };

/**
 * Half waves of the original sweep, one and two a span that the line reads: bearings were set to line. Of a reference
 * profile only what it may be off by is left.
 */
function sweepsOf(bearings: readonly number[], from: number, to: number, reference: boolean): Sweep[] {
  const within = bearings.filter((at) => at > from && at < to);
  const ends = [from, ...within, to];
  return ends.slice(1).flatMap((end, i): Sweep[] => {
    const start = ends[i]!;
    const length = end - start;
    const sds = reference ? [length / 10000, length / 10000] : [length / 1000, length / 1500];
    return [
      { from: start, to: end, waves: 1, sd: sds[0]!, alone: within.length === 0 },
      { from: start, to: end, waves: 2, sd: sds[1]!, alone: within.length === 0 },
    ];
  });
}

/** The longest span of which the line reads a part, m. */
export function longestSpan(bearings: readonly number[], from: number, to: number): number {
  let longest = 0;
  for (let i = 0; i + 1 < bearings.length; i++)
    if (bearings[i]! < to && bearings[i + 1]! > from)
      longest = Math.max(longest, bearings[i + 1]! - bearings[i]!);
  return longest;
}

/** The same line on so many diaphragms in the longest span it reads, in about even bays, and as close in the others. What they add to the struck beam's own moments is small. */
export function onDiaphragms(model: LineModel, count: number): LineModel {
  const { bearings } = model;
  const panel = longestSpan(bearings, model.from, model.to) / (count + 1);
  const stations = [bearings[0]!];
  for (let i = 0; i + 1 < bearings.length; i++) {
    const [a, b] = [bearings[i]!, bearings[i + 1]!];
    const bays = Math.max(1, Math.round((b - a) / panel));
    for (let k = 1; k < bays; k++) stations.push(a + (k * (b - a)) / bays);
    stations.push(b);
  }
  return {
    ...model,
    nodes: { stations },
    panel,
    placeSd: PLACE_SHARE * panel,
    elasticPriors: freePriors(stations.length - 2, BEYOND * model.yieldCurvature),
  };
}

/** The same line on diaphragms found and piers at these places: what surveys after the as-found one are locked against. */
export function onPlaces(model: LineModel, places: readonly number[]): LineModel {
  const { from, to, bearings } = model;
  return {
    ...model,
    nodes: { stations: [bearings[0]!, ...places, bearings.at(-1)!] },
    panel: (to - from) / (places.filter((at) => at > from && at < to).length + 1),
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
