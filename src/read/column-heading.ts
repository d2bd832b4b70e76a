import { closest } from '../job/closest.ts';
import type { JobUnits } from '../job/job.ts';
import { foldFieldText, LONGEST_CELL } from '../units/field-text.ts';
import { lengthUnit } from '../units/parse-length.ts';
import { type QuantityKind, quantityUnit } from '../units/parse-quantity.ts';

/** What a column holds, which decides the units its heading may name. `amount`: a plain number in whatever unit the heading names. */
export type ColumnKind =
  | 'words'
  | 'count'
  | 'station'
  | 'length'
  | 'temperature'
  | 'angle'
  | 'stress'
  | 'amount';

/** The columns a kind of file can have, by the name in its heading line. */
export type Columns<N extends string> = Readonly<Record<N, ColumnKind>>;

/** What one heading means. */
export type ColumnHeading<N extends string> =
  | { readonly kind: 'column'; readonly name: N; readonly unit: string | null }
  | { readonly kind: 'empty' }
  | { readonly kind: 'unknown'; readonly near: string | null }
  /** A known column with a unit that is none. */
  | { readonly kind: 'bad-unit'; readonly unit: string; readonly expected: string };

const QUANTITIES: Partial<Record<ColumnKind, { kind: QuantityKind; units: string }>> = {
  temperature: { kind: 'temperature', units: 'F or C' },
  angle: { kind: 'angle', units: 'deg' },
  stress: { kind: 'stress', units: 'psi, bar or MPa' },
};

/**
 * Reads one heading of a CSV: `station_ft`, `offset (in)`, `pressure [psi]`, `gas, lb`, `Station`.
 *
 * @param also other words for a column, met in field books
 */
export function readColumnHeading<N extends string>(
  text: string,
  columns: Columns<N>,
  also: Readonly<Record<string, N>> = {},
): ColumnHeading<N> {
  const folded = foldFieldText(text);
  if (folded === '') return { kind: 'empty' };
  if (folded.length > LONGEST_CELL) return { kind: text.trim() === '' ? 'empty' : 'unknown', near: null };
  const whole = columnName(folded, columns, also);
  if (whole !== null) return { kind: 'column', name: whole, unit: null };
  const parts = headingParts(folded);
  const name = parts === null ? null : columnName(parts.word, columns, also);
  if (parts !== null && name !== null) {
    const read = readUnit(parts.unit, columns[name]);
    if (read !== null && 'unit' in read) return { kind: 'column', name, unit: read.unit };
    // A bracket can only be a unit; after a space or underscore it may be another word (`offset left`).
    if (read !== null && parts.sure) return { kind: 'bad-unit', unit: parts.unit, expected: read.expected };
  }
  return {
    kind: 'unknown',
    near: closest(folded.toLowerCase().replace(/[^a-z0-9 ]/g, ''), Object.keys(columns)),
  };
}

/** A heading cut into its word and what looks like a unit; null where there is only a word. */
export function headingParts(folded: string): { word: string; unit: string; sure: boolean } | null {
  const parts = /^(.*?)\s*(?:\(([^()]*)\)|\[([^[\]]*)\]|,\s*([^,]+)|[_ ]([^_ ]+))$/.exec(folded);
  if (parts === null) return null;
  const unit = (parts[2] ?? parts[3] ?? parts[4] ?? parts[5] ?? '').trim();
  return { word: parts[1]!.trim(), unit, sure: parts[5] === undefined };
}

function columnName<N extends string>(
  word: string,
  columns: Columns<N>,
  also: Readonly<Record<string, N>>,
): N | null {
  const key = word.toLowerCase();
  if (Object.hasOwn(columns, key)) return key as N;
  return Object.hasOwn(also, key) ? also[key]! : null;
}

/** Null where such a column has no unit. */
function readUnit(word: string, kind: ColumnKind): { unit: string } | { expected: string } | null {
  if (kind === 'amount') return { unit: word };
  if (kind === 'station' || kind === 'length') {
    const unit = lengthUnit(word.toLowerCase());
    return unit === null ? { expected: 'ft, in, m, cm or mm' } : { unit };
  }
  const quantity = QUANTITIES[kind];
  if (quantity === undefined) return null;
  const unit = quantityUnit(word, quantity.kind);
  return unit === null ? { expected: quantity.units } : { unit };
}

/** Unit of a number written without one, by the job: feet and inches, or metres and millimetres. */
export function defaultUnit(kind: ColumnKind, units: JobUnits): string {
  const us = units === 'us';
  switch (kind) {
    case 'station':
      return us ? 'ft' : 'm';
    case 'length':
      return us ? 'in' : 'mm';
    case 'temperature':
      return us ? 'f' : 'c';
    case 'stress':
      return us ? 'psi' : 'mpa';
    case 'angle':
      return 'deg';
    default:
      return '';
  }
}
