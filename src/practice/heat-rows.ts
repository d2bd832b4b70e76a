import type { Job } from '../job/job.ts';
import { PRACTICE_NOTE } from '../job/practice-mark.ts';
import { FOOT, INCH, PSI } from '../units/factors.ts';
import type { PracticeHeat } from './steel.ts';
import { PRACTICE_LINE } from './survey.ts';

/** Heading of the heat log of a practice, in the job's units. */
export function heatHeading({ units }: Pick<Job, 'units'>): string {
  const [along, across, degrees, stress] =
    units === 'us' ? ['ft', 'in', 'F', 'psi'] : ['m', 'mm', 'C', 'MPa'];
  return `cycle,line,station_${along},pattern,angle_deg,depth_${across},apex,temperature_${degrees},before_${degrees},pressure_${stress},date,note`;
}

/**
 * The vees of one cycle as rows of the heat log.
 *
 * @param depth apex to open end, m
 * @param before steel temperature before each vee, °C
 * @param date ISO date the practice was done
 */
export function heatRows(
  { units }: Pick<Job, 'units'>,
  heat: PracticeHeat,
  depth: number,
  before: number,
  date: string,
): string {
  const us = units === 'us';
  const plain = (value: number, digits: number) => `${+value.toFixed(digits)}`;
  // Rounded down: a heat at its limit must not be logged above it.
  const down = (value: number) => `${Math.floor(100 * value + 1e-6) / 100}`;
  const degrees = (celsius: number) => down(us ? (celsius * 9) / 5 + 32 : celsius);
  return heat.vees
    .map((vee) =>
      [
        heat.cycle,
        PRACTICE_LINE,
        plain(vee.station / (us ? FOOT : 1), 4),
        'vee',
        plain((vee.angle * 180) / Math.PI, 2),
        plain(depth / (us ? INCH : 0.001), 3),
        vee.open > 0 ? 'negative side' : 'positive side',
        degrees(heat.temperature),
        degrees(before),
        down(heat.pressure / (us ? PSI : 1e6)),
        date,
        PRACTICE_NOTE,
      ].join(','),
    )
    .map((row) => `${row}\n`)
    .join('');
}
