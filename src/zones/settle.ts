import type { Zone } from '../analysis.ts';
import { hypot } from '../maths/portable.ts';
import type { ReadingSd } from '../survey/survey.ts';
import { type AsFound, describeGeometry, findGeometry, foundPlaces, refineGeometry } from './as-found.ts';
import { describeZones } from './describe-zones.ts';
import { type Doubt, doubtModel } from './doubt.ts';
import { atStations } from './held-design.ts';
import { allStretches, type Held, holdSurvey, solveHeld } from './hold.ts';
import { onPlaces } from './line-model.ts';
import { type Design, factorFixed, type LineModel } from './model.ts';
import { type PooledStation, type Prepared, poolStations } from './prepare.ts';
import { sdFreedom, startingScale } from './scatter.ts';
import { NO_STRETCHES, smoothModel, smoothRotations } from './smooth-shape.ts';
import type { BentStretch } from './stretch.ts';

/** What the zones of a line are, once its surveys have been looked at by the model and, where it does not fit, without it. */
export interface Settled {
  readonly model: LineModel;
  readonly prepared: readonly Prepared[];
  readonly asFoundIndex: number;
  readonly asFoundStations: readonly PooledStation[];
  readonly whole: AsFound;
  readonly stretches: readonly BentStretch[];
  /** Where the struck beam found diaphragms, m, when the job gives none. */
  readonly places: readonly number[] | null;
  readonly scale: number;
  /** How each survey is held; by a smooth curve through its readings where the model is in doubt. */
  readonly held: readonly Held[];
  readonly doubt: Doubt | null;
  /** How far the model and the smooth curve are from each other, m. */
  readonly apart: number;
  /** Whether they are farther apart than the work could let pass: the zones are then marked as doubtful. */
  readonly doubtful: boolean;
  readonly zones: readonly Zone[];
}

/** @param impact station of the blow, m */
export function settleZones(
  model: LineModel,
  prepared: readonly Prepared[],
  asFoundIndex: number,
  impact: number | null,
  readingSd: ReadingSd,
): Settled {
  const asFound = prepared[asFoundIndex]!;
  const freedom = sdFreedom(readingSd.source, readingSd.degreesOfFreedom);
  const distinct = new Set(asFound.rows.x).size;
  const scatter = distinct >= 5 ? startingScale(asFound.rows, asFound.handOff, freedom) : 1;
  const byModel = fitModel(model, prepared, asFoundIndex, impact, scatter, freedom);
  const doubt = doubtModel(
    prepared,
    byModel.held.map((h) => h.off),
    byModel.held.map((h, i) => modelResiduals(prepared[i]!, h, byModel.stretches)),
    readingSd.value,
  );
  const zoned =
    doubt === null
      ? byModel
      : // Only where the as-found survey was taken for other than it was can the zones have been.
        sameFlags(doubt.off[asFoundIndex]!, byModel.held[asFoundIndex]!.off)
        ? byModel
        : fitModel(model, keeping(prepared, doubt.off), asFoundIndex, impact, scatter, freedom);
  const scale = doubt === null ? zoned.scale : Math.min(zoned.scale, Math.max(1, scatter));
  const held = doubt === null ? zoned.held : smoothAll(model, prepared, doubt.off, scale);
  const asFoundStations = poolStations(asFound.rows, held[asFoundIndex]!.off, scale);
  const { whole, stretches, places } = zoned;
  const found = { model, prepared, asFoundIndex, asFoundStations, whole, stretches, places, scale, held };
  const fromModel = describeZones(model, whole.bends, asFoundStations);
  if (doubt === null) return { ...found, doubt, apart: 0, doubtful: false, zones: fromModel };
  const apart = farthestApart(prepared, zoned, held);
  const read = fromModel.map((zone, j) => asRead(zone, held[asFoundIndex]!, stretches, j));
  const doubtful =
    apart > AGREE ||
    read.some((zone, j) => Math.abs(zone.rotation - fromModel[j]!.rotation) > 2 * fromModel[j]!.rotationU);
  const zones = doubtful ? read.map((zone): Zone => ({ ...zone, doubtful: true })) : read;
  return { ...found, doubt, apart, doubtful, zones };
}

interface ModelFit {
  /** Where the struck beam found diaphragms, m, when the job gives none. */
  readonly places: readonly number[] | null;
  readonly whole: AsFound;
  readonly stretches: readonly BentStretch[];
  readonly held: readonly Held[];
  readonly scale: number;
}

/** Zones found as-found, refined over the released surveys, and held in each. */
function fitModel(
  model: LineModel,
  prepared: readonly Prepared[],
  asFoundIndex: number,
  impact: number | null,
  scatter: number,
  freedom: number,
): ModelFit {
  const asFound = prepared[asFoundIndex]!;
  const hand = { off: asFound.handOff, pinned: asFound.pinned };
  let geometry = findGeometry(model, asFound.rows, impact, hand, scatter, freedom);
  const { off, scale } = geometry.found;
  const places = foundPlaces(model, geometry);
  const later = places === null ? model : onPlaces(model, places);
  const fixed = factorFixed(later, asFound.rows, off, scale);
  const designs: Design[] = [fixed.design];
  const holdAll = (stretches: readonly BentStretch[]) =>
    prepared.map(
      (one, i): Held =>
        i === asFoundIndex
          ? { fixed, off, elsewhere: [], misfit: 1 }
          : holdSurvey(later, one.rows, { off: one.handOff, pinned: one.pinned }, stretches, scale, designs),
    );
  let whole = describeGeometry(geometry, []);
  let stretches = whole.bends.map((bend) => bend.stretch);
  let held = holdAll(stretches);
  const judged = held.flatMap((h, i) =>
    i !== asFoundIndex && prepared[i]!.survey.state === 'released' ? [h.fixed] : [],
  );
  if (stretches.length > 0 && judged.length > 0) {
    geometry = refineGeometry(geometry, judged);
    whole = describeGeometry(geometry, judged);
    stretches = whole.bends.map((bend) => bend.stretch);
    held = holdAll(stretches);
  }
  return { whole, stretches, held, scale, places };
}

/** Offset less the model's, of every reading, left out or not. */
function modelResiduals(one: Prepared, held: Held, known: readonly BentStretch[]): Float64Array {
  const shapes = allStretches(known, held.elsewhere);
  const { coefficients } = solveHeld(held.fixed, shapes);
  const { index, columns } = atStations(held.fixed.design, shapes);
  return one.rows.y.map((y, i) => {
    const at = index.get(one.rows.x[i]!)!;
    return columns.reduce((left, column, p) => left - column[at]! * coefficients[p]!, y);
  });
}

function sameFlags(a: readonly boolean[], b: readonly boolean[]): boolean {
  return a.every((flag, i) => flag === b[i]);
}

/** The surveys with what is wrong decided: those readings off as by hand, every other kept. */
function keeping(prepared: readonly Prepared[], off: Doubt['off']): Prepared[] {
  return prepared.map((one, k) => ({
    ...one,
    handOff: off[k]!,
    pinned: off[k]!.map((flag) => !flag),
  }));
}

/** Every survey as a smooth curve through its readings. */
function smoothAll(
  model: LineModel,
  prepared: readonly Prepared[],
  off: Doubt['off'],
  scale: number,
): Held[] {
  const smooth = smoothModel(model, prepared, off, scale);
  const designs: Design[] = [];
  return prepared.map((one, k) => ({
    fixed: factorFixed(smooth, one.rows, off[k]!, scale, designs),
    off: off[k]!,
    elsewhere: [],
    misfit: 1,
  }));
}

/**
 * How far the model and the smooth curve may be from each other to be the same shape for the work, m: 1/8 in, two of the
 * sds a string reading is taken to have. With every zone's rotation by either inside the other's 2 u, what is said of zones holds.
 */
const AGREE = 0.0254 / 8;

/** The farthest that the model and the smooth curve are from each other at a reading kept, over all surveys, m. */
function farthestApart(prepared: readonly Prepared[], zoned: ModelFit, smooth: readonly Held[]): number {
  return Math.max(
    0,
    ...prepared.flatMap((one, i) => {
      const byModel = modelResiduals(one, zoned.held[i]!, zoned.stretches);
      const bySmooth = modelResiduals(one, smooth[i]!, NO_STRETCHES);
      return one.readings.map((_, k) => (smooth[i]!.off[k] ? 0 : Math.abs(byModel[k]! - bySmooth[k]!)));
    }),
  );
}

/** A zone with the rotation read off the smooth curve; what the model said otherwise is in its u. */
function asRead(zone: Zone, held: Held, stretches: readonly BentStretch[], j: number): Zone {
  const { coefficients } = solveHeld(held.fixed, NO_STRETCHES);
  const turns = smoothRotations(held.fixed.design, stretches);
  const rotation = turns.rows[j]!.reduce((sum, a, p) => sum + a * coefficients[p]!, 0);
  const u = Math.sqrt(turns.covariance[j]![j]!);
  return {
    ...zone,
    rotation,
    rotationU: hypot(Math.max(u, zone.rotationU), rotation - zone.rotation),
    radius: (zone.to - zone.from) / Math.abs(rotation),
  };
}
