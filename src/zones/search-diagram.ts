import { exp, log } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';
import {
  type BlowHints,
  type DiagramFit,
  type DiagramState,
  fitDiagram,
  fitHardening,
  parametersOf,
  scoreOfDiagram,
  stateDeflection,
} from './diagram-fit.ts';
import { ELASTIC, type FixedFactor, factorFixed, type LineModel, leftOver, type Rows } from './model.ts';
import type { Blow, DiagramFrame } from './moment-diagram.ts';
import { likeliestLogScale, logScalePrior, logWrong, tooMany } from './reading-prior.ts';

/** What the search settled on for the as-found survey. */
export interface FoundDiagram {
  readonly fit: DiagramFit | null;
  readonly hints: BlowHints;
  readonly state: DiagramState;
  readonly fixed: FixedFactor;
  readonly off: readonly boolean[];
  readonly score: number;
  readonly scale: number;
}

interface Search {
  readonly model: LineModel;
  readonly frame: DiagramFrame;
  readonly rows: Rows;
  readonly impact: number | null;
  readonly hand: { readonly off: readonly boolean[]; readonly pinned: readonly boolean[] };
  readonly scale: number;
  readonly freedom: number;
  readonly factors: Map<string, FixedFactor>;
}

const STRAIGHT: DiagramState = { blows: [], hardening: 0.009, release: [] };

/**
 * No blow, one or two, and which readings are wrong: the most probable combination (Laplace's approximation), found
 * by taking at each step whatever explains most: another wrong reading, or another blow. From one and from two
 * starting guesses of the reading sd, so that blunders cannot hide behind a scatter they made themselves.
 */
export function searchDiagram(
  model: LineModel,
  frame: DiagramFrame,
  rows: Rows,
  impact: number | null,
  hand: Search['hand'],
  scaleStart: number,
  freedom: number,
  from?: { readonly hints: BlowHints; readonly state: DiagramState; readonly off: readonly boolean[] },
): FoundDiagram {
  let best: FoundDiagram | null = null;
  let known: { hints: BlowHints; state: DiagramState; off: readonly boolean[] } = from ?? {
    hints: [],
    state: STRAIGHT,
    off: hand.off,
  };
  for (const start of scaleStart > 1.25 && !from ? [1, scaleStart] : [scaleStart]) {
    let scale = start;
    let here: FoundDiagram | null = null;
    for (let round = 0; round < 4; round++) {
      const search: Search = { model, frame, rows, impact, hand, scale, freedom, factors: new Map() };
      // The second start keeps the blows of the first and looks at every reading again.
      const start: FoundDiagram = here
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
  start: DiagramState,
  off: readonly boolean[],
  iterations = 25,
): FoundDiagram {
  const fixed = factorOf(search, off);
  if (hints.length === 0) {
    let objective = 0;
    for (const value of fixed.left) objective += value * value;
    const score = -objective / 2 - fixed.qr.logDeterminant() + readingScore(search, off);
    return { fit: null, hints, state: start, fixed, off, score, scale: search.scale };
  }
  const fit = fitDiagram(fixed, search.frame, hints, start, iterations);
  return {
    fit,
    hints,
    state: fit.state,
    fixed,
    off,
    score: scoreOfDiagram(fit) + readingScore(search, off),
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
function climb(search: Search, start: FoundDiagram, polished: boolean): FoundDiagram {
  let here = start;
  let settled = 0;
  let steels = polished ? 2 : 0;
  let restarts = polished ? 1 : 0;
  for (let pass = 0; pass < 24; pass++) {
    const next =
      more(search, here) ??
      (steels++ < 2 ? otherSteel(search, here) : null) ??
      fewer(search, here) ??
      (restarts++ < 1 ? restart(search, here) : null) ??
      letGo(search, here, settled++);
    if (!next) break;
    here = next;
  }
  return here;
}

/** Another wrong reading or another blow: first whichever the residual itself speaks for more loudly. */
function more(search: Search, here: FoundDiagram): FoundDiagram | null {
  const wrong = wrongReadings(search, here);
  const blows = here.hints.length < 2 ? likelyBlows(search, here) : [];
  const loudWrong = wrong[0] ? wrong[0].gain : Number.NEGATIVE_INFINITY;
  const loudBlow = blows[0]
    ? blows[0].gain / 2 - (here.hints.length > 0 ? ANOTHER_BLOW : 0)
    : Number.NEGATIVE_INFINITY;
  const tryWrong = () =>
    bestOf(
      here,
      wrong.slice(0, 2).map(({ i }) => assess(search, here.hints, here.state, withOff(here.off, i, true), 8)),
    );
  const tryBlow = () => (loudBlow > 0 ? bestBlow(search, here, blows) : null);
  return loudBlow > loudWrong ? (tryBlow() ?? tryWrong()) : (tryWrong() ?? tryBlow());
}

/** Nats a second blow costs, about: its numbers are half a dozen. */
const ANOTHER_BLOW = 5;

function withOff(off: readonly boolean[], i: number, value: boolean): boolean[] {
  return off.map((was, j) => (j === i ? value : was));
}

/** Readings that would help by leaving, loudest first, with the nats at the present shape. */
function wrongReadings(search: Search, here: FoundDiagram): { i: number; gain: number }[] {
  if (tooMany(search.hand.off, here.off)) return [];
  const { residual, freedom } = diagramResiduals(search.frame, here);
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

/** A reading taken back that the shape now agrees with; or a blow less. */
function fewer(search: Search, here: FoundDiagram): FoundDiagram | null {
  const missed = here.off.some((value, i) => value && !search.hand.off[i])
    ? predictionErrors(search, here)
    : null;
  const back = here.off.flatMap((value, i) =>
    value && !search.hand.off[i] && Math.abs(missed![i]!) < 6
      ? [assess(search, here.hints, here.state, withOff(here.off, i, false), 6)]
      : [],
  );
  const blows = here.hints.map((_, b) =>
    assess(
      search,
      here.hints.filter((_, k) => k !== b),
      { ...here.state, blows: here.state.blows.filter((_, k) => k !== b) },
      here.off,
      12,
    ),
  );
  return bestOf(here, [...back, ...(here.hints.length === 2 ? blows : [])]);
}

function bestOf(here: FoundDiagram, trials: readonly FoundDiagram[]): FoundDiagram | null {
  let best: FoundDiagram | null = null;
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
function likelyBlows(search: Search, here: FoundDiagram): LikelyBlow[] {
  const { model, frame } = search;
  const places: { station: number; hint: number | null }[] = [];
  if (search.impact !== null && !here.hints.includes(search.impact))
    places.push({ station: search.impact, hint: search.impact });
  const supports = [frame.from, ...frame.diaphragms, frame.to];
  for (let k = 0; k + 1 < supports.length; k++)
    for (const share of [0.15, 0.38, 0.62, 0.85]) {
      const station = supports[k]! + share * (supports[k + 1]! - supports[k]!);
      if (here.state.blows.some((blow) => Math.abs(blow.station - station) < 0.1 * model.guessPanel))
        continue;
      places.push({ station, hint: null });
    }
  return places
    .map(({ station, hint }) => ({
      station,
      hint,
      ...linearGain(search, here, guessBlow(model, frame, station, 1, 10)),
    }))
    .sort((a, b) => b.gain - a.gain);
}

/** The best of the likely blows, hard or light, before or after the one already there. */
function bestBlow(search: Search, here: FoundDiagram, likely: readonly LikelyBlow[]): FoundDiagram | null {
  const { model, frame } = search;
  const stated = likely.filter(({ hint }) => hint !== null);
  const tried =
    here.hints.length === 0 && stated.length > 0 ? [...stated, ...likely.slice(0, 1)] : likely.slice(0, 3);
  const trials = tried.flatMap(({ station, hint, sign }) =>
    [5, 30].map((size) => {
      const blow = guessBlow(model, frame, station, sign, size);
      return assess(
        search,
        [...here.hints, hint],
        { ...here.state, blows: [...here.state.blows, blow] },
        here.off,
        6,
      );
    }),
  );
  trials.sort((a, b) => b.score - a.score);
  return bestOf(
    here,
    trials
      .slice(0, 2)
      .flatMap((trial) => [
        assess(search, trial.hints, trial.state, trial.off),
        ...(trial.hints.length === 2
          ? [
              assess(
                search,
                trial.hints.slice().reverse(),
                { ...trial.state, blows: trial.state.blows.slice().reverse() },
                trial.off,
              ),
            ]
          : []),
      ]),
  );
}

/** What the shape of a blow, scaled at will, would take off the residual at once, and which way it hit. */
function linearGain(search: Search, here: FoundDiagram, blow: Blow): { gain: number; sign: number } {
  const { model, frame } = search;
  const { fixed, state } = here;
  const now = leftOver(fixed, stateDeflection(model, frame, state, fixed.x));
  const shape = leftOver(fixed, stateDeflection(model, frame, { ...state, blows: [blow] }, fixed.x));
  let dot = 0;
  let size = 1e-12;
  for (let i = 0; i < shape.length; i++) {
    dot += shape[i]! * (fixed.left[i]! - now[i]!);
    size += shape[i]! ** 2;
  }
  return { gain: (dot * dot) / size, sign: Math.sign(dot) || 1 };
}

/** Bent one way at the blow and a fifth as hard the other way at the diaphragms beside it. */
function guessBlow(model: LineModel, frame: DiagramFrame, station: number, sign: number, size: number): Blow {
  const before = frame.diaphragms.filter((d) => d < station).pop();
  const after = frame.diaphragms.find((d) => d > station);
  return {
    station,
    patch: model.patch,
    peak: sign * size,
    supports: frame.diaphragms.map((d) => (d === before || d === after ? (-sign * size) / 5 : 0)),
  };
}

function otherSteel(search: Search, here: FoundDiagram): FoundDiagram | null {
  if (!here.fit) return null;
  const fit = fitHardening(here.fixed, search.frame, here.hints, here.state);
  const score = scoreOfDiagram(fit) + readingScore(search, here.off);
  return score > here.score + 0.05 ? { ...here, fit, state: fit.state, score } : null;
}

/** Linear part of the fit: chord, sweep, elastic node curvatures. */
function linearPart(
  search: Search,
  here: FoundDiagram,
): { coefficients: Float64Array; deflection: Float64Array } {
  const { fixed, state } = here;
  const deflection = stateDeflection(search.model, search.frame, state, fixed.x);
  const right = fixed.qr.applyInverse(fixed.right.slice());
  for (let i = 0; i < fixed.x.length; i++) right[i]! -= deflection[i]! * fixed.weight[i]!;
  return { coefficients: fixed.qr.solve(fixed.qr.apply(right)), deflection };
}

/** Reading less fitted shape in sd, for every reading, set aside or not. */
function predictionErrors(search: Search, here: FoundDiagram): Float64Array {
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

/** Moments the fit leaves the steel locked in with, taken into the law where they matter: at most three rounds. */
function letGo(search: Search, here: FoundDiagram, round: number): FoundDiagram | null {
  if (!here.fit || round >= 3) return null;
  const { state } = here;
  const { coefficients } = linearPart(search, here);
  const release = Array.from(coefficients.slice(ELASTIC), (k) =>
    Math.max(-1.6, Math.min(1.6, k / search.model.yieldCurvature)),
  );
  const change = release.reduce((most, m, i) => {
    const before = state.release[i] ?? 0;
    return Math.max(m, before, -m, -before) > 0.45 ? Math.max(most, Math.abs(m - before)) : most;
  }, 0);
  return change > 0.1 ? assess(search, here.hints, { ...state, release }, here.off, 12) : null;
}

/** From the same blows hit harder, softer, elsewhere or in the other order: a way out of a local optimum. */
function restart(search: Search, here: FoundDiagram): FoundDiagram | null {
  if (!here.fit) return null;
  const { blows } = here.state;
  const scaled = (factor: number): DiagramState => ({
    ...here.state,
    blows: blows.map((blow) => ({
      ...blow,
      peak: blow.peak * factor,
      supports: blow.supports.map((k) => (Math.abs(k) > 1 ? k * factor : k)),
    })),
  });
  const shared = (share: number): DiagramState => ({
    ...here.state,
    blows: blows.map((blow, b) => {
      const fresh = guessBlow(
        search.model,
        search.frame,
        here.hints[b] ?? blow.station,
        Math.sign(blow.peak),
        20,
      );
      return { ...fresh, supports: fresh.supports.map((k) => k * share) };
    }),
  });
  const states = [scaled(0.5), scaled(2), shared(0.5), shared(3)].map((state) =>
    assess(search, here.hints, state, here.off, 12),
  );
  if (blows.length === 2)
    states.push(
      assess(
        search,
        here.hints.slice().reverse(),
        { ...here.state, blows: blows.slice().reverse() },
        here.off,
      ),
    );
  const best = bestOf(here, states);
  return best && best.score > here.score + 0.1 ? best : null;
}

/** Weighted residuals and the share of each reading's variance left in its own, everything free. */
export function diagramResiduals(
  frame: DiagramFrame,
  found: Pick<FoundDiagram, 'fixed' | 'hints' | 'state'>,
): { residual: Float64Array; freedom: Float64Array } {
  const { fixed, hints, state } = found;
  const { model, x } = fixed;
  const n = x.length;
  const deflection = stateDeflection(model, frame, state, x);
  const right = fixed.qr.applyInverse(fixed.right.slice());
  for (let i = 0; i < n; i++) right[i]! -= deflection[i]! * fixed.weight[i]!;
  fixed.qr.apply(right);
  right.fill(0, 0, fixed.qr.rank);
  fixed.qr.applyInverse(right);
  const parameters = parametersOf(model, frame, hints);
  const qr = new Qr(fixed.rows + parameters.length);
  fixed.raw.forEach((column, j) => {
    const full = new Float64Array(fixed.rows + parameters.length);
    for (let i = 0; i < n; i++) full[i] = column[i]! * fixed.weight[i]!;
    fixed.priors.forEach((row, r) => {
      full[n + r] = row[j]!;
    });
    qr.push(full);
  });
  parameters.forEach((p, k) => {
    const at = p.get(state);
    const h = 0.01;
    const up = stateDeflection(model, frame, p.set(state, at + h), x);
    const down = stateDeflection(model, frame, p.set(state, at - h), x);
    const full = new Float64Array(fixed.rows + parameters.length);
    for (let i = 0; i < n; i++) full[i] = ((up[i]! - down[i]!) / (2 * h)) * fixed.weight[i]!;
    full[fixed.rows + k] = p.flat ? 1e-3 : 1 / p.sd;
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

function nextScale(search: Search, found: FoundDiagram): number {
  const { residual, freedom } = diagramResiduals(search.frame, found);
  let sum = 0;
  let left = 0;
  for (let i = 0; i < residual.length; i++) {
    if (found.off[i]) continue;
    sum += (residual[i]! * search.scale) ** 2;
    left += freedom[i]!;
  }
  return Math.max(0.2, exp(likeliestLogScale(sum, left, search.freedom)));
}
