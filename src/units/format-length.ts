import type { JobUnits } from '../job/job.ts';
import { FOOT, INCH } from './factors.ts';

export interface LengthFormat {
  readonly units: JobUnits;
  /** `offset`: inches or millimetres. `station`: feet-inches or metres. */
  readonly as: 'offset' | 'station';
  /** Denominator the inch is rounded to in `us`. Default 16. */
  readonly fraction?: 2 | 4 | 8 | 16 | 32 | 64;
  /** `always` puts + before positive values. Default `negative`. */
  readonly sign?: 'negative' | 'always';
  /** Decimals in `si`: default 1 for offsets (mm), up to 3 for stations (m). */
  readonly digits?: number;
  /** Leave the unit out, for a table whose heading carries it. Default true (unit shown). */
  readonly unit?: boolean;
  /** `300 mm` for `300.0 mm`: a dimension of steel, given in whole millimetres as a rule. Default false. */
  readonly trim?: boolean;
}

/** Shown where a value is not known; a user never sees NaN. */
const UNKNOWN = '–';

/**
 * A length in the job's units as the trade writes it: `3 5/16 in`, `-1/16 in`, `31'-6 1/2"`; `84.1 mm`, `9.45 m`.
 * Rounds half away from zero to the stated fraction and carries (11.97 in is 1'-0"); a value that rounds to
 * zero has no sign. The text reads back with `parseLength` to within half the resolution.
 */
export function formatLength(metres: number, format: LengthFormat): string {
  if (!Number.isFinite(metres)) return UNKNOWN;
  if (format.units === 'si') return formatMetric(metres, format);
  return format.as === 'station' ? formatFeetInches(metres, format) : formatInches(metres, format);
}

function formatInches(metres: number, format: LengthFormat): string {
  const parts = fractionParts(metres, format.fraction ?? 16);
  const text = inchText(parts.whole, parts.over, parts.under);
  return prefix(metres, parts.ticks === 0, format) + text + (format.unit === false ? '' : ' in');
}

function formatFeetInches(metres: number, format: LengthFormat): string {
  const parts = fractionParts(metres, format.fraction ?? 16);
  const feet = Math.floor(parts.whole / 12);
  const inches = parts.whole - feet * 12;
  const fraction = parts.over === 0 ? '' : ` ${parts.over}/${parts.under}`;
  return `${prefix(metres, parts.ticks === 0, format)}${feet}'-${inches}${fraction}"`;
}

function formatMetric(metres: number, format: LengthFormat): string {
  const offset = format.as === 'offset';
  const value = Math.abs(metres) * (offset ? 1000 : 1);
  let text = fixed(value, format.digits ?? (offset ? 1 : 3));
  if (format.trim) text = text.replace(/\.0+$/, '');
  if (!offset && format.digits === undefined) text = text.replace(/(\.\d+?)0+$/, '$1');
  const unit = format.unit === false ? '' : offset ? ' mm' : ' m';
  return prefix(metres, !/[1-9]/.test(text), format) + text + unit;
}

/** |metres| as whole inches and a reduced fraction. */
function fractionParts(
  metres: number,
  denominator: number,
): { ticks: number; whole: number; over: number; under: number } {
  // A hair is added so that 3 5/32 in, stored in metres, still counts as a tie and goes up.
  const ticks = Math.floor((Math.abs(metres) / INCH) * denominator + 0.5 + 1e-9);
  const whole = Math.floor(ticks / denominator);
  let over = ticks - whole * denominator;
  let under = denominator;
  while (over > 0 && over % 2 === 0) {
    over /= 2;
    under /= 2;
  }
  return { ticks, whole, over, under };
}

function inchText(whole: number, over: number, under: number): string {
  if (over === 0) return `${whole}`;
  return whole === 0 ? `${over}/${under}` : `${whole} ${over}/${under}`;
}

function prefix(metres: number, isZero: boolean, format: LengthFormat): string {
  if (isZero) return '';
  if (metres < 0) return '-';
  return format.sign === 'always' ? '+' : '';
}

function fixed(value: number, digits: number): string {
  const scale = 10 ** digits;
  const ticks = value * scale;
  return ticks < 1e15 ? (Math.floor(ticks + 0.5 + 1e-9) / scale).toFixed(digits) : value.toFixed(digits);
}

/**
 * The same length as a decimal, for hovers, axes and export headings: `3.313 in`, `31.54 ft`, `84.14 mm`, `9.614 m`.
 * Default digits 3, 2, 2, 3.
 */
export function formatDecimal(
  metres: number,
  format: Pick<LengthFormat, 'units' | 'as' | 'digits' | 'sign' | 'unit'>,
): string {
  if (!Number.isFinite(metres)) return UNKNOWN;
  const { units, as } = format;
  const factor = units === 'us' ? (as === 'offset' ? INCH : FOOT) : as === 'offset' ? 0.001 : 1;
  const text = fixed(
    Math.abs(metres) / factor,
    format.digits ?? (units === 'us' ? (as === 'offset' ? 3 : 2) : as === 'offset' ? 2 : 3),
  );
  const name = format.unit === false ? '' : ` ${decimalUnit(units, as)}`;
  return prefix(metres, !/[1-9]/.test(text), { ...format }) + text + name;
}

/**
 * A limit at its own resolution, never rounded to the reading step: `1/2 in`, `17/64 in`, `0.6 in` (which is not 5/8),
 * `12.7 mm`, `9.525 mm`.
 */
export function formatLimit(metres: number, units: JobUnits): string {
  if (!Number.isFinite(metres)) return UNKNOWN;
  const value = Math.abs(metres) / (units === 'us' ? INCH : 0.001);
  const exact = (parts: number) => Math.abs(value * parts - Math.round(value * parts)) < 1e-6 * parts;
  if (units === 'us' && exact(64)) return formatLength(metres, { units, as: 'offset', fraction: 64 });
  const text = formatDecimal(metres, { units, as: 'offset', digits: units === 'us' ? 4 : 3, unit: false });
  const short = text.replace(/(\.\d*?)0+$/, '$1').replace(/\.$/, units === 'us' ? '' : '.0');
  return `${short} ${decimalUnit(units, 'offset')}`;
}

/** The unit decimals are given in: `in`, `ft`, `mm` or `m`. */
export function decimalUnit(units: JobUnits, as: 'offset' | 'station'): 'in' | 'ft' | 'mm' | 'm' {
  if (units === 'us') return as === 'offset' ? 'in' : 'ft';
  return as === 'offset' ? 'mm' : 'm';
}

/** The value itself in the unit of `decimalUnit`, for plots and exports. */
export function inUnit(metres: number, units: JobUnits, as: 'offset' | 'station'): number {
  if (units === 'us') return metres / (as === 'offset' ? INCH : FOOT);
  return as === 'offset' ? metres * 1000 : metres;
}

/**
 * A standard uncertainty or half-width with two significant digits (one from 1 upward would hide too much):
 * `0.031 in`, `0.8 mm` becomes `0.80 mm`. Never as a trade fraction, which would round it away.
 */
export function formatUncertainty(metres: number, units: JobUnits, unit = true): string {
  if (!Number.isFinite(metres)) return UNKNOWN;
  const value = Math.abs(metres) / (units === 'us' ? INCH : 0.001);
  const digits = value === 0 ? 1 : Math.min(4, Math.max(0, 1 - decade(value)));
  return value.toFixed(digits) + (unit ? ` ${decimalUnit(units, 'offset')}` : '');
}

/** Whole part of the decimal logarithm, read off the digits: Math.log10 may miss it by one at a power of ten. */
function decade(value: number): number {
  return Number.parseInt(value.toExponential().split('e')[1]!, 10);
}

/** `30'-3 1/2"`, of a panel `30'-3", height 19 in`: to the inch or centimetre, since it is a crest between readings. */
export function formatPlace(
  at: { readonly station: number; readonly height?: number | undefined },
  units: JobUnits,
): string {
  if (at.height === undefined) return formatLength(at.station, { units, as: 'station' });
  const whole = (m: number) => (units === 'us' ? Math.round(m / INCH) * INCH : Math.round(m * 100) / 100);
  return `${formatLength(whole(at.station), { units, as: 'station', digits: 2 })}, height ${formatLength(whole(at.height), { units, as: 'offset', digits: 0 })}`;
}
