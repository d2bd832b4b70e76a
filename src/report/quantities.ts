import type { JobUnits } from '../job/job.ts';

/** How a report writes quantities: the job's units, the trade's fractions, decimals kept for hover and plots. */
export interface Quantities {
  readonly units: JobUnits;
  /** "2 5/8 in" or "66.7 mm". */
  readonly length: (metres: number) => string;
  /** The same with "+" or "−" and no unit, for tables whose heading names the unit. */
  readonly signed: (metres: number) => string;
  /** The same without sign or unit rules: "2 5/8" or "66.7". */
  readonly bare: (metres: number) => string;
  /** Twice as fine as `signed`: movements of one cycle are often below the fraction used for offsets. */
  readonly movement: (metres: number) => string;
  /** A reading as read, no unit: the simplest fraction down to 1/64, or millimetres as finely as written. */
  readonly reading: (metres: number) => string;
  /** Expanded uncertainty (k = 2), decimal with unit: "± 0.05 in". */
  readonly plusMinus: (u: number) => string;
  /** Signed decimal with unit, for hover: "+2.613 in". */
  readonly decimal: (metres: number) => string;
  /** 31'-6" or 9.60 m. */
  readonly station: (metres: number) => string;
  /** "2.39°" */
  readonly angle: (radians: number) => string;
  /** Plain numbers in the plot units: inch or millimetre; foot or metre. */
  readonly offsetValue: (metres: number) => number;
  readonly stationValue: (metres: number) => number;
  readonly offsetUnit: 'in' | 'mm';
  readonly stationUnit: 'ft' | 'm';
}

const INCH = 0.0254;
const FOOT = 0.3048;
const MINUS = '\u2212';

/** @param fraction denominator of the fractions of an inch, a power of two */
export function quantities(units: JobUnits, fraction: number): Quantities {
  const us = units === 'us';
  const bare = (m: number): string => (us ? fractionText(Math.abs(m) / INCH, fraction) : mm(Math.abs(m), 1));
  const withSign = (m: number, text: string): string => (isZero(text) ? text : (m < 0 ? MINUS : '+') + text);
  return {
    units,
    length: (m) => {
      const text = bare(m);
      return `${m < 0 && !isZero(text) ? MINUS : ''}${text} ${us ? 'in' : 'mm'}`;
    },
    signed: (m) => withSign(m, bare(m)),
    bare: (m) => (m < 0 && !isZero(bare(m)) ? MINUS : '') + bare(m),
    movement: (m) => withSign(m, us ? fractionText(Math.abs(m) / INCH, fraction * 2) : bare(m)),
    reading: (m) => {
      const text = us ? fractionText(Math.abs(m) / INCH, 64) : String(Math.round(Math.abs(m) * 1e5) / 100);
      return (m < 0 && !isZero(text) ? MINUS : '') + text;
    },
    plusMinus: (u) => `± ${us ? significant((2 * u) / INCH) : significant(2000 * u)} ${us ? 'in' : 'mm'}`,
    decimal: (m) =>
      withSign(m, us ? (Math.abs(m) / INCH).toFixed(3) : mm(Math.abs(m), 2)) + (us ? ' in' : ' mm'),
    station: (m) => (us ? feetInches(m, fraction) : `${fixed(m, 2)} m`),
    angle: (a) => `${fixed((a * 180) / Math.PI, 2)}°`,
    offsetValue: (m) => (us ? m / INCH : m * 1000),
    stationValue: (m) => (us ? m / FOOT : m),
    offsetUnit: us ? 'in' : 'mm',
    stationUnit: us ? 'ft' : 'm',
  };
}

function isZero(text: string): boolean {
  return /^0(\.0*)?$/.test(text);
}

function mm(metres: number, digits: number): string {
  return (metres * 1000).toFixed(digits);
}

function fixed(x: number, digits: number): string {
  const text = Math.abs(x).toFixed(digits);
  return x < 0 && !isZero(text) ? MINUS + text : text;
}

/** Two significant digits, never in exponent form. */
function significant(x: number): string {
  if (!(x > 0)) return '0';
  const digits = Math.max(0, 1 - Math.floor(Math.log10(x)));
  return x.toFixed(Math.min(digits, 6));
}

/** Non-negative inches as a whole number and the reduced nearest fraction. */
function fractionText(inches: number, denominator: number): string {
  const parts = Math.round(inches * denominator);
  const whole = Math.floor(parts / denominator);
  let top = parts % denominator;
  let bottom = denominator;
  while (top > 0 && top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  if (top === 0) return String(whole);
  return whole === 0 ? `${top}/${bottom}` : `${whole} ${top}/${bottom}`;
}

function feetInches(metres: number, denominator: number): string {
  const parts = Math.round((Math.abs(metres) / INCH) * denominator);
  const feet = Math.floor(parts / (12 * denominator));
  const inches = fractionText((parts % (12 * denominator)) / denominator, denominator);
  return `${metres < 0 && parts > 0 ? MINUS : ''}${feet}'-${inches}"`;
}
