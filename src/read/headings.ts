import { closest } from '../job/closest.ts';
import type { JobUnits } from '../job/job.ts';
import type { ReadingState } from '../survey/survey.ts';
import { foldFieldText } from '../units/field-text.ts';
import { type LengthUnit, lengthUnit } from '../units/parse-length.ts';
import { quantityUnit } from '../units/parse-quantity.ts';

export const COLUMNS = [
  'cycle',
  'line',
  'station',
  'offset',
  'date',
  'time',
  'state',
  'sd',
  'temperature',
  'note',
] as const;
export type ColumnName = (typeof COLUMNS)[number];

/** Short forms met in field books. Common practice, no source. */
const ALSO: Record<string, ColumnName> = {
  sta: 'station',
  temp: 'temperature',
  notes: 'note',
  remarks: 'note',
};

/** What one heading means. */
export type Heading =
  | {
      readonly kind: 'column';
      readonly name: ColumnName;
      readonly unit: LengthUnit | null;
      readonly temperature: string | null;
    }
  /** A field sheet's column of offsets. */
  | {
      readonly kind: 'cycle';
      readonly cycle: number;
      readonly state: ReadingState;
      readonly unit: LengthUnit | null;
    }
  | { readonly kind: 'empty' }
  | { readonly kind: 'unknown'; readonly near: string | null }
  /** A known column with a unit that is none. */
  | { readonly kind: 'bad-unit'; readonly name: string; readonly unit: string };

const CYCLE = /^cycle[ _-]?(\d{1,4})(?:[ _-](released|restrained))?$/;

/** `station_ft`, `offset (in)`, `offset [mm]`, `offset, mm`, `Station`, `cycle 3 restrained (mm)`. */
export function readHeading(text: string): Heading {
  const folded = foldFieldText(text).toLowerCase();
  if (folded === '') return { kind: 'empty' };
  const whole = named(folded, null);
  if (whole !== null) return whole;
  const parts = /^(.*?)\s*(?:\(([^()]*)\)|\[([^[\]]*)\]|,\s*([^,]+)|[_ ]([^_ ]+))$/.exec(folded);
  if (parts !== null) {
    const unit = (parts[2] ?? parts[3] ?? parts[4] ?? parts[5] ?? '').trim();
    const withUnit = named(parts[1]!.trim(), unit);
    // A bracket can only be a unit; after a space or underscore it may be another word (`offset left`).
    if (withUnit !== null && (withUnit.kind !== 'bad-unit' || parts[5] === undefined)) return withUnit;
  }
  const near = closest(folded.replace(/[^a-z0-9 ]/g, ''), COLUMNS);
  return { kind: 'unknown', near };
}

function named(word: string, unit: string | null): Heading | null {
  const cycle = CYCLE.exec(word);
  const name = (COLUMNS as readonly string[]).includes(word)
    ? (word as ColumnName)
    : Object.hasOwn(ALSO, word)
      ? ALSO[word]!
      : null;
  if (cycle !== null) {
    const read = unit === null ? null : lengthUnit(unit);
    if (unit !== null && read === null) return { kind: 'bad-unit', name: word, unit };
    return {
      kind: 'cycle',
      cycle: Number(cycle[1]),
      state: cycle[2] === 'restrained' ? 'restrained' : 'released',
      unit: read,
    };
  }
  if (name === null) return null;
  if (unit === null) return { kind: 'column', name, unit: null, temperature: null };
  if (name === 'temperature') {
    const key = quantityUnit(unit, 'temperature');
    return key === null
      ? { kind: 'bad-unit', name, unit }
      : { kind: 'column', name, unit: null, temperature: key };
  }
  const read = name === 'station' || name === 'offset' || name === 'sd' ? lengthUnit(unit) : null;
  return read === null
    ? { kind: 'bad-unit', name, unit }
    : { kind: 'column', name, unit: read, temperature: null };
}

/** Units of numbers written without one, by the job: feet and inches, or metres and millimetres. */
export function defaultUnits(units: JobUnits): {
  station: LengthUnit;
  offset: LengthUnit;
  temperature: 'f' | 'c';
} {
  return units === 'us'
    ? { station: 'ft', offset: 'in', temperature: 'f' }
    : { station: 'm', offset: 'mm', temperature: 'c' };
}
