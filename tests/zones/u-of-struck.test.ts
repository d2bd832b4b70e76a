import { expect, it } from 'vitest';
import { findGeometry } from '../../src/zones/as-found.ts';
import { createLineModel } from '../../src/zones/line-model.ts';
import { prepareSurvey } from '../../src/zones/prepare.ts';
import { estimateStruck, propagateStruck } from '../../src/zones/struck/estimate.ts';
import { stateDeflection } from '../../src/zones/struck/shape.ts';
import { createCase } from '../bench/zones-cases.ts';

// Least squares: the variance of the fit at a reading is its leverage times that of the reading, and no leverage is above 1 (the hat
// matrix is a projection; Hoaglin & Welsch, The American Statistician 32, 1978; from memory). A fit that went astray on a girder bent
// by 0.8 rad, whose slopes change within their own steps, said 2.4 times the reading's u there, and u of 0.7 rad of its rotations.
it('the u of a struck beam is at a reading no larger than the reading’s own, however sharply it bends', () => {
  const { job, surveys, readingSd } = createCase('bed-g/10', true, 300e3);
  const line = job.lines[0]!;
  const { rows, handOff, pinned } = prepareSurvey(line, surveys[0]!, [], readingSd);
  const model = createLineModel(line, job.member);
  const geometry = findGeometry(model, rows, line.impact, { off: handOff, pinned }, 1, 20);
  if (geometry.kind !== 'struck') throw new Error('not taken for a struck beam');
  const { fixed, hints, state, off, scale } = geometry.found;
  const { covariance } = propagateStruck(estimateStruck(fixed, hints, state), (coefficients, moved) =>
    Array.from(stateDeflection(fixed.model, moved, fixed.x), (y, i) =>
      fixed.raw.reduce((sum, column, j) => sum + column[i]! * coefficients[j]!, y),
    ),
  );
  const kept = off.flatMap((wrong, i) => (wrong ? [] : [i]));
  expect(kept.length).toBeGreaterThan(20);
  for (const i of kept)
    expect(Math.sqrt(covariance[i]![i]!), `reading ${i}`).toBeLessThan(1.05 * scale * rows.sd[i]!);
});
