import { hypot } from '../maths/portable.ts';
import { type Bend, SURE } from './bend.ts';
import type { AtOneScale, Hand } from './climb.ts';
import { BEYOND, freePriors } from './line-model.ts';
import { type FixedFactor, factorFixed, type LineModel, type Rows } from './model.ts';
import { describeZoneGroups } from './separate/describe.ts';
import { estimate } from './separate/estimate.ts';
import { fitZones, geometryRows } from './separate/fit.ts';
import { lengthPriors } from './separate/length-prior.ts';
import { type FoundZones, searchZones } from './separate/search.ts';
import { coreOf, groupZones, stretchOf } from './separate/stretches.ts';
import { describeStruck, type Spring } from './struck/describe.ts';
import { estimateStruck } from './struck/estimate.ts';
import { fitStruck } from './struck/fit.ts';
import { type FoundStruck, onWeb, searchAfresh, searchStruck } from './struck/search.ts';
import { supportsOf } from './struck/shape.ts';
import { searchUnplaced, worthOf } from './struck/unplaced.ts';

/**
 * Where the steel bent, as found, by one of two models: the flange struck once or twice on the given diaphragms,
 * which ties every zone to every other by mechanics; or zones each on its own, where the diaphragms are not given or
 * no blow explains the readings.
 */
export type Geometry =
  | { readonly kind: 'struck'; readonly found: FoundStruck }
  | { readonly kind: 'separate'; readonly found: FoundZones };

export interface AsFound {
  readonly bends: readonly Bend[];
  /** Chord (2), sweep (2), elastic node curvatures, then what else the model has. */
  readonly coefficients: ArrayLike<number>;
  readonly covariance: readonly (readonly number[])[];
  /** Of each inner support of a struck flange, null at a pier; null where the model has no springs. */
  readonly springs: readonly (Spring | null)[] | null;
}

/** Scatter before any fit, times the stated reading sd, that is past hope; and after one, that shows there was hope. */
const HOPELESS = 30;
const STEADY = 4;

/**
 * What the model itself leaves out (torsion, residual stress, the web's hold on the flange), as
 * a factor on the statistical u and a share of the rotation added in quadrature. Set so that 95 % intervals cover on
 * the simulated girders of the benchmark, whose mechanics know nothing of this model.
 */
interface ModelError {
  readonly factor: number;
  readonly share: number;
}
const ONE_BLOW: ModelError = { factor: 1.3, share: 0.05 };
const TWO_BLOWS: ModelError = { factor: 1.8, share: 0.08 };
const UNPLACED: ModelError = { factor: 1.8, share: 0.08 };
const SEPARATE_ZONES: ModelError = { factor: 1.6, share: 0.06 };

function widened(u: number, rotation: number, { factor, share }: ModelError): number {
  return hypot(factor * u, share * rotation);
}

/** Fewer distinct stations than this cannot carry a struck beam. */
const LEAST_STATIONS = 8;

export function findGeometry(
  model: LineModel,
  rows: Rows,
  impact: number | null,
  hand: Hand,
  scatter: number,
  sdFreedom: number,
): Geometry {
  const whole: AtOneScale = { model, rows, impact, hand, sdFreedom };
  const inner = model.nodes.stations.slice(1, -1);
  const anchors = model.nodesGiven ? inner.filter((at) => at > model.from && at < model.to) : [];
  const hopeless = scatter > HOPELESS;
  if (new Set(rows.x).size < LEAST_STATIONS || (hopeless && !model.nodesGiven))
    return {
      kind: 'separate',
      found: hopeless ? straight(model, rows, hand.off, scatter) : searchZones(whole, anchors, scatter, true),
    };
  if (!model.nodesGiven) return onUnknownDiaphragms(whole, scatter);
  // The struck beam brings its own locked-in moments; what the diaphragms add to them is small.
  const struck: AtOneScale = {
    ...whole,
    model: { ...model, elasticPriors: freePriors(inner.length, BEYOND * model.yieldCurvature) },
  };
  const first = hopeless ? 1 : scatter;
  let found = searchStruck(struck, first);
  if (suspicious(found, hand)) {
    const afresh = searchAfresh(struck, found);
    if (afresh && afresh.score > found.score) found = afresh;
    // Scatter no string line has, unless a few wrong readings made all of it: no bend can be told in it.
    if (hopeless && found.scale > STEADY)
      return { kind: 'separate', found: straight(model, rows, hand.off, scatter) };
    found = onWeb(struck, found, first);
    const zones = searchZones(whole, anchors, Math.min(first, found.scale), false);
    if (zones.score > found.score + PREFER_STRUCK) return { kind: 'separate', found: zones };
    return { kind: 'struck', found };
  }
  return { kind: 'struck', found: onWeb(struck, found, first) };
}

/** The struck beam on diaphragms it finds for itself; separate zones where that leaves doubt and they are the likelier. */
function onUnknownDiaphragms(whole: AtOneScale, scatter: number): Geometry {
  let found = searchUnplaced(whole, scatter);
  if (suspicious(found, whole.hand)) {
    const afresh = searchAfresh({ ...whole, model: found.fixed.model }, found);
    if (afresh && afresh.score > found.score) found = afresh;
  }
  found = onWeb({ ...whole, model: found.fixed.model }, found, scatter);
  if (!suspicious(found, whole.hand)) return { kind: 'struck', found };
  const zones = searchZones(whole, [], scatter, true);
  return worthOf(found) + PREFER_STRUCK > worthOf(zones)
    ? { kind: 'struck', found }
    : { kind: 'separate', found: zones };
}

/** Places of the diaphragms that the struck beam found where the job gives none, and of the piers, m; null where it looked for none. */
export function foundPlaces(model: LineModel, geometry: Geometry): readonly number[] | null {
  if (model.nodesGiven || geometry.kind !== 'struck' || geometry.found.hints.length === 0) return null;
  return supportsOf(geometry.found.fixed.model, geometry.found.state).diaphragms;
}

/** No zones at all. */
function straight(model: LineModel, rows: Rows, off: readonly boolean[], scale: number): FoundZones {
  const fixed = factorFixed(model, rows, off, scale);
  return { fit: fitZones([fixed], []), off, fixed, score: 0, scale };
}

/** Scatter about the struck beam, times the stated sd, from which it may be the wrong one. */
const SCATTERS = 1.25;

/**
 * Nats by which separate zones must beat the struck beam: it is the more detailed claim, and the better when true. Zones
 * bend more freely and so take wrong readings in; a bend no blow explains costs the struck beam hundreds.
 */
const PREFER_STRUCK = 20;

/** A fit that needed several wrong readings, or more scatter than stated, may be a local optimum. */
function suspicious(found: FoundStruck, hand: Hand): boolean {
  return found.off.filter((off, i) => off && !hand.off[i]).length > 1 || found.scale > SCATTERS;
}

function touchOf(model: LineModel): number {
  return 0.1 * model.panel;
}

/** The geometry refined over the as-found survey and others, every one with rotations of its own. */
export function refineGeometry(geometry: Geometry, others: readonly FixedFactor[]): Geometry {
  if (others.length === 0) return geometry;
  if (geometry.kind === 'struck') {
    const { found } = geometry;
    if (found.hints.length === 0) return geometry;
    const fit = fitStruck(found.fixed, found.hints, found.state, 4, others);
    return { ...geometry, found: { ...found, state: fit.state, fit } };
  }
  const { found } = geometry;
  if (found.fit.zones.length === 0) return geometry;
  return {
    kind: 'separate',
    found: { ...found, fit: fitZones([found.fixed, ...others], found.fit.zones, 4) },
  };
}

const WORTH_NAMING = 0.003;

/** True where a bend is a zone to speak of: surely yielded, or turning by more than its own doubt. */
function significant({ logPeak, logPeakU, rotation, rotationU }: Bend): boolean {
  return (
    logPeak - SURE * logPeakU > 0 || (Math.abs(rotation) > WORTH_NAMING && Math.abs(rotation) > 3 * rotationU)
  );
}

/** Everything said of the as-found survey, edges in the covariance; bends nobody could be sure of are left out. */
export function describeGeometry(geometry: Geometry, others: readonly FixedFactor[]): AsFound {
  const whole = describeAll(geometry, others);
  return { ...whole, bends: whole.bends.filter(significant) };
}

function describeAll(geometry: Geometry, others: readonly FixedFactor[]): AsFound {
  if (geometry.kind === 'struck') {
    const { found } = geometry;
    const whole = describeStruck(
      found.fixed.model,
      estimateStruck(found.fixed, found.hints, found.state, others),
    );
    const error = found.fixed.model.placeSd > 0 ? UNPLACED : found.hints.length > 1 ? TWO_BLOWS : ONE_BLOW;
    return {
      bends: whole.bends.map((bend) => ({
        ...bend,
        rotationU: widened(bend.rotationU, bend.rotation, error),
      })),
      coefficients: whole.coefficients,
      covariance: whole.covariance,
      // Without a blow nothing has shown them: what stands in the state is the prior.
      springs:
        found.hints.length === 0
          ? null
          : whole.springs.map((spring) =>
              spring === null ? null : { ...spring, u: error.factor * spring.u },
            ),
    };
  }
  const { found } = geometry;
  const { model } = found.fixed;
  const priors = lengthPriors(model, found.fit.zones);
  const whole = estimate(found.fixed, found.fit.zones, priors, geometryRows(others, found.fit.zones));
  const rotations = found.fit.rotations[0] ?? [];
  const groups = groupZones(found.fit.zones, rotations, touchOf(model));
  return {
    bends: describeZoneGroups(model, whole, groups).map((bend, g) => ({
      ...bend,
      rotationU: widened(bend.rotationU, bend.rotation, SEPARATE_ZONES),
      core: coreOf(found.fit.zones, rotations, groups[g]!),
      stretch: stretchOf(model, found.fit.zones, rotations, groups[g]!),
    })),
    coefficients: whole.coefficients,
    covariance: whole.covariance,
    springs: null,
  };
}
