import type { JobUnits } from '../job/job.ts';
import { MEGAPASCAL, PSI } from '../units/factors.ts';

/** Gauge pressure with the job's unit first: `1800 psi (12.4 MPa)` or `12.4 MPa (1799 psi)`. Both are rounded down. */
export function pressureText(pascals: number, units: JobUnits): string {
  const psi = `${floor(pascals / PSI, 1)} psi`;
  const megapascals = `${floor(pascals / MEGAPASCAL, 10).toFixed(1)} MPa`;
  return units === 'us' ? `${psi} (${megapascals})` : `${megapascals} (${psi})`;
}

/** Rounded down to 1/`parts`; a value within rounding of a step is that step. */
function floor(value: number, parts: number): number {
  return Math.floor(value * parts * (1 + 1e-12) + 1e-9) / parts;
}
