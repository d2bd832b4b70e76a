import { medianGap } from '../../baseline/choose-baseline.ts';
import { log } from '../../maths/portable.ts';
import type { Qr } from '../../maths/qr.ts';
import {
  type AtOneScale,
  climb,
  factorOf,
  oneBack,
  oneMoreOff,
  overScales,
  readingScore,
  type Search,
  type Standing,
  searchAt,
  startingScales,
} from '../climb.ts';
import { type FixedFactor, type LineModel, weighted } from '../model.ts';
import { readingsLess, residualOf, shareLeft } from '../residuals.ts';
import { fitZones, type ZoneFit } from './fit.ts';
import { newZone, type Place, type ZoneShape, zoneColumn } from './shape.ts';

/** What the search settled on for the as-found survey. */
export interface FoundZones extends Standing {
  readonly fit: ZoneFit;
}

/** Log odds that a zone is there at all, before its place is considered (nats). */
const ZONE_LOG_PRIOR = -2;
/**
 * Which zones, and which readings are wrong: the set of highest posterior probability (Laplace's approximation,
 * that is BIC with the true prior widths), found by adding the best of a dictionary of candidates, taking away
 * what no longer earns its place, and exchanging, from more than one start. Zones and wrong readings compete in
 * the same search, so that a sharp bend is not thrown out as a blunder nor a blunder fitted by two zones.
 *
 * @param anchors diaphragms between the bearings
 * @param thorough false: a comparison with another model is all that is wanted
 */
export function searchZones(
  whole: AtOneScale,
  anchors: readonly number[],
  scatter: number,
  thorough: boolean,
): FoundZones {
  const places = placesFor(whole, anchors);
  return overScales<FoundZones>(
    whole,
    thorough ? startingScales(scatter) : [scatter],
    (scale, here) => {
      const search: ZoneSearch = { ...searchAt(whole, scale), places, thorough };
      return here
        ? climbZones(search, { zones: here.fit.zones, off: here.off })
        : firstClimb(search, anchors);
    },
    (found) => {
      const qr = withZones(found.fixed, found.fit.zones);
      return {
        residual: residualOf(found.fixed, qr),
        share: shareLeft(found.fixed, qr),
        unseen: 2 * found.fit.zones.length,
      };
    },
  );
}

interface ZoneSearch extends Search {
  readonly places: readonly Place[];
  readonly thorough: boolean;
}

/** From nothing, and from the textbook pattern where the blow and the diaphragms are known; the better of the two. */
function firstClimb(search: ZoneSearch, anchors: readonly number[]): FoundZones {
  const { model, impact, thorough } = search;
  const { off } = search.hand;
  const empty = climbZones(search, { zones: [], off });
  if (!thorough || impact === null || anchors.length === 0) return empty;
  const before = anchors.filter((a) => a < impact - 0.1).slice(-1);
  const after = anchors.filter((a) => a > impact + 0.1).slice(0, 1);
  const zones = [
    ...before.map((peak) => newZone(model, { peak, anchor: 'diaphragm' }, 0.2)),
    newZone(model, { peak: impact, anchor: 'impact' }, 0.2),
    ...after.map((peak) => newZone(model, { peak, anchor: 'diaphragm' }, 0.2)),
  ];
  const pattern = climbZones(search, { zones, off });
  return pattern.score > empty.score ? pattern : empty;
}

/** More zones than a girder struck twice on four diaphragms could show. */
const MOST_ZONES = 9;
/** Iterations that rank candidates; the chosen one is then refined to the end. */
const SCREENING = 3;

interface Guess {
  readonly zones: readonly ZoneShape[];
  readonly off: readonly boolean[];
}

function placesFor({ model, rows, impact }: AtOneScale, anchors: readonly number[]): Place[] {
  const span = model.to - model.from;
  const gap = Math.max(medianGap(Array.from(rows.x)), span / 200);
  const places: Place[] = [];
  for (const anchor of anchors) places.push({ peak: anchor, anchor: 'diaphragm' });
  if (impact !== null) places.push({ peak: impact, anchor: 'impact' });
  const count = Math.max(8, Math.round(span / gap));
  for (let i = 1; i < count; i++) places.push({ peak: model.from + (span * i) / count, anchor: 'none' });
  return places;
}

function assess(search: Search, { zones, off }: Guess, iterations?: number): FoundZones {
  const fixed = factorOf(search, off);
  const fit = fitZones([fixed], zones, iterations);
  return { fit, off, fixed, score: scoreOf(search, fit, off), scale: search.scale };
}

/** The best of some guesses if it beats `here`: ranked after a few iterations, then refined to the end. */
function bestOf(search: Search, here: FoundZones, guesses: readonly Guess[]): FoundZones | null {
  let best: FoundZones | null = null;
  for (const guess of guesses) {
    const trial = assess(search, guess, SCREENING);
    if (!best || trial.score > best.score) best = trial;
  }
  if (!best) return null;
  const refined = assess(search, { zones: best.fit.zones, off: best.off });
  return refined.score > here.score + 1e-6 ? refined : null;
}

function scoreOf(search: Search, fit: ZoneFit, off: readonly boolean[]): number {
  const { from, to } = search.model;
  let score = -fit.objective / 2 - fit.logDeterminant + fit.logPrior + readingScore(search, off);
  for (const zone of fit.zones) {
    score += ZONE_LOG_PRIOR;
    if (zone.anchor === 'none') score += log(Math.sqrt(2 * Math.PI) / (to - from));
  }
  return score;
}

function climbZones(search: ZoneSearch, start: Guess): FoundZones {
  const remove = (here: FoundZones) => bestRemoval(search, here);
  // After each step, whatever no longer earns its place.
  const tidied = (found: FoundZones | null) => found && climb(found, 6, [remove]);
  return climb(assess(search, start), 16, [
    (here) => tidied(bestAddition(search, here)),
    (here) => tidied(remove(here)),
    (here) => (search.thorough ? tidied(bestExchange(search, here)) : null),
  ]);
}

/** The fixed part continued with the zones' columns, geometry held. */
function withZones(fixed: FixedFactor, zones: readonly ZoneShape[]): Qr {
  const qr = fixed.qr.fork();
  for (const zone of zones) qr.push(weighted(fixed, zoneColumn(fixed.model, fixed.x, zone)));
  return qr;
}

function bestAddition(search: ZoneSearch, here: FoundZones): FoundZones | null {
  const { zones } = here.fit;
  const qr = withZones(here.fixed, zones);
  const fewer = oneMoreOff(search, here.off, {
    residual: residualOf(here.fixed, qr),
    share: shareLeft(here.fixed, qr),
  });
  const candidates = zones.length < MOST_ZONES ? zoneCandidates(search, here, 3) : [];
  return bestOf(search, here, [
    ...fewer.slice(0, 3).map(({ off }) => ({ zones, off })),
    ...candidates.map((zone) => ({ zones: [...zones, zone], off: here.off })),
  ]);
}

/** Zones that would take most off the residual at once, at most one a neighbourhood. */
function zoneCandidates(
  search: ZoneSearch,
  here: FoundZones,
  count: number,
  avoid: number | null = null,
): ZoneShape[] {
  const { model } = search;
  const { fixed } = here;
  const qr = withZones(fixed, here.fit.zones);
  const right = qr.apply(readingsLess(fixed, null));
  const ranked: { zone: ZoneShape; gain: number }[] = [];
  for (const place of search.places) {
    if (taken(here.fit.zones, place)) continue;
    if (avoid !== null && Math.abs(place.peak - avoid) < 1e-6) continue;
    if (!readable(fixed, here.off, place.peak)) continue;
    for (const side of [0.08, 0.25]) {
      const zone = newZone(model, place, side);
      const full = qr.apply(weighted(fixed, zoneColumn(model, fixed.x, zone)));
      let dot = 0;
      let size = 1 / model.rotationSd ** 2;
      for (let i = qr.rank; i < full.length; i++) {
        dot += full[i]! * right[i]!;
        size += full[i]! ** 2;
      }
      ranked.push({ zone, gain: (dot * dot) / size + (place.anchor === 'none' ? 0 : 4) });
    }
  }
  ranked.sort((a, b) => b.gain - a.gain);
  const chosen: ZoneShape[] = [];
  for (const { zone, gain } of ranked) {
    if (gain < 6) break;
    if (
      chosen.some(
        (other) => Math.abs(other.peak - zone.peak) < 0.1 * model.panel && other.anchor === zone.anchor,
      )
    )
      continue;
    chosen.push(zone);
    if (chosen.length === count) break;
  }
  return chosen;
}

/** A zone needs two stations beyond its peak on either side: nearer the end it cannot be told from a wrong reading. */
function readable(fixed: FixedFactor, off: readonly boolean[], peak: number): boolean {
  const before = new Set<number>();
  const after = new Set<number>();
  for (let i = 0; i < fixed.x.length; i++) {
    if (off[i]) continue;
    if (fixed.x[i]! < peak) before.add(fixed.x[i]!);
    if (fixed.x[i]! > peak) after.add(fixed.x[i]!);
  }
  return before.size >= 2 && after.size >= 2;
}

function taken(zones: readonly ZoneShape[], place: Place): boolean {
  return zones.some((zone) =>
    place.anchor === 'none'
      ? Math.abs(zone.peak - place.peak) < 1e-6
      : zone.anchor === place.anchor && zone.about === place.peak,
  );
}

/** The zone tied to a place (or let go there), its sides kept. */
function tiedTo(model: LineModel, zone: ZoneShape, { peak, anchor }: Place): ZoneShape {
  return { ...zone, peak, about: peak, anchor, patch: anchor === 'diaphragm' ? 0 : model.patch };
}

function bestRemoval(search: Search, here: FoundZones): FoundZones | null {
  const { zones } = here.fit;
  return bestOf(search, here, [
    ...zones.map((_, j) => ({ zones: zones.filter((_, k) => k !== j), off: here.off })),
    ...oneBack(search, here, shapeOf(here)).map((off) => ({ zones, off })),
  ]);
}

/** Deflection of the zones at the readings. */
function shapeOf({ fixed, fit }: FoundZones): Float64Array {
  const sum = new Float64Array(fixed.x.length);
  fit.zones.forEach((zone, j) => {
    const column = zoneColumn(fixed.model, fixed.x, zone);
    for (let i = 0; i < sum.length; i++) sum[i]! += fit.rotations[0]![j]! * column[i]!;
  });
  return sum;
}

/** Each zone in turn taken out and put back at the best other places; tied ones let go and free ones tied. */
function bestExchange(search: ZoneSearch, here: FoundZones): FoundZones | null {
  const guesses: Guess[] = [];
  here.fit.zones.forEach((zone, j) => {
    const others = here.fit.zones.filter((_, k) => k !== j);
    const room = zone.left + zone.right + 0.1 * search.model.panel;
    for (const place of search.places) {
      if (place.anchor === 'none' || Math.abs(place.peak - zone.peak) > room) continue;
      if ((zone.anchor === place.anchor && zone.about === place.peak) || taken(others, place)) continue;
      guesses.push({ zones: [...others, tiedTo(search.model, zone, place)], off: here.off });
    }
    if (zone.anchor !== 'none')
      guesses.push({
        zones: [...others, tiedTo(search.model, zone, { peak: zone.peak, anchor: 'none' })],
        off: here.off,
      });
    const without = assess(search, { zones: others, off: here.off }, 4);
    for (const candidate of zoneCandidates(search, without, 2, zone.peak))
      guesses.push({ zones: [...without.fit.zones, candidate], off: here.off });
  });
  return bestOf(search, here, guesses);
}
