import type { JobUnits } from '../job/job.ts';
import { fahrenheitFromCelsius, INCH, KIP, KSI, MEGAPASCAL, PSI } from './factors.ts';

const UNKNOWN = '–';

/** Radians as degrees: `1.72°`. */
export function formatAngle(radians: number, digits = 2): string {
  if (!Number.isFinite(radians)) return UNKNOWN;
  return `${unsignedZero(((radians * 180) / Math.PI).toFixed(digits))}°`;
}

/** Radians as milliradians: `30.1 mrad`. */
export function formatMilliradians(radians: number, digits = 1): string {
  if (!Number.isFinite(radians)) return UNKNOWN;
  return `${unsignedZero((radians * 1000).toFixed(digits))} mrad`;
}

/** Pascals as ksi or MPa: `36 ksi`, `248.2 MPa`. */
export function formatStress(pascals: number, units: JobUnits): string {
  if (!Number.isFinite(pascals)) return UNKNOWN;
  return units === 'us' ? `${trimmed(pascals / KSI, 2)} ksi` : `${trimmed(pascals / MEGAPASCAL, 1)} MPa`;
}

/** Gauge pressure in psi or bar: `2400 psi`, `165 bar`. */
export function formatPressure(pascals: number, units: JobUnits): string {
  if (!Number.isFinite(pascals)) return UNKNOWN;
  return units === 'us' ? `${trimmed(pascals / PSI, 0)} psi` : `${trimmed(pascals / 1e5, 1)} bar`;
}

/** Newtons as kip or kN. */
export function formatForce(newtons: number, units: JobUnits): string {
  if (!Number.isFinite(newtons)) return UNKNOWN;
  return units === 'us' ? `${trimmed(newtons / KIP, 1)} kip` : `${trimmed(newtons / 1000, 1)} kN`;
}

/** Square metres as in² or mm². */
export function formatArea(squareMetres: number, units: JobUnits): string {
  if (!Number.isFinite(squareMetres)) return UNKNOWN;
  return units === 'us'
    ? `${trimmed(squareMetres / INCH ** 2, 2)} in²`
    : `${trimmed(squareMetres * 1e6, 0)} mm²`;
}

/** Celsius as °F or °C, whole degrees. */
export function formatTemperature(celsius: number, units: JobUnits): string {
  if (!Number.isFinite(celsius)) return UNKNOWN;
  return units === 'us' ? `${trimmed(fahrenheitFromCelsius(celsius), 0)} °F` : `${trimmed(celsius, 0)} °C`;
}

/**
 * A plain number with what it is doubted by: `14 ± 3`, to a tenth where that is under 1: `5.2 ± 0.4`. Nothing is ever told
 * as ± 0: what is smaller than a tenth is shown as that.
 */
export function formatDoubted(value: number, doubt: number): string {
  if (!Number.isFinite(value)) return UNKNOWN;
  const digits = doubt < 0.95 ? 1 : 0;
  return `${unsignedZero(value.toFixed(digits))} ± ${Math.max(doubt, 0.1).toFixed(digits)}`;
}

function trimmed(value: number, digits: number): string {
  const text = value.toFixed(digits);
  return unsignedZero(digits === 0 ? text : text.replace(/\.?0+$/, ''));
}

function unsignedZero(text: string): string {
  return /^-[0.]*$/.test(text) ? text.slice(1) : text;
}
