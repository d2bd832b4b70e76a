import { describe, expect, it } from 'vitest';
import { heatLimits, heatLimitsOf } from '../../src/heats/heat-limits.ts';
import { limitFindings } from '../../src/heats/limit-findings.ts';
import { plannedTemperature, plannedVee } from '../../src/heats/planned-vee.ts';
import { steelGrade } from '../../src/heats/steel-grade.ts';
import { isUnknownGrade, temperatureLimit } from '../../src/heats/temperature-limit.ts';
import { KSI } from '../../src/units/factors.ts';
import { jobWith } from './fixtures.ts';
import { celsius, DEGREE, INCH } from './units.ts';

describe('temperature limit by grade', () => {
  it('1200 °F for steels that are not quenched and tempered (FHWA-IF-08-999 chapter 5; grades from memory)', () => {
    for (const grade of [
      'A36',
      'ASTM A36',
      'A7',
      'A572 Gr. 50',
      'A588',
      'A709 Grade 50W',
      'a709-36',
      'M270 Gr 50',
    ]) {
      expect(temperatureLimit(grade)!.value, grade).toBeCloseTo(celsius(1200), 6);
    }
    // The source gives the same limit as 650 °C.
    expect(temperatureLimit('A36')!.value).toBeCloseTo(650, -1);
  });

  it('1100 °F for quenched and tempered steel (AWS D1.5, second-hand; A514 from memory of FHWA-IF-08-999)', () => {
    for (const grade of ['A514', 'A709 Gr 100W', 'A709 Grade 100']) {
      expect(temperatureLimit(grade)!.value, grade).toBeCloseTo(celsius(1100), 6);
      expect(isUnknownGrade(temperatureLimit(grade))).toBe(false);
    }
  });

  it('no built-in limit where published values conflict: grade 70W', () => {
    for (const grade of ['A709 Gr 70W', 'HPS 70W', 'A709 HPS-70W'])
      expect(temperatureLimit(grade), grade).toBeNull();
  });

  it('the lowest limit of any bridge steel, said to be a stand-in, where the grade is unknown or not given', () => {
    // 1050 °F is grade 70W's, from memory of FHWA-IF-08-999.
    for (const grade of [null, '', 'old steel', 'S355', 'A36 or A572', 'A913 Gr 50', 'A500']) {
      expect(temperatureLimit(grade)!.value, String(grade)).toBeCloseTo(celsius(1050), 6);
      expect(isUnknownGrade(temperatureLimit(grade))).toBe(true);
    }
  });
});

// Names, sub-grades and yields from memory of the ASTM specifications; AASHTO names with medium confidence.
describe('steel by the names bridges have had', () => {
  it.each([
    ['ordinary', 'A7, A7-39, A 7, A373, A242, A440, A441, A992, A992/A992M, A588 Gr. A, A36M, A572-50'],
    [
      'ordinary',
      'A572 GR50, A709/A709M Gr 50, A709M 345W, A709 50S, A709 HPS 50W, A709 Gr 36T2, A709-50WT3, A709 Gr 50W F2, A572 Gr 50 Type 2, A242 Type 1, M183, M222, M223 Gr 50',
    ],
    ['ordinary', 'M270 Gr 50, M 270M Grade 345W'],
    [
      'tempered',
      'A514, A 514 Gr F, A517, T-1, T1, USS T-1 Type A, A709 100, A709-100W, A709 Gr 100WT2, HPS 100W, A709M 690W',
    ],
    ['tempered', 'M244, quenched and tempered, Q&T, S690QL, A36/A514'],
    [
      'tempered-70',
      'A709 HPS-70W, HPS 70W, A709 HPS 70WT3, 70W F3, 70W, A709 Gr 70W, A709M HPS 485W, A852, M313',
    ],
  ])('%s: %s', (kind, names) => {
    for (const name of names.split(', ')) expect(steelGrade(name).kind, name).toBe(kind);
  });

  it('least specified yields: A7 33, A373 32, A36 36, A572 Gr 50 50, A588 50/46/42, A514 100/90 ksi', () => {
    const ksi = (name: string) => steelGrade(name).yields.map((each) => Math.round(each / KSI));
    expect(['A7', 'A373', 'A572 Gr 50', 'A588', 'A514'].map(ksi)).toEqual([
      [33],
      [32],
      [50],
      [50, 46, 42],
      [100, 90],
    ]);
    expect(ksi('A36')[0]).toBe(36);
  });
});

describe('limits of heating', () => {
  it('published: below 250 °F before the next heat (state form 0388), open end 3 to 10 in and 12 in apart (SPD 4-100)', () => {
    const limits = heatLimits('A36', 8 * INCH, null);
    expect(limits.coolBelow.value).toBeCloseTo(celsius(250), 9);
    expect(limits.openWidth.low).toBeCloseTo(3 * INCH, 12);
    expect(limits.openWidth.high).toBeCloseTo(10 * INCH, 12);
    expect(limits.spacing.value).toBeCloseTo(12 * INCH, 12);
    expect(heatLimits('A36', 16 * INCH, null).spacing.value).toBeCloseTo(16 * INCH, 12);
    const { bulge, ...published } = limits;
    for (const limit of Object.values(published)) expect(limit!.source.length).toBeGreaterThan(20);
    // Of heats on a bulge none is published that was at hand: nothing stands in for them.
    expect(Object.values(bulge)).toEqual([null, null, null, null, null]);
  });

  it('the job’s own limits stand before the published ones, with the job’s source', () => {
    const limits = heatLimits('A36', 12 * INCH, {
      maxTemperature: celsius(1100),
      coolBelow: null,
      veeAngle: [0, 20 * DEGREE],
      veeDepth: null,
      openWidth: null,
      spacing: null,
      repairs: null,
      source: 'owner’s special provision, clause 4',
    });
    expect(limits.maxTemperature).toEqual({
      value: celsius(1100),
      source: 'owner’s special provision, clause 4',
    });
    expect(limits.veeAngle.high).toBeCloseTo(20 * DEGREE, 12);
    expect(limits.coolBelow.source).toContain('0388');
  });
});

describe('a preset carries its own heat limits into everything proposed', () => {
  const chosen = (preset: string, more: object = {}) => jobWith({ acceptance: [{ preset }], ...more });
  const found = (job: ReturnType<typeof jobWith>) => {
    const limits = heatLimitsOf(job);
    return limitFindings(job, limits, plannedVee(job, limits)).map((f) => `${f.severity} ${f.code}`);
  };

  it('SPD 4-100 (SEEN): 1100 °F, half the flange, 3 to 10 in open, 12 in apart', () => {
    const job = chosen('straightened-spd-4-100');
    const limits = heatLimitsOf(job);
    expect(limits.maxTemperature!.value).toBeCloseTo(celsius(1100), 6);
    expect(limits.maxTemperature!.source).toContain('SPD 4-100');
    expect(limits.spacing.value).toBeCloseTo(12 * INCH, 12);
    const vee = plannedVee(job, limits);
    expect(vee.fits).toBe(true);
    expect(vee.depth).toBeCloseTo(6 * INCH, 9);
    // 2 · 6 in · tan(45°/2) = 4.971 in
    expect(vee.openWidth / INCH).toBeCloseTo(4.971, 3);
    expect(plannedTemperature(job, limits)).toBeCloseTo(celsius(1100), 6);
    expect(found(job)).toEqual([]);
  });

  it('form 0388 (SEEN): at most 20° and a base of 6 in', () => {
    const job = chosen('straightened-form-0388');
    const vee = plannedVee(job, heatLimitsOf(job));
    expect(vee.fits).toBe(true);
    expect(vee.angle / DEGREE).toBeCloseTo(20, 6);
    // 2 · 12 in · tan 10° = 4.232 in
    expect(vee.openWidth / INCH).toBeCloseTo(4.232, 3);
  });

  it('a flange of 20 in under form 0388: the base of 6 in rules, so 17° over the full depth', () => {
    const wide = {
      span: '62 ft',
      yieldStress: '36 ksi',
      flangeWidth: '20 in',
      flangeThickness: '15/16 in',
      steel: 'A36',
    };
    const job = chosen('straightened-form-0388', { member: wide });
    const vee = plannedVee(job, heatLimitsOf(job));
    expect(vee.fits).toBe(true);
    // 2 · atan(3/20) = 17.06°
    expect(vee.angle / DEGREE).toBeCloseTo(17, 6);
    expect(vee.openWidth).toBeLessThanOrEqual(6 * INCH);
  });

  it('no vee meets SPD 4-100 on a flange of 3 in: a stop, and nothing fits', () => {
    const narrow = {
      span: '62 ft',
      yieldStress: '36 ksi',
      flangeWidth: '3 in',
      flangeThickness: '1/2 in',
      steel: 'A36',
    };
    // Half the flange is 1 1/2 in deep; 3 in open would take 90°.
    const limited = { heating: { limits: { veeAngle: ['20 deg', '60 deg'], source: 'made up' } } };
    const job = chosen('straightened-spd-4-100', { member: narrow, ...limited });
    expect(plannedVee(job, heatLimitsOf(job)).fits).toBe(false);
    expect(found(job)).toContain('stop planned-vee-outside-limits');
  });

  it('a plan or a stated limit looser than the preset is a stop, and the stricter is used', () => {
    const planned = chosen('straightened-form-0388', { heating: { veeAngle: '45 deg', veeDepth: '12 in' } });
    expect(found(planned)).toEqual(['stop planned-vee-outside-limits']);
    const hot = chosen('straightened-spd-4-100', { heating: { temperature: '1200 F' } });
    expect(found(hot)).toEqual(['stop planned-temperature-outside-limits']);
    expect(plannedTemperature(hot, heatLimitsOf(hot))).toBeCloseTo(celsius(1100), 6);
    const stated = chosen('straightened-spd-4-100', {
      heating: { limits: { maxTemperature: '1200 F', veeDepth: [0.5, 1], source: 'made up' } },
    });
    expect(found(stated)).toEqual(['stop heat-limits-conflict', 'stop heat-limits-conflict']);
    expect(heatLimitsOf(stated).maxTemperature!.value).toBeCloseTo(celsius(1100), 6);
    expect(heatLimitsOf(stated).veeDepth.high).toBe(0.5);
  });

  it('quenched and tempered steel is never given more than 1100 °F, whatever is stated', () => {
    const member = {
      span: '62 ft',
      yieldStress: '100 ksi',
      flangeWidth: '12 in',
      flangeThickness: '15/16 in',
      steel: 'T-1',
    };
    const job = jobWith({ member, heating: { limits: { maxTemperature: '1200 F', source: 'made up' } } });
    expect(heatLimitsOf(job).maxTemperature!.value).toBeCloseTo(celsius(1100), 6);
    expect(found(job)).toContain('stop heat-limits-conflict');
  });

  it('yield against grade: A572 Gr 50 at 65 ksi is a stop, at 36 ksi a caution, with a source a note', () => {
    const of = (yieldStress: string, more: object = {}) =>
      found(
        jobWith({
          member: {
            span: '62 ft',
            yieldStress,
            flangeWidth: '12 in',
            flangeThickness: '15/16 in',
            steel: 'A572 Gr 50',
            ...more,
          },
        }),
      );
    expect(of('50 ksi')).toEqual([]);
    expect(of('345 MPa')).toEqual([]);
    expect(of('65 ksi')).toEqual(['stop yield-not-of-grade']);
    expect(of('36 ksi')).toEqual(['caution yield-not-of-grade']);
    expect(of('55 ksi', { yieldSource: 'coupons, invented' })).toEqual(['note yield-not-of-grade']);
  });
});
