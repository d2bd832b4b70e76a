import type { JobUnits } from '../job/job.ts';
import type { ReadingState } from '../survey/survey.ts';
import { foldFieldText, LONGEST_CELL } from '../units/field-text.ts';
import { type LengthUnit, lengthUnit } from '../units/parse-length.ts';
import { type ColumnHeading, headingParts, readColumnHeading } from './column-heading.ts';

/** The columns of a readings file. */
export const COLUMNS = {
  cycle: 'count',
  line: 'words',
  station: 'station',
  height: 'length',
  offset: 'length',
  date: 'words',
  time: 'words',
  state: 'words',
  sd: 'length',
  temperature: 'temperature',
  note: 'words',
} as const;
export type ColumnName = keyof typeof COLUMNS;

/** Short forms met in field books. Common practice, no source. */
const ALSO: Record<string, ColumnName> = {
  sta: 'station',
  temp: 'temperature',
  notes: 'note',
  remarks: 'note',
};

/** What one heading means. */
export type Heading =
  | ColumnHeading<ColumnName>
  /** A field sheet's column of offsets. */
  | {
      readonly kind: 'cycle';
      readonly cycle: number;
      readonly state: ReadingState;
      readonly unit: LengthUnit | null;
    };

const CYCLE = /^cycle[ _-]?(\d{1,4})(?:[ _-](released|restrained))?$/;

/** `station_ft`, `offset (in)`, `offset [mm]`, `offset, mm`, `Station`, `cycle 3 restrained (mm)`. */
export function readHeading(text: string): Heading {
  return cycleHeading(foldFieldText(text).toLowerCase()) ?? readColumnHeading(text, COLUMNS, ALSO);
}

function cycleHeading(folded: string): Heading | null {
  if (folded.length > LONGEST_CELL) return null;
  const whole = CYCLE.exec(folded);
  const parts = whole === null ? headingParts(folded) : null;
  const cycle = whole ?? (parts === null ? null : CYCLE.exec(parts.word));
  if (cycle === null) return null;
  const unit = parts === null ? null : lengthUnit(parts.unit);
  if (parts !== null && unit === null) {
    return parts.sure ? { kind: 'bad-unit', unit: parts.unit, expected: 'ft, in, m, cm or mm' } : null;
  }
  return {
    kind: 'cycle',
    cycle: Number(cycle[1]),
    state: cycle[2] === 'restrained' ? 'restrained' : 'released',
    unit,
  };
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
