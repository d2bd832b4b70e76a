import { median } from '../maths/median.ts';
import type { Rows } from './model.ts';

/**
 * Scatter of the readings over their stated sd before any model: differences of four neighbouring stations that
 * vanish on parabolas, made robust by their median, so that bends and blunders in fewer than half of them do not
 * count. Pulled toward 1 by `priorFreedom` degrees of freedom. Median of |N(0,1)| is 0.6745.
 */
export function startingScale(rows: Rows, off: readonly boolean[], priorFreedom: number): number {
  const stations: { x: number; y: number; sd: number }[] = [];
  const order = Array.from(rows.x, (_, i) => i)
    .filter((i) => !off[i])
    .sort((a, b) => rows.x[a]! - rows.x[b]!);
  for (const i of order) {
    const last = stations[stations.length - 1];
    if (last && last.x === rows.x[i]!) continue;
    stations.push({ x: rows.x[i]!, y: rows.y[i]!, sd: rows.sd[i]! });
  }
  const values: number[] = [];
  for (let i = 0; i + 3 < stations.length; i++) {
    const four = stations.slice(i, i + 4);
    let sum = 0;
    let variance = 0;
    four.forEach((p, j) => {
      let weight = 1;
      four.forEach((q, k) => {
        if (k !== j) weight /= p.x - q.x;
      });
      sum += weight * p.y;
      variance += (weight * p.sd) ** 2;
    });
    values.push(Math.abs(sum) / Math.sqrt(variance));
  }
  if (values.length === 0) return 1;
  const scale = median(values) / 0.6745;
  // Third differences of n readings carry about a third as many degrees of freedom, a median about 0.37 of those.
  const freedom = 0.2 * values.length;
  return Math.max(0.2, Math.sqrt((priorFreedom + freedom * scale * scale) / (priorFreedom + freedom)));
}

/** Degrees of freedom to give the stated reading sd, by where it came from. */
export function sdFreedom(source: 'default' | 'job' | 'repeats', degreesOfFreedom: number | null): number {
  if (source === 'repeats') return Math.max(4, degreesOfFreedom ?? 4);
  return source === 'job' ? 8 : 3;
}
