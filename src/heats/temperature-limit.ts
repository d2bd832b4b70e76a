import type { Cited } from '../job/job.ts';
import { celsiusFromFahrenheit as fahrenheit } from '../units/factors.ts';
import { type SteelGrade, steelGrade } from './steel-grade.ts';

const ORDINARY: Cited = {
  value: fahrenheit(1200),
  source: 'steel not quenched and tempered: FHWA-IF-08-999 chapter 5; grades from memory of it',
};
const TEMPERED: Cited = {
  value: fahrenheit(1100),
  source: 'quenched and tempered steel: AWS D1.5, read second-hand',
};
const UNKNOWN: Cited = {
  value: fahrenheit(1050),
  source:
    'stand-in for a grade not known here: the lowest limit of any bridge steel, that of grade 70W, from memory of FHWA-IF-08-999',
};

/** Steel above which changes of the metal begin: about 1330 °F (fhwa.dot.gov/bridge/steel/05.cfm). °C. */
export const PHASE_CHANGE = fahrenheit(1330);

/** Below this a heat does nothing: the lower end of the published range, °C. */
export const LEAST_USEFUL: Cited = {
  value: fahrenheit(700),
  source: 'the range of 700 to 1200 °F of a state special provision “Heat Straightening”, 14 Dec 2017',
};

/**
 * Highest steel temperature by grade as written in the job, °C with its source. Null for grade 70 steel
 * that is quenched and tempered: published values conflict (1050 and 1100 °F, both from memory), so
 * the job must state its own.
 */
export function temperatureLimit(steel: string | null): Cited | null {
  const limits: Record<SteelGrade['kind'], Cited | null> = {
    ordinary: ORDINARY,
    tempered: TEMPERED,
    'tempered-70': null,
    unknown: UNKNOWN,
  };
  return limits[steelGrade(steel).kind];
}

/** True where the limit in force is the cautious stand-in for an unknown grade. */
export function isUnknownGrade(limit: Cited | null): boolean {
  return limit === UNKNOWN;
}

/** The most any published limit allows quenched and tempered steel, °C; null for other steel. */
export function temperedCeiling(steel: string | null): Cited | null {
  return /^tempered/.test(steelGrade(steel).kind) ? TEMPERED : null;
}
