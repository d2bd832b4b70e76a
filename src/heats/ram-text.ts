import type { JobUnits } from '../job/job.ts';
import { INCH } from '../units/factors.ts';

/** Ram area as 0.01 in² or 10 mm², rounded to the side that keeps the limit it stands for. */
export function ramText(squareMetres: number, units: JobUnits, side: 'up' | 'down'): string {
  const [value, digits] = units === 'us' ? [squareMetres / INCH ** 2, 2] : [squareMetres * 1e6, -1];
  const step = 10 ** -digits;
  const steps = side === 'up' ? Math.ceil(value / step - 1e-9) : Math.floor(value / step + 1e-9);
  return units === 'us' ? `${(steps * step).toFixed(2)} in²` : `${(steps * step).toFixed(0)} mm²`;
}
