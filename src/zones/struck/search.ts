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
import {
  blowDensity,
  type FixedFactor,
  isBearing,
  type LineModel,
  leftOver,
  stackFixed,
  weighted,
} from '../model.ts';
import { type Residuals, residualOf, shareLeft } from '../residuals.ts';
import { type Blow, RIGID, type StruckState } from './beam.ts';
import { fitStruck, type StruckFit, scoreOfStruck } from './fit.ts';
import {
  type BlowHints,
  parametersOf,
  roughDeflection,
  stateDeflection,
  stateSlopes,
  usualPush,
  usualSoftness,
} from './shape.ts';

/** What the search settled on for the as-found survey. */
export interface FoundStruck extends Standing {
  readonly fit: StruckFit | null;
  readonly hints: BlowHints;
  readonly state: StruckState;
}

/** Where a climb starts. */
type Start = Pick<FoundStruck, 'hints' | 'state' | 'off'>;

export function straightOf(model: LineModel): StruckState {
  return {
    blows: [],
    softness: usualSoftness(model),
    uneven: model.nodes.stations.slice(1, -1).map((at) => (isBearing(model, at) ? RIGID : 0)),
    shift: model.nodes.stations.slice(1, -1).map(() => 0),
    hardening: 0.008,
    bed: null,
  };
}

/**
 * No blow, one or two, and which readings are wrong: the most probable combination (Laplace's approximation), found
 * by taking at each step whatever explains most: another wrong reading, or another blow.
 */
export function searchStruck(whole: AtOneScale, scatter: number, from?: Start): FoundStruck {
  const nothing: Start = { hints: [], state: straightOf(whole.model), off: whole.hand.off };
  return overScales<FoundStruck>(
    whole,
    from ? [scatter] : startingScales(scatter),
    (scale, here, best) => {
      const search = searchAt(whole, scale);
      if (here) return climbStruck(search, assess(search, here, 8), true);
      // The second start keeps the blows of the first and looks at every reading again.
      return climbStruck(
        search,
        assess(search, best ? { ...best, off: whole.hand.off } : (from ?? nothing)),
        false,
      );
    },
    (found) => ({ ...struckResiduals(found), unseen: 0 }),
  );
}

/** `beat`: where the search stands; a start that will not come near its score is given up early. */
export function assess(
  search: Search,
  { hints, state, off }: Start,
  iterations = 25,
  beat: FoundStruck | null = null,
): FoundStruck {
  const fixed = factorOf(search, off);
  const found = { hints, fixed, off, scale: search.scale };
  if (hints.length === 0) {
    let objective = 0;
    for (const value of fixed.left) objective += value * value;
    const score = -objective / 2 - fixed.qr.logDeterminant() + readingScore(search, off);
    return { ...found, fit: null, state, score };
  }
  const readings = readingScore(search, off);
  const hope =
    beat?.fit && beat.hints.length <= hints.length
      ? 2 * (readings - beat.score - beat.fit.logDeterminant + beat.fit.logPrior + NEAR)
      : Number.POSITIVE_INFINITY;
  const fit = fitStruck(fixed, hints, state, iterations, [], hope);
  return { ...found, fit, state: fit.state, score: scoreOfStruck(fit) + readings };
}

/**
 * The same with the web's hold on the flange among its numbers, unless that makes the readings less likely. First with the readings
 * as they stand and the blows as found, or one of two fewer; from pushes and supports anew too, since what fits without a web is
 * far from what fits with one. Then looked at afresh with it where there are two blows, or something is left to explain: its hold
 * may have passed for a blow, for the other side or order of two, or for scatter.
 *
 * @param scatter of the readings before any fit, times their stated sd
 */
export function onWeb(whole: AtOneScale, known: FoundStruck, scatter: number): FoundStruck {
  const { web } = whole.model;
  if (web === null || known.hints.length === 0) return known;
  // Each of these looks costs many times as much where places of diaphragms are free too: there the web must show at once.
  const placed = whole.model.placeSd === 0;
  const shown = placed ? ALIKE : SHOWN;
  const search = searchAt(whole, known.scale);
  const start = { ...known, state: { ...known.state, bed: web.mean } };
  const fewer = placed ? oneLess(start) : [];
  const looks = [start, ...fewer].map((look) => assess(search, look, 5));
  if (placed)
    for (const alone of fewer.length > 0 ? fewer : [start])
      looks.push(assess(search, restarts(search, alone, SIDES)[0]!, 8));
  const nearest = looks.reduce((a, b) => (b.score > a.score ? b : a));
  const held = nearest.score > known.score - NEAR ? assess(search, nearest, 12) : nearest;
  let found = known;
  if (held.score >= known.score + shown) {
    const climbed = overScales<FoundStruck>(
      whole,
      [known.scale],
      (scale, here) => {
        const search = searchAt(whole, scale);
        return climbStruck(search, assess(search, here ?? held, 8), true, placed);
      },
      (each) => ({ ...struckResiduals(each), unseen: 0 }),
    );
    if (climbed.score > known.score + Math.min(0, shown)) found = climbed;
  } else if (!placed) return known;
  if (found.hints.length < 2 && found.scale < CALM * Math.max(1, scatter)) return found;
  const afresh = searchAfresh(whole, found, found.state.bed ?? web.mean);
  // Other blows are taken only where they are likelier, whatever is thought of webs.
  const best =
    afresh && afresh.score > found.score + (placed || found !== known ? 0 : SHOWN) ? afresh : found;
  return best.state.bed === null || best.hints.length < 2 ? best : otherWayRound(whole, best);
}

/** Two blows in the other order, where that is likelier: what each left for the other to meet is much alike. */
function otherWayRound(whole: AtOneScale, known: FoundStruck): FoundStruck {
  const search = searchAt(whole, known.scale);
  const turned = assess(search, {
    hints: known.hints.slice().reverse(),
    state: { ...known.state, blows: known.state.blows.slice().reverse() },
    off: known.off,
  });
  return turned.score > known.score ? climbStruck(search, turned, true) : known;
}

/** Scatter, over that before any fit, below which nothing is left to explain. */
const CALM = 1.15;

/** Nats by which the web's hold must make the readings likelier where places of diaphragms are unknown. */
const SHOWN = 2;

/**
 * The same where they are given: every flange has a web, so where the readings cannot tell, its hold counts. Left out there, rotations were
 * wrong by a part of what it carries, and their u said nothing of it.
 */
const ALIKE = -1;

/** A blow found without a web may have come from the other side: signs to start it with. */
const SIDES = [1, -1];

/** Nats that the determinants of two fits may differ by in favour of the one of as many blows, or of more, which costs more. */
const NEAR = 8;

/** `polished`: blows and steel have been searched already at a scale near this one; `anew`: from other pushes all the same. */
function climbStruck(search: Search, start: FoundStruck, polished: boolean, anew = !polished): FoundStruck {
  let once = polished ? 0 : 1;
  let again = anew ? 1 : 0;
  return climb(start, 24, [
    (here) => more(search, here),
    (here) => backAgain(search, here),
    (here) => (once-- > 0 ? blowLess(search, here) : null),
    (here) => (again-- > 0 ? restart(search, here) : null),
  ]);
}

/** Another wrong reading or another blow: first whichever the residual itself speaks for more loudly. */
function more(search: Search, here: FoundStruck): FoundStruck | null {
  const fewer = oneMoreOff(search, here.off, struckResiduals(here));
  const blows = here.hints.length < 2 ? likelyBlows(search, here) : [];
  const loudWrong = fewer[0] ? fewer[0].gain : Number.NEGATIVE_INFINITY;
  const loudBlow = blows[0]
    ? blows[0].gain / 2 - (here.hints.length > 0 ? ANOTHER_BLOW : 0)
    : Number.NEGATIVE_INFINITY;
  const tryWrong = () => {
    for (const { off } of fewer.slice(0, 2)) {
      const without = bestOf(here, [assess(search, { ...here, off }, 8, here)]);
      if (without) return without;
    }
    return null;
  };
  const tryBlow = () => (loudBlow > 0 ? bestBlow(search, here, blows) : null);
  return loudBlow > loudWrong ? (tryBlow() ?? tryWrong()) : (tryWrong() ?? tryBlow());
}

/** Nats a second blow costs, about: its numbers are half a dozen. */
const ANOTHER_BLOW = 5;

/** A reading taken back that the shape now agrees with. */
function backAgain(search: Search, here: FoundStruck): FoundStruck | null {
  return bestOf(
    here,
    oneBack(search, here, shapeOf(here), spreadAt(here, search)).map((off) =>
      assess(search, { ...here, off }, 6, here),
    ),
  );
}

/** Deflection at the readings that the blows left. */
function shapeOf({ fixed, state }: FoundStruck): Float64Array {
  return stateDeflection(fixed.model, state, fixed.x);
}

function blowLess(search: Search, here: FoundStruck): FoundStruck | null {
  return bestOf(
    here,
    oneLess(here).map((less) => assess(search, less, 12)),
  );
}

/** Without each blow in turn, where there are two. */
function oneLess({ hints, state, off }: Start): Start[] {
  if (hints.length < 2) return [];
  return hints.map((_, b) => ({
    hints: hints.filter((_, k) => k !== b),
    state: { ...state, blows: state.blows.filter((_, k) => k !== b) },
    off,
  }));
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
export function likelyBlows(search: Search, here: FoundStruck): LikelyBlow[] {
  const { model } = search;
  const places: { station: number; hint: number | null }[] = [];
  if (search.impact !== null && !here.hints.includes(search.impact))
    places.push({ station: search.impact, hint: search.impact });
  for (const station of [...(model.struck === null ? [] : [mean(model.struck)]), ...placesAlong(model)])
    if (here.state.blows.every((blow) => Math.abs(blow.station - station) >= 0.1 * model.panel))
      places.push({ station, hint: null });
  const now = leftOver(here.fixed, shapeOf(here));
  return places
    .map(({ station, hint }) => {
      const { gain, sign } = linearGain(here, now, blowAt(model, station, 3));
      // Where the job says that steel was struck the same gain is worth more.
      const said = hint === null ? 2 * log(blowDensity(model, station) * (model.to - model.from)) : 0;
      return { station, hint, gain: gain + said, sign };
    })
    .sort((a, b) => b.gain - a.gain);
}

function mean([a, b]: readonly [number, number]): number {
  return (a + b) / 2;
}

export function blowAt(model: LineModel, station: number, pushes: number): Blow {
  return { station, patch: model.patch, push: pushes * usualPush(model) };
}

/** Steel as usual, struck so, on diaphragms softer than usual by so much (ln). */
export function startOf(straight: StruckState, blows: readonly Blow[], softer: number): StruckState {
  return { ...straight, softness: straight.softness + softer, blows };
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
          return { hints, state, misfit: misfitOf(fixed, roughDeflection(model, state, fixed.x)) };
        }),
      );
    }),
  );
  starts.sort((a, b) => a.misfit - b.misfit);
  const trials = starts
    .slice(0, 4)
    .map(({ hints, state }) => assess(search, { hints, state, off: here.off }, 6))
    .sort((a, b) => b.score - a.score);
  return bestOf(
    here,
    trials.slice(0, 2).map((trial) => assess(search, trial, 25, here)),
  );
}

/** Blows at the same places, pushed so or so far, in this order or the other. */
type Family = { readonly hints: BlowHints; readonly blows: readonly Blow[] }[];

/** A start, and its shape at the readings, roughly. */
interface Look extends Pick<Start, 'hints' | 'state'> {
  readonly shape: Float64Array;
}

/**
 * Looked at afresh: one blow at the stated place (or where one was found), or that and a second one from the same side
 * anywhere, before or after it; light or hard, on stiff or loose diaphragms; with the readings set aside so far, and
 * with all of them. A single blow that has bent itself to explain two, or has put good readings aside, leaves no trace
 * of the better answer to start from.
 */
export function searchAfresh(
  whole: AtOneScale,
  known: FoundStruck,
  bed: number | null = null,
): FoundStruck | null {
  const { model, rows, impact, hand } = whole;
  const hardest = known.state.blows.reduce<Blow | null>(
    (most, blow) => (most && Math.abs(most.push) > Math.abs(blow.push) ? most : blow),
    null,
  );
  if (!hardest) return null;
  const scale = 1;
  const search = searchAt(whole, scale);
  const straight = { ...straightOf(model), shift: known.state.shift, bed };
  const main = impact ?? hardest.station;
  // What passed for a blow where a web holds the flange may have come from the other side.
  const sides = [1, -1].map((turn) => turn * Math.sign(hardest.push)).slice(0, bed === null ? 1 : 2);
  const families: Family[] = sides.flatMap((side) => [
    PUSHES.map((push) => ({ hints: [impact], blows: [blowAt(model, main, side * push)] })),
    ...placesAlong(model)
      .filter((station) => Math.abs(station - main) > 0.15 * model.panel)
      .map((station) =>
        pushesOf(2, bed === null ? PUSHES : FEWER_PUSHES).flatMap(([push, second]) => {
          const pair = [blowAt(model, main, side * push!), blowAt(model, station, side * second!)];
          return [
            { hints: [impact, null], blows: pair },
            { hints: [null, impact], blows: pair.slice().reverse() },
          ];
        }),
      ),
  ]);
  const look = (family: Family, softer: readonly number[]): Look[] =>
    family.flatMap(({ hints, blows }) =>
      softer.map((by) => {
        const state = startOf(straight, blows, by);
        return { hints, state, shape: roughDeflection(model, state, rows.x) };
      }),
    );
  const looks = bed === null ? families.map((family) => look(family, SOFTER)) : fewLooks();
  /** With a web a look costs three times as much: on supports as usual, and only the nearest few on others. */
  function fewLooks(): Look[][] {
    const fixed = factorOf(search, known.off);
    const [stiff, usual, loose] = SOFTER;
    return families
      .map((family) => {
        const first = look(family, [usual]);
        return { family, first, misfit: Math.min(...first.map(({ shape }) => misfitOf(fixed, shape))) };
      })
      .sort((a, b) => a.misfit - b.misfit)
      .map(({ family, first }, rank) => (rank < 8 ? [...first, ...look(family, [stiff, loose])] : first));
  }
  let best: FoundStruck | null = null;
  for (const off of bed === null && known.off.some((value, i) => value !== hand.off[i])
    ? [known.off, hand.off]
    : [known.off]) {
    const fixed = factorOf(search, off);
    // The best of each family, so that the few followed are not all the same pair of places.
    const starts = looks
      .map((family) => {
        const misfits = family.map(({ shape }) => misfitOf(fixed, shape));
        const least = misfits.reduce((i, misfit, j) => (misfit < misfits[i]! ? j : i), 0);
        return { ...family[least]!, misfit: misfits[least]! };
      })
      .sort((a, b) => a.misfit - b.misfit);
    const single = starts.find(({ hints }) => hints.length === 1)!;
    let followed = [...new Set([single, ...starts.slice(0, 4)])]
      .map(({ hints, state }) => assess(search, { hints, state, off }, 8))
      .sort((a, b) => b.score - a.score);
    if (bed !== null) {
      followed = followed
        .slice(0, 2)
        .map((each) => assess(search, each, 12))
        .sort((a, b) => b.score - a.score);
      // A web that makes it no likelier by now is not followed further: nearly every girder has none to speak of.
      if (followed[0]!.score < known.score) continue;
    }
    const { hints, state } = followed[0]!;
    const found = searchStruck(whole, scale, { hints, state, off });
    if (!best || found.score > best.score) best = found;
  }
  return best;
}

export const PUSHES = [1, 3, 9, 27];
/** The same for two blows where a web holds the flange, and a look costs more: nine pairs for sixteen. */
const FEWER_PUSHES = [2, 8, 32];
/** Softness to start from, ln, about the usual one. */
export const SOFTER = [-2, 0.5, 3] as const;

function placesAlong(model: LineModel): number[] {
  const { from, to } = model;
  const supports = [from, ...model.nodes.stations.filter((at) => at > from && at < to), to];
  return supports
    .slice(1)
    .flatMap((to, k) =>
      [0.04, 0.27, 0.5, 0.73, 0.96].map((share) => supports[k]! + share * (to - supports[k]!)),
    );
}

/** Sum of squared residuals left by a deflection as it is. */
export function misfitOf(fixed: FixedFactor, deflection: Float64Array): number {
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
  const shape = leftOver(fixed, roughDeflection(fixed.model, { ...state, blows: [blow] }, fixed.x));
  let dot = 0;
  let size = 1e-12;
  for (let i = 0; i < shape.length; i++) {
    dot += shape[i]! * (fixed.left[i]! - now[i]!);
    size += shape[i]! ** 2;
  }
  return { gain: (dot * dot) / size, sign: Math.sign(dot) || 1 };
}

/**
 * From blows at the same places, but of any force and on any diaphragms, or in the other order: a way out of a local
 * optimum. Stiff diaphragms hit lightly and loose ones hit hard look alike at first.
 */
function restart(search: Search, here: FoundStruck): FoundStruck | null {
  if (!here.fit) return null;
  const best = bestOf(
    here,
    restarts(search, here)
      .slice(0, 3)
      .map((start) => assess(search, start, 12, here)),
  );
  return best && best.score > here.score + 0.1 ? best : null;
}

/** Those starts, the nearest by a rough look first. `sides`: signs by which a single blow's own is turned. */
function restarts(search: Search, { state, hints, off }: Start, sides: readonly number[] = [1]): Start[] {
  const fixed = factorOf(search, off);
  const straight = { ...straightOf(search.model), shift: state.shift, bed: state.bed };
  const orders = [
    { hints, blows: state.blows },
    ...(hints.length === 2 ? [{ hints: hints.slice().reverse(), blows: state.blows.slice().reverse() }] : []),
  ];
  return orders
    .flatMap(({ hints, blows }) =>
      pushesOf(blows.length).flatMap((pushes) =>
        sides.flatMap((side) =>
          SOFTER.map((softer) => {
            const start = startOf(
              straight,
              blows.map((blow, b) =>
                blowAt(search.model, blow.station, side * Math.sign(blow.push) * pushes[b]!),
              ),
              softer,
            );
            const misfit = misfitOf(fixed, roughDeflection(search.model, start, fixed.x));
            return { hints, state: start, off, misfit };
          }),
        ),
      ),
    )
    .sort((a, b) => a.misfit - b.misfit);
}

/** Every combination of pushes for so many blows. */
function pushesOf(blows: number, pushes: readonly number[] = PUSHES): number[][] {
  return blows === 1 ? pushes.map((push) => [push]) : pushes.flatMap((a) => pushes.map((b) => [a, b]));
}

/** The fixed part and the slopes of every free number, with their priors, in one factor. */
function freeFactor({ fixed, hints, state }: FoundStruck): { qr: Qr; slopes: readonly Float64Array[] } {
  const { model, x } = fixed;
  const parameters = parametersOf(model, hints, state.bed !== null);
  const qr = stackFixed(fixed, parameters.length);
  const slopes = stateSlopes(model, state, x, parameters);
  slopes.forEach((slope, k) => {
    const full = weighted(fixed, slope, qr.rows);
    full[fixed.rows + k] = parameters[k]!.flat ? 1e-3 : 1 / parameters[k]!.sd;
    qr.push(full);
  });
  return { qr, slopes };
}

/** Variance of the fit, with everything free, at a reading left out over that of the reading itself. */
function spreadAt(found: FoundStruck, { rows, scale }: Search): (i: number) => number {
  let known: { covariance: number[][]; columns: readonly Float64Array[] } | null = null;
  return (i) => {
    if (known === null) {
      const { qr, slopes } = freeFactor(found);
      known = { covariance: qr.unscaledCovariance(), columns: [...found.fixed.raw, ...slopes] };
    }
    const { covariance, columns } = known;
    let variance = 0;
    columns.forEach((a, p) => {
      columns.forEach((b, q) => {
        variance += a[i]! * b[i]! * covariance[p]![q]!;
      });
    });
    return variance / (rows.sd[i]! * scale) ** 2;
  };
}

/** Residuals with everything free, blows and steel too. */
export function struckResiduals(found: FoundStruck): Residuals {
  const { fixed, state } = found;
  return {
    residual: residualOf(fixed, fixed.qr, stateDeflection(fixed.model, state, fixed.x)),
    share: shareLeft(fixed, freeFactor(found).qr),
  };
}
