import type { JobUnits, Line } from '../job/job.ts';
import { decimalUnit, inUnit } from '../units/format-length.ts';
import type { BulgeMap } from './bulge-map.ts';

/**
 * A bulge map as readings of the job's panel of its name: corner 1 its near lower corner, 2 along its stations, 4 up. The
 * standoff of the panel is put on, because every reading of it carries it. Deviations from the surface of the held edges:
 * set-up, lean and bow of a survey are free, so nothing is lost that a verdict rests on.
 */
export function bulgeReadingsCsv(
  map: BulgeMap,
  line: Line,
  units: JobUnits,
  occasion: {
    readonly cycle: number;
    readonly date: string | null;
    readonly source: { readonly name: string; readonly sha256: string };
  },
): string {
  const [s, o] = [decimalUnit(units, 'station'), decimalUnit(units, 'offset')];
  const small = (metres: number) => inUnit(metres, units, 'offset').toFixed(units === 'us' ? 4 : 3);
  return [
    `# panel ${line.name} taken from the scan ${occasion.source.name.replace(/[\r\n]+/g, ' ')}, SHA-256 ${occasion.source.sha256}`,
    `cycle,line,station_${s},height_${o},offset_${o},sd_${o},date`,
    ...map.cells.map((c) =>
      [
        occasion.cycle,
        line.name,
        inUnit(line.bearings[0] + c.u, units, 'station').toFixed(4),
        small((line.panel?.heights[0] ?? 0) + c.v),
        small(c.deviation + line.standoff),
        inUnit(c.sd, units, 'offset').toFixed(units === 'us' ? 5 : 4),
        occasion.date ?? '',
      ].join(','),
    ),
    '',
  ].join('\n');
}

/** A bulge map as a grid of readings: one row a cell, in the job's small unit, from corner 1. */
export function bulgeCsv(
  map: BulgeMap,
  units: JobUnits,
  source: { readonly name: string; readonly sha256: string },
): string {
  const unit = decimalUnit(units, 'offset');
  const small = (metres: number, digits: number) => inUnit(metres, units, 'offset').toFixed(digits);
  const digits = units === 'us' ? 4 : 2;
  return [
    `# panel ${map.panel.name} from the scan ${source.name.replace(/[\r\n]+/g, ' ')}, SHA-256 ${source.sha256}`,
    `# u from corner 1 toward 2, v from corner 1 toward 4; deviation from the surface of the held edges ${map.panel.held.join(', ')}`,
    `column,row,u_${unit},v_${unit},deviation_${unit},sd_${unit},points`,
    ...map.cells.map((c) =>
      [
        c.column + 1,
        c.row + 1,
        small(c.u, digits - 1),
        small(c.v, digits - 1),
        small(c.deviation, digits),
        small(c.sd, digits + 1),
        c.count,
      ].join(','),
    ),
    '',
  ].join('\n');
}
