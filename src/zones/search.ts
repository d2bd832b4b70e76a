import type { Qr } from '../maths/qr.ts';
import { type FixedFactor, factorFixed, type LineModel, type Rows, zoneColumn } from './model.ts';
import { refine, type ZoneFit } from './refine.ts';
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
/** Log density of a wrong reading: one in fifty goes wrong, anywhere within a metre. */
const WRONG_SHARE = 0.02;
const WRONG_RANGE = 1;

/** Log posterior that calling a reading wrong costs (negative), against a residual of 0: about −9.4 at 1/16 in, 4.3 sd. */
export function logWrong(sd: number): number {
  return Math.log(WRONG_SHARE / WRONG_RANGE) + Math.log(sd * Math.sqrt(2 * Math.PI));
}

/**
 * Which zones, and which readings are wrong: the set of highest posterior probability (Laplace's approximation,
 * that is BIC with the true prior widths), found by adding the best of a dictionary of candidates, taking away
 * what no longer earns its place, and exchanging, from more than one start. Zones and wrong readings compete in
 * the same search, so that a sharp bend is not thrown out as a blunder nor a blunder fitted by two zones.
 */
export function searchZones(
  model: LineModel,
  rows: Rows,
  hints: { readonly impact: number | null; readonly anchors: readonly number[] },
  /** Rows set aside by hand, and rows reinstated by hand (never set aside here). */
  hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] },
  scaleStart: number,
  priorFreedom: number,
): Found {
  let scale = scaleStart;
  let best: Found | null = null;
  for (let round = 0; round < 3; round++) {
    const search = createSearch(model, rows, hints, hand, scale);
    best = climb(
      search,
      best ? { zones: best.fit.zones, off: best.off } : { zones: [], off: hand.off.slice() },
    );
    const next = estimateScale(best, rows, scale, priorFreedom);
    if (Math.abs(Math.log(next / scale)) < 0.1) break;
    scale = next;
  }
  return best!;
}

interface Search {
  readonly model: LineModel;
  readonly rows: Rows;
  readonly scale: number;
  readonly handOff: readonly boolean[];
  readonly pinned: readonly boolean[];
  readonly places: readonly {
    readonly peak: number;
    readonly anchored: boolean;
    readonly logPrior: number;
  }[];
}

interface Guess {
  readonly zones: readonly ZoneShape[];
  readonly off: readonly boolean[];
}

function createSearch(
  model: LineModel,
  rows: Rows,
  hints: { readonly impact: number | null; readonly anchors: readonly number[] },
  hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] },
  scale: number,
): Search {
  const span = model.to - model.from;
  const sorted = Array.from(new Set(rows.x)).sort((a, b) => a - b);
  const gap = Math.max(medianGap(sorted), span / 200);
  const places: { peak: number; anchored: boolean; logPrior: number }[] = [];
  for (const anchor of hints.anchors) places.push({ peak: anchor, anchored: true, logPrior: 0 });
  if (hints.impact !== null) places.push({ peak: hints.impact, anchored: false, logPrior: 0 });
  const count = Math.max(8, Math.round(span / gap));
  for (let i = 1; i < count; i++)
    places.push({ peak: model.from + (span * i) / count, anchored: false, logPrior: 0 });
  return { model, rows, scale, handOff: hand.off, pinned: hand.pinned, places };
}

function medianGap(sorted: readonly number[]): number {
  const gaps = sorted.slice(1).map((s, i) => s - sorted[i]!);
  gaps.sort((a, b) => a - b);
  return gaps[Math.floor(gaps.length / 2)] ?? 0;
}

function assess(search: Search, guess: Guess, iterations?: number): Found {
  const fixed = factorFixed(search.model, search.rows, guess.off, search.scale);
  const fit = refine([fixed], guess.zones, iterations);
  return { fit, off: guess.off, fixed, score: scoreOf(search, fit, guess.off), scale: search.scale };
}

function scoreOf(search: Search, fit: ZoneFit, off: readonly boolean[]): number {
  const { rows, scale, model, handOff } = search;
  let score = -fit.objective / 2 - fit.logDeterminant + fit.logPrior;
  for (let i = 0; i < off.length; i++) {
    if (handOff[i]) continue;
    if (off[i]) score += Math.log(WRONG_SHARE / WRONG_RANGE);
    else score -= Math.log(rows.sd[i]! * scale * Math.sqrt(2 * Math.PI));
  }
  for (const zone of fit.zones) {
    score += ZONE_LOG_PRIOR;
    if (!zone.anchored) score += Math.log(Math.sqrt(2 * Math.PI) / (model.to - model.from));
  }
  return score;
}

function climb(search: Search, start: Guess): Found {
  let here = assess(search, start);
  for (let pass = 0; pass < 24; pass++) {
    const better = bestAddition(search, here) ?? bestRemoval(search, here) ?? bestExchange(search, here);
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
export function withZones(fixed: FixedFactor, zones: readonly ZoneShape[]): Qr {
  const qr = fixed.qr.fork();
  for (const zone of zones) qr.push(weighted(fixed, zoneColumn(fixed.model, fixed.x, zone)));
  return qr;
}

/** A column over the readings as the factor takes it: weighted, zero in the prior rows. */
export function weighted(fixed: FixedFactor, column: ArrayLike<number>): Float64Array {
  const full = new Float64Array(fixed.rows);
  for (let i = 0; i < column.length; i++) full[i] = column[i]! * fixed.weight[i]!;
  return full;
}

/** Weighted residuals of the readings and the share of each reading's own variance left in its residual. */
export function residualsOf(fixed: FixedFactor, qr: Qr): { residual: Float64Array; freedom: Float64Array } {
  const n = fixed.x.length;
  const residual = qr.apply(fixed.qr.applyInverse(fixed.right.slice()));
  residual.fill(0, 0, qr.rank);
  qr.applyInverse(residual);
  const freedom = new Float64Array(n).fill(1);
  const unit = new Float64Array(fixed.rows);
  for (let k = 0; k < qr.rank; k++) {
    unit.fill(0);
    unit[k] = 1;
    qr.applyInverse(unit);
    for (let i = 0; i < n; i++) freedom[i]! -= unit[i]! ** 2;
  }
  return { residual: residual.slice(0, n), freedom };
}

function bestAddition(search: Search, here: Found): Found | null {
  const { residual, freedom } = residualsOf(here.fixed, withZones(here.fixed, here.fit.zones));
  let best: Found | null = null;
  const consider = (guess: Guess) => {
    const trial = assess(search, guess);
    if (trial.score > (best ?? here).score + 1e-6) best = trial;
  };

  const wrong = Array.from(residual, (r, i) => ({ i, gain: freedom[i]! > 0.02 ? r ** 2 / freedom[i]! : 0 }))
    .filter(({ i, gain }) => !here.off[i] && !search.pinned[i] && gain > 9)
    .sort((a, b) => b.gain - a.gain)
    .slice(0, 3);
  for (const { i } of wrong)
    consider({ zones: here.fit.zones, off: here.off.map((value, j) => value || j === i) });

  for (const zone of zoneCandidates(search, here, 3))
    consider({ zones: [...here.fit.zones, zone], off: here.off });
  return best;
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
  const over = momentAt(10) - 1;
  for (const place of search.places) {
    if (taken(here.fit.zones, place.peak)) continue;
    if (avoid !== null && Math.abs(place.peak - avoid) < 1e-6) continue;
    if (!readable(fixed, here.off, place.peak)) continue;
    for (const side of [0.08, 0.25]) {
      const half = side * model.guessPanel;
      const zone: ZoneShape = { peak: place.peak, left: half, right: half, over, anchored: place.anchored };
      const full = qr.apply(weighted(fixed, zoneColumn(model, fixed.x, zone)));
      let dot = 0;
      let size = 1 / model.rotationSd ** 2;
      for (let i = qr.rank; i < full.length; i++) {
        dot += full[i]! * right[i]!;
        size += full[i]! ** 2;
      }
      ranked.push({ zone, gain: (dot * dot) / size + (place.anchored ? 4 : 0) });
    }
  }
  ranked.sort((a, b) => b.gain - a.gain);
  const chosen: ZoneShape[] = [];
  for (const { zone, gain } of ranked) {
    if (gain < 6) break;
    if (
      chosen.some(
        (other) =>
          Math.abs(other.peak - zone.peak) < 0.1 * model.guessPanel && other.anchored === zone.anchored,
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

function taken(zones: readonly ZoneShape[], peak: number): boolean {
  return zones.some((zone) => Math.abs(zone.peak - peak) < 1e-6);
}

function bestRemoval(search: Search, here: Found): Found | null {
  let best: Found | null = null;
  const consider = (guess: Guess) => {
    const trial = assess(search, guess);
    if (trial.score > (best ?? here).score + 1e-6) best = trial;
  };
  here.fit.zones.forEach((_, j) => {
    consider({ zones: here.fit.zones.filter((_, k) => k !== j), off: here.off });
  });
  here.off.forEach((value, i) => {
    if (value && !search.handOff[i])
      consider({ zones: here.fit.zones, off: here.off.map((v, k) => (k === i ? false : v)) });
  });
  return best;
}

/** Each zone in turn taken out and put back at the best other places; anchored ones freed and free ones anchored. */
function bestExchange(search: Search, here: Found): Found | null {
  let best: Found | null = null;
  const consider = (guess: Guess) => {
    const trial = assess(search, guess);
    if (trial.score > (best ?? here).score + 1e-6) best = trial;
  };
  here.fit.zones.forEach((zone, j) => {
    const others = here.fit.zones.filter((_, k) => k !== j);
    for (const place of search.places) {
      if (
        !place.anchored ||
        Math.abs(place.peak - zone.peak) > zone.left + zone.right + 0.1 * search.model.guessPanel
      )
        continue;
      if (zone.anchored || taken(others, place.peak)) continue;
      consider({ zones: [...others, { ...zone, peak: place.peak, anchored: true }], off: here.off });
    }
    if (zone.anchored) consider({ zones: [...others, { ...zone, anchored: false }], off: here.off });
    const without = assess(search, { zones: others, off: here.off }, 4);
    for (const candidate of zoneCandidates(search, without, 2, zone.peak))
      consider({ zones: [...without.fit.zones, candidate], off: here.off });
  });
  return best;
}

/** Scale of the reading sd after the fit, pulled toward the stated sd by `priorFreedom` degrees of freedom. */
function estimateScale(found: Found, rows: Rows, scale: number, priorFreedom: number): number {
  const { residual, freedom } = residualsOf(found.fixed, withZones(found.fixed, found.fit.zones));
  let sum = 0;
  let left = 0;
  for (let i = 0; i < rows.x.length; i++) {
    if (found.off[i]) continue;
    sum += residual[i]! ** 2;
    left += freedom[i]!;
  }
  left = Math.max(0, left - 2 * found.fit.zones.length);
  return Math.sqrt((priorFreedom + sum * scale * scale) / (priorFreedom + left));
}
