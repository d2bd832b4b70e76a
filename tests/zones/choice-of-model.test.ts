import { describe, expect, it } from 'vitest';
import type { Job } from '../../src/job/job.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { describeGeometry, findGeometry, type Geometry } from '../../src/zones/as-found.ts';
import { createLineModel } from '../../src/zones/line-model.ts';
import { prepareSurvey } from '../../src/zones/prepare.ts';
import { startingScale } from '../../src/zones/scatter.ts';
import { supportsOf } from '../../src/zones/struck/shape.ts';
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

  // Log posteriors with the search afresh | without it: 55.8 | 9.4 and 85.9 | 52.7.
  it.each([
    ['given', 'zones/44', true, 40],
    ['not given', 'zones/6', false, 70],
  ] as const)(
    'searches afresh where the first search stayed in a local optimum: a simulated girder, diaphragms %s',
    (_, seed, given, least) => {
      const one = createCase(seed, given);
      const geometry = geometryOf(one.job, one.set.readings);
      expect(geometry.kind).toBe('struck');
      expect(geometry.found.score).toBeGreaterThan(least);
    },
  );
});

// The girder is simulated by a finite-difference beam of fibres (tests/mechanics), which knows neither unit moments nor the force method.
describe('diaphragms the job does not give', () => {
  for (const [name, seed] of [
    ['four, read every foot, with three wrong readings', 'zones/23'],
    ['four, read every two feet, with a fraction dropped beside a zone', 'zones/5'],
  ] as const)
    it(`are found by number and place: ${name}`, () => {
      const one = createCase(seed, false);
      const geometry = geometryOf(one.job, one.set.readings);
      if (geometry.kind !== 'struck') throw new Error('separate zones');
      const { fixed, state, off } = geometry.found;
      const places = supportsOf(fixed.model, state).diaphragms;
      const truth = one.truth.options.diaphragms.map((d) => d.station);
      expect(places).toHaveLength(truth.length);
      const panel = one.truth.options.span / (truth.length + 1);
      places.forEach((at, j) => {
        expect(Math.abs(at - truth[j]!)).toBeLessThan(0.1 * panel);
      });
      const wrong = new Set(one.set.blunders.map((b) => b.row));
      expect(one.set.readings.flatMap((reading, i) => (off[i] ? [reading.row] : []))).toEqual(
        [...wrong].sort((a, b) => a - b),
      );
    });

  it('are not looked for in straight steel: no bend is found there', () => {
    const one = createCase('zones/23', false);
    const readings = one.set.readings.map((reading, i) => ({
      ...reading,
      offset: 0.05 + 0.001 * ((i * 7) % 3),
    }));
    const geometry = geometryOf(one.job, readings);
    expect(describeGeometry(geometry, []).bends).toEqual([]);
  });
});
