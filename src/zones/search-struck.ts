import { exp, log } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';
import { type FixedFactor, factorFixed, type LineModel, leftOver, type Rows } from './model.ts';
import { likeliestLogScale, logScalePrior, logWrong, tooMany } from './reading-prior.ts';
import type { Blow, StruckState } from './struck-beam.ts';
import { fitStruck, type StruckFit, scoreOfStruck } from './struck-fit.ts';
import {
  type BlowHints,
  deflectionOf,
  parametersOf,
  stateDeflection,
  stateSlopes,
  usualPush,
  usualSoftness,
} from './struck-shape.ts';

/** What the search settled on for the as-found survey. */
export interface FoundStruck {
  readonly fit: StruckFit | null;
  readonly hints: BlowHints;
  readonly state: StruckState;
  readonly fixed: FixedFactor;
  readonly off: readonly boolean[];
  readonly score: number;
  readonly scale: number;
}

interface Search {
  readonly model: LineModel;
  readonly rows: Rows;
  readonly impact: number | null;
  readonly hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] };
  readonly scale: number;
  readonly freedom: number;
  readonly factors: Map<string, FixedFactor>;
}

function straightOf(model: LineModel): StruckState {
  return {
    blows: [],
    softness: usualSoftness(model),
    uneven: model.nodes.stations.slice(1, -1).map(() => 0),
    hardening: 0.008,
  };
}

/**
 * No blow, one or two, and which readings are wrong: the most probable combination (Laplace's approximation), found
 * by taking at each step whatever explains most: another wrong reading, or another blow. From one and from two
 * starting guesses of the reading sd, so that blunders cannot hide behind a scatter they made themselves.
 */
export function searchStruck(
  model: LineModel,
  rows: Rows,
  impact: number | null,
  hand: Search['hand'],
  scaleStart: number,
  freedom: number,
  from?: { readonly hints: BlowHints; readonly state: StruckState; readonly off: readonly boolean[] },
): FoundStruck {
  let best: FoundStruck | null = null;
  let known: { hints: BlowHints; state: StruckState; off: readonly boolean[] } = from ?? {
    hints: [],
    state: straightOf(model),
    off: hand.off,
  };
  for (const start of scaleStart > 1.25 && !from ? [1, scaleStart] : [scaleStart]) {
    let scale = start;
    let here: FoundStruck | null = null;
    for (let round = 0; round < 4; round++) {
      const search: Search = { model, rows, impact, hand, scale, freedom, factors: new Map() };
      // The second start keeps the blows of the first and looks at every reading again.
      const start: FoundStruck = here
        ? assess(search, here.hints, here.state, here.off, 8)
        : assess(search, known.hints, known.state, known.off);
      here = climb(search, start, round > 0);
      const next = nextScale(search, here);
      if (Math.abs(log(next / scale)) < 0.05) break;
      scale = next;
    }
    if (here && (!best || here.score > best.score)) best = here;
    if (best) known = { hints: best.hints, state: best.state, off: hand.off };
  }
  return best!;
}

function factorOf(search: Search, off: readonly boolean[]): FixedFactor {
  const key = off
    .map((value, i) => (value ? i : -1))
    .filter((i) => i >= 0)
    .join();
  let fixed = search.factors.get(key);
  if (!fixed) {
    fixed = factorFixed(search.model, search.rows, off, search.scale);
    search.factors.set(key, fixed);
  }
  return fixed;
}

function assess(
  search: Search,
  hints: BlowHints,
  start: StruckState,
  off: readonly boolean[],
  iterations = 25,
): FoundStruck {
  const fixed = factorOf(search, off);
  if (hints.length === 0) {
    let objective = 0;
    for (const value of fixed.left) objective += value * value;
    const score = -objective / 2 - fixed.qr.logDeterminant() + readingScore(search, off);
    return { fit: null, hints, state: start, fixed, off, score, scale: search.scale };
  }
  const fit = fitStruck(fixed, hints, start, iterations);
  return {
    fit,
    hints,
    state: fit.state,
    fixed,
    off,
    score: scoreOfStruck(fit) + readingScore(search, off),
    scale: search.scale,
  };
}

function readingScore({ rows, scale, hand, freedom }: Search, off: readonly boolean[]): number {
  let score = logScalePrior(scale, freedom);
  for (let i = 0; i < off.length; i++) {
    if (hand.off[i]) continue;
    const norm = log(rows.sd[i]! * scale * Math.sqrt(2 * Math.PI));
    score += off[i] ? logWrong(rows.sd[i]! * scale) - norm : -norm;
  }
  return score;
}

/** `polished`: blows and steel have been searched already at a scale near this one. */
function climb(search: Search, start: FoundStruck, polished: boolean): FoundStruck {
  let here = start;
  let restarts = polished ? 1 : 0;
  let removals = polished ? 1 : 0;
  for (let pass = 0; pass < 24; pass++) {
    const next =
      more(search, here) ??
      backAgain(search, here) ??
      (removals++ < 1 ? blowLess(search, here) : null) ??
      (restarts++ < 1 ? restart(search, here) : null);
    if (!next) break;
    here = next;
  }
  return here;
}

/** Another wrong reading or another blow: first whichever the residual itself speaks for more loudly. */
function more(search: Search, here: FoundStruck): FoundStruck | null {
  const wrong = wrongReadings(search, here);
  const blows = here.hints.length < 2 ? likelyBlows(search, here) : [];
  const loudWrong = wrong[0] ? wrong[0].gain : Number.NEGATIVE_INFINITY;
  const loudBlow = blows[0]
    ? blows[0].gain / 2 - (here.hints.length > 0 ? ANOTHER_BLOW : 0)
    : Number.NEGATIVE_INFINITY;
  const tryWrong = () => {
    for (const { i } of wrong.slice(0, 2)) {
      const without = bestOf(here, [assess(search, here.hints, here.state, withOff(here.off, i, true), 8)]);
      if (without) return without;
    }
    return null;
  };
  const tryBlow = () => (loudBlow > 0 ? bestBlow(search, here, blows) : null);
  return loudBlow > loudWrong ? (tryBlow() ?? tryWrong()) : (tryWrong() ?? tryBlow());
}

/** Nats a second blow costs, about: its numbers are half a dozen. */
const ANOTHER_BLOW = 5;

function withOff(off: readonly boolean[], i: number, value: boolean): boolean[] {
  return off.map((was, j) => (j === i ? value : was));
}

/** Readings that would help by leaving, loudest first, with the nats at the present shape. */
function wrongReadings(search: Search, here: FoundStruck): { i: number; gain: number }[] {
  if (tooMany(search.hand.off, here.off)) return [];
  const { residual, freedom } = struckResiduals(here);
  return Array.from(residual, (r, i) => ({
    i,
    gain:
      here.off[i] || search.hand.pinned[i] || freedom[i]! < 0.02
        ? Number.NEGATIVE_INFINITY
        : (r * r) / freedom[i]! / 2 + logWrong(search.rows.sd[i]! * search.scale),
  }))
    .filter(({ gain }) => gain > -3)
    .sort((a, b) => b.gain - a.gain);
}

/** A reading taken back that the shape now agrees with. */
function backAgain(search: Search, here: FoundStruck): FoundStruck | null {
  if (!here.off.some((value, i) => value && !search.hand.off[i])) return null;
  const missed = predictionErrors(search, here);
  return bestOf(
    here,
    here.off.flatMap((value, i) =>
      value && !search.hand.off[i] && Math.abs(missed[i]!) < 6
        ? [assess(search, here.hints, here.state, withOff(here.off, i, false), 6)]
        : [],
    ),
  );
}

function blowLess(search: Search, here: FoundStruck): FoundStruck | null {
  if (here.hints.length < 2) return null;
  return bestOf(
    here,
    here.hints.map((_, b) =>
      assess(
        search,
        here.hints.filter((_, k) => k !== b),
        { ...here.state, blows: here.state.blows.filter((_, k) => k !== b) },
        here.off,
        12,
      ),
    ),
  );
}

function bestOf(here: FoundStruck, trials: readonly FoundStruck[]): FoundStruck | null {
  let best: FoundStruck | null = null;
  for (const trial of trials) if (trial.score > (best ?? here).score + 0.01) best = trial;
  return best;
}

interface LikelyBlow {
  readonly station: number;
  readonly hint: number | null;
  readonly sign: number;
  readonly gain: number;
}

/** Places for one more blow by what its shape would take off the residual; the stated station always first. */
function likelyBlows(search: Search, here: FoundStruck): LikelyBlow[] {
  const { model } = search;
  const places: { station: number; hint: number | null }[] = [];
  if (search.impact !== null && !here.hints.includes(search.impact))
    places.push({ station: search.impact, hint: search.impact });
  for (const station of placesAlong(model))
    if (here.state.blows.every((blow) => Math.abs(blow.station - station) >= 0.1 * model.guessPanel))
      places.push({ station, hint: null });
  const now = leftOver(here.fixed, stateDeflection(model, here.state, here.fixed.x));
  return places
    .map(({ station, hint }) => ({
      station,
      hint,
      ...linearGain(here, now, blowAt(model, station, 3)),
    }))
    .sort((a, b) => b.gain - a.gain);
}

function blowAt(model: LineModel, station: number, pushes: number): Blow {
  return { station, patch: model.patch, push: pushes * usualPush(model) };
}

/** Steel as usual, struck so, on diaphragms softer than usual by so much (ln). */
function startOf(model: LineModel, blows: readonly Blow[], softer: number): StruckState {
  return { ...straightOf(model), softness: usualSoftness(model) + softer, blows };
}

/** The best of the likely blows, hard or light, on stiff or loose supports, before or after the one already there. */
function bestBlow(search: Search, here: FoundStruck, likely: readonly LikelyBlow[]): FoundStruck | null {
  const { model } = search;
  const stated = likely.filter(({ hint }) => hint !== null);
  const tried =
    here.hints.length === 0 && stated.length > 0 ? [...stated, ...likely.slice(0, 1)] : likely.slice(0, 4);
  const fixed = factorOf(search, here.off);
  const starts = tried.flatMap(({ station, hint, sign }) =>
    PUSHES.flatMap((size) => {
      const blow = blowAt(model, station, sign * size);
      const orders: { hints: BlowHints; blows: readonly Blow[] }[] = [
        { hints: [...here.hints, hint], blows: [...here.state.blows, blow] },
      ];
      if (here.hints.length > 0)
        orders.push({ hints: [hint, ...here.hints], blows: [blow, ...here.state.blows] });
      return orders.flatMap(({ hints, blows }) =>
        (here.hints.length > 0 ? [0] : SOFTER).map((softer) => {
          const state = { ...here.state, blows, softness: here.state.softness + softer };
          return { hints, state, misfit: misfitOf(fixed, stateDeflection(model, state, fixed.x)) };
        }),
      );
    }),
  );
  starts.sort((a, b) => a.misfit - b.misfit);
  const trials = starts
    .slice(0, 4)
    .map(({ hints, state }) => assess(search, hints, state, here.off, 6))
    .sort((a, b) => b.score - a.score);
  return bestOf(
    here,
    trials.slice(0, 2).map((trial) => assess(search, trial.hints, trial.state, trial.off)),
  );
}

/**
 * Looked at afresh: one blow at the stated place (or where one was found), or that and a second one from the same side
 * anywhere, before or after it; light or hard, on stiff or loose diaphragms; with the readings set aside so far, and
 * with all of them. A single blow that has bent itself to explain two, or has put good readings aside, leaves no trace
 * of the better answer to start from.
 */
export function searchAfresh(
  model: LineModel,
  rows: Rows,
  impact: number | null,
  hand: Search['hand'],
  freedom: number,
  known: FoundStruck,
): FoundStruck | null {
  const hardest = known.state.blows.reduce<Blow | null>(
    (most, blow) => (most && Math.abs(most.push) > Math.abs(blow.push) ? most : blow),
    null,
  );
  if (!hardest) return null;
  const scale = 1;
  const search: Search = { model, rows, impact, hand, scale, freedom, factors: new Map() };
  const main = impact ?? hardest.station;
  const side = Math.sign(hardest.push);
  const one = (push: number): Blow => blowAt(model, main, side * push);
  const families: { hints: BlowHints; blows: Blow[] }[][] = [
    PUSHES.map((push) => ({ hints: [impact], blows: [one(push)] })),
    ...placesAlong(model)
      .filter((station) => Math.abs(station - main) > 0.15 * model.guessPanel)
      .map((station) =>
        pushesOf(2).flatMap(([push, second]) => {
          const pair = [one(push!), blowAt(model, station, side * second!)];
          return [
            { hints: [impact, null], blows: pair },
            { hints: [null, impact], blows: pair.slice().reverse() },
          ];
        }),
      ),
  ];
  const states = families.map((family) =>
    family.flatMap(({ hints, blows }) =>
      SOFTER.map((softer) => ({
        hints,
        state: startOf(model, blows, softer),
      })),
    ),
  );
  const shapes = states.map((family) =>
    family.map(({ state }) => deflectionOf(model, state, rows.x, COARSE)),
  );
  let best: FoundStruck | null = null;
  for (const off of known.off.some((value, i) => value !== hand.off[i])
    ? [known.off, hand.off]
    : [hand.off]) {
    const fixed = factorOf(search, off);
    // The best of each family, so that the few followed are not all the same pair of places.
    const starts = states
      .map((family, f) => {
        const misfits = shapes[f]!.map((shape) => misfitOf(fixed, shape));
        const least = misfits.reduce((i, misfit, j) => (misfit < misfits[i]! ? j : i), 0);
        return { ...family[least]!, misfit: misfits[least]! };
      })
      .sort((a, b) => a.misfit - b.misfit);
    const single = starts.find(({ hints }) => hints.length === 1)!;
    const followed = [...new Set([single, ...starts.slice(0, 4)])]
      .map(({ hints, state }) => assess(search, hints, state, off, 8))
      .sort((a, b) => b.score - a.score);
    const { hints, state } = followed[0]!;
    const found = searchStruck(model, rows, impact, hand, scale, freedom, { hints, state, off });
    if (!best || found.score > best.score) best = found;
  }
  return best;
}

const PUSHES = [1, 3, 9, 27];
/** Softness to start from, ln, about the usual one. */
const SOFTER = [-2, 0.5, 3];
/** Cells a bay where only the best of many starts is wanted. */
const COARSE = 8;

function placesAlong(model: LineModel): number[] {
  const supports = model.nodes.stations;
  return supports
    .slice(1)
    .flatMap((to, k) =>
      [0.04, 0.27, 0.5, 0.73, 0.96].map((share) => supports[k]! + share * (to - supports[k]!)),
    );
}

/** Sum of squared residuals left by a deflection as it is. */
function misfitOf(fixed: FixedFactor, deflection: Float64Array): number {
  const shape = leftOver(fixed, deflection);
  let sum = 0;
  for (let i = 0; i < shape.length; i++) sum += (fixed.left[i]! - shape[i]!) ** 2;
  return sum;
}

/**
 * What the shape of a blow, scaled at will, would take off the residual at once, and which way it hit.
 *
 * @param now what the state explains already, after the fixed part
 */
function linearGain(
  { fixed, state }: FoundStruck,
  now: Float64Array,
  blow: Blow,
): { gain: number; sign: number } {
  const shape = leftOver(fixed, stateDeflection(fixed.model, { ...state, blows: [blow] }, fixed.x));
  let dot = 0;
  let size = 1e-12;
  for (let i = 0; i < shape.length; i++) {
    dot += shape[i]! * (fixed.left[i]! - now[i]!);
    size += shape[i]! ** 2;
  }
  return { gain: (dot * dot) / size, sign: Math.sign(dot) || 1 };
}

/** Linear part of the fit: chord, sweep, elastic node curvatures. */
function linearPart(
  search: Search,
  here: FoundStruck,
): { coefficients: Float64Array; deflection: Float64Array } {
  const { fixed, state } = here;
  const deflection = stateDeflection(search.model, state, fixed.x);
  const right = fixed.qr.applyInverse(fixed.right.slice());
  for (let i = 0; i < fixed.x.length; i++) right[i]! -= deflection[i]! * fixed.weight[i]!;
  return { coefficients: fixed.qr.solve(fixed.qr.apply(right)), deflection };
}

/** Reading less fitted shape in sd, for every reading, set aside or not. */
function predictionErrors(search: Search, here: FoundStruck): Float64Array {
  const { coefficients, deflection } = linearPart(search, here);
  const { rows, scale } = search;
  return rows.y.map((y, i) => {
    let error = y - deflection[i]!;
    here.fixed.raw.forEach((column, j) => {
      error -= column[i]! * coefficients[j]!;
    });
    return error / (rows.sd[i]! * scale);
  });
}

/**
 * From blows at the same places, but of any force and on any diaphragms, or in the other order: a way out of a local
 * optimum. Stiff diaphragms hit lightly and loose ones hit hard look alike at first.
 */
function restart(search: Search, here: FoundStruck): FoundStruck | null {
  if (!here.fit) return null;
  const { state, hints } = here;
  const fixed = factorOf(search, here.off);
  const orders = [
    { hints, blows: state.blows },
    ...(hints.length === 2 ? [{ hints: hints.slice().reverse(), blows: state.blows.slice().reverse() }] : []),
  ];
  const starts = orders.flatMap(({ hints, blows }) =>
    pushesOf(blows.length).flatMap((pushes) =>
      SOFTER.map((softer) => {
        const start = startOf(
          search.model,
          blows.map((blow, b) => blowAt(search.model, blow.station, Math.sign(blow.push) * pushes[b]!)),
          softer,
        );
        return { hints, start, misfit: misfitOf(fixed, deflectionOf(search.model, start, fixed.x, COARSE)) };
      }),
    ),
  );
  starts.sort((a, b) => a.misfit - b.misfit);
  const best = bestOf(
    here,
    starts.slice(0, 3).map(({ hints, start }) => assess(search, hints, start, here.off, 12)),
  );
  return best && best.score > here.score + 0.1 ? best : null;
}

/** Every combination of pushes for so many blows. */
function pushesOf(blows: number): number[][] {
  return blows === 1 ? PUSHES.map((push) => [push]) : PUSHES.flatMap((a) => PUSHES.map((b) => [a, b]));
}

/** Weighted residuals and the share of each reading's variance left in its own, everything free. */
function struckResiduals(found: Pick<FoundStruck, 'fixed' | 'hints' | 'state'>): {
  residual: Float64Array;
  freedom: Float64Array;
} {
  const { fixed, hints, state } = found;
  const { model, x } = fixed;
  const n = x.length;
  const deflection = stateDeflection(model, state, x);
  const right = fixed.qr.applyInverse(fixed.right.slice());
  for (let i = 0; i < n; i++) right[i]! -= deflection[i]! * fixed.weight[i]!;
  fixed.qr.apply(right);
  right.fill(0, 0, fixed.qr.rank);
  fixed.qr.applyInverse(right);
  const parameters = parametersOf(model, hints);
  const qr = new Qr(fixed.rows + parameters.length);
  fixed.raw.forEach((column, j) => {
    const full = new Float64Array(fixed.rows + parameters.length);
    for (let i = 0; i < n; i++) full[i] = column[i]! * fixed.weight[i]!;
    fixed.priors.forEach((row, r) => {
      full[n + r] = row[j]!;
    });
    qr.push(full);
  });
  stateSlopes(model, state, x, parameters).forEach((slope, k) => {
    const full = new Float64Array(fixed.rows + parameters.length);
    for (let i = 0; i < n; i++) full[i] = slope[i]! * fixed.weight[i]!;
    full[fixed.rows + k] = parameters[k]!.flat ? 1e-3 : 1 / parameters[k]!.sd;
    qr.push(full);
  });
  const freedom = new Float64Array(n).fill(1);
  const unit = new Float64Array(fixed.rows + parameters.length);
  for (let k = 0; k < qr.rank; k++) {
    unit.fill(0);
    unit[k] = 1;
    qr.applyInverse(unit);
    for (let i = 0; i < n; i++) freedom[i]! -= unit[i]! ** 2;
  }
  return { residual: right.slice(0, n), freedom };
}

function nextScale(search: Search, found: FoundStruck): number {
  const { residual, freedom } = struckResiduals(found);
  let sum = 0;
  let left = 0;
  for (let i = 0; i < residual.length; i++) {
    if (found.off[i]) continue;
    sum += (residual[i]! * search.scale) ** 2;
    left += freedom[i]!;
  }
  return Math.max(0.2, exp(likeliestLogScale(sum, left, search.freedom)));
}
