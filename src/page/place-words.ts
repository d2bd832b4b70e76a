import type { JobUnits } from '../job/job.ts';
import { formatLength } from '../units/format-length.ts';
import type { Book } from './book.ts';
import type { StationList } from './station-rows.ts';

/** A height on a panel as people say it. */
export function heightText(metres: number, units: JobUnits): string {
  return formatLength(metres, { units, as: 'offset', fraction: 16, digits: 0 });
}

/** How far the survey is: stations read of those there are, and on a panel the heights still open. */
export function progressText(book: Book, { rows, courses, height }: StationList, units: JobUnits): string {
  const read =
    rows.length === 0
      ? 'no stations listed yet'
      : `${rows.filter((row) => row.readings.length > 0).length} of ${rows.length} stations read`;
  const jacks = book.state === 'restrained' ? ', jacks on' : '';
  if (height === undefined) return `Cycle ${book.cycle}: ${read}${jacks}`;
  const open = courses.filter((course) => course.read < course.places).length;
  const left = open === 0 ? '' : `, ${open} height${open === 1 ? '' : 's'} open`;
  return `Cycle ${book.cycle}, height ${heightText(height, units)}: ${read}${left}${jacks}`;
}

/** A station, on a panel with its height. */
export function placeText(station: number, height: number | undefined, units: JobUnits): string {
  const along = formatLength(station, { units, as: 'station', digits: 2 });
  return height === undefined ? along : `${along}, ${heightText(height, units)} high`;
}

/** A day of the year in few letters: 4 Mar. */
export function shortDate(date: string): string {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
  if (match === null) return '';
  const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];
  return `${Number.parseInt(match[3]!, 10)} ${months[Number.parseInt(match[2]!, 10) - 1] ?? ''}`;
}
