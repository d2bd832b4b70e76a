/**
 * A crew reading a string line on the simulated girder: string set-up, reading noise, rounding to the rule,
 * repeats, gaps and blunders. The readings come in the project's own type; what was wrong with which is kept apart.
 */
import type { Reading, ReadingState } from '../survey/survey.ts';
import { valueAt } from './beam.ts';
import type { GirderTruth } from './girder.ts';
import type { Random } from './random.ts';

const INCH = 0.0254;

export type BlunderKind = 'inch' | 'foot' | 'sign' | 'swap' | 'transpose' | 'fraction';
export const BLUNDER_KINDS: readonly BlunderKind[] = [
  'inch',
  'foot',
  'sign',
  'swap',
  'transpose',
  'fraction',
];

export interface ReadingOptions {
  /** Stations read, m, increasing (see `stationsAlong`). */
  readonly stations: readonly number[];
  /** Sd of one reading before rounding, m. */
  readonly sd: number;
  /** Finest mark of the rule, m; 0: not rounded. */
  readonly rounding: number;
  /** String at station 0 off the reference by this much, and its slope. m, rad. */
  readonly stringOffset?: number;
  readonly stringTilt?: number;
  /** Block height that holds the string clear, m. Added to every reading. */
  readonly standoff?: number;
  /** Readings taken at each station. Default 1. */
  readonly repeats?: number;
  /** How many readings go wrong. Default 0. */
  readonly blunders?: number;
  readonly blunderKinds?: readonly BlunderKind[];
  /** Stretches [from, to] nobody could reach, m. */
  readonly missing?: readonly (readonly [number, number])[];
  readonly random: Random;
  readonly cycle?: number;
  readonly line?: string;
  readonly state?: ReadingState;
  readonly date?: string | null;
  readonly time?: string | null;
  readonly temperature?: number | null;
  readonly file?: string;
  /** File line of the first reading. Default 2, under a header. */
  readonly firstRow?: number;
}

/** A reading that went wrong: its place in the list, how, and by how much, m. */
export interface Blunder {
  readonly index: number;
  readonly file: string;
  readonly row: number;
  readonly station: number;
  readonly kind: BlunderKind;
  readonly change: number;
}

export interface ReadingSet {
  readonly readings: Reading[];
  readonly blunders: Blunder[];
}

/** Stations every `spacing` from `from` to `to`, with closer ones within `near`. The two ends are always in. */
export function stationsAlong(
  from: number,
  to: number,
  spacing: number,
  near?: { readonly from: number; readonly to: number; readonly spacing: number },
): number[] {
  const stations = new Map<number, number>();
  const add = (station: number) => stations.set(Math.round(station * 1e4), station);
  const every = (a: number, b: number, step: number) => {
    for (let i = 0; a + i * step <= b + 1e-6; i++) add(a + i * step);
  };
  every(from, to, spacing);
  add(to);
  if (near) every(Math.max(from, near.from), Math.min(to, near.to), near.spacing);
  return [...stations.values()].sort((a, b) => a - b);
}

/** Readings of the shape the girder was left in. */
export function readGirder(truth: GirderTruth, options: ReadingOptions): ReadingSet {
  return readProfile((station) => valueAt(truth.grid, truth.profile, station), options);
}

/** Readings of any shape, given as offset (m) at a station (m). */
export function readProfile(profile: (station: number) => number, options: ReadingOptions): ReadingSet {
  const { random, sd, rounding } = options;
  const gaps = options.missing ?? [];
  const file = options.file ?? `readings/cycle-${String(options.cycle ?? 0).padStart(2, '0')}.csv`;
  const readings: Reading[] = [];
  for (let repeat = 0; repeat < (options.repeats ?? 1); repeat++) {
    for (const station of options.stations) {
      if (gaps.some(([from, to]) => station >= from && station <= to)) continue;
      const string = (options.stringOffset ?? 0) + (options.stringTilt ?? 0) * station;
      const seen = profile(station) + string + (options.standoff ?? 0) + sd * random.normal();
      readings.push({
        cycle: options.cycle ?? 0,
        line: options.line ?? 'bottom-flange',
        station,
        offset: toRule(seen, rounding),
        state: options.state ?? 'released',
        sd: null,
        temperature: options.temperature ?? null,
        date: options.date ?? null,
        time: options.time ?? null,
        note: null,
        file,
        row: (options.firstRow ?? 2) + readings.length,
      });
    }
  }
  return spoil(readings, options);
}

function toRule(value: number, rounding: number): number {
  return rounding > 0 ? Math.round(value / rounding) * rounding : value;
}

/** Makes `blunders` readings wrong by clearly more than the noise: a slip nobody could tell from noise is none. */
function spoil(readings: Reading[], options: ReadingOptions): ReadingSet {
  const { random } = options;
  const smallest = Math.max(6 * options.sd, 3 * options.rounding, 1e-4);
  const kinds = options.blunderKinds ?? BLUNDER_KINDS;
  const wanted = options.blunders ?? 0;
  const blunders: Blunder[] = [];
  const taken = new Set<number>();
  for (let tries = 0; blunders.length < wanted && tries < 500 * wanted && readings.length > 2; tries++) {
    const index = random.integer(0, readings.length - 1);
    const kind = random.pick(kinds);
    if (taken.has(index) || (kind === 'swap' && (index + 1 >= readings.length || taken.has(index + 1))))
      continue;
    const wrong = slip(kind, readings, index, options.rounding || INCH / 16, random);
    if (wrong.some(([i, offset]) => Math.abs(offset - readings[i]!.offset) < smallest)) continue;
    for (const [i, offset] of wrong) {
      const reading = readings[i]!;
      blunders.push({
        index: i,
        file: reading.file,
        row: reading.row,
        station: reading.station,
        kind,
        change: offset - reading.offset,
      });
      readings[i] = { ...reading, offset };
      taken.add(i);
    }
  }
  return { readings, blunders };
}

/** The wrong offsets a slip of this kind leaves in the book: [index, offset]. */
function slip(
  kind: BlunderKind,
  readings: readonly Reading[],
  index: number,
  rounding: number,
  random: Random,
): [number, number][] {
  const { offset } = readings[index]!;
  const side = random.uniform() < 0.5 ? -1 : 1;
  switch (kind) {
    case 'inch':
      return [[index, offset + side * INCH]];
    case 'foot':
      return [[index, offset + side * 12 * INCH]];
    case 'sign':
      return [[index, -offset]];
    case 'swap':
      return [
        [index, readings[index + 1]!.offset],
        [index + 1, offset],
      ];
    case 'transpose':
      return [[index, transposed(offset, rounding)]];
    case 'fraction':
      return [[index, offset + side * 0.5 * INCH]];
  }
}

/** The last two neighbouring digits that differ, exchanged: of whole millimetres (metric rule), else of hundredths of an inch. */
function transposed(offset: number, rounding: number): number {
  const metric = Math.abs(rounding / 0.0005 - Math.round(rounding / 0.0005)) < 1e-9;
  const unit = metric ? 0.001 : INCH / 100;
  const digits = [...String(Math.round(Math.abs(offset) / unit))];
  for (let i = digits.length - 2; i >= 0; i--) {
    if (digits[i] === digits[i + 1]) continue;
    [digits[i], digits[i + 1]] = [digits[i + 1]!, digits[i]!];
    return toRule(Math.sign(offset) * Number(digits.join('')) * unit, rounding);
  }
  return offset;
}
