import { describe, expect, it } from 'vitest';
import type { Job } from '../../src/job/job.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { findGeometry, type Geometry } from '../../src/zones/as-found.ts';
import { createLineModel } from '../../src/zones/line-model.ts';
import { prepareSurvey } from '../../src/zones/prepare.ts';
import { startingScale } from '../../src/zones/scatter.ts';
import { createCase, DEFAULT_SD } from '../bench/zones-cases.ts';
import { handMade } from '../shapes/hand-made.ts';

function geometryOf(job: Job, readings: readonly Reading[]): Geometry {
  const line = job.lines[0]!;
  const model = createLineModel(line, job.member);
  const { rows, handOff, pinned } = prepareSurvey(line, assembleSurveys(readings, line)[0]!, [], DEFAULT_SD);
  return findGeometry(model, rows, line.impact, { off: handOff, pinned }, startingScale(rows, handOff, 3), 3);
}

describe('the choice between the struck beam and separate zones', () => {
  it('takes separate zones where no blow explains the readings: two dents with sharp corners, drawn by hand', () => {
    const { job, readings } = handMade('shapes/10', { noisy: false, diaphragms: true, slips: 0 });
    expect(geometryOf(job, readings).kind).toBe('separate');
  });

  it('takes the struck beam for a girder that was struck (simulated, tests/mechanics)', () => {
    const one = createCase('zones/0', true);
    expect(geometryOf(one.job, one.set.readings).kind).toBe('struck');
  });

  it('searches afresh where the first search stayed in a local optimum (simulated girder)', () => {
    const one = createCase('zones/6', true);
    const geometry = geometryOf(one.job, one.set.readings);
    expect(geometry.kind).toBe('struck');
    // The first search ends at a log posterior of 64.4, the search afresh at 88.1.
    expect(geometry.found.score).toBeGreaterThan(80);
  });
});
