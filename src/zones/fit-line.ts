import type { LineFit } from '../analysis.ts';
import type { JobUnits, Line, Member } from '../job/job.ts';
import type { Mark, ReadingSd, Survey } from '../survey/survey.ts';
import { fitPlainLine } from './fit-plain-line.ts';
import { fitZonedLine } from './fit-zoned-line.ts';

/**
 * Fits one line: string set-up, baseline, zones, deviations with their uncertainty, for every survey.
 * `sweep` and `camber` lines carry plastic zones; `tilt`, `plumb` and `bulge` lines do not.
 *
 * `surveys` are those of this line, any order; the result is by increasing cycle, restrained before released.
 * Deterministic; never NaN: what cannot be said is a finding. Throws nothing.
 */
export function fitLine(
  line: Line,
  member: Member,
  surveys: readonly Survey[],
  marks: readonly Mark[],
  readingSd: ReadingSd,
  units: JobUnits,
): LineFit {
  const ordered = surveys
    .filter((survey) => survey.readings.length > 0)
    .sort((a, b) => a.cycle - b.cycle || Number(a.state === 'released') - Number(b.state === 'released'));
  const zoned = line.kind === 'sweep' || line.kind === 'camber';
  return zoned
    ? fitZonedLine(line, member, ordered, marks, readingSd, units)
    : fitPlainLine(line, member, ordered, marks, readingSd, units);
}
