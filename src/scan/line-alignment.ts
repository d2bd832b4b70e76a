import { InputError } from '../input-error.ts';
import { type Alignment, motionRow, type Unnoticed, unnoticed } from './align.ts';
import { isSloped, type LineFrame, type ScanLine } from './line-frame.ts';
import { ROUGH } from './patches.ts';
import { uOfRow } from './small-motion.ts';
import { add, scale, subtract, type Vec3 } from './vector.ts';

/** Where a station of a line was read, in the line's own axes from its origin, m. */
export interface ReadPlace {
  readonly s: number;
  readonly toward: number;
  readonly across: number;
}

/** What bringing a scan onto another leaves uncertain in the stations of a line. */
export interface LineAlignment {
  /** Standard uncertainty it leaves in each station's offset, m. */
  readonly u: readonly number[];
  /** The same of its place, m: of a sweep or camber line with what goes with the set-up of its survey. */
  readonly placeU: readonly number[];
  /** Nothing holds the scan along the member, so that where the steel slopes the line may have slid; it is in `u`. */
  readonly slides: boolean;
  /** The patch or target that could be wrong untold and would do most to a station; null where none does anything. */
  readonly untold: Unnoticed | null;
}

/** Where no patch holds a scan along the member it may have slid by so much (sd), m: within what patches are found in, any place as likely. */
const SLIDE = ROUGH / Math.sqrt(3);

/**
 * What an alignment leaves uncertain at the stations of a line.
 *
 * A scan that stands off moves what is read at a station by its motion toward positive, less the slope of the steel times its
 * motion along the member. Every survey of a sweep or camber line has a set-up of its own (a straight line, as a string has), so
 * that shift and turn of the line as a whole say nothing: what counts is the difference from the straight line between its ends, which is what
 * the sliding of a bent line and the turn about its own axis of one that is displaced the other way too leave.
 * Tilt and plumb are slopes, told over the extent, and have no set-up: for them all of the turn counts.
 *
 * @param places stations read, by rising s
 * @throws InputError where nothing holds the motion the line is read in
 */
export function lineAlignment(
  line: ScanLine,
  frame: LineFrame,
  alignment: Alignment | null,
  places: readonly ReadPlace[],
): LineAlignment {
  if (alignment === null) {
    const nothing = places.map(() => 0);
    return { u: nothing, placeU: nothing, slides: false, untold: null };
  }
  const at = ({ s, toward, across }: ReadPlace): Vec3 =>
    add(
      add(scale(frame.origin, frame.metres), scale(frame.along, s)),
      add(scale(frame.toward, toward), scale(frame.across, across)),
    );
  const sloped = isSloped(line);
  const whole = places.map((place) => {
    const here = motionRow(alignment, at(sloped ? { ...place, toward: 0 } : place), frame.toward);
    if (!sloped) return here;
    const there = at({ ...place, toward: 0, across: place.across + line.extent });
    return difference(motionRow(alignment, there, frame.toward), here);
  });
  const placeU = whole.map((row) => uOfRow(alignment, row));
  if (placeU.some((u) => !Number.isFinite(u))) {
    throw new InputError(`line "${line.name}" cannot be taken from the aligned scan`, [
      {
        file: 'scan set-up',
        column: 'patches',
        found: `patches that leave free: ${alignment.free.join('; ')}`,
        expected: `a patch that holds the ${sloped ? 'turn' : 'place'} of the steel in the direction of this line`,
      },
    ]);
  }
  const rows = sloped ? whole : places.map((place, i) => fromChord(place, slopeAt(places, i)));
  let slides = false;
  const uOf = (row: readonly number[], i: number): number => {
    const u = uOfRow(alignment, row);
    if (Number.isFinite(u)) return u;
    // Held sideways, as was seen above, but not along.
    slides = true;
    return Math.hypot(uOfRow(alignment, fromChord(places[i]!, 0)), SLIDE * slopeAt(places, i));
  };
  const u = rows.map(uOf);
  return {
    u,
    placeU,
    slides,
    untold: rows
      .flatMap((row) => unnoticed(alignment, row) ?? [])
      .reduce<Unnoticed | null>((a, b) => (a === null || b.effect > a.effect ? b : a), null),
  };

  /** How a station moves against the straight line between the line's ends. */
  function fromChord(place: ReadPlace, slope: number): number[] {
    const share = place.s / frame.span;
    const [first, last] = [0, frame.span].map((s) =>
      motionRow(alignment!, at({ s, toward: 0, across: places[0]!.across }), frame.toward),
    );
    const read = motionRow(alignment!, at(place), subtract(frame.toward, scale(frame.along, slope)));
    return read.map((v, k) => v - (1 - share) * first![k]! - share * last![k]!);
  }
}

/** Slope of the steel at a station, by the stations on both sides of it. */
function slopeAt(places: readonly ReadPlace[], i: number): number {
  const [a, b] = [places[Math.max(0, i - 1)]!, places[Math.min(places.length - 1, i + 1)]!];
  return b.s === a.s ? 0 : (b.toward - a.toward) / (b.s - a.s);
}

const difference = (a: readonly number[], b: readonly number[]): number[] => a.map((v, k) => v - b[k]!);
