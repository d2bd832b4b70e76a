import type { SetAside, SurveyFit } from '../analysis.ts';
import type { Line } from '../job/job.ts';
import { median } from '../maths/median.ts';
import { hypot } from '../maths/portable.ts';
import { INCH } from '../units/factors.ts';
import { setUpAt } from './survey-fit.ts';

/** Share of a line's length within which a reading is one of its end. */
const AT_END = 0.01;
/** How evenly a string is set on its blocks from cycle to cycle, one end against the other; sd, common practice, no source. */
const BLOCKS = INCH / 16;
/** Combined uncertainties by which a string's height at its end differs before it is said. */
const SURE = 3;

/**
 * What a reading left out at an end of the string means. A string whose end moves while the line is read turns every later reading
 * alike, which the line's own set-up takes up, so that only the end read before it moved stands out. Where the string usually
 * stands at that end against the other (in the surveys besides; alone, on equal blocks) tells that from a slip in one reading.
 *
 * @param surveys every survey of the line, this one among them
 * @returns words to put after the finding, empty for a reading elsewhere
 */
export function stringEndWords(
  { bearings }: Line,
  fit: SurveyFit,
  aside: SetAside,
  surveys: readonly SurveyFit[],
): string {
  const [from, to] = bearings;
  const near = AT_END * (to - from);
  const end = bearings.find((at) => Math.abs(at - aside.station) < near);
  if (end === undefined) return '';
  const other = end === from ? to : from;
  const pooled = fit.stations.find(({ station }) => station === aside.station);
  if (!pooled?.setAside) return CANNOT_TELL;
  const leans = surveys
    .filter((each) => each !== fit && !each.setAside.some(({ station }) => Math.abs(station - end) < near))
    .map((each) => leanOf(each, end, other).value);
  const usual = leans.length === 0 ? 0 : median(leans);
  const lean = leanOf(fit, end, other);
  const off = pooled.deviation - (pooled.fitted ?? 0);
  const spread = leans.length < 3 ? 0 : 1.4826 * median(leans.map((each) => Math.abs(each - usual)));
  const doubt = SURE * hypot(Math.sqrt(lean.variance + pooled.uReading ** 2), Math.max(BLOCKS, spread));
  const moved = lean.value - usual;
  const asRead = moved + off;
  const compared =
    leans.length === 0 ? 'on equal blocks at both ends' : 'where it stood in the other surveys of the line';
  if (Math.abs(moved) > doubt && Math.abs(asRead) <= doubt)
    return ` Likely the end of the string moved while the line was read: this reading has it ${compared}, all others that much away. The line’s own set-up takes up what the readings made after it moved share; read the line again, both ends before and after.`;
  if (Math.abs(moved) <= doubt && Math.abs(asRead) > doubt)
    return ` The end of the string is not what moved: the other readings have it ${compared}, so this one alone is off.`;
  return CANNOT_TELL;
}

const CANNOT_TELL =
  ' It stands at an end of the string: if the block moved there while the line was read, only a reading of both ends before and after, or the plumb of the web at three stations, would tell which readings it spoils.';

/** How much further from the steel the string stands at one end than at the other, m. */
function leanOf({ setUp }: SurveyFit, end: number, other: number): { value: number; variance: number } {
  const value = setUpAt(setUp, end).offset - setUpAt(setUp, other).offset;
  return { value, variance: (end - other) ** 2 * Math.max(0, setUp.covariance[1]![1]!) };
}
