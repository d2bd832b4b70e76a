import { exp, log } from '../maths/portable.ts';
import type { Qr } from '../maths/qr.ts';
import { type FixedFactor, factorFixed, type LineModel, type Rows, zoneColumn } from './model.ts';
import { likeliestLogScale, logScalePrior, logWrong, tooMany } from './reading-prior.ts';
import { refine, type ZoneFit } from './refine.ts';
import { residualsOf, weighted } from './residuals.ts';
import { momentAt } from './yielding.ts';
import type { ZoneShape } from './zone-shape.ts';

/** What the search settled on for one survey. */
export interface Found {
  readonly fit: ZoneFit;
  readonly off: readonly boolean[];
  readonly fixed: FixedFactor;
  readonly score: number;
  /** Reading sd over the stated one. */
  readonly scale: number;
}

/** Log odds that a zone is there at all, before its place is considered (nats). */
const ZONE_LOG_PRIOR = -2;
/**
 * Which zones, and which readings are wrong: the set of highest posterior probability (Laplace's approximation,
 * that is BIC with the true prior widths), found by adding the best of a dictionary of candidates, taking away
 * what no longer earns its place, and exchanging, from more than one start. Zones and wrong readings compete in
 * the same search, so that a sharp bend is not thrown out as a blunder nor a blunder fitted by two zones.
 */
export function searchZones(
  model: LineModel,
  rows: Rows,
  hints: Hints,
  /** Rows set aside by hand, and rows reinstated by hand (never set aside here). */
  hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] },
  scaleStart: number,
  freedom: number,
  thorough = true,
): Found {
  const starts = thorough && scaleStart > 1.25 ? [1, scaleStart] : [scaleStart];
  let best: Found | null = null;
  for (const start of starts) {
    let scale = start;
    let here: Found | null = null;
    for (let round = 0; round < 4; round++) {
      const search = createSearch(model, rows, hints, hand, scale, freedom, thorough);
      here = here
        ? climb(search, { zones: here.fit.zones, off: here.off })
        : firstClimb(search, hints, hand.off);
      const next = likeliestScale(here, rows, scale, freedom);
      if (Math.abs(log(next / scale)) < 0.05) break;
      scale = next;
    }
    if (here && (!best || here.score > best.score)) best = here;
  }
  return best!;
}

/** From nothing, and from the textbook pattern where the blow and the diaphragms are known; the better of the two. */
function firstClimb(search: Search, hints: Hints, off: readonly boolean[]): Found {
  const empty = climb(search, { zones: [], off });
  const { impact, anchors } = hints;
  if (!search.thorough || impact === null || anchors.length === 0) return empty;
  const before = anchors.filter((a) => a < impact - 0.1).slice(-1);
  const after = anchors.filter((a) => a > impact + 0.1).slice(0, 1);
  const zones = [
    ...before.map((peak) => newZone(search.model, { peak, hold: 'diaphragm' }, 0.2)),
    newZone(search.model, { peak: impact, hold: 'impact' }, 0.2),
    ...after.map((peak) => newZone(search.model, { peak, hold: 'diaphragm' }, 0.2)),
  ];
  const pattern = climb(search, { zones, off });
  return pattern.score > empty.score ? pattern : empty;
}

export interface Hints {
  /** Stated station of the blow. */
  readonly impact: number | null;
  /** Diaphragms between the bearings. */
  readonly anchors: readonly number[];
}

interface Place {
  readonly peak: number;
  readonly hold: ZoneShape['hold'];
}

interface Search {
  readonly model: LineModel;
  readonly rows: Rows;
  readonly scale: number;
  readonly handOff: readonly boolean[];
  readonly pinned: readonly boolean[];
  readonly factors: Map<string, FixedFactor>;
  /** False: a start for another model is all that is wanted. */
  readonly thorough: boolean;
  /** Degrees of freedom behind the stated reading sd. */
  readonly freedom: number;
  readonly places: readonly Place[];
}

/** More zones than a girder struck twice on four diaphragms could show. */
const MOST_ZONES = 9;
/** Iterations that rank candidates; the chosen one is then refined to the end. */
const SCREENING = 3;

interface Guess {
  readonly zones: readonly ZoneShape[];
  readonly off: readonly boolean[];
}

function createSearch(
  model: LineModel,
  rows: Rows,
  hints: Hints,
  hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] },
  scale: number,
  freedom: number,
  thorough: boolean,
): Search {
  const span = model.to - model.from;
  const sorted = Array.from(new Set(rows.x)).sort((a, b) => a - b);
  const gap = Math.max(medianGap(sorted), span / 200);
  const places: Place[] = [];
  for (const anchor of hints.anchors) places.push({ peak: anchor, hold: 'diaphragm' });
  if (hints.impact !== null) places.push({ peak: hints.impact, hold: 'impact' });
  const count = Math.max(8, Math.round(span / gap));
  for (let i = 1; i < count; i++) places.push({ peak: model.from + (span * i) / count, hold: 'none' });
  return {
    model,
    rows,
    scale,
    handOff: hand.off,
    pinned: hand.pinned,
    factors: new Map(),
    thorough,
    freedom,
    places,
  };
}

function medianGap(sorted: readonly number[]): number {
  const gaps = sorted.slice(1).map((s, i) => s - sorted[i]!);
  gaps.sort((a, b) => a - b);
  return gaps[Math.floor(gaps.length / 2)] ?? 0;
}

function assess(search: Search, guess: Guess, iterations?: number): Found {
  const key = guess.off
    .map((value, i) => (value ? i : -1))
    .filter((i) => i >= 0)
    .join();
  let fixed = search.factors.get(key);
  if (!fixed) {
    fixed = factorFixed(search.model, search.rows, guess.off, search.scale);
    search.factors.set(key, fixed);
  }
  const fit = refine([fixed], guess.zones, iterations);
  return { fit, off: guess.off, fixed, score: scoreOf(search, fit, guess.off), scale: search.scale };
}

/** The best of some guesses if it beats `here`: ranked after a few iterations, then refined to the end. */
function bestOf(search: Search, here: Found, guesses: readonly Guess[]): Found | null {
  let best: Found | null = null;
  for (const guess of guesses) {
    const trial = assess(search, guess, SCREENING);
    if (!best || trial.score > best.score) best = trial;
  }
  if (!best) return null;
  const refined = assess(search, { zones: best.fit.zones, off: best.off });
  return refined.score > here.score + 1e-6 ? refined : null;
}

function scoreOf(search: Search, fit: ZoneFit, off: readonly boolean[]): number {
  const { rows, scale, model, handOff } = search;
  let score = -fit.objective / 2 - fit.logDeterminant + fit.logPrior + logScalePrior(scale, search.freedom);
  for (let i = 0; i < off.length; i++) {
    if (handOff[i]) continue;
    score -= log(rows.sd[i]! * scale * Math.sqrt(2 * Math.PI));
    if (off[i]) score += logWrong(rows.sd[i]! * scale);
  }
  for (const zone of fit.zones) {
    score += ZONE_LOG_PRIOR;
    if (zone.hold === 'none') score += log(Math.sqrt(2 * Math.PI) / (model.to - model.from));
  }
  return score;
}

function climb(search: Search, start: Guess): Found {
  let here = assess(search, start);
  for (let pass = 0; pass < 16; pass++) {
    const better =
      bestAddition(search, here) ??
      bestRemoval(search, here) ??
      (search.thorough ? bestExchange(search, here) : null);
    if (!better) break;
    here = better;
    for (let again = 0; again < 6; again++) {
      const fewer = bestRemoval(search, here);
      if (!fewer) break;
      here = fewer;
    }
  }
  return here;
}

/** The fixed part continued with the zones' columns, geometry held. */
function withZones(fixed: FixedFactor, zones: readonly ZoneShape[]): Qr {
  const qr = fixed.qr.fork();
  for (const zone of zones) qr.push(weighted(fixed, zoneColumn(fixed.model, fixed.x, zone)));
  return qr;
}

function bestAddition(search: Search, here: Found): Found | null {
  const { residual, freedom } = residualsOf(here.fixed, withZones(here.fixed, here.fit.zones));
  const guesses: Guess[] = [];
  const enough = tooMany(search.handOff, here.off);
  const wrong = Array.from(residual, (r, i) => ({ i, gain: freedom[i]! > 0.02 ? r ** 2 / freedom[i]! : 0 }))
    .filter(({ i, gain }) => !enough && !here.off[i] && !search.pinned[i] && gain > 9)
    .sort((a, b) => b.gain - a.gain)
    .slice(0, 3);
  for (const { i } of wrong)
    guesses.push({ zones: here.fit.zones, off: here.off.map((value, j) => value || j === i) });
  const candidates = here.fit.zones.length < MOST_ZONES ? zoneCandidates(search, here, 3) : [];
  for (const zone of candidates) guesses.push({ zones: [...here.fit.zones, zone], off: here.off });
  return bestOf(search, here, guesses);
}

/** Zones that would take most off the residual at once, at most one a neighbourhood. */
function zoneCandidates(
  search: Search,
  here: Found,
  count: number,
  avoid: number | null = null,
): ZoneShape[] {
  const { model } = search;
  const { fixed } = here;
  const qr = withZones(fixed, here.fit.zones);
  const right = qr.apply(fixed.qr.applyInverse(fixed.right.slice()));
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
      ranked.push({ zone, gain: (dot * dot) / size + (place.hold === 'none' ? 0 : 4) });
    }
  }
  ranked.sort((a, b) => b.gain - a.gain);
  const chosen: ZoneShape[] = [];
  for (const { zone, gain } of ranked) {
    if (gain < 6) break;
    if (
      chosen.some(
        (other) => Math.abs(other.peak - zone.peak) < 0.1 * model.guessPanel && other.hold === zone.hold,
      )
    )
      continue;
    chosen.push(zone);
    if (chosen.length === count) break;
  }
  return chosen;
}

/** A zone of ten times yield strain to start from, its sides a share of a panel. */
export function newZone(model: LineModel, place: Place, share: number): ZoneShape {
  const side = share * model.guessPanel;
  return {
    peak: place.peak,
    left: side,
    right: side,
    over: momentAt(10) - 1,
    patch: place.hold === 'diaphragm' ? 0 : model.patch,
    hold: place.hold,
    about: place.peak,
    sign: 0,
    steel: model.steel,
  };
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
    place.hold === 'none'
      ? Math.abs(zone.peak - place.peak) < 1e-6
      : zone.hold === place.hold && zone.about === place.peak,
  );
}

/** The zone held (or let go) at a place, its sides kept. */
function held(model: LineModel, zone: ZoneShape, { peak, hold }: Place): ZoneShape {
  return { ...zone, peak, about: peak, hold, patch: hold === 'diaphragm' ? 0 : model.patch };
}

function bestRemoval(search: Search, here: Found): Found | null {
  const guesses: Guess[] = [];
  here.fit.zones.forEach((_, j) => {
    guesses.push({ zones: here.fit.zones.filter((_, k) => k !== j), off: here.off });
  });
  here.off.forEach((value, i) => {
    if (value && !search.handOff[i])
      guesses.push({ zones: here.fit.zones, off: here.off.map((v, k) => (k === i ? false : v)) });
  });
  return bestOf(search, here, guesses);
}

/** Each zone in turn taken out and put back at the best other places; held ones let go and free ones held. */
function bestExchange(search: Search, here: Found): Found | null {
  const guesses: Guess[] = [];
  here.fit.zones.forEach((zone, j) => {
    const others = here.fit.zones.filter((_, k) => k !== j);
    const room = zone.left + zone.right + 0.1 * search.model.guessPanel;
    for (const place of search.places) {
      if (place.hold === 'none' || Math.abs(place.peak - zone.peak) > room) continue;
      if ((zone.hold === place.hold && zone.about === place.peak) || taken(others, place)) continue;
      guesses.push({ zones: [...others, held(search.model, zone, place)], off: here.off });
    }
    if (zone.hold !== 'none')
      guesses.push({
        zones: [...others, held(search.model, zone, { peak: zone.peak, hold: 'none' })],
        off: here.off,
      });
    const without = assess(search, { zones: others, off: here.off }, 4);
    for (const candidate of zoneCandidates(search, without, 2, zone.peak))
      guesses.push({ zones: [...without.fit.zones, candidate], off: here.off });
  });
  return bestOf(search, here, guesses);
}

/** Scale of the reading sd that the residuals and the stated sd make likeliest together. */
function likeliestScale(found: Found, rows: Rows, scale: number, freedom: number): number {
  const { residual, freedom: left } = residualsOf(found.fixed, withZones(found.fixed, found.fit.zones));
  let sum = 0;
  let n = 0;
  for (let i = 0; i < rows.x.length; i++) {
    if (found.off[i]) continue;
    sum += (residual[i]! * scale) ** 2;
    n += left[i]!;
  }
  n = Math.max(0, n - 2 * found.fit.zones.length);
  return Math.max(0.2, exp(likeliestLogScale(sum, n, freedom)));
}
