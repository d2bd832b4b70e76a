import type { Job, JobUnits } from '../job/job.ts';
import type { ReadingState } from '../survey/survey.ts';
import { decimalUnit, formatUncertainty, inUnit } from '../units/format-length.ts';
import type { ScanProfile } from './extract-line.ts';

/** What a scan survey is filed under, and what it came from. */
export interface ScanOccasion {
  readonly cycle: number;
  readonly state: ReadingState;
  readonly date: string | null;
  readonly time: string | null;
  /** °C */
  readonly temperature: number | null;
  readonly source: { readonly name: string; readonly sha256: string };
  /** How the scan was brought onto another, and what that leaves untold, in words. */
  readonly aligned: readonly string[];
}

/**
 * The profiles of a scan as readings CSV, in the job's units, one row a station with its own sd. The standoff
 * of the line is put on, because every reading of the line carries it. Comment lines say what it was made from.
 */
export function profileCsv(job: Job, profiles: readonly ScanProfile[], occasion: ScanOccasion): string {
  const { units } = job;
  const station = decimalUnit(units, 'station');
  const offset = decimalUnit(units, 'offset');
  const lines = [
    `# taken from the scan ${oneLine(occasion.source.name)}, SHA-256 ${occasion.source.sha256}`,
    ...occasion.aligned.map((words) => `# ${oneLine(words)}`),
    ...profiles.map(
      (p) =>
        `# ${p.line.name}: ${p.line.feature}, slices of ${inUnit(p.line.slice, units, 'offset').toFixed(2)} ${offset}, ` +
        `${p.stations.length} stations read, ${p.unread.length} not${alignmentPart(p, units)}`,
    ),
    ...profiles.flatMap((p) => p.notes.map((note) => `# ${p.line.name}: ${note}`)),
    `cycle,line,station_${station},offset_${offset},sd_${offset},state,date,time,temperature_C,note`,
  ];
  for (const profile of profiles) {
    const line = job.lines.find((each) => each.name === profile.line.name);
    const standoff = line?.standoff ?? 0;
    for (const each of profile.stations) {
      lines.push(
        [
          occasion.cycle,
          profile.line.name,
          trim(inUnit(each.station, units, 'station').toFixed(4)),
          inUnit(each.offset + standoff, units, 'offset').toFixed(units === 'us' ? 4 : 3),
          inUnit(each.u, units, 'offset').toFixed(units === 'us' ? 5 : 4),
          occasion.state,
          occasion.date ?? '',
          occasion.time ?? '',
          occasion.temperature === null ? '' : trim(occasion.temperature.toFixed(1)),
          `scan n=${each.count}${each.sharpBend === 0 ? '' : ' sharp bend'}`,
        ].join(','),
      );
    }
  }
  return `${lines.join('\n')}\n`;
}

function alignmentPart(profile: ScanProfile, units: JobUnits): string {
  const most = Math.max(0, ...profile.stations.map((s) => s.alignmentU));
  return most === 0 ? '' : `; the alignment is in sd, up to ${formatUncertainty(most, units)}`;
}

const trim = (text: string): string => (text.includes('.') ? text.replace(/\.?0+$/, '') : text);
const oneLine = (text: string): string => text.replace(/[\r\n]+/g, ' ');
