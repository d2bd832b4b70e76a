import { describe, expect, it } from 'vitest';
import type { ElasticReaction } from '../../src/analysis.ts';
import { jackingCeiling } from '../../src/heats/jacking-ceiling.ts';
import { jackingFindings } from '../../src/heats/jacking-findings.ts';
import { lockedInMoment } from '../../src/heats/locked-in.ts';
import { restraintOfJob } from '../../src/heats/restraint-of-job.ts';
import { fitWith, jobWith, zone } from './fixtures.ts';
import { FOOT, INCH, KIP, KSI, PSI } from './units.ts';

const reaction = (station: number, coefficient: number, covariance: readonly number[]): ElasticReaction => ({
  station,
  coefficient,
  u: 0,
  covariance,
});

describe('what the blow left locked in', () => {
  it('one diaphragm: the moment of its force on a simple beam, R·a·b/L (AISC Table 3-23, from memory), with R = EI·kink', () => {
    const locked = lockedInMoment([reaction(4, 2e-3, [4e-8])], [0, 10], 5e6)!;
    const force = 5e6 * 2e-3;
    expect(locked.momentAt(4)).toBeCloseTo((force * 4 * 6) / 10, 6);
    expect(locked.momentAt(2)).toBeCloseTo((force * 2 * 6) / 10, 6);
    expect(locked.momentAt(0)).toBe(0);
    expect(locked.uAt(4)).toBeCloseTo((5e6 * 2e-4 * 24) / 10, 6);
  });

  it('forces that rise and fall together nearly cancel in u where their moments are opposite', () => {
    const c = 1e-8;
    const together = lockedInMoment([reaction(3, 0, [c, -c]), reaction(7, 0, [-c, c])], [0, 10], 1)!;
    expect(together.uAt(5)).toBeCloseTo(0, 12);
  });

  it('nothing known: null', () => {
    expect(lockedInMoment([], [0, 10], 1)).toBeNull();
  });
});

describe('the ceiling with what is locked in, by hand', () => {
  // Simple span 240 in, jack at the middle, share 300 k-in: alone P = 300·4/240 = 5 kip.
  const ceiling = (locked: number, sense: 1 | -1 | null) =>
    jackingCeiling({
      plasticModulus: (600 / 36) * INCH ** 3,
      yieldStress: 36 * KSI,
      limit: { fraction: 0.5, source: 'by hand' },
      setUp: { kind: 'simple', from: 0, to: 240 * INCH },
      jacks: [{ name: 'a', station: 120 * INCH, ramArea: 2 * INCH ** 2 }],
      gaugeDivision: PSI,
      lockedIn: {
        momentAt: (x) => (locked * KIP * INCH * Math.min(x, 240 * INCH - x)) / (120 * INCH),
        uAt: () => 0,
        stations: [0, 120 * INCH, 240 * INCH],
      },
      sense,
    });

  it('acting as the jacks do it is taken off: (300 − 90)·4/240 = 3.5 kip', () => {
    expect(ceiling(90, 1).jacks[0]!.force / KIP).toBeCloseTo(3.5, 6);
    expect(ceiling(-90, -1).jacks[0]!.force / KIP).toBeCloseTo(3.5, 6);
    expect(ceiling(90, 1).alone / PSI).toBeCloseTo(2500, 6);
  });

  it('acting against them it is no licence for more: 5 kip', () => {
    expect(ceiling(-90, 1).jacks[0]!.force / KIP).toBeCloseTo(5, 6);
  });

  it('which way the jacks push not known: the worse', () => {
    expect(ceiling(-90, null).jacks[0]!.force / KIP).toBeCloseTo(3.5, 6);
  });

  it('the whole share locked in: nothing', () => {
    expect(ceiling(300, 1).pressure).toBe(0);
    expect(ceiling(300, 1).ram).toEqual({ atMost: null, atLeast: null });
  });
});

describe('jacks, gauge and pump', () => {
  const member = {
    span: '60 ft',
    yieldStress: '36 ksi',
    flangeWidth: '12 in',
    flangeThickness: '1 in',
    diaphragms: ['20 ft', '40 ft'],
    steel: 'A36',
  };
  const lines = { flange: { kind: 'sweep', bearings: ['0 ft', '60 ft'], positive: 'north' } };
  const of = (jack: object, more: object = {}) => {
    const job = jobWith({
      member,
      lines,
      restraint: { importance: 'primary', setUp: 'continuous-rigid', setUpSource: 'by hand', ...more },
      jacks: [{ name: 'a', station: '10 ft', ramArea: '5.16 in2', ...jack }],
    });
    const restraint = restraintOfJob(job)!;
    return { job, restraint, found: jackingFindings(job, restraint, null) };
  };

  it('20/20/20 ft, end bay, rigid diaphragms cited: PL/5 governs and the far supports must hold, one of them pulled', () => {
    const { restraint } = of({});
    // Mp = 36·36 = 1296 k-in, half of it 648; P = 648·5/240 = 13.5 kip; /5.16 in² = 2616.3 psi, on 50 psi marks 2600.
    expect(restraint.ceiling!.exactPressure / PSI).toBeCloseTo(2616.28, 1);
    expect(restraint.ceiling!.psi).toBe(2600);
    const p = 2.6 * 5.16;
    // Three-moment: supports hold 0.4, 0.725, −0.15, 0.025 of P.
    expect(restraint.reactions.map((r) => r.force / KIP / p)).toEqual([
      expect.closeTo(0.4, 9),
      expect.closeTo(0.725, 9),
      expect.closeTo(-0.15, 9),
      expect.closeTo(0.025, 9),
    ]);
    expect(restraint.reactions.map((r) => r.what)).toEqual(['bearing', 'diaphragm', 'diaphragm', 'bearing']);
    expect(restraint.diagram.find((d) => d.what === 'a')!.share).toBeCloseTo((0.5 * 2600) / 2616.279, 5);
  });

  it('a 200 in² ram would read 67 psi: at most 26.99 in² gives ten marks; a 400 in² ram reads nothing: stop', () => {
    const coarse = of({ ramArea: '200 in2' });
    expect(coarse.restraint.ceiling!.ram.atMost! / INCH ** 2).toBeCloseTo(27, 1);
    expect(coarse.found.map((f) => [f.severity, f.code])).toEqual([['caution', 'ram-too-large']]);
    expect(coarse.found[0]!.message).toContain('at most 27.00 in²');
    const none = of({ ramArea: '400 in2' });
    expect(none.restraint.ceiling!.pressure).toBe(0);
    expect(none.found.map((f) => [f.severity, f.code])).toEqual([['stop', 'ram-too-large']]);
  });

  it('a pump rated 2000 psi, or a jack of 9 kip, holds before the ceiling, and the ram that would reach it is named', () => {
    const pump = of({}, { pumpRating: '2000 psi' });
    expect(pump.restraint.ceiling!.psi).toBe(2000);
    expect(pump.restraint.ceiling!.rating).toMatchObject({ of: 'pump' });
    // 13.5 kip at 2000 psi: 6.75 in².
    expect(pump.found[0]!.message).toContain('at least 6.75 in²');
    const jack = of({ capacity: '9 kip' });
    expect(jack.restraint.ceiling!.psi).toBe(1700); // 9000/5.16 = 1744
    expect(jack.restraint.ceiling!.rating).toMatchObject({ of: 'a' });
  });

  it('a jack close to a diaphragm asks for more than a pump gives: rating asked for', () => {
    const { restraint, found } = of({ station: '19.4 ft', ramArea: '2.24 in2' });
    expect(restraint.ceiling!.exactPressure / PSI).toBeGreaterThan(10_000);
    expect(found.map((f) => f.code)).toEqual(['rating-not-stated']);
  });

  it('no diaphragms in the job: said, for a flange taken to run free hides what happens beyond them', () => {
    const job = jobWith({
      restraint: { importance: 'primary' },
      jacks: [{ name: 'a', station: '30 ft', ramArea: '5.16 in2' }],
    });
    expect(jackingFindings(job, restraintOfJob(job), null).map((f) => f.code)).toEqual([
      'diaphragms-not-given',
    ]);
  });

  it('jacks push so as to straighten the bend they bear on, and the locked-in moment there counts with its sign', () => {
    const { job } = of({});
    const line = job.lines[0]!;
    const ei = job.member.elasticModulus * ((1 * 12 ** 3) / 12) * INCH ** 4;
    const fit = (kink: number) => ({
      ...fitWith([zone('A', 9 * FOOT, 11 * FOOT, -0.04)], []),
      elastic: [reaction(20 * FOOT, kink, [0, 0]), reaction(40 * FOOT, 0, [0, 0])],
    });
    // Kink k at 20 of 60 ft: moment at 10 ft is EI·k·(10·40/60) ft. 100 k-in there, once each way.
    const kink = (100 * KIP * INCH) / (ei * (400 / 60) * FOOT);
    const pressure = (k: number) => restraintOfJob(job, [{ line, fit: fit(k) }])!.ceiling!;
    // Bend below zero (bulging toward +): pushed toward −, moment below zero. Locked in below zero acts alike.
    expect(restraintOfJob(job, [{ line, fit: fit(0) }])!.sense).toBe(-1);
    const alike = pressure(-kink);
    expect(alike.lockedIn!.moment / KIP / INCH).toBeCloseTo(100, 6);
    // At the jack (648 − 100)·5/240 kip; over 20 ft the jacks turn round and help.
    expect(alike.exactPressure / PSI).toBeCloseTo(((548 * 5) / 240 / 5.16) * 1000, 1);
    // The other way it acts against them at the jack; over the diaphragm, where it acts with them, both are below 648.
    const turned = pressure(kink);
    expect(turned.exactPressure / PSI).toBeCloseTo(2616.28, 1);
  });
});
