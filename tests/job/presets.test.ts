import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { InputError } from '../../src/input-error.ts';
import {
  columnStraightness,
  eighthPerFiveFeet,
  eighthPerTenFeet,
  flangeSquareness,
  flangeTilt,
  rolledSectionStraightness,
  thousandth,
  webFlatness,
} from '../../src/job/fabrication-tolerances.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { presetDocument, presetText } from '../../src/job/preset-text.ts';
import { PRESET_KEYS, PRESETS, presetRules } from '../../src/job/presets.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { LINE, MEMBER } from '../line-fit-builder.ts';

const facts = {
  units: 'us',
  member: { ...MEMBER, webThickness: INCH / 4, webStiffeners: 'none' },
  lines: [LINE],
} as const;
const inches = (metres: number): number => metres / INCH;

describe('worked numbers of fabrication tolerances', () => {
  it('ASTM A6 sweep and camber, flange 6 in and wider; AWS D1.5 girder sweep (from memory of both)', () => {
    for (const [feet, limit] of [
      [20, 0.25],
      [35, 0.4375],
      [40, 0.5],
      [60, 0.75],
      [85, 1.0625],
    ]) {
      expect(inches(eighthPerTenFeet(feet! * FOOT))).toBeCloseTo(limit!, 9);
    }
  });

  it('ASTM A6 sweep, flange under 6 in (from memory of it)', () => {
    expect([20, 40, 60].map((feet) => inches(eighthPerFiveFeet(feet * FOOT)))).toEqual(
      [0.5, 1, 1.5].map((v) => expect.closeTo(v, 9)),
    );
  });

  it('welded columns (from memory of AWS D1.5 3.5 and D1.1)', () => {
    expect([20, 30, 40, 50, 75].map((feet) => inches(columnStraightness(feet * FOOT)))).toEqual(
      [0.25, 0.375, 0.375, 0.4375, 0.75].map((v) => expect.closeTo(v, 9)),
    );
  });

  it('L/1000 (from memory of AISC 303 6.4.2; UK NSSS 5, 9 and 12 m)', () => {
    expect([20, 40, 60].map((feet) => inches(thousandth(feet * FOOT)))).toEqual(
      [0.24, 0.48, 0.72].map((v) => expect.closeTo(v, 9)),
    );
    expect([5, 9, 12].map((m) => thousandth(m) * 1000)).toEqual([5, 9, 12]);
  });

  it('flange tilt max(b/100, 1/4 in) (AWS D1.1:2015, 5.22.8, page read) and web D/150 (5.22.6.2, page read)', () => {
    expect([12, 24, 30].map((b) => inches(flangeTilt(b * INCH)))).toEqual(
      [0.25, 0.25, 0.3].map((v) => expect.closeTo(v, 9)),
    );
    expect(
      [34.02, 60, 72].map((d) =>
        inches(
          webFlatness('d1.1', { depth: d * INCH, thickness: INCH / 4, least: d * INCH, stiffeners: 'none' })!,
        ),
      ),
    ).toEqual([0.2268, 0.4, 0.48].map((v) => expect.closeTo(v, 9)));
  });

  it('EN 10034:1993, Table 3 (page read): 0.30 % to 180 mm (27 mm at 9 m), 0.10 % above 360 mm', () => {
    expect([5, 9, 12].map((m) => rolledSectionStraightness(m, 0.18) * 1000)).toEqual(
      [15, 27, 36].map((v) => expect.closeTo(v, 9)),
    );
    expect(rolledSectionStraightness(9, 0.4) * 1000).toBeCloseTo(9, 9);
    expect(rolledSectionStraightness(9, 0.3) * 1000).toBeCloseTo(13.5, 9);
  });
});

describe('presets', () => {
  it('SPD 4-100: sweep 1/2 in in 20 ft and over the length, tilt 3/8, plumb and web 1/4', () => {
    const rules = presetRules('straightened-spd-4-100', facts)!;
    expect(rules.map((r) => [r.kind, r.over.kind, inches(r.limit), r.line])).toEqual([
      ['sweep', 'whole-line', 0.5, 'bottom-flange'],
      ['sweep', 'chord', 0.5, 'bottom-flange'],
      ['tilt', 'whole-line', expect.closeTo(0.375, 9), null],
      ['plumb', 'whole-line', 0.25, null],
      ['bulge', 'whole-line', 0.25, null],
    ]);
    expect(rules.every((r) => r.source.includes('SPD 4-100') && r.preset === 'straightened-spd-4-100')).toBe(
      true,
    );
  });

  it('Michigan DOT form 0388: 1/2 in over 20 ft, 3/4 in at impact, tilt 1/4, plumb and web 1/2', () => {
    const rules = presetRules('straightened-form-0388', facts)!;
    expect(rules.map((r) => [r.kind, r.over.kind, inches(r.limit)])).toEqual([
      ['sweep', 'chord', 0.5],
      ['sweep', 'impact', expect.closeTo(0.75, 9)],
      ['tilt', 'whole-line', 0.25],
      ['plumb', 'whole-line', 0.5],
      ['bulge', 'whole-line', 0.5],
    ]);
    expect(rules[0]!.over).toEqual({ kind: 'chord', length: 20 * FOOT });
  });

  it('what is remembered and not read says so in its source', () => {
    for (const preset of PRESETS) {
      const source = presetRules(preset.key, facts)![0]!.source;
      if (preset.confidence === 'memory') expect(source).toMatch(/^from memory of /);
      if (preset.confidence === 'second-hand') expect(source).toContain('as quoted by others');
    }
  });

  it('keys are unique and an unknown key is null', () => {
    expect(new Set(PRESET_KEYS).size).toBe(PRESET_KEYS.length);
    expect(presetRules('no-such-set', facts)).toBeNull();
  });
});

describe('web flatness by D/t and stiffeners, flanges out of square', () => {
  const flat = (
    code: 'd1.1' | 'd1.5-interior' | 'd1.5-fascia',
    stiffeners: 'none' | 'one side' | 'both sides',
    depth: number,
    thickness: number,
    least: number,
  ) => {
    const limit = webFlatness(code, {
      depth: depth * INCH,
      thickness: thickness * INCH,
      least: least * INCH,
      stiffeners,
    });
    return limit === null ? null : inches(limit);
  };

  // Expected values by hand from the divisors; D/t is 144 for 72 × 1/2 and 192 for 72 × 3/8.
  it('AWS D1.1:2015 5.22.6.2, statically loaded (page read; 5.23.6.2 of 2010 as quoted by others)', () => {
    expect(flat('d1.1', 'both sides', 72, 0.5, 60)).toBeCloseTo(0.6, 9);
    expect(flat('d1.1', 'both sides', 72, 0.375, 60)).toBeCloseTo(0.75, 9);
    expect(flat('d1.1', 'one side', 45, 0.5, 45)).toBeCloseTo(0.45, 9);
    expect(flat('d1.1', 'one side', 72, 0.5, 67)).toBeCloseTo(1, 9);
    expect(flat('d1.1', 'none', 72, 0.5, 72)).toBeCloseTo(0.48, 9);
    expect(flat('d1.1', 'none', 36, 0.625, 36)).toBeNull();
  });

  it('AWS D1.5 3.5, interior and fascia girders (from memory of it, medium confidence)', () => {
    expect(flat('d1.5-interior', 'both sides', 72, 0.5, 69)).toBeCloseTo(0.6, 9);
    expect(flat('d1.5-interior', 'both sides', 72, 0.375, 69)).toBeCloseTo(0.75, 9);
    expect(flat('d1.5-interior', 'one side', 72, 0.5, 67)).toBeCloseTo(1, 9);
    expect(flat('d1.5-fascia', 'both sides', 72, 0.5, 65)).toBeCloseTo(0.5, 9);
    expect(flat('d1.5-fascia', 'both sides', 72, 0.375, 63)).toBeCloseTo(0.6, 9);
    expect(flat('d1.5-fascia', 'one side', 45, 0.5, 60)).toBeCloseTo(0.5, 9);
    expect(flat('d1.5-fascia', 'one side', 72, 0.5, 60)).toBeCloseTo(0.75, 9);
    expect(flat('d1.5-fascia', 'none', 75, 1, 75)).toBeCloseTo(0.5, 9);
  });

  it('ASTM A6 flanges out of square: 1/4 in to 12 in deep, 5/16 above (from memory of it, medium confidence)', () => {
    expect([8, 12, 12.5, 36].map((d) => inches(flangeSquareness(d * INCH)))).toEqual(
      [0.25, 0.25, 0.3125, 0.3125].map((v) => expect.closeTo(v, 9)),
    );
  });

  it('AWS D1.1 warpage and tilt is at the edges from the web (from memory of it)', () => {
    expect(presetRules('fabrication-d1.1-section', facts)![0]).toMatchObject({
      kind: 'tilt',
      edgesFromWeb: true,
      label: 'tilt 1/4 in at the edges from the web over the whole line',
    });
  });
});

describe('presets in words', () => {
  it('give their fixed limits, and say where a limit depends on the member', () => {
    const of = (key: string) => presetText(PRESETS.find((each) => each.key === key)!, true);
    expect(of('straightened-spd-4-100')).toContain('tilt 3/8 in over the whole line');
    expect(of('straightened-form-0388')).toContain('vee angle at most 20°; open end at most 6 in');
    expect(of('flange-square-a6')).toContain('tilt (limit by the note)');
  });

  it('never cite a clause that was not seen as if it had been', () => {
    for (const preset of PRESETS) {
      const text = presetText(preset, true);
      const claims = /clause not verified|its figures were not|as quoted by others/.test(text);
      expect(claims, preset.key).toBe(preset.confidence !== 'read');
      // What was read is named by document and by clause, table or form.
      if (preset.confidence === 'read')
        expect(preset.source, preset.key).toMatch(/clause \d|Table \d|form \d|SPD \d/);
    }
  });

  it('speak the units asked for, and their JSON gives limits in m', () => {
    const of = (key: string) => PRESETS.find((each) => each.key === key)!;
    const text = presetText(of('straightened-spd-4-100'), true, 'si');
    // 3/8 in = 9.525 mm, 20 ft = 6.096 m, 1100 °F = 593.3 °C, 3 in = 76.2 mm (exact factors).
    expect(text).toContain('tilt 9.525 mm over the whole line');
    expect(text).toContain('sweep 12.7 mm over any 6.096 m');
    expect(text).toContain('steel at most 593 °C');
    expect(text).toContain('open end 76.2 mm to 254.0 mm');
    expect(presetText(of('flange-square-a6'), true, 'si')).toContain('tilt (limit by the note) over');
    const limits = (key: string) =>
      (presetDocument(of(key)).rules as { limit: number | null }[]).map(({ limit }) => limit);
    expect(limits('straightened-form-0388')).toEqual(
      [1 / 2, 3 / 4, 1 / 4, 1 / 2, 1 / 2].map((inch) => expect.closeTo(inch * INCH, 12) as unknown),
    );
    expect(limits('mill-a6')).toEqual([null, null]);
  });
});

describe('presets as a job chooses them', () => {
  const text = (member: object, acceptance: object[], more: object = {}) =>
    JSON.stringify({
      job: 'Heron Lane, girder 2 (invented)',
      units: 'us',
      member: {
        span: '70 ft',
        yieldStress: '36 ksi',
        flangeWidth: '12 in',
        flangeThickness: '1 in',
        depth: '74 in',
        ...member,
      },
      lines: { web: { kind: 'bulge', bearings: ['10 ft', '12 ft'], positive: 'out' } },
      acceptance,
      ...more,
    });
  const problems = (job: string, files: Record<string, string> = {}): string => {
    try {
      parseJob(job, { readText: (file) => files[file] ?? null });
    } catch (error) {
      if (error instanceof InputError) return JSON.stringify(error.problems);
      throw error;
    }
    return 'none';
  };

  it('what a rule needs of the member is asked for, not passed over', () => {
    const d11 = [{ preset: 'fabrication-d1.1-web' }];
    expect(problems(text({}, d11))).toContain('member.webThickness');
    expect(problems(text({ webThickness: '1/2 in' }, d11))).toContain('member.webStiffeners');
    const stiff = { webThickness: '1/2 in', webStiffeners: 'both sides' };
    expect(problems(text(stiff, d11))).toContain('member.stiffenerSpacing');
    const job = parseJob(text({ ...stiff, stiffenerSpacing: '60 in', element: 'welded girder' }, d11));
    expect(inches(job.acceptance[0]!.limit)).toBeCloseTo(0.6, 9);
    expect(job.acceptance[0]!.label).toContain('0.6 in');
    expect(job.presets![0]!.unconfirmed).toBeNull();
  });

  it('where D/t puts the member outside the rule, that is said; a set for another kind of member is refused', () => {
    const stocky = { depth: '36 in', webThickness: '5/8 in', webStiffeners: 'none' };
    const job = parseJob(text(stocky, [{ preset: 'fabrication-d1.1-web' }]));
    expect(job.acceptance).toEqual([]);
    const findings = analyse(job, []).findings.map(({ code, message }) => `${code} ${message}`);
    expect(findings.some((f) => f.startsWith('preset-rule-passed-over') && f.includes('D/t is 54'))).toBe(
      true,
    );
    expect(findings.some((f) => f.startsWith('preset-for-another-member'))).toBe(true);
    expect(problems(text({ element: 'rolled beam' }, [{ preset: 'fabrication-d1.5-column' }]))).toContain(
      'column or truss member',
    );
  });

  const agency = {
    schema: 'sweepbook/preset/1',
    key: 'heron-district',
    title: 'the district’s own',
    source: 'Heron district manual, 3rd edition (invented)',
    note: 'Read before noon.',
    rules: [
      { kind: 'bulge', limit: '3/8 in', over: 'whole line', source: 'clause 4.2' },
      { kind: 'tilt', limit: '0.600 in', over: 'whole line', edges: 'from the web', source: 'clause 4.3' },
    ],
    heat: { maxTemperature: '1000 F', veeAngle: ['10 deg', '15 deg'], source: 'clause 5' },
  };
  const own = text({}, [{ presetFile: 'rules/heron.json' }]);
  const withFile = (set: unknown) => ({ 'rules/heron.json': JSON.stringify(set) });

  it('an agency’s set is used like a built-in one, each rule with its own source line', () => {
    const job = parseJob(own, {
      readText: (file) => (withFile(agency) as Record<string, string>)[file] ?? null,
    });
    expect(job.acceptance.map((r) => [r.kind, r.line, inches(r.limit), r.source, r.preset])).toEqual([
      ['bulge', 'web', expect.closeTo(0.375, 9), `${agency.source}, clause 4.2`, 'heron-district'],
      ['tilt', null, expect.closeTo(0.6, 9), `${agency.source}, clause 4.3`, 'heron-district'],
    ]);
    expect(job.acceptance[1]!.label).toBe('tilt 0.6 in at the edges from the web over the whole line');
    expect(job.heating.presetLimits![0]!.source).toBe(`${agency.source}, clause 5`);
    expect(
      analyse(job, [])
        .findings.map((f) => f.message)
        .join(),
    ).toContain('Read before noon.');
  });

  it('its faults name its file and key: absent, not JSON, a rule without a source, a built-in key, a range the wrong way', () => {
    expect(problems(own)).toContain('which is not there');
    expect(problems(text({}, [{ presetFile: '../heron.json' }]))).toContain('inside the job folder');
    expect(problems(own, { 'rules/heron.json': '{"key":' })).toContain('rules/heron.json');
    const unsourced = { ...agency, rules: [{ kind: 'bulge', limit: '3/8 in', over: 'whole line' }] };
    expect(problems(own, withFile(unsourced))).toContain('rules[0].source');
    expect(problems(own, withFile({ ...agency, key: 'mill-a6' }))).toContain('no built-in set has');
    const turned = { ...agency, heat: { veeAngle: ['30 deg', '15 deg'], source: 'clause 5' } };
    expect(problems(own, withFile(turned))).toContain('the least, then the most');
    const both = { ...agency, rules: [{ ...agency.rules[0], at: 'impact' }] };
    expect(problems(own, withFile(both))).toContain('both');
  });
});
