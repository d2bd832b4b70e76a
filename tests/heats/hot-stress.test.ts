import { describe, expect, it } from 'vitest';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import { hotStress } from '../../src/heats/hot-stress.ts';
import { jackingFindings } from '../../src/heats/jacking-findings.ts';
import { restraintOfJob } from '../../src/heats/restraint-of-job.ts';
import { InputError } from '../../src/input-error.ts';
import { jobWith } from './fixtures.ts';
import { celsius, KSI } from './units.ts';

const deadLoad = { stress: '5 ksi', composite: true, source: 'rating sheet 4' };
const of = (more: object, temperature = '1100 F') => {
  const job = jobWith({
    member: {
      span: '62 ft',
      yieldStress: '36 ksi',
      flangeWidth: '12 in',
      flangeThickness: '1 in',
      steel: 'A36',
    },
    restraint: {
      setUp: 'simple',
      supports: ['21 ft', '41 ft'],
      importance: 'primary',
      gaugeDivision: '1 psi',
      ...more,
    },
    jacks: [{ name: 'a', station: '31 ft', ramArea: '5.16 in2' }],
    heating: { temperature },
  });
  const restraint = restraintOfJob(job);
  const hot = hotStress(job, heatLimits('A36', job.member.flangeWidth, null), restraint);
  return { hot, found: jackingFindings(job, restraint, hot).map((f) => f.code) };
};

describe('dead load, jacks and hot steel', () => {
  it('is not worked out unless the job states the dead load stress', () => {
    expect(of({}).hot).toBeNull();
  });

  it('by hand: 5 ksi and 648 k-in over S = 24 in³ are 32 ksi; at 1100 °F steel of 36 ksi yields at 20.61 ksi', () => {
    const { hot, found } = of({ deadLoad });
    expect(hot!.jacking / KSI).toBeCloseTo(27, 1);
    expect(hot!.total / KSI).toBeCloseTo(32, 1);
    // Fy(T)/Fy 0.57250 at 1100 °F, 1 − (T − 100)/5833 below 800 °F: FHWA-IF-08-999, chapter 4, from memory.
    expect(hot!.hotYield / KSI).toBeCloseTo(36 * 0.5725, 2);
    expect(hot!.yieldsAt!).toBeCloseTo(celsius(100 + 5833 * (1 - 32 / 36)), 0);
    expect(found).toContain('stress-past-hot-yield');
  });

  it('counts compression as much as tension', () => {
    expect(of({ deadLoad: { ...deadLoad, stress: '-5 ksi' } }).hot!.total / KSI).toBeCloseTo(32, 1);
  });

  it('small jacking on cooler steel: nothing to say', () => {
    const calm = of({ deadLoad, fraction: 0.1, fractionSource: 'owner' }, '800 F');
    expect(calm.hot!.total).toBeLessThan(calm.hot!.hotYield);
    expect(calm.found).not.toContain('stress-past-hot-yield');
  });

  it('needs its source, and a stress below yield', () => {
    expect(() => of({ deadLoad: { stress: '5 ksi', composite: false } })).toThrow(InputError);
    expect(() => of({ deadLoad: { ...deadLoad, stress: '40 ksi' } })).toThrow(InputError);
  });
});
