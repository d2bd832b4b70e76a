import { type AtOneScale, climb, factorOf, oneMoreOff, type Search, searchAt } from '../climb.ts';
import { longestSpan, onDiaphragms } from '../line-model.ts';
import { evidenceOf, type LineModel } from '../model.ts';
import {
  assess,
  blowAt,
  type FoundStruck,
  likelyBlows,
  misfitOf,
  PUSHES,
  SOFTER,
  searchStruck,
  startOf,
  straightOf,
  struckResiduals,
} from './search.ts';
import { roughDeflection } from './shape.ts';

/** Widest and narrowest bays looked at, m: 30 ft and 8 ft (common practice, no source). */
const WIDEST = 9.2;
const NARROWEST = 2.4;
/** Counts followed to the end: where one blow explains the readings, with the nats behind the best beyond which none is; and where it does not. */
const FOLLOWED = 2;
const BEHIND = 15;
const FOLLOWED_UNEXPLAINED = 4;
/** Places, and starts of each count, tried before the counts are ranked. */
const PLACES = 2;
const STARTS = 3;

/**
 * The struck beam on diaphragms whose number and places the job does not give: about even bays, as many as the readings
 * make most probable, each diaphragm's place a number of the fit.
 */
export function searchUnplaced(whole: AtOneScale, scatter: number): FoundStruck {
  const ranked = counts(whole.model)
    .map((count) => {
      const on = { ...whole, model: onDiaphragms(whole.model, count) };
      const first = oneBlow(searchAt(on, scatter));
      return { on, first, worth: worthOf(first) };
    })
    .sort((a, b) => b.worth - a.worth);
  let best: FoundStruck | null = null;
  const explained = ranked[0] !== undefined && setAside(ranked[0].first, whole.hand.off) < MOST_LOUD;
  const followed = explained
    ? ranked.slice(0, FOLLOWED).filter(({ worth }) => worth > ranked[0]!.worth - BEHIND)
    : ranked.slice(0, FOLLOWED_UNEXPLAINED);
  for (const { on, first } of followed) {
    const found = searchStruck(on, scatter, first);
    if (!best || worthOf(found) > worthOf(best)) best = found;
  }
  return best!;
}

/** Log posterior, comparable between models of different diaphragms. */
export function worthOf(found: {
  readonly score: number;
  readonly fixed: { readonly model: LineModel };
}): number {
  return found.score + evidenceOf(found.fixed.model);
}

function setAside({ off }: FoundStruck, byHand: readonly boolean[]): number {
  return off.filter((value, i) => value && !byHand[i]).length;
}

function counts({ bearings, from, to }: LineModel): number[] {
  const length = longestSpan(bearings, from, to);
  const least = Math.max(1, Math.ceil(length / WIDEST) - 1);
  const most = Math.max(least, Math.min(9, Math.floor(length / NARROWEST) - 1));
  return Array.from({ length: most - least + 1 }, (_, i) => least + i);
}

/** No blow or one, at the stated place or the likeliest ones, hard or light, on stiff or loose diaphragms. */
function oneBlow(search: Search): FoundStruck {
  const { model, hand } = search;
  const nothing = assess(search, { hints: [], state: straightOf(model), off: hand.off });
  const likely = likelyBlows(search, nothing);
  const stated = likely.filter(({ hint }) => hint !== null);
  const tried = stated.length > 0 ? stated : likely.slice(0, PLACES);
  const fixed = factorOf(search, hand.off);
  const starts = tried
    .flatMap(({ station, hint, sign }) =>
      PUSHES.flatMap((size) =>
        SOFTER.map((softer) => {
          const state = startOf(straightOf(model), [blowAt(model, station, sign * size)], softer);
          return {
            hints: [hint],
            state,
            off: hand.off,
            misfit: misfitOf(fixed, roughDeflection(model, state, search.rows.x)),
          };
        }),
      ),
    )
    .sort((a, b) => a.misfit - b.misfit);
  const fitted = starts
    .slice(0, STARTS)
    .map((start) => assess(search, start, 6))
    .sort((a, b) => b.score - a.score);
  const straight = withoutLoud(search, nothing);
  if (fitted.length === 0) return straight;
  const struck = withoutLoud(search, fitted[0]!);
  return struck.score > straight.score ? struck : straight;
}

/** With the readings off that are plainly wrong: a foot or a sign in one of them outweighs any number of diaphragms. */
function withoutLoud(search: Search, start: FoundStruck): FoundStruck {
  return climb(start, MOST_LOUD, [
    (here) => {
      const loudest = oneMoreOff(search, here.off, struckResiduals(here))[0];
      if (!loudest || loudest.gain < LOUD) return null;
      const without = assess(search, { ...here, off: loudest.off }, 6);
      return without.score > here.score ? without : null;
    },
  ]);
}

/** Nats from which a reading is plainly wrong, and how many are looked for. */
const LOUD = 8;
const MOST_LOUD = 5;
