import type { JobUnits } from '../job/job.ts';
import { median } from '../maths/median.ts';
import { log } from '../maths/portable.ts';
import { FOOT, INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';

/** The slips people make with a rule, a book and a keyboard. Common practice, no source. */
type MisreadKind =
  | 'inch'
  | 'foot'
  | 'ten-millimetres'
  | 'hundred-millimetres'
  | 'sign'
  | 'fraction'
  | 'counted-back'
  | 'fraction-lost'
  | 'half-inch'
  | 'digits-swapped'
  | 'decimal-point'
  | 'other-unit'
  | 'swapped-neighbours'
  | 'copied-neighbour'
  | 'wrong-station'
  | 'unexplained';

export interface MisreadQuestion {
  /** Station and offset of the suspicious reading, m, as read (standoff on). */
  readonly station: number;
  readonly offset: number;
  /** What the rest of the survey says should have been read here, m, in the same terms as `offset`. */
  readonly expected: number;
  /** Standard uncertainty of offset − expected for a good reading, m. */
  readonly u: number;
  /** Other readings of the survey with what is expected of each; the nearest on each side are used. */
  readonly neighbours?: readonly {
    readonly station: number;
    readonly offset: number;
    readonly expected: number;
  }[];
  /** The last cycle's offset at this station, m; null or absent: none. */
  readonly previous?: { readonly cycle: number; readonly offset: number } | null;
  /** Offset expected at another station, m; null outside the line. Lets a wrong station be recognised. */
  readonly expectedAt?: (station: number) => number | null;
  readonly units: JobUnits;
}

export interface Misread {
  readonly kind: MisreadKind;
  /** The offset that was probably meant, m; null where no slip explains the reading. */
  readonly meant: number | null;
  /** The station that was probably meant, m, for `wrong-station`. */
  readonly meantStation: number | null;
  /** The slip alone, `looks like a one-inch misreading: 3 5/16 in?`; null where none explains the reading. */
  readonly slip: string | null;
  /** One sentence in the job's units: what was read, what is expected, the likely slip and the evidence. */
  readonly message: string;
}

interface Guess {
  readonly kind: MisreadKind;
  readonly meant: number;
  /** Relative frequency of the slip: only the order matters. */
  readonly weight: number;
  readonly words: string;
  /** Squared misfits beyond the reading itself (the other half of a swap). */
  readonly extra?: number;
  readonly meantStation?: number;
  /** The words say it all: the slip is of place, not of value. */
  readonly place?: true;
  /** What is expected where the reading belongs, when that is not `expected`. */
  readonly against?: number;
}

/**
 * Names the slip that best explains a reading far from what the rest of the survey says.
 *
 * Each slip proposes the offset that was meant; it is kept when that offset agrees with the expected one within
 * 3u, and the one with the largest weight·exp(−z²/2) is named (a plain Bayes choice between a few causes).
 * Where u is too large to tell the slips apart none is named. The reading itself is never changed.
 */
export function explainMisread(question: MisreadQuestion): Misread {
  const { offset, expected, u, units } = question;
  const say = (metres: number) => formatLength(metres, { units, as: 'offset' });
  const sayStation = (metres: number) => formatLength(metres, { units, as: 'station' });
  const off = Math.abs(offset - expected);
  const facts = `read ${say(offset)} where ${say(expected)} is expected`;
  const before =
    question.previous == null
      ? ''
      : ` (cycle ${question.previous.cycle} read ${say(question.previous.offset)} here)`;

  const fitting: { guess: Guess; score: number }[] = [];
  for (const guess of guesses(question, say, sayStation)) {
    const misfit = Math.abs(guess.meant - (guess.against ?? expected));
    const z = misfit / u;
    // The slip must explain nearly all of the difference, or any small slip would "explain" half of it.
    if (!(z <= 3 && misfit <= off / 3)) continue;
    const score = log(guess.weight) - z ** 2 / 2 - (guess.extra ?? 0) / 2;
    fitting.push({ guess, score });
  }
  fitting.sort((a, b) => b.score - a.score);
  const best = fitting[0];
  if (best === undefined) {
    const times = u > 0 ? `, ${Math.round(off / u)} times its uncertainty` : '';
    return {
      kind: 'unexplained',
      meant: null,
      meantStation: null,
      slip: null,
      message: `At ${sayStation(question.station)}: ${facts}${before}, ${say(off)} off${times}; no common slip explains it: read it again.`,
    };
  }
  const { guess } = best;
  // A second slip nearly as likely is said too: the reader of the field sheet can tell, the program cannot.
  const second = fitting.find(
    (other) => other.score > best.score - log(4) && Math.abs(other.guess.meant - guess.meant) > 1e-6,
  )?.guess;
  const slip = slipText(guess, second, say);
  return {
    kind: guess.kind,
    meant: guess.meant,
    meantStation: guess.meantStation ?? null,
    slip,
    message: `At ${sayStation(question.station)}: ${facts}${before}; ${slip}`,
  };
}

type Say = (metres: number) => string;

/** 'looks like a one-inch misreading: 3 5/16 in?', with a second meaning where there is one. */
function slipText(guess: Guess, second: Guess | undefined, say: Say): string {
  if (guess.place === true) return `${guess.words}?`;
  const first = `${guess.words}: ${say(guess.meant)}`;
  if (second === undefined || second.place === true || say(second.meant) === say(guess.meant))
    return `${first}?`;
  return second.words === guess.words
    ? `${first} or ${say(second.meant)}?`
    : `${first}; or ${second.words}: ${say(second.meant)}?`;
}

function guesses(question: MisreadQuestion, say: Say, sayStation: Say): Guess[] {
  const { offset, units } = question;
  const list: Guess[] = [];
  const add = (kind: MisreadKind, meant: number, weight: number, words: string) =>
    list.push({ kind, meant, weight, words });

  if (offset !== 0) add('sign', -offset, 1, 'the sign looks flipped');
  if (units === 'us') usSlips(offset, add);
  else siSlips(offset, add);
  list.push(...placeSlips(question, say, sayStation));
  return list;
}

type AddGuess = (kind: MisreadKind, meant: number, weight: number, words: string) => void;

function usSlips(offset: number, add: AddGuess): void {
  for (const way of [1, -1]) {
    add('inch', offset + way * INCH, 1, 'looks like a one-inch misreading');
    add('foot', offset + way * FOOT, 0.7, 'looks like a one-foot misreading');
    add('half-inch', offset + (way * INCH) / 2, 0.3, 'looks like a half-inch misreading');
  }
  const sign = offset < 0 ? -1 : 1;
  const inches = Math.abs(offset) / INCH;
  const whole = Math.floor(inches + 1e-9);
  const part = inches - whole;
  const ticks = Math.round(part * 64);
  if (ticks > 0 && Math.abs(part * 64 - ticks) < 1e-6) {
    for (const [factor, words] of [
      [2, 'counted in units half as large'],
      [0.5, 'counted in units twice as large'],
    ] as const) {
      const meant = sign * (whole + part * factor) * INCH;
      if (part * factor < 1)
        add(
          'fraction',
          meant,
          0.8,
          `the fraction may have been ${words} (sixteenths for eighths or the like)`,
        );
    }
    const back = sign * (whole + 1 - part) * INCH;
    if (part !== 0.5)
      add('counted-back', back, 0.4, `the fraction may have been counted back from the next inch`);
  } else if (ticks === 0 && whole >= 11) {
    // "51" from "5 1/8" with the rest lost.
    const head = Math.floor(whole / 10);
    const tail = whole % 10;
    for (const under of [2, 4, 8, 16]) {
      if (tail === 0 || tail >= under || (under > 2 && tail % 2 === 0)) continue;
      const meant = sign * (head + tail / under) * INCH;
      add('fraction-lost', meant, 0.8, 'a fraction may have lost its space and denominator');
    }
  }
  decimalSlips(inches, sign * INCH, add);
  add('other-unit', offset / 25.4, 0.3, 'looks like millimetres written in an inches column');
  add('other-unit', offset * 12, 0.5, 'looks like feet written in an inches column');
}

function siSlips(offset: number, add: AddGuess): void {
  for (const way of [1, -1]) {
    const ten = offset + way * 0.01;
    const hundred = offset + way * 0.1;
    add('ten-millimetres', ten, 1, 'looks like a 10 mm misreading');
    add('hundred-millimetres', hundred, 0.7, 'looks like a 100 mm misreading');
  }
  decimalSlips(Math.abs(offset) * 1000, (offset < 0 ? -1 : 1) * 0.001, add);
  add('other-unit', offset * 25.4, 0.3, 'looks like inches written in a millimetres column');
}

/** Slips of a decimal number written in some unit: a slipped point, two digits exchanged. */
function decimalSlips(value: number, unit: number, add: AddGuess): void {
  const hundredths = Math.round(value * 100);
  // A fraction is not typed digit by digit.
  if (value === 0 || Math.abs(value * 100 - hundredths) > 1e-6) return;
  add('decimal-point', value * 10 * unit, 0.4, 'the decimal point may have slipped');
  add('decimal-point', (value / 10) * unit, 0.4, 'the decimal point may have slipped');
  // What was read off a rule in sixteenths is meant to be sixteenths again: 6 1/2 is no slip of 5.6.
  const ruled = unit === INCH || unit === -INCH ? isSixteenths(value) : false;
  const digits = String(hundredths).padStart(3, '0');
  const used = digits.endsWith('00')
    ? digits.length - 2
    : digits.endsWith('0')
      ? digits.length - 1
      : digits.length;
  for (let i = 0; i + 1 < used; i++) {
    if (digits[i] === digits[i + 1]) continue;
    const swapped = digits.slice(0, i) + digits[i + 1] + digits[i] + digits.slice(i + 2);
    if (ruled && !isSixteenths(Number(swapped) / 100)) continue;
    const meant = (Number(swapped) / 100) * unit;
    add('digits-swapped', meant, 0.8, 'two digits may have been exchanged');
  }
}

function isSixteenths(inches: number): boolean {
  return Math.abs(inches * 16 - Math.round(inches * 16)) < 1e-6;
}

/** A good reading in the wrong place. */
function placeSlips(question: MisreadQuestion, say: Say, sayStation: Say): Guess[] {
  const { station, offset, expected, u, neighbours = [], expectedAt } = question;
  const list: Guess[] = [];
  const others = neighbours.filter((other) => Math.abs(other.station - station) > 1e-6);
  const left = others
    .filter((other) => other.station < station)
    .reduce<(typeof others)[number] | null>((a, b) => (a === null || b.station > a.station ? b : a), null);
  const right = others
    .filter((other) => other.station > station)
    .reduce<(typeof others)[number] | null>((a, b) => (a === null || b.station < a.station ? b : a), null);
  // Rows further off are looked at where they are wrong themselves.
  const beside = [left, right].filter((other) => other !== null);
  const further = others.filter(
    (other) => !beside.includes(other) && Math.abs(other.offset - other.expected) > 3 * u,
  );
  for (const other of [...beside, ...further]) {
    const here = (other.offset - expected) / u;
    const there = (offset - other.expected) / u;
    if (Math.abs(here) <= 3 && Math.abs(there) <= 3 && Math.abs(other.offset - other.expected) > 3 * u) {
      list.push({
        kind: 'swapped-neighbours',
        place: true,
        meant: other.offset,
        // One exchange explains two wrong readings; any other cause would have had to strike twice.
        weight: 2,
        extra: there ** 2,
        words: `looks exchanged with ${sayStation(other.station)}, which reads ${say(other.offset)} and should read about ${say(other.expected)}`,
      });
    } else if (
      beside.includes(other) &&
      Math.abs(offset - other.offset) < 1e-9 &&
      Math.abs(other.offset - other.expected) <= 3 * u
    ) {
      list.push({
        kind: 'copied-neighbour',
        place: true,
        meant: expected,
        weight: 0.3,
        words: `it is the same as at ${sayStation(other.station)}: a line written twice`,
      });
    }
  }
  if (expectedAt !== undefined) {
    const read = others.map((other) => other.station);
    for (const { meantStation, weight } of stationSlips(station, read, question.units)) {
      const there = expectedAt(meantStation);
      if (there === null) continue;
      list.push({
        kind: 'wrong-station',
        place: true,
        meant: offset,
        meantStation,
        against: there,
        weight,
        words: `it fits at ${sayStation(meantStation)}: the wrong station written`,
      });
    }
  }
  return list;
}

/**
 * Stations that may have been meant. One off, or the one nobody read, comes before a wrong fraction; a station that has a
 * reading of its own, or another slip of the pen (two digits exchanged, one ten off), after it.
 *
 * @param read the other stations of the survey, any order
 */
function stationSlips(
  station: number,
  read: readonly number[],
  units: JobUnits,
): { meantStation: number; weight: number }[] {
  const same = (a: number, b: number) => Math.abs(a - b) < 1e-6;
  const free = (at: number) => !read.some((other) => same(other, at));
  const one = units === 'us' ? FOOT : 1;
  const missing = missedStations(read, station).filter((at) => Math.abs(at - station) < 10 * one);
  const near = [station - one, station + one];
  const weighed = [
    ...missing.map((meantStation) => ({ meantStation, weight: 1.5 })),
    ...near.map((meantStation) => ({ meantStation, weight: free(meantStation) ? 1.2 : 0.2 })),
    ...penSlips(station, units).map((meantStation) => ({ meantStation, weight: 0.2 })),
  ];
  return weighed.filter(
    ({ meantStation }, i) => !weighed.slice(0, i).some((before) => same(before.meantStation, meantStation)),
  );
}

/** Stations left out of an otherwise even row of them. */
function missedStations(read: readonly number[], station: number): number[] {
  const all = [...new Set([...read, station])].sort((a, b) => a - b);
  const steps = all.slice(1).map((s, i) => s - all[i]!);
  if (steps.length < 4) return [];
  const step = median(steps);
  return all.slice(0, -1).flatMap((s, i) => {
    const count = Math.round(steps[i]! / step);
    return Math.abs(steps[i]! - count * step) > 0.02 * step
      ? []
      : Array.from({ length: Math.max(0, count - 1) }, (_, k) => s + (k + 1) * step);
  });
}

/** Two digits exchanged, one ten off. */
function penSlips(station: number, units: JobUnits): number[] {
  const unit = units === 'us' ? FOOT : 1;
  const value = Math.round((station / unit) * 100) / 100;
  const text = String(value);
  const slips: number[] = [value + 10, value - 10];
  for (let i = 0; i + 1 < text.length; i++) {
    if (text[i] === '.' || text[i + 1] === '.' || text[i] === text[i + 1]) continue;
    slips.push(Number(text.slice(0, i) + text[i + 1] + text[i] + text.slice(i + 2)));
  }
  return slips.filter((slip) => Number.isFinite(slip) && slip !== value).map((slip) => slip * unit);
}
