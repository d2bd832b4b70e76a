import { CENTIMETRE, FOOT, INCH, MILLIMETRE } from './factors.ts';
import { foldFieldText, LONGEST_CELL } from './field-text.ts';

export type LengthUnit = 'ft' | 'in' | 'm' | 'cm' | 'mm';

export interface LengthOptions {
  /** Unit of a number written without one. */
  readonly unit: LengthUnit;
  /** True where a comma is declared to be a decimal mark too. Default false. */
  readonly decimalComma?: boolean;
  /** What `5-3-8` means, only where the job says so: feet-inches-sixteenths or -eighths. Default: refused. */
  readonly dashed?: 'eighths' | 'sixteenths' | null;
  /** True where a station such as `12+06.5` can stand. Default false. */
  readonly station?: boolean;
}

export type ParsedLength =
  | { readonly ok: true; readonly metres: number; readonly unit: LengthUnit }
  | { readonly ok: false; readonly expected: string; readonly suggestion?: string };

const FACTOR: Record<LengthUnit, number> = {
  ft: FOOT,
  in: INCH,
  m: 1,
  cm: CENTIMETRE,
  mm: MILLIMETRE,
};

const UNIT_WORDS: Record<string, LengthUnit> = {
  ft: 'ft',
  foot: 'ft',
  feet: 'ft',
  "'": 'ft',
  in: 'in',
  inch: 'in',
  inches: 'in',
  '"': 'in',
  m: 'm',
  metre: 'm',
  metres: 'm',
  meter: 'm',
  meters: 'm',
  cm: 'cm',
  mm: 'mm',
};

/** The unit a word or mark names, or null. Case and a closing full stop do not matter. */
export function lengthUnit(word: string): LengthUnit | null {
  const key = word.trim().toLowerCase().replace(/\.$/, '');
  return Object.hasOwn(UNIT_WORDS, key) ? UNIT_WORDS[key]! : null;
}

const SIMPLE = /^[+-]?(?:\d{1,15}(?:\.\d{0,20})?|\.\d{1,20})$/;
const NUMBER = String.raw`\d{1,12}(?:\.\d{0,20})?|\.\d{1,20}`;
const FEET_MARK = String.raw`(?:'|ft\.?|feet|foot)`;
const INCH_MARK = String.raw`(?:"|''|in\.?|inches|inch)`;
const UNIT = String.raw`(?:'|"|''|ft\.?|feet|foot|in\.?|inches|inch|mm|cm|metres?|meters?|m)`;

const WITH_UNIT = new RegExp(`^([+-]?) ?(${NUMBER}) ?(${UNIT})$`, 'i');
const FRACTION = new RegExp(`^([+-]?) ?(?:(\\d{1,6})([ -]))?(\\d{1,3})/(\\d{1,3}) ?(${UNIT})?$`, 'i');
const FEET_INCHES = new RegExp(
  `^([+-]?) ?(${NUMBER}) ?${FEET_MARK} ?-? ?(?:(${NUMBER})(?:[ -](\\d{1,3})/(\\d{1,3}))?|(\\d{1,3})/(\\d{1,3})) ?(${INCH_MARK})?$`,
  'i',
);
const STATION = /^([+-]?)(\d{1,6})\+(\d{1,4})(\.\d{0,9})? ?(ft\.?|'|m)?$/i;
const DASHED = /^([+-]?)(\d{1,5})-(\d{1,2})-(\d{1,2})$/;
const DASHED_PAIR = /^[+-]?(\d{1,5})-(\d{1,2}(?:\.\d+)?)( \d{1,2}\/\d{1,2})?("|'')?$/;

/**
 * One length as people write it in the field, in metres. Never guesses: a cell with two readings is refused
 * and both are said. A blank is refused, it is not zero.
 *
 * Understood: `63.5`, `63 1/2`, `3/8`, `5'-3 1/2"`, `5' 3 1/2`, `5 ft 3 in`, `1.25 ft`, `-0'-2 13/16"`, `84 mm`; where
 * stations can stand `12+06.5` (100-ft stations) and `1+234.5` (1000-m stations); where declared `31,5` and `5-3-8`;
 * primes, curly quotes, vulgar fractions and the typographic minus.
 *
 * Factors are exact (international foot). Notation: trade practice; the refusal of `3-5/16` is because it is 3 5/16 in
 * to one reader and 3 ft 5/16 in to another.
 */
export function parseLength(text: string, options: LengthOptions): ParsedLength {
  // The common case by far, kept short: a plain decimal.
  const plainly = plainLength(text, options.unit);
  if (plainly !== null) return plainly;

  if (text.length > LONGEST_CELL) {
    return text.trim() === '' ? refuse('a length, not a blank') : refuse(whatIsExpected(options));
  }
  let cell = foldFieldText(text);
  if (cell === '') return refuse('a length, not a blank');
  if (cell.includes(',')) {
    const comma = readComma(cell, options);
    if (typeof comma !== 'string') return comma;
    cell = comma;
  }
  cell = cell.replace(/''/g, '"').replace(/ +"/g, '"');

  if (SIMPLE.test(cell)) return found(decimal(cell), options.unit);

  const named = WITH_UNIT.exec(cell);
  if (named !== null) {
    const unit = lengthUnit(named[3]!)!;
    return found(signed(named[1]!, decimal(named[2]!)), unit);
  }
  return (
    readFraction(cell, options) ??
    readFeetInches(cell) ??
    readStation(cell, options) ??
    readDashed(cell, options) ??
    refuse(whatIsExpected(options))
  );
}

function found(value: number, unit: LengthUnit): ParsedLength {
  const metres = value * FACTOR[unit];
  return { ok: true, metres: metres === 0 ? 0 : metres, unit };
}

/** The part of `parseLength` for a plain decimal such as `-3.25`; null for anything else. */
export function plainLength(text: string, unit: LengthUnit): ParsedLength | null {
  const value = plainDecimal(text);
  return value === null ? null : found(value, unit);
}

/**
 * A plain decimal of at most 15 digits, or null. Digit by digit: a million rows go through here. The quotient of two
 * exact doubles is rounded once, so the value is the same as any correct conversion gives.
 */
function plainDecimal(text: string): number | null {
  const { length } = text;
  if (length === 0 || length > 17) return null;
  let i = 0;
  const first = text.charCodeAt(0);
  const negative = first === 45;
  if (negative || first === 43) i = 1;
  let digits = 0;
  let value = 0;
  let scale = 0;
  for (; i < length; i++) {
    const code = text.charCodeAt(i);
    if (code >= 48 && code <= 57) {
      value = value * 10 + (code - 48);
      digits++;
      if (scale > 0) scale *= 10;
    } else if (code === 46 && scale === 0) scale = 1;
    else return null;
  }
  if (digits === 0 || digits > 15) return null;
  if (scale > 1) value /= scale;
  return negative ? -value : value;
}

function refuse(expected: string, suggestion?: string): ParsedLength {
  return suggestion === undefined ? { ok: false, expected } : { ok: false, expected, suggestion };
}

/** Only for text a pattern here has matched: a bare conversion would read a blank as zero. */
function decimal(matched: string): number {
  return Number(matched);
}

function signed(sign: string, value: number): number {
  return sign === '-' ? -value : value;
}

function whatIsExpected(options: LengthOptions): string {
  switch (options.unit) {
    case 'ft':
      return 'a length such as 12.5, 12\'-6" or 12 ft 6 in' + (options.station === true ? ' or 12+06.5' : '');
    case 'in':
      return 'a length such as 3 5/16, 3.3125 or 3 5/16 in';
    case 'm':
      return 'a length such as 9.45 or 9450 mm' + (options.station === true ? ' or 1+234.5' : '');
    default:
      return `a length such as 84.5 or 84.5 ${options.unit}`;
  }
}

/** Replaces a declared decimal comma, or refuses the cell with what the comma could mean. */
function readComma(cell: string, options: LengthOptions): string | ParsedLength {
  const commas = cell.split(',').length - 1;
  if (options.decimalComma === true) {
    if (commas === 1 && !cell.includes('.')) return cell.replace(',', '.');
    return refuse('one decimal comma and no thousands mark', cell.replace(/[.,](?=.*[.,])/g, '') + '?');
  }
  if (commas === 1 && /^[+-]?\d+,\d+$/.test(cell)) {
    const point = cell.replace(',', '.');
    return /,\d{3}$/.test(cell)
      ? refuse('a decimal point and no thousands mark', `${cell.replace(',', '')} or ${point}?`)
      : refuse('a decimal point (the comma is decimal only in files with ";" between cells)', `${point}?`);
  }
  return refuse('a number without commas', `${cell.replace(/,/g, '')}?`);
}

function readFraction(cell: string, options: LengthOptions): ParsedLength | null {
  const match = FRACTION.exec(cell);
  if (match === null) return null;
  const [, sign, wholeText, joint, overText, underText, unitText] = match;
  const over = decimal(overText!);
  const under = decimal(underText!);
  const whole = wholeText === undefined ? 0 : decimal(wholeText);
  const named = unitText === undefined ? null : lengthUnit(unitText)!;
  const fault = fractionFault(over, under, wholeText, overText!, underText!);
  if (fault !== null) return fault;
  if (joint === '-' && named === null) {
    return refuse(
      'unit marks, because the dash has two readings',
      `${whole} ${over}/${under} in or ${whole} ft ${over}/${under} in?`,
    );
  }
  const unit = named ?? options.unit;
  if (unit !== 'in' && unit !== 'ft') {
    return refuse(
      `${unit} as a decimal (a fraction is read in feet or inches only)`,
      named === null ? `${whole === 0 ? '' : `${whole} `}${over}/${under} in?` : undefined,
    );
  }
  // Nobody divides a foot into eighths: such a fraction in a feet column is most likely inches.
  if (unit === 'ft' && under > 4) {
    const asWritten = `${whole === 0 ? '' : `${whole} `}${over}/${under}`;
    return refuse(
      'feet as a decimal or with unit marks, because the fraction has two readings',
      `${asWritten} in or ${round6(whole + over / under)} ft?`,
    );
  }
  return found(signed(sign!, whole + over / under), unit);
}

/** Halves to sixty-fourths, proper; 51/8 is most often 5 1/8 with a lost space. */
function fractionFault(
  over: number,
  under: number,
  whole: string | undefined,
  overText: string,
  underText: string,
): ParsedLength | null {
  if (![2, 4, 8, 16, 32, 64].includes(under)) {
    return refuse(
      'a fraction in halves, quarters, eighths, sixteenths, 32nds or 64ths',
      under > 0 ? `${round6(decimal(whole ?? '0') + over / under)}?` : undefined,
    );
  }
  if (over < under) return null;
  const split =
    whole === undefined && overText.length > 1
      ? `${overText.slice(0, -1)} ${overText.slice(-1)}/${underText}`
      : null;
  const value = `${round6(decimal(whole ?? '0') + over / under)}`;
  const lostSpace = split !== null && decimal(overText.slice(-1)) < under && !overText.endsWith('0');
  return refuse('a fraction smaller than one', lostSpace ? `${split} or ${value}?` : `${value}?`);
}

function readFeetInches(cell: string): ParsedLength | null {
  const match = FEET_INCHES.exec(cell);
  if (match === null) return null;
  const [, sign, feetText, inchText, over1, under1, over2, under2] = match;
  const overText = over1 ?? over2;
  const underText = under1 ?? under2;
  const feet = decimal(feetText!);
  let inches = inchText === undefined ? 0 : decimal(inchText);
  if (overText !== undefined && underText !== undefined) {
    const fault = fractionFault(
      decimal(overText),
      decimal(underText),
      inchText === undefined ? '0' : inchText,
      overText,
      underText,
    );
    if (fault !== null) return fault;
    if (inchText?.includes('.') === true) return refuse('inches as a decimal or with a fraction, not both');
    inches += decimal(overText) / decimal(underText);
  }
  if (!Number.isInteger(feet)) return refuse('whole feet before inches', `${feet} ft, or ${inches} in?`);
  if (inches >= 12) {
    const carried = feet + Math.floor(inches / 12);
    return refuse('inches under 12 after feet', `${carried}'-${round6(inches % 12)}"?`);
  }
  return found(signed(sign!, feet * 12 + inches), 'in');
}

function readStation(cell: string, options: LengthOptions): ParsedLength | null {
  const match = STATION.exec(cell);
  if (match === null) return null;
  const [, sign, head, tail, rest = '', unitText] = match;
  if (options.station !== true) return refuse('an offset, not a station');
  const unit = unitText === undefined ? null : lengthUnit(unitText)!;
  const metric =
    unit === null ? options.unit === 'm' || options.unit === 'mm' || options.unit === 'cm' : unit === 'm';
  const places = metric ? 3 : 2;
  if (tail!.length !== places) {
    const kind = metric
      ? '1000-m stations have three digits after the plus'
      : '100-ft stations have two digits after the plus';
    const padded = tail!.length < places ? `${head}+${tail!.padStart(places, '0')}${rest}?` : undefined;
    return refuse(kind, padded);
  }
  const value = decimal(head!) * (metric ? 1000 : 100) + decimal(`${tail}${rest}`);
  return found(signed(sign!, value), metric ? 'm' : 'ft');
}

function readDashed(cell: string, options: LengthOptions): ParsedLength | null {
  const match = DASHED.exec(cell);
  if (match === null) {
    const pair = DASHED_PAIR.exec(cell);
    if (pair === null) return null;
    const [, feet, inches, fraction = ''] = pair;
    return fraction === '' && pair[4] === undefined
      ? refuse('unit marks, because the dash has two readings', `${feet}'-${inches}" or ${feet}.${inches}?`)
      : refuse('unit marks', `${feet}'-${inches}${fraction}"?`);
  }
  const [, sign, feet, inches, parts] = match;
  const dashed = options.dashed ?? null;
  if (dashed === null) {
    return refuse(
      'unit marks (the job does not say that dashed lengths are used)',
      `${decimal(parts!) < 8 ? `${feet}'-${inches} ${parts}/8" or ` : ''}${feet}'-${inches} ${parts}/16"?`,
    );
  }
  const under = dashed === 'eighths' ? 8 : 16;
  if (decimal(inches!) >= 12) return refuse('feet-inches-' + dashed + ' with inches under 12');
  if (decimal(parts!) >= under) return refuse(`feet-inches-${dashed} with ${dashed} under ${under}`);
  return found(signed(sign!, decimal(feet!) * 12 + decimal(inches!) + decimal(parts!) / under), 'in');
}

function round6(value: number): number {
  return Math.round(value * 1e6) / 1e6;
}
