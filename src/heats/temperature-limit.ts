import type { Cited } from '../job/job.ts';
import { celsiusFromFahrenheit as fahrenheit } from '../units/factors.ts';

const ORDINARY: Cited = {
  value: fahrenheit(1200),
  source: 'steel not quenched and tempered: FHWA-IF-08-999 chapter 5; grades from memory of it',
};
const TEMPERED: Cited = {
  value: fahrenheit(1100),
  source: 'quenched and tempered steel: AWS D1.5, read second-hand',
};
const UNKNOWN: Cited = {
  value: fahrenheit(1100),
  source:
    'stand-in for a grade not known here: one owner’s limit, SPD 4-100, which quenched and tempered steel shares',
};

/** Steel above which changes of the metal begin: about 1330 °F (fhwa.dot.gov/bridge/steel/05.cfm). °C. */
export const PHASE_CHANGE = fahrenheit(1330);

/**
 * Highest steel temperature by grade as written in the job, °C with its source. Null for grade 70 steel
 * that is quenched and tempered: published values conflict (1050 and 1100 °F, both from memory), so
 * the job must state its own.
 */
export function temperatureLimit(steel: string | null): Cited | null {
  const grade = (steel ?? '').toUpperCase().replace(/ASTM|AASHTO|GRADE|GR|[\s,./_-]/g, '');
  if (/70W$|^A852/.test(grade)) return null;
  if (/^A514|^A517|^(A709|M270)(HPS)?100W?$/.test(grade)) return TEMPERED;
  if (/^(A7|A36|A572(42|50|55|60|65)?|A588|(A709|M270)(36|50|50W|50S)?)$/.test(grade)) return ORDINARY;
  return UNKNOWN;
}

/** True where the limit in force is the cautious stand-in for an unknown grade. */
export function isUnknownGrade(limit: Cited | null): boolean {
  return limit === UNKNOWN;
}
