import { inertText } from '../../inert-text.ts';
import type { Mark } from '../../survey/survey.ts';

/** The last mark of each file, row and cycle named. */
export function marksInForce(marks: readonly Mark[]): Mark[] {
  const last = new Map<string, Mark>();
  for (const mark of marks) last.set(`${mark.file}\n${mark.row}\n${mark.cycle ?? ''}`, mark);
  return [...last.values()];
}

/** Marks for people, one a line. */
export function marksText(marks: readonly Mark[]): string {
  if (marks.length === 0) return 'No reading was marked by hand.\n';
  return marks
    .map((mark) => {
      const what = mark.action === 'set-aside' ? 'set aside ' : 'reinstated';
      const cycle = mark.cycle === undefined ? '' : ` cycle ${mark.cycle}`;
      return `${what}  ${inertText(`${mark.file}:${mark.row}${cycle}  ${mark.when.slice(0, 10)}  ${mark.who}: ${mark.why}`)}\n`;
    })
    .join('');
}
