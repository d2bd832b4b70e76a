import { INCH } from '../units/factors.ts';
import type { JobUnits } from './job.ts';

/** Plate and sheet thicknesses commonly held; common practice, no source. */
const STOCK: Record<JobUnits, readonly number[]> = {
  us: [1 / 32, 1 / 16, 1 / 8, 3 / 16, 1 / 4, 3 / 8, 1 / 2, 3 / 4, 1].map((inches) => inches * INCH),
  si: [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25].map((millimetres) => millimetres / 1000),
};

/** Filler thicknesses of a plate as job.json gives them, else those commonly held, m. */
export function fillersOf(
  given: readonly number[] | undefined,
  units: JobUnits,
  path: string,
  add: (column: string, found: string, expected: string) => void,
): readonly number[] {
  if (given?.some((thickness) => !(thickness > 0)))
    add(`${path}.fillers`, 'a thickness of zero or less', 'thicknesses above zero');
  return given ?? STOCK[units];
}
