import type { Finding } from '../finding.ts';
import type { JobUnits, Line } from '../job/job.ts';
import { hypot } from '../maths/portable.ts';
import type { Survey } from '../survey/survey.ts';
import { INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { about } from './survey-finding.ts';

/** Share of a line's length within which a reading is one of its end. */
const AT_END = 0.01;
/** How evenly a string is set on its blocks from cycle to cycle, one end against the other; sd, common practice, no source. */
const BLOCKS = INCH / 16;
/** Combined uncertainties by which the string's slope differs before it is said. */
const SURE = 3;

/**
 * What the readings at the two bearings say of the string: whether they are there at all, without which its slope is not known,
 * and whether it stands at one end as it stood in the survey before. A string that does not is taken off like any other; but
 * an end of the member that moved on its bearing looks the same, and only somebody on the site can tell.
 *
 * @param slips readings doubted already: one at a bearing says nothing of the string
 */
export function endDoubts(
  survey: Survey,
  previous: Survey,
  { bearings, kind }: Pick<Line, 'bearings' | 'kind'>,
  readingSd: number,
  units: JobUnits,
  slips: readonly Pick<Finding, 'station'>[],
): Finding[] {
  if (kind !== 'sweep' && kind !== 'camber') return [];
  const say = (station: number) => formatLength(station, { units, as: 'station' });
  const near = AT_END * (bearings[1] - bearings[0]);
  const at = (of: Survey, end: number) => meanNear(of, end, near);
  const lost = bearings.filter((end) => at(survey, end) === null && at(previous, end) !== null);
  if (lost.length > 0) {
    const which = lost.map(say).join(' and ');
    return [
      about(
        survey,
        'bearing-not-read',
        `${which}, read in cycle ${previous.cycle}, ${lost.length === 1 ? 'is' : 'are'} not in cycle ${survey.cycle}: without a reading at the bearing it is not known how the string slopes. Read ${lost.length === 1 ? 'it' : 'them'} before the string comes down.`,
      ),
    ];
  }
  const [from, to, fromBefore, toBefore] = [
    ...bearings.map((end) => at(survey, end)),
    ...bearings.map((end) => at(previous, end)),
  ];
  if (from == null || to == null || fromBefore == null || toBefore == null) return [];
  if (slips.some(({ station }) => bearings.some((end) => Math.abs((station ?? Number.NaN) - end) <= near)))
    return [];
  const turned = to.offset - from.offset - (toBefore.offset - fromBefore.offset);
  const shares = [from, to, fromBefore, toBefore].reduce((sum, { count }) => sum + 1 / count, 0);
  if (Math.abs(turned) <= SURE * hypot(Math.sqrt(shares) * readingSd, BLOCKS)) return [];
  const size = formatLength(Math.abs(turned), { units, as: 'offset' });
  return [
    about(
      survey,
      'string-end-differs',
      `Against ${say(bearings[0])} the string reads ${size} ${turned > 0 ? 'more' : 'less'} at ${say(bearings[1])} than in cycle ${previous.cycle}. It is taken for the string (another block, or it was set off) and taken out of every reading. With the same blocks as before, an end of the member has moved on its bearing: look at both.`,
      { severity: 'note' },
    ),
  ];
}

/** Mean of the readings at an end of a line; null without one. */
function meanNear(survey: Survey, end: number, near: number): { offset: number; count: number } | null {
  const offsets = survey.readings
    .filter(({ station }) => Math.abs(station - end) <= near)
    .map(({ offset }) => offset);
  if (offsets.length === 0) return null;
  return { offset: offsets.reduce((sum, offset) => sum + offset, 0) / offsets.length, count: offsets.length };
}
