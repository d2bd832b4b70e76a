import { hypot, log } from '../../maths/portable.ts';
import type { LineModel } from '../model.ts';
import type { ZoneShape } from './shape.ts';

/** Mean and sd of the log of each side's length, before the readings. */
export interface LengthPrior {
  readonly left: number;
  readonly right: number;
  readonly leftSd: number;
  readonly rightSd: number;
}

/** Scatter of log length even where statics settles it: load not quite a point, steel not quite the law. */
const STATICS_SD = 0.12;
/** The same where a second blow has left its own zones, whose moment diagram was another. */
const TWO_BLOWS_SD = 0.3;

/**
 * Statics ties a side's length to the distance D to the next support, blow or zone. Between them the moment is
 * linear, from m = 1 + over at the peak to −m′ there, and passes yield at D·over / (1 + over + m′): m′ is 0 at a
 * bearing, the neighbour's own peak moment where the steel yielded there (bent the other way), and unknown below
 * yield, 0.4 ± 0.4, at a diaphragm that held. Where diaphragms are not given D is a guess too.
 */
export function lengthPriors(model: LineModel, zones: readonly ZoneShape[]): LengthPrior[] {
  const blows = zones.filter((zone) => zone.anchor !== 'diaphragm').length;
  const base = model.nodesGiven && blows > 1 ? TWO_BLOWS_SD : STATICS_SD;
  return zones.map((zone, j) => {
    const left = sidePrior(model, zone, zones[j - 1] ?? null, -1, base);
    const right = sidePrior(model, zone, zones[j + 1] ?? null, 1, base);
    return { left: left.mean, leftSd: left.sd, right: right.mean, rightSd: right.sd };
  });
}

/** Nearer than this a support and a peak are one place, m. */
const SAME = 0.05;

function sidePrior(
  model: LineModel,
  zone: ZoneShape,
  neighbour: ZoneShape | null,
  side: -1 | 1,
  base: number,
): { mean: number; sd: number } {
  const { over } = zone;
  const { from, to } = model;
  const ahead = (station: number) => side * (station - zone.peak);
  const supports = model.nodesGiven ? model.nodes.stations : [from, to];
  const [first, last] = [supports[0], supports.at(-1)];
  let support = Number.POSITIVE_INFINITY;
  let bearing = false;
  for (const s of supports) {
    const d = ahead(s);
    if (d > SAME && d < support) {
      support = d;
      bearing = s === first || s === last;
    }
  }
  const gap = neighbour ? Math.max(SAME, ahead(neighbour.peak)) : Number.POSITIVE_INFINITY;
  if (neighbour && gap <= support + SAME) {
    if (neighbour.sign * zone.sign > 0) return { mean: log(gap / 2), sd: 0.6 };
    if (model.nodesGiven || gap < 1.5 * model.panel)
      return { mean: log((gap * over) / (2 + over + neighbour.over)), sd: base };
  }
  if (!Number.isFinite(support)) support = model.panel;
  if (!model.nodesGiven && support > model.panel)
    return { mean: log((model.panel * over) / (1.4 + over)), sd: 0.5 };
  const far = bearing ? 0 : 0.4;
  const farSd = bearing ? 0 : 0.4 / (1.4 + over);
  return { mean: log((support * over) / (1 + far + over)), sd: hypot(base, farSd) };
}
