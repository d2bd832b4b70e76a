import { inertText } from '../../inert-text.ts';
import type { JobUnits } from '../../job/job.ts';
import type { Mark } from '../../survey/survey.ts';
import { formatLength } from '../../units/format-length.ts';

/** The last mark of each file, row, cycle and station named. */
export function marksInForce(marks: readonly Mark[]): Mark[] {
  const last = new Map<string, Mark>();
  for (const mark of marks)
    last.set(`${mark.file}\n${mark.row}\n${mark.cycle ?? ''}\n${mark.station ?? ''}`, mark);
  return [...last.values()];
}

/** Marks for people, one a line. */
export function marksText(marks: readonly Mark[], units: JobUnits): string {
  if (marks.length === 0) return 'No reading was marked by hand.\n';
  return marks
    .map((mark) => {
      const what = mark.action === 'set-aside' ? 'set aside ' : 'reinstated';
      const cycle = mark.cycle === undefined ? '' : ` cycle ${mark.cycle}`;
      const station =
        mark.station === undefined
          ? ''
          : ` at ${formatLength(mark.station, { units, as: 'station', digits: 3 })}`;
      return `${what}  ${inertText(`${mark.file}:${mark.row}${cycle}${station}  ${mark.when.slice(0, 10)}  ${mark.who}: ${mark.why}`)}\n`;
    })
    .join('');
}
