import type { Finding } from '../finding.ts';
import type { JobUnits } from '../job/job.ts';
import type { Reading, Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { about } from './survey-finding.ts';

/** Reading sds by which two readings of one station differ before it is said: √2·2.8, one pair of good readings in 200. */
const APART = 4;
/** More than this, and the reading sd is what is wrong. */
const MOST_SAID = 5;

/** Stations read twice in one survey with offsets that do not agree: another station was meant, or one of them is a slip. */
export function repeatDoubts(survey: Survey, readingSd: number, units: JobUnits): Finding[] {
  const groups: Reading[][] = [];
  for (const reading of survey.readings) {
    const last = groups.at(-1);
    if (last !== undefined && reading.station - last[0]!.station <= 1e-6) last.push(reading);
    else groups.push([reading]);
  }
  const apart = groups.filter((group) => {
    const offsets = group.map(({ offset }) => offset);
    return Math.max(...offsets) - Math.min(...offsets) >= APART * readingSd - 1e-9;
  });
  const say = (metres: number) => formatLength(metres, { units, as: 'offset' });
  return apart.slice(0, MOST_SAID).map((group) => {
    const { station, file, row } = group.at(-1)!;
    const times = group.length === 2 ? 'twice' : `${group.length} times`;
    return about(
      survey,
      'repeats-disagree',
      `${formatLength(station, { units, as: 'station' })} is read ${times} in cycle ${survey.cycle}, ${group.map(({ offset }) => say(offset)).join(' and ')}: repeats are averaged. Was another station meant?`,
      { station, file, row },
    );
  });
}
