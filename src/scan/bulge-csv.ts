import type { JobUnits } from '../job/job.ts';
import { decimalUnit, inUnit } from '../units/format-length.ts';
import type { BulgeMap } from './bulge-map.ts';

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
