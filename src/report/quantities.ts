import type { JobUnits } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import {
  decimalUnit,
  formatDecimal,
  formatLength,
  formatLimit,
  formatPlace,
  formatUncertainty,
  inUnit,
} from '../units/format-length.ts';
import { formatAngle } from '../units/format-quantity.ts';
import { dateText } from './dates.ts';

/** Denominators a report may round inches to. */
export type Fraction = 2 | 4 | 8 | 16 | 32 | 64;

/** How a report writes quantities: the job's units, the trade's fractions, decimals kept for hover and plots. */
export interface Quantities {
  readonly units: JobUnits;
  readonly fraction: Fraction;
  /** "2 5/8 in" or "66.7 mm". */
  readonly length: (metres: number) => string;
  /** A limit at its own resolution: 0.6 in is not 5/8. */
  readonly limit: (metres: number) => string;
  /** The same with "+" or "−" and no unit, for tables whose heading names the unit. */
  readonly signed: (metres: number) => string;
  /** The same without unit, "−" only. */
  readonly bare: (metres: number) => string;
  /** Signed, twice as fine: what one cycle moves is often below the fraction used for offsets. */
  readonly movement: (metres: number) => string;
  /** A reading as read, no unit: the simplest fraction down to 1/64, or millimetres to 0.1. */
  readonly reading: (metres: number) => string;
  /** Expanded uncertainty (k = 2), decimal with unit: "± 0.05 in". */
  readonly plusMinus: (u: number) => string;
  /** Signed decimal with unit, for hover: "+2.613 in". */
  readonly decimal: (metres: number) => string;
  /** 31'-6" or 9.6 m. */
  readonly station: (metres: number) => string;
  /** A station that is itself an estimate: to the nearest inch or decimetre. */
  readonly place: (metres: number) => string;
  /** "± 0.05" without the unit, for a table whose heading names it. */
  readonly plusMinusBare: (u: number) => string;
  /** "2.39°" */
  readonly angle: (radians: number) => string;
  /** Plain numbers in the plot units: inch or millimetre; foot or metre. */
  readonly offsetValue: (metres: number) => number;
  readonly stationValue: (metres: number) => number;
  /** A date as the job's locale has it: "Mar 4, 2026". */
  readonly date: (iso: string | null) => string;
  readonly offsetUnit: string;
  readonly stationUnit: string;
}

/** @param locale of dates; by the units where it is left out, as in the job */
export function quantities(
  units: JobUnits,
  fraction: Fraction,
  locale: string = units === 'us' ? 'en-US' : 'en-GB',
): Quantities {
  const offset = { units, as: 'offset', fraction } as const;
  const coarse = units === 'us' ? INCH : 0.1;
  const finer = Math.min(64, fraction * 2) as Fraction;
  return {
    units,
    fraction,
    date: (iso) => dateText(iso, locale),
    length: (m) => minus(formatLength(m, offset)),
    limit: (m) => formatLimit(m, units),
    signed: (m) => minus(formatLength(m, { ...offset, sign: 'always', unit: false })),
    bare: (m) => minus(formatLength(m, { ...offset, unit: false })),
    movement: (m) => minus(formatLength(m, { ...offset, fraction: finer, sign: 'always', unit: false })),
    reading: (m) => minus(formatLength(m, { ...offset, fraction: 64, unit: false })),
    plusMinus: (u) => `± ${formatUncertainty(2 * u, units)}`,
    decimal: (m) => minus(formatDecimal(m, { units, as: 'offset', sign: 'always' })),
    station: (m) => minus(formatLength(m, { units, as: 'station', fraction, digits: 2 })),
    place: (m) => minus(formatLength(Math.round(m / coarse) * coarse, { units, as: 'station', digits: 1 })),
    plusMinusBare: (u) => `± ${formatUncertainty(2 * u, units, false)}`,
    angle: (a) => minus(formatAngle(a)),
    offsetValue: (m) => inUnit(m, units, 'offset'),
    stationValue: (m) => inUnit(m, units, 'station'),
    offsetUnit: decimalUnit(units, 'offset'),
    stationUnit: decimalUnit(units, 'station'),
  };
}

/** Where something is: a station, of a panel with its height. */
export function placeText(at: { readonly station: number; readonly height?: number }, q: Quantities): string {
  return at.height === undefined ? q.station(at.station) : minus(formatPlace(at, q.units));
}

/** A typographic minus, as wide as a digit, so that a sign is not overlooked or left at a line's end. */
function minus(text: string): string {
  return text.startsWith('-') ? `\u2212${text.slice(1)}` : text;
}
