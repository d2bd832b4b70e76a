import type { Finding } from '../finding.ts';
import type { JobUnits } from '../job/job.ts';
import type { Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { about, distinctStations } from './survey-finding.ts';

/** Stations read before and missing now, and new ones: a pair of each close together is a slip of the pen. */
export function stationDoubts(survey: Survey, previous: Survey, units: JobUnits): Finding[] {
  const key = (station: number) => Math.round(station * 1e4);
  const now = distinctStations(survey);
  const then = distinctStations(previous);
  const nowKeys = new Set(now.map(key));
  const thenKeys = new Set(then.map(key));
  const added = now.filter((station) => !thenKeys.has(key(station)));
  const missing = then.filter((station) => !nowKeys.has(key(station)));
  // A crew that chose other stations did not make a slip.
  if (added.length > Math.max(3, now.length / 5)) return [];
  const say = (station: number) => formatLength(station, { units, as: 'station' });
  const findings: Finding[] = [];
  for (const station of added) {
    const meant =
      missing.length <= 5
        ? missing.reduce<number | null>(
            (best, other) =>
              best === null || Math.abs(other - station) < Math.abs(best - station) ? other : best,
            null,
          )
        : null;
    const { file, row } = survey.readings.find((reading) => reading.station === station)!;
    const hint = meant === null ? '' : ` ${say(meant)} is missing: is that meant?`;
    findings.push(
      about(
        survey,
        'station-new',
        `Station ${say(station)} was not read in cycle ${previous.cycle}.${hint}`,
        {
          severity: meant === null ? 'note' : 'caution',
          station,
          file,
          row,
        },
      ),
    );
  }
  // Many left out is a plan (fewer stations once the zones are known), a few are an oversight.
  if (missing.length > 0 && missing.length <= Math.max(2, then.length / 8) && added.length === 0) {
    const few = missing.slice(0, 5).map(say).join(', ') + (missing.length > 5 ? ', …' : '');
    findings.push(
      about(
        survey,
        'stations-missing',
        `${missing.length} station${missing.length === 1 ? '' : 's'} of cycle ${previous.cycle} not read in cycle ${survey.cycle}: ${few}.`,
        { severity: 'note' },
      ),
    );
  }
  return findings;
}
