import type { LineAnalysis } from '../analysis.ts';
import { hypot } from '../maths/portable.ts';

/**
 * Lines that stand still as they were found while another line of the job has surely come in: no heat so far acts on them, so they are not
 * stalled in the sense of work that has stopped helping. Told from the readings of all lines together; a job in which nothing
 * has ever moved is left as it is, for there the heats may be at fault.
 */
export function markUntouched(lines: readonly LineAnalysis[]): LineAnalysis[] {
  const moving = lines.find(({ progress }) => hasClosed(progress.series));
  return lines.map((item) => {
    const { pattern, verdict, reason } = item.progress;
    if (moving === undefined || pattern === null || verdict !== 'stalled' || !pattern.neverMoved) return item;
    return {
      ...item,
      progress: {
        ...item.progress,
        untouched: true,
        reason: `${reason} Meanwhile ${moving.line.name} has moved: by these readings no heat acts on this line.`,
      },
    };
  });
}

/** How many standard uncertainties a line must have come in by to count as moved. */
const SURELY = 3;

function hasClosed(series: LineAnalysis['progress']['series']): boolean {
  const [first, last] = [series[0], series.at(-1)];
  if (first === undefined || last === undefined) return false;
  return first.value - last.value > SURELY * hypot(first.u, last.u);
}
