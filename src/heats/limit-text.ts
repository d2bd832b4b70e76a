import type { JobUnits } from '../job/job.ts';
import { fahrenheitFromCelsius, MEGAPASCAL, PSI } from '../units/factors.ts';

/** Gauge pressure with the job's unit first: `1800 psi (12.4 MPa)` or `12.4 MPa (1799 psi)`. Both are rounded down. */
export function pressureText(pascals: number, units: JobUnits): string {
  const both = [psiText(pascals), megapascalText(pascals)];
  if (units === 'si') both.reverse();
  return `${both[0]} (${both[1]})`;
}

/** Whole psi, rounded down. */
export function psiText(pascals: number): string {
  return `${floor(pascals / PSI, 1)} psi`;
}

/** Tenths of a megapascal, rounded down. */
export function megapascalText(pascals: number): string {
  return `${floor(pascals / MEGAPASCAL, 10).toFixed(1)} MPa`;
}

/** A temperature limit in the job's unit, whole degrees rounded down. */
export function limitTemperature(celsius: number, units: JobUnits): string {
  return units === 'us' ? `${floor(fahrenheitFromCelsius(celsius), 1)} °F` : `${floor(celsius, 1)} °C`;
}

/** Rounded down to 1/`parts`; a value within rounding of a step is that step. */
function floor(value: number, parts: number): number {
  return Math.floor(value * parts * (1 + 1e-12) + 1e-9) / parts;
}
