import type { Finding } from '../finding.ts';
import type { Survey } from '../survey/survey.ts';

/** A finding about a whole survey, placed at its first reading. */
export function about(survey: Survey, code: string, message: string, more: Partial<Finding> = {}): Finding {
  const { file, row } = survey.readings[0]!;
  return { severity: 'caution', code, message, line: survey.line, cycle: survey.cycle, file, row, ...more };
}

/** Distinct stations, increasing, m. */
export function distinctStations(survey: Survey): number[] {
  const stations: number[] = [];
  for (const { station } of survey.readings) {
    if (stations.length === 0 || station - stations.at(-1)! > 1e-6) stations.push(station);
  }
  return stations;
}
