import type { PanelSurvey } from '../analysis.ts';
import type { Member } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { hypot } from '../maths/portable.ts';
import { creaseLines, mainBend, type Place } from '../panels/crease-lines.ts';
import { certainlyYielded, sideAt, yieldedOf } from '../panels/yielded.ts';
import type { BulgeLimits } from './heat-limits.ts';

/** A heat that can be made on a bulge. Lengths in m. */
export interface PanelHeat {
  /** `L1`, `S4`: numbered along the panel from the as-found map, so that a name stays with its place. */
  readonly name: string;
  readonly pattern: 'line' | 'spot';
  /** The one place of a spot; a line's ends and corners. */
  readonly path: readonly Place[];
  /** Of a line; 0 of a spot. */
  readonly length: number;
  /** The face the bend makes proud there: the one to heat, since the heated face shrinks as it cools (common practice, no source). */
  readonly face: 'positive' | 'negative';
  /** Bending strain over yield strain there by the last survey, and as found. */
  readonly left: number;
  readonly found: number;
}

export interface PanelHeats {
  /** Every place for a heat that the as-found map gives, sharpest lines first. */
  readonly places: readonly PanelHeat[];
  /** Those of them where most of the bend is left, no more than a cycle may have. */
  readonly next: readonly PanelHeat[];
}

type Stated = { readonly [K in keyof BulgeLimits]: NonNullable<BulgeLimits[K]> };

/** Names of the limits that are not stated, as they stand in job.json. */
export function missingLimits(limits: BulgeLimits): string[] {
  return (Object.keys(limits) as (keyof BulgeLimits)[]).filter((name) => limits[name] === null);
}

/** The limits where all are stated. */
export function statedLimits(limits: BulgeLimits): Stated | null {
  return missingLimits(limits).length === 0 ? (limits as Stated) : null;
}

/**
 * Line heats along the creases and spot heats on the dome of a bulge, inside the stated limits. Only steel that the
 * as-found map shows past yield for certain is heated (only the neighbourhood of plastically deformed zones is: Avent and
 * Mukai, first page); of that, what is still bent by the last map. Spots stand on a triangular net from the crest, clear of
 * lines and of what was not read: a tear may run up to the next place that was.
 *
 * @param spacing between readings, m
 */
export function panelHeats(
  found: PanelSurvey,
  now: PanelSurvey,
  thickness: number,
  member: Pick<Member, 'yieldStress' | 'elasticModulus'>,
  limits: Stated,
  spacing: number,
): PanelHeats {
  const { map } = found;
  const before = yieldedOf(found, thickness, member.yieldStress, member.elasticModulus);
  const after = yieldedOf(now, thickness, member.yieldStress, member.elasticModulus);
  const past = certainlyYielded(found, before);
  const [spotGap, lineGap] = [limits.spotSpacing.value, limits.lineSpacing.value];
  const [stepX, stepY] = [(map.to - map.from) / (map.columns - 1), (map.high - map.low) / (map.rows - 1)];
  const placeOf = (i: number): Place => ({
    station: map.from + (i % map.columns) * stepX,
    height: map.low + Math.floor(i / map.columns) * stepY,
  });
  const blind = map.seen.flatMap((seen, i) => (seen ? [] : [placeOf(i)]));
  const clear = (place: Place, of: readonly Place[], by: number) =>
    of.every((each) => hypot(each.station - place.station, each.height - place.height) >= by);
  const lines = creaseLines(
    found,
    past.map((is, i) => is && before.crease[i]! && clear(placeOf(i), blind, spacing)),
    lineGap,
  );
  const nodeOf = ({ station, height }: Place): number => {
    const [c, r] = [Math.round((station - map.from) / stepX), Math.round((height - map.low) / stepY)];
    return c < 0 || r < 0 || c >= map.columns || r >= map.rows ? -1 : r * map.columns + c;
  };
  // One line heat is one straight piece: a crew chalks and heats along a rule, and a ring is never heated whole.
  const pieces = lines
    .flatMap(({ path, sign }) => path.slice(1).map((to, i) => ({ from: path[i]!, to, sign })))
    .filter(({ from, to }) => hypot(to.station - from.station, to.height - from.height) >= lineGap / 2);
  const places: PanelHeat[] = pieces.map(({ from, to, sign }, k): PanelHeat => {
    const along = Array.from({ length: 9 }, (_, i) => ({
      station: from.station + (i / 8) * (to.station - from.station),
      height: from.height + (i / 8) * (to.height - from.height),
    }));
    const mean = (of: readonly number[]) => along.reduce((sum, p) => sum + of[nodeOf(p)]!, 0) / along.length;
    return {
      name: `L${k + 1}`,
      pattern: 'line',
      path: [from, to],
      length: hypot(to.station - from.station, to.height - from.height),
      face: sign > 0 ? 'negative' : 'positive',
      left: mean(after.ratio),
      found: mean(before.ratio),
    };
  });
  const chalk = lines.flatMap((line) => line.nodes.map(placeOf));
  const spots = triangularNet(found, spotGap)
    .filter((place) => {
      const node = nodeOf(place);
      return (
        node >= 0 &&
        past[node]! &&
        // The foot of the bulge is the lines' business, however wide it is.
        mainBend(found.bending[node]!).curvature * sideAt(found, node) <= 0 &&
        clear(place, chalk, spotGap) &&
        clear(place, blind, Math.max(spacing, spotGap / 2))
      );
    })
    .sort((a, b) => a.height - b.height || a.station - b.station);
  spots.forEach((place, k) => {
    const node = nodeOf(place);
    places.push({
      name: `S${k + 1}`,
      pattern: 'spot',
      path: [place],
      length: 0,
      face: mainBend(found.bending[node]!).curvature > 0 ? 'negative' : 'positive',
      left: after.ratio[node]!,
      found: before.ratio[node]!,
    });
  });
  const middle = ({ path }: PanelHeat): Place => {
    const [a, b] = [path[0]!, path.at(-1)!];
    return { station: (a.station + b.station) / 2, height: (a.height + b.height) / 2 };
  };
  const next: PanelHeat[] = [];
  for (const [pattern, count, gap] of [
    ['line', limits.linesPerCycle.value, lineGap],
    ['spot', limits.spotsPerCycle.value, spotGap],
  ] as const) {
    const best = places
      .filter(
        (heat) => heat.pattern === pattern && heat.left > MEASURED.factor * after.u[nodeOf(middle(heat))]!,
      )
      .sort((a, b) => b.left - a.left || a.name.localeCompare(b.name));
    const chosen: PanelHeat[] = [];
    for (const heat of best) {
      if (chosen.length === count) break;
      if (chosen.every((other) => apartBy(other, heat) >= gap - 1e-9)) chosen.push(heat);
    }
    next.push(...chosen);
  }
  return { places, next };
}

/** Least distance between two heats, looked at in steps along each, m. */
function apartBy(a: PanelHeat, b: PanelHeat): number {
  const stops = ({ path }: PanelHeat) =>
    path.length === 1
      ? path
      : Array.from({ length: 13 }, (_, i) => ({
          station: path[0]!.station + (i / 12) * (path[1]!.station - path[0]!.station),
          height: path[0]!.height + (i / 12) * (path[1]!.height - path[0]!.height),
        }));
  return Math.min(
    ...stops(a).flatMap((p) => stops(b).map((q) => hypot(p.station - q.station, p.height - q.height))),
  );
}

/** Places a distance apart from each neighbour, the crest one of them, over the panel. */
function triangularNet({ map, crest }: PanelSurvey, apart: number): Place[] {
  const rise = (apart * Math.sqrt(3)) / 2;
  const places: Place[] = [];
  const [down, upward] = [
    Math.ceil((crest.height - map.low) / rise),
    Math.ceil((map.high - crest.height) / rise),
  ];
  const across = Math.ceil((map.to - map.from) / apart) + 1;
  for (let j = -down; j <= upward; j++)
    for (let i = -across; i <= across; i++)
      places.push({
        station: crest.station + (i + (j % 2 === 0 ? 0 : 0.5)) * apart,
        height: crest.height + j * rise,
      });
  return places;
}
