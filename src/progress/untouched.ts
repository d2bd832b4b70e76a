import type { LineAnalysis } from '../analysis.ts';

/**
 * Lines that stand still as they were found while another line of the job moves: no heat so far acts on them, so they are not
 * stalled in the sense of work that has stopped helping. Told from the readings of all lines together; a job in which nothing
 * has ever moved is left as it is, for there the heats may be at fault.
 */
export function markUntouched(lines: readonly LineAnalysis[]): LineAnalysis[] {
  const moving = lines.find(({ progress }) => progress.pattern?.neverMoved === false);
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
