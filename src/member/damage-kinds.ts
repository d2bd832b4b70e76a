import type { LineAnalysis, SurveyFit } from '../analysis.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { INCH } from '../units/factors.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { linesOfSection, type PlacedLine, type SectionLines, valueAt } from './lines-of-section.ts';
import { overDepth, type Part, sectionAt } from './section.ts';
import { upward } from './sides.ts';

/**
 * Which of the published categories of damage the as-found readings show. Guide for Heat-Straightening of Damaged Steel
 * Bridge Members (FHWA-IF-08-999), 1.2: S bent about the strong axis (1.2.1, seen), W about the weak axis (1.2.2, from a
 * figure's title and memory), T twisted about its length, which with one flange held, as under a deck, bends the free flange
 * in its plane (1.2.3, seen), L local (1.2.4 and 7.1, seen): L/U in an unstiffened element such as a flange, L/S in a
 * stiffened one such as the web. Several at once are the rule.
 */
export const CATEGORIES = ['W', 'T', 'S', 'L/U', 'L/S'] as const;
export type Category = (typeof CATEGORIES)[number];

export const CATEGORY_WORDS: Readonly<Record<Category, string>> = {
  W: 'bent about the weak axis',
  T: 'twisted',
  S: 'bent about the strong axis',
  'L/U': 'local, in a flange',
  'L/S': 'local, in the web',
};

/** What the guide begins with, all from memory of it. The order of work is the engineer's. */
export const FIRST_HEATS: Readonly<Record<Category, string>> = {
  W: 'vee heats in the flanges that are bent, at their bends, open end on the stretched edge; the web lies near the neutral axis and is left alone',
  T: 'vee heats in the flange that is bent, with line heats along the web where it has yielded, near the held flange',
  S: 'a vee heat in the web, with a strip heat across the flange at its open end',
  'L/U': 'line heats along the folds around the bulge, on the side that stands out, with light jacking',
  'L/S': 'line heats along the folds around the buckle, on the side that stands out, with light jacking',
};

export interface DamageKind {
  readonly category: Category;
  /** `open`: what was read cannot tell. */
  readonly state: 'shown' | 'not-shown' | 'open';
  /** The numbers that say so, or what reading would. */
  readonly why: string;
}

const DECK_HOLDS = 'A composite deck holds the top flange, so the member did not go sideways as a whole';
const SAME_AS_W = 'Told apart by the same reading as W.';
/** A number counts as damage beyond so many u, as-built error included. */
const K = 3;
/** Members stand out of true as built by up to 1/4 in, as a rectangle; common practice, no source. */
const AS_BUILT = INCH / 4 / Math.sqrt(3);
/** Mill or fabrication sweep and camber, as a rectangle: 1/8 in for each 10 ft (ASTM A6, from memory). */
const MILL = 1 / 960 / Math.sqrt(3);
/** What is no damage, with where its size is from. */
const AS_MADE =
  'no more than members are made with (mill sweep and camber by ASTM A6, from memory; as-built error, common practice)';
/** Out-of-flatness below this is no local damage where the job sets no limit: 1/4 in (SPD 4-100, local web distortion). */
const FLAT = INCH / 4;

/** All categories, in the order above, from the first judged survey of each line. */
export function damageKinds(lines: readonly LineAnalysis[], { member, units }: Job): DamageKind[] {
  const placed = linesOfSection(lines);
  return [...sideways(placed, member, units), upright(placed, member, units), ...local(lines, units)];
}

/** `T + L/S`, or null where nothing is shown. */
export function shownCategories(kinds: readonly DamageKind[]): string | null {
  const shown = kinds.filter(({ state }) => state === 'shown').map(({ category }) => category);
  return shown.length === 0 ? null : shown.join(' + ');
}

function sideways(lines: SectionLines, member: Job['member'], units: JobUnits): DamageKind[] {
  const leading = lines.placed.bottomSweep ?? lines.placed.plumb ?? lines.placed.topSweep;
  const kind = (category: Category, state: DamageKind['state'], why: string): DamageKind => ({
    category,
    state,
    why,
  });
  if (leading === undefined) {
    const why = 'Nothing is read sideways: run a line along the bottom flange and plumb the web.';
    return [kind('W', 'open', why), kind('T', 'open', SAME_AS_W)];
  }
  const crest = leading.surveys[0]!.largest.station;
  const { bottom, top, lean } = sectionAt(lines, member, crest, 'found')!;
  const at = place(crest, units);
  const span = leading.item.line.bearings[1] - leading.item.line.bearings[0];
  const sweepDoubt = Math.sqrt(AS_BUILT ** 2 + (MILL * span) ** 2);
  const deck = member.deck === 'composite';
  if (lean.how === 'assumed' && deck) {
    const twisted = beyond(bottom.across, sweepDoubt);
    return [
      kind('W', 'not-shown', `${DECK_HOLDS}, as the job says.`),
      kind(
        'T',
        twisted ? 'shown' : 'not-shown',
        `The bottom flange is ${size(bottom.across, units)} out at ${at}${twisted ? ' while the deck holds the top flange, so the section is turned by as much' : `, ${AS_MADE}`}. The plumb of the web there would show it without the deck’s word.`,
      ),
    ];
  }
  if (lean.how === 'assumed') {
    const out = beyond(bottom.across, sweepDoubt);
    const why = `The bottom flange is ${size(bottom.across, units)} out at ${at}: ${out ? 'T where the top flange stayed, W where it went along, both where it went part of the way' : AS_MADE}. The plumb of the web there, or the sweep of the top flange, would tell.`;
    return [kind('W', 'open', why), kind('T', 'open', SAME_AS_W)];
  }
  const twisted = beyond(lean, AS_BUILT);
  const t = kind(
    'T',
    twisted ? 'shown' : 'not-shown',
    `The web leans ${size(lean, units)} over its depth at ${at}${twisted ? '' : ', no more than webs are built with (as-built error, common practice)'}.`,
  );
  if (top.across.how === 'assumed')
    return [
      deck
        ? kind('W', 'not-shown', `${DECK_HOLDS}, as the job says.`)
        : kind('W', 'open', `No sweep is read that would tell whether the member went sideways as a whole.`),
      t,
    ];
  const went = beyond(top.across, sweepDoubt);
  return [
    kind(
      'W',
      went ? 'shown' : 'not-shown',
      `The top flange is ${size(top.across, units)} out at ${at}${top.across.how === 'read' ? '' : ' (bottom flange less the lean)'}${went ? ': the section went sideways as a whole by that much' : `, ${AS_MADE}`}.`,
    ),
    t,
  ];
}

function upright(lines: SectionLines, member: Job['member'], units: JobUnits): DamageKind {
  const { camber, plumb } = lines.placed;
  if (camber === undefined)
    return {
      category: 'S',
      state: 'open',
      why: 'No camber is read: a level along the bottom flange would tell.',
    };
  const survey = camber.surveys[0]!;
  const up = upward(camber.item.line);
  const apart = survey.stations
    .filter((point) => !point.setAside)
    .map((point) => {
      const lift = liftAt(plumb, member.depth, point.station);
      return {
        station: point.station,
        value: up * point.deviation - lift.value,
        u: Math.sqrt(point.u ** 2 + lift.u ** 2),
        lift: lift.value,
      };
    });
  const furthest = (of: (each: (typeof apart)[number]) => number) =>
    apart.reduce((a, b) => (Math.abs(of(b)) > Math.abs(of(a)) ? b : a));
  const off = furthest(({ value }) => value);
  const { bearings } = camber.item.line;
  const doubt = MILL * (bearings[1] - bearings[0]);
  const shown = Math.abs(off.value) > K * Math.sqrt(off.u ** 2 + doubt ** 2);
  const worst = shown ? off : furthest(({ value, lift }) => value + lift);
  const less =
    Math.abs(worst.lift) > INCH / 32 ? `, the lift of the lean (${length(worst.lift, units)}) taken off` : '';
  const chord = camber.item.fit.baseline.method === 'bearings';
  const why = `The bottom flange stands ${length(worst.value, units)} ± ${formatUncertainty(2 * worst.u, units)} off its own line at ${place(worst.station, units)}${less}`;
  if (shown && chord)
    return {
      category: 'S',
      state: 'open',
      why: `${why}; but the camber it was built with is not known: give it as a reference profile.`,
    };
  return {
    category: 'S',
    state: shown ? 'shown' : 'not-shown',
    why: `${why}${shown ? '' : `, ${AS_MADE}`}.`,
  };
}

/** A web that swings by p lifts the bottom flange by d − √(d² − p²). */
function liftAt(
  plumb: PlacedLine | undefined,
  depth: number | null,
  station: number,
): { value: number; u: number } {
  const at = plumb === undefined ? null : valueAt(plumb.surveys[0]!, station);
  if (at === null || depth === null) return { value: 0, u: 0 };
  const factor = overDepth(plumb, depth);
  const p = factor * at.value;
  if (Math.abs(p) >= depth) return { value: 0, u: 0 };
  return { value: depth - Math.sqrt(depth ** 2 - p ** 2), u: (Math.abs(p) / depth) * factor * at.u };
}

function local(lines: readonly LineAnalysis[], units: JobUnits): DamageKind[] {
  const bulges = lines.flatMap((item) => {
    const [found] = judgedSurveys(item.fit);
    return item.line.kind === 'bulge' && found !== undefined ? [{ item, found }] : [];
  });
  const web = bulges.filter(({ item }) => onWeb(item));
  const flange = bulges.filter(({ item }) => !onWeb(item));
  return [localOf('L/U', flange, 'a flange edge or face', units), localOf('L/S', web, 'the web', units)];
}

/** What a panel or straight-edge lies on; where nothing says, the web (common practice, no source). */
function onWeb({ line }: LineAnalysis): boolean {
  if (line.panel !== undefined) return line.panel.element === 'web';
  return line.part === undefined ? !/flange/i.test(line.name) : line.part === 'web';
}

function localOf(
  category: 'L/U' | 'L/S',
  read: readonly { readonly item: LineAnalysis; readonly found: SurveyFit }[],
  where: string,
  units: JobUnits,
): DamageKind {
  if (read.length === 0)
    return {
      category,
      state: 'open',
      why: `No panel or straight-edge is read on ${where}: look along it, and read what is not flat.`,
    };
  const limitOf = ({ acceptance }: LineAnalysis) =>
    Math.min(...acceptance.map((a) => a.limit), Number.POSITIVE_INFINITY);
  const worst = read.reduce((a, b) =>
    Math.abs(b.found.largest.deviation) > Math.abs(a.found.largest.deviation) ? b : a,
  );
  const { deviation, u } = worst.found.largest;
  const limit = Number.isFinite(limitOf(worst.item)) ? limitOf(worst.item) : FLAT;
  const shown = Math.abs(deviation) - limit > K * u;
  return {
    category,
    state: shown ? 'shown' : 'not-shown',
    why: `${worst.item.line.name} stands ${length(deviation, units)} ± ${formatUncertainty(2 * u, units)} out of flat${shown ? '' : `, not clearly more than ${length(limit, units, false)}`}.`,
  };
}

function beyond({ value, u }: Part, doubt: number): boolean {
  return u !== null && Math.abs(value) > K * Math.sqrt(u ** 2 + doubt ** 2);
}

function size({ value, u }: Part, units: JobUnits): string {
  return `${length(value, units)}${u === null ? '' : ` ± ${formatUncertainty(2 * u, units)}`}`;
}

function length(metres: number, units: JobUnits, signed = true): string {
  return formatLength(metres, { units, as: 'offset', sign: signed ? 'always' : 'negative' });
}

function place(station: number, units: JobUnits): string {
  return formatLength(station, { units, as: 'station', digits: 2 });
}
