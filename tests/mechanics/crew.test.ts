import { describe, expect, it } from 'vitest';
import { valueAt } from './beam.ts';
import { nominalRate, prepareCampaign, simulateCampaign } from './campaign.ts';
import { feetInches, fieldSheetCsv, inchFraction, longFormCsv } from './csv.ts';
import { simulateGirder } from './girder.ts';
import { createRandom } from './random.ts';
import { BLUNDER_KINDS, readGirder, readProfile, stationsAlong } from './readings.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const KSI = 6.894757293168361e6;

const truth = simulateGirder({
  span: 62 * FOOT,
  flangeWidth: 12 * INCH,
  flangeThickness: 0.94 * INCH,
  yieldStress: 36 * KSI,
  diaphragms: [15, 31, 47].map((feet) => ({ station: feet * FOOT, stiffness: 9e6 })),
  impacts: [{ station: 26 * FOOT, patch: 1 * FOOT, set: 4 * INCH }],
});
const stations = stationsAlong(0, 62 * FOOT, 2 * FOOT, { from: 20 * FOOT, to: 32 * FOOT, spacing: FOOT });

describe('random', () => {
  it('is the same for the same seed, and fork labels are independent of draws', () => {
    const a = createRandom(7);
    const b = createRandom(7);
    b.normal();
    expect(a.fork('x').uniform()).toBe(b.fork('x').uniform());
    expect(createRandom(7).uniform()).not.toBe(createRandom(8).uniform());
  });

  it('has the moments of the uniform and the normal (20,000 draws, within 4 standard errors)', () => {
    const random = createRandom('moments');
    const n = 20_000;
    const mean = (f: () => number) => Array.from({ length: n }, f).reduce((a, b) => a + b, 0) / n;
    expect(Math.abs(mean(random.uniform) - 0.5)).toBeLessThan(4 / Math.sqrt(12 * n));
    expect(Math.abs(mean(random.normal))).toBeLessThan(4 / Math.sqrt(n));
    expect(Math.abs(mean(() => random.normal() ** 2) - 1)).toBeLessThan(4 * Math.sqrt(2 / n));
    expect(Math.abs(mean(() => random.normal() ** 4) - 3)).toBeLessThan(4 * Math.sqrt(96 / n));
  });
});

describe('readings', () => {
  const options = { stations, sd: INCH / 16, rounding: INCH / 16 };

  it('reads the true shape, string and block within noise and rounding', () => {
    const { readings } = readGirder(truth, {
      ...options,
      repeats: 200,
      stringOffset: 0.5 * INCH,
      stringTilt: 0.001,
      standoff: 4 * INCH,
      random: createRandom('read'),
    });
    const at = readings.filter((r) => r.station === stations[10]);
    const mean = at.reduce((sum, r) => sum + r.offset, 0) / at.length;
    const wished = valueAt(truth.grid, truth.profile, stations[10]!) + 4.5 * INCH + 0.001 * stations[10]!;
    // sd 1/16 in and rounding to 1/16 in (GUM F.2.2.1: d/√12), over 200 readings: within 4 standard errors
    const se = Math.hypot(INCH / 16, INCH / 16 / Math.sqrt(12)) / Math.sqrt(200);
    expect(Math.abs(mean - wished)).toBeLessThan(4 * se);
    for (const r of readings)
      expect(Math.abs((r.offset / INCH) * 16 - Math.round((r.offset / INCH) * 16))).toBeLessThan(1e-9);
  });

  it('leaves out stretches nobody could reach', () => {
    const { readings } = readGirder(truth, {
      ...options,
      missing: [[10 * FOOT, 14 * FOOT]],
      random: createRandom('gap'),
    });
    expect(readings.some((r) => r.station > 9.9 * FOOT && r.station < 14.1 * FOOT)).toBe(false);
    expect(readings.length).toBe(stations.length - 3);
  });

  it.each(BLUNDER_KINDS)('makes a slip of kind %s that stands clear of the noise and is listed', (kind) => {
    const clean = readGirder(truth, { ...options, random: createRandom('slip') });
    const { readings, blunders } = readGirder(truth, {
      ...options,
      blunders: 1,
      blunderKinds: [kind],
      random: createRandom('slip'),
    });
    expect(blunders.length).toBe(kind === 'swap' ? 2 : 1);
    for (const blunder of blunders) {
      expect(readings[blunder.index]!.row).toBe(blunder.row);
      expect(readings[blunder.index]!.offset - clean.readings[blunder.index]!.offset).toBeCloseTo(
        blunder.change,
        12,
      );
      expect(Math.abs(blunder.change)).toBeGreaterThanOrEqual((6 * INCH) / 16 - 1e-9);
    }
  });
});

describe('campaign', () => {
  const model = prepareCampaign(truth);
  const reading = { stations, sd: INCH / 16, rounding: INCH / 16 };

  it('starts from the shape the girder was left in: elastic answer to its plastic curvature', () => {
    const { truth: cycles } = simulateCampaign(model, {
      cycles: 0,
      process: { kind: 'none' },
      reading,
      random: createRandom(1),
    });
    truth.displacement.forEach((w, i) => {
      expect(Math.abs(cycles[0]!.deviation[i]! - w)).toBeLessThan(1e-6);
    });
    // Nothing but the zones bends it: with all of them gone the rest is under 1/100 in.
    expect(Math.max(...model.rest.map(Math.abs))).toBeLessThan(0.01 * INCH);
    cycles[0]!.rotations.forEach((rotation, z) => {
      expect(rotation).toBeCloseTo(truth.zones[z]!.rotation, 6);
    });
  });

  it('closes by the nominal rate when there is no scatter, and a stall stands still', () => {
    const rate = INCH / 8;
    const { truth: cycles } = simulateCampaign(model, {
      cycles: 12,
      process: { kind: 'stalling', rate, stallAt: 7 },
      scatter: 0,
      reading,
      random: createRandom(2),
    });
    for (const cycle of cycles.slice(1)) expect(cycle.movement).toBeCloseTo(cycle.cycle <= 7 ? rate : 0, 5);
    expect(nominalRate({ kind: 'resuming', rate, stallAt: 3, resumeAt: 5 }, 4)).toBe(0);
    expect(nominalRate({ kind: 'resuming', rate, stallAt: 3, resumeAt: 5 }, 6)).toBe(rate);
    expect(nominalRate({ kind: 'decaying', rate, factor: 0.5 }, 3)).toBe(rate / 4);
  });

  it('goes past the baseline only when overcorrecting', () => {
    const run = (kind: 'constant' | 'overcorrecting') =>
      simulateCampaign(model, {
        cycles: 12,
        process: { kind, rate: INCH / 2 },
        scatter: 0.2,
        reading,
        random: createRandom(3),
      }).truth.at(-1)!;
    expect(Math.max(...run('constant').left)).toBeGreaterThanOrEqual(0);
    expect(Math.abs(run('constant').largest.deviation)).toBeLessThan(0.01 * INCH);
    expect(run('overcorrecting').largest.deviation).toBeLessThan(-INCH);
  });

  it('reads the jacked girder apart: restrained minus released is the elastic answer to the jack', () => {
    const force = -8000;
    const { readings } = simulateCampaign(model, {
      cycles: 1,
      process: { kind: 'constant', rate: INCH / 8 },
      restrained: { station: 26 * FOOT, force, cycles: [1] },
      reading: { ...reading, sd: 0, rounding: 0, stringOffset: 0, stringTilt: 0 },
      random: createRandom(4),
    });
    const at = (state: string) =>
      readings.find((r) => r.cycle === 1 && r.state === state && r.station === 26 * FOOT)!.offset;
    const jack = model.jack(26 * FOOT);
    expect(at('restrained') - at('released')).toBeCloseTo(force * valueAt(truth.grid, jack, 26 * FOOT), 9);
    expect(at('restrained')).toBeLessThan(at('released'));
  });

  it('moves by heats that differ, about the nominal rate in the mean', () => {
    const { truth: cycles } = simulateCampaign(model, {
      cycles: 20,
      process: { kind: 'constant', rate: INCH / 16 },
      reading,
      random: createRandom(5),
    });
    const moves = cycles.slice(1).map((c) => c.movement);
    const mean = moves.reduce((a, b) => a + b, 0) / moves.length;
    expect(new Set(moves.map((m) => m.toFixed(6))).size).toBeGreaterThan(10);
    expect(mean / (INCH / 16)).toBeGreaterThan(0.75);
    expect(mean / (INCH / 16)).toBeLessThan(1.25);
  });
});

describe('csv', () => {
  // Field notation: 149.5 in = 12'-5 1/2", 44.5625 in = 3'-8 9/16", 44.59 in rounds to it, 11.97 in rounds to 1'-0" (carry).
  it.each([
    [149.5, `12'-5 1/2"`],
    [44.5625, `3'-8 9/16"`],
    [44.59, `3'-8 9/16"`],
    [11.97, `1'-0"`],
    [-2.8125, `-0'-2 13/16"`],
  ])('writes %d in as %s', (inches, text) => {
    expect(feetInches(inches * INCH)).toBe(text);
  });

  it('writes inch fractions reduced', () => {
    expect(['5 1/8', '-3/16', '0', '1/2', '-2', '4 15/16']).toEqual(
      [5.125, -0.1875, 0.01, 0.5, -2, 4.93].map((inches) => inchFraction(inches * INCH)),
    );
  });

  const { readings } = readProfile((s) => s / 100, {
    stations: [0, 10 * FOOT, 12.5 * FOOT],
    sd: 0,
    rounding: INCH / 16,
    random: createRandom(6),
    date: '2031-05-06',
  });

  it('writes the long form', () => {
    expect(longFormCsv(readings, { units: 'us', stations: 'chainage', comments: ['girder 4'] })).toBe(
      '# girder 4\ncycle,station,offset (in),date\n0,0+00,0,2031-05-06\n0,0+10,1 3/16,2031-05-06\n0,0+12.5,1 1/2,2031-05-06\n',
    );
    expect(
      longFormCsv(readings, { units: 'si', separator: ';', columns: ['state'], newline: '\r\n', bom: true }),
    ).toBe(
      '\ufeffcycle;station_m;offset_mm;state\r\n0;0;0;released\r\n0;3.048;30.16;released\r\n0;3.81;38.1;released\r\n',
    );
  });

  it('writes the field sheet, and refuses repeats that one cell cannot hold', () => {
    const next = readings.slice(1).map((r) => ({ ...r, cycle: 1, offset: r.offset / 2 }));
    expect(fieldSheetCsv([...readings, ...next], { units: 'us', stations: 'feet-inches' })).toBe(
      'station,cycle 0 (in),cycle 1 (in)\ndate,2031-05-06,2031-05-06\n"0\'-0""",0,\n"10\'-0""",1 3/16,5/8\n"12\'-6""",1 1/2,3/4\n',
    );
    expect(() => fieldSheetCsv([...readings, ...readings], { units: 'us' })).toThrow(/two readings/);
  });
});
