import { describe, expect, it } from 'vitest';
import { assignHeats } from '../../src/heats/assign-heats.ts';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { heatQuantities } from '../../src/heats/quantities.ts';
import { loadRatioAt, restraintOfJob } from '../../src/heats/restraint-of-job.ts';
import { zoneHeats } from '../../src/heats/zone-heats.ts';
import { fitWith, jobWith, zone } from './fixtures.ts';
import { PSI } from './units.ts';

const FOOT = 0.3048;
const jacked = {
  restraint: { setUp: 'simple', supports: ['21 ft', '41 ft'], importance: 'primary' },
  jacks: [{ name: 'jack', station: '31 ft', ramArea: '5.16 in2' }],
};
const LOG = `cycle,station,pattern,angle,depth,temperature,date,pressure,gas (lb)
1,30.5,vee,45,12,1200,2026-03-02,1962.2,2.5
1,31.5,vee,45,12,1200,2026-03-02,1962.2,2.25
2,31,vee,45,12,1200,2026-03-03,0,1
2,31,spot,,,1100,2026-03-03,,
`;

function run(rotations: readonly number[]) {
  const job = jobWith(jacked);
  const line = job.lines[0]!;
  const z = zone('A', 29 * FOOT, 33 * FOOT, rotations[0]!);
  const fit = fitWith(
    [z],
    rotations.map((rotation, cycle) => ({ cycle, rotations: [rotation], u: 2e-4 })),
  );
  const { log, problems } = readHeatLog(LOG, job, 'heats.csv');
  expect(problems).toEqual([]);
  const restraint = restraintOfJob(job);
  const heats = assignHeats(log.heats, [{ line, zones: fit.zones }]);
  return {
    job,
    log,
    restraint,
    zones: zoneHeats(job, line, fit, null, heats, heatLimits('A36', job.member.flangeWidth, null), restraint),
  };
}

describe('observed over expected, cycle and zone', () => {
  it('expects of each vee what its own load ratio gives: half of Mp at midspan, 6.087 mrad there (45°, 1200 °F)', () => {
    const { job, restraint, zones } = run([-0.06, -0.048, -0.0455]);
    expect(loadRatioAt(job, restraint!, 1962.2 * PSI, 31 * FOOT)).toBeCloseTo(0.5, 4);
    expect(loadRatioAt(job, restraint!, 1962.2 * PSI, 26 * FOOT)).toBeCloseTo(0.25, 4);
    const [first, second] = zones[0]!.steps;
    // Two vees half a foot off midspan: load ratio 0.475, F_l 1.55 instead of 1.6.
    expect(first!.expected! * 1000).toBeCloseTo((2 * 6.087 * 1.55) / 1.6, 2);
    expect(first!.observed).toBeCloseTo(0.012, 12);
    expect(first!.ratio!).toBeCloseTo(0.012 / first!.expected!, 12);
    expect(first!.ratioU!).toBeCloseTo(Math.hypot(2e-4, 2e-4) / first!.expected!, 12);
    // Unjacked: 2.283 mrad, and the perfect-restraint bound 7.104 mrad beside it.
    expect(second!.expected! * 1000).toBeCloseTo(2.283, 3);
    expect(second!.bound! * 1000).toBeCloseTo(7.104, 2);
    expect([second!.vees, second!.otherHeats, second!.unjacked]).toEqual([1, 1, true]);
  });

  it('a bend the other way is the mirror image', () => {
    const a = run([-0.06, -0.048, -0.0455]).zones[0]!;
    const b = run([0.06, 0.048, 0.0455]).zones[0]!;
    expect(b.steps).toEqual(a.steps);
    expect(b.remaining).toBeCloseTo(a.remaining, 15);
    expect(b.sense).toBe(-a.sense);
  });

  it('counts heats left in heats where they are logged: 14.5 mrad in 3 heats, 45.5 left, is 10', () => {
    const { left, unit } = run([-0.06, -0.048, -0.0455]).zones[0]!;
    expect(unit).toBe('heats');
    expect(left.perHeat).toBeCloseTo(0.0145 / 3, 12);
    expect(left.expected).toBe(10);
    expect(left.low!).toBeLessThanOrEqual(10);
  });

  it('past straight there is nothing left to take out', () => {
    expect(run([-0.01, 0.002, 0.003]).zones[0]!.remaining).toBe(0);
  });
});

describe('jacks that work against a bend', () => {
  // Fixed ends, force at midspan: P·L/8 hogging at the supports and sagging under the force (AISC Table 3-23), so
  // the moment turns round at the quarter points.
  const fixed = { ...jacked, restraint: { ...jacked.restraint, setUp: 'fixed', setUpSource: 'test' } };
  const heatsWith = (rotationNearSupport: number) => {
    const job = jobWith(fixed);
    const line = job.lines[0]!;
    const zones = [
      zone('A', 22 * FOOT, 23 * FOOT, rotationNearSupport),
      zone('B', 30 * FOOT, 32 * FOOT, -0.06),
    ];
    const fit = fitWith(zones, [{ cycle: 0, rotations: zones.map((z) => z.rotation), u: 2e-4 }]);
    const limits = heatLimits('A36', job.member.flangeWidth, null);
    return zoneHeats(job, line, fit, null, [], limits, restraintOfJob(job));
  };

  it('a bend of the same sense beside the support: 0.35 of Mp the wrong way, and nothing is expected of a heat there', () => {
    const [a, b] = heatsWith(-0.02);
    // At 1.5 ft of 20 from the support the moment is P·L/8·(1 − 4·1.5/20) = 0.7 of the governing one; the gauge is
    // rounded down, so a little less than 0.35 of Mp.
    expect(a!.against!).toBeGreaterThan(0.34);
    expect(a!.against!).toBeLessThan(0.351);
    expect(a!.planned).toBeNull();
    expect(b!.against).toBeNull();
    expect(b!.planned!).toBeGreaterThan(0);
  });

  it('a counter-bend there is helped', () => {
    const [a] = heatsWith(0.02);
    expect(a!.against).toBeNull();
    expect(a!.plannedLoadRatio!).toBeGreaterThan(0.34);
  });
});

describe('quantities', () => {
  it('adds up heats, working days and gas by cycle, and says what the sums lack', () => {
    const { log } = run([-0.06, -0.048, -0.0455]);
    const q = heatQuantities(log);
    expect(q).toMatchObject({ heats: 4, workingDays: 2, gas: 5.75, gasUnit: 'lb', cost: null });
    expect(q.cycles.map((c) => [c.cycle, c.heats, c.gas, c.dates.length])).toEqual([
      [1, 2, 4.75, 1],
      [2, 2, 1, 1],
    ]);
    expect(q.gaps).toEqual(['1 of 4 heats have no gas logged']);
  });
});
