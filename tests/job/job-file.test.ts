import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/input-error.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { jobJsonSchema } from '../../src/job/job-schema.ts';
import { supportsOfLine } from '../../src/job/supports.ts';

const example = () => ({
  job: 'Juniper Lane over the canal, girder 4',
  units: 'us',
  member: {
    span: '62 ft',
    yieldStress: '36 ksi',
    flangeWidth: '12 in',
    flangeThickness: '15/16 in',
    diaphragms: ['15 ft', '31 ft', '47 ft'],
  } as Record<string, unknown>,
  lines: {
    'bottom-flange': {
      kind: 'sweep',
      bearings: ['0 ft', '62 ft'],
      positive: 'toward the north shoulder',
    } as Record<string, unknown>,
  },
  acceptance: [{ line: 'bottom-flange', limit: '1/2 in', over: 'whole line' }] as unknown[],
});
const problemsOf = (job: unknown) => {
  try {
    parseJob(JSON.stringify(job));
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
  return [];
};

describe('parseJob', () => {
  it('reads the example to SI with its defaults', () => {
    const job = parseJob(JSON.stringify(example()));
    expect(job.member.span).toBeCloseTo(18.8976, 12);
    // 36 ksi = 248.2 MPa, 29000 ksi = 199.9 GPa (NIST SP 811 B.9: 1 ksi = 6.894757 MPa, from memory).
    expect(job.member.yieldStress / 36e6).toBeCloseTo(6.894757, 6);
    expect(job.member.elasticModulus / 29000e6).toBeCloseTo(6.894757, 6);
    expect(job.member.diaphragms).toHaveLength(3);
    expect(job.usefulGain).toBeCloseTo(0.0254 / 32, 12);
    expect(job.lines[0]).toMatchObject({
      name: 'bottom-flange',
      standoff: 0,
      readingSd: null,
      baseline: { method: 'auto' },
    });
    expect(job.acceptance).toEqual([
      {
        line: 'bottom-flange',
        kind: 'sweep',
        limit: 0.0127,
        over: { kind: 'whole-line' },
        label: 'sweep 1/2 in over the whole line',
        source: 'set by the job',
        preset: null,
      },
    ]);
  });

  it('takes plain numbers in the job units', () => {
    const job = example();
    job.member.span = 62;
    job.member.flangeWidth = 12;
    job.member.yieldStress = 36;
    job.acceptance = [{ line: 'bottom-flange', limit: 0.5, over: 20 }];
    const read = parseJob(JSON.stringify(job));
    expect(read.member.span).toBeCloseTo(18.8976, 12);
    expect(read.member.flangeWidth).toBeCloseTo(0.3048, 12);
    expect(read.acceptance[0]).toMatchObject({
      over: { kind: 'chord', length: 20 * 0.3048 },
      label: 'sweep 1/2 in over any 20 ft',
    });
  });

  it('says every problem at once, with its path', () => {
    const job = example();
    job.member.spam = '62 ft';
    job.member.yieldStress = 'thirty-six';
    delete job.member.flangeWidth;
    job.lines['bottom-flange']!.kind = 'swep';
    const problems = problemsOf(job);
    expect(problems.map((p) => p.column)).toEqual(
      expect.arrayContaining([
        'member.spam',
        'member.yieldStress',
        'member.flangeWidth',
        'lines.bottom-flange.kind',
      ]),
    );
    expect(problems.find((p) => p.column === 'lines.bottom-flange.kind')?.suggestion).toBe('"sweep"?');
    expect(problems.find((p) => p.column === 'member.spam')?.suggestion).toBe('"span"?');
    for (const problem of problems) {
      expect(problem.found).not.toMatch(/undefined|Invalid|ZodError/);
      expect(problem.expected).not.toBe('');
    }
  });

  it('refuses what cannot be meant', () => {
    const job = example();
    job.member.diaphragms = ['31 ft', '15 ft', '310 ft'];
    job.lines['bottom-flange']!.impact = '310 ft';
    job.acceptance = [
      { line: 'top-flange', limit: '1/2 in', over: 'whole line' },
      { line: 'bottom-flange', limit: '1/2 in' },
    ];
    const columns = problemsOf(job).map((p) => p.column);
    expect(columns).toEqual(
      expect.arrayContaining([
        'member.diaphragms[1]',
        'member.diaphragms[2]',
        'lines.bottom-flange.impact',
        'acceptance[0].line',
        'acceptance[1]',
      ]),
    );
  });

  it('expands presets, and names them when the key is wrong', () => {
    const job = example();
    job.acceptance = [{ preset: 'straightened-spd-4-100' }];
    const rules = parseJob(JSON.stringify(job)).acceptance;
    expect(rules.filter((rule) => rule.kind === 'sweep').map((rule) => rule.line)).toEqual([
      'bottom-flange',
      'bottom-flange',
    ]);
    job.acceptance = [{ preset: 'straightened-spd-4-10' }];
    expect(problemsOf(job)[0]!.suggestion).toBe('"straightened-spd-4-100"?');
  });

  it('reads a reference profile through readText and reports its faults', () => {
    const job = example();
    job.lines['bottom-flange']!.baseline = { method: 'reference', file: 'girder-5.csv' };
    const text = JSON.stringify(job);
    const read = parseJob(text, { readText: () => 'station,offset\n10,1/2\n0,0\n' });
    expect(read.lines[0]!.baseline).toMatchObject({
      method: 'reference',
      profile: [
        { station: 0, offset: 0 },
        { station: 3.048, offset: 0.0127 },
      ],
    });
    expect(() => parseJob(text, { readText: () => null })).toThrow(InputError);
    expect(() => parseJob(text, { readText: () => 'station,offset\n10,x\n' })).toThrow(InputError);
    job.lines['bottom-flange']!.baseline = { method: 'reference', file: '../../secret.csv' };
    expect(problemsOf(job)[0]!.expected).toBe('a file inside the job folder');
  });

  it('reads what a claim is filed under, and refuses dates, times and currencies that are none', () => {
    const job = {
      ...example(),
      currency: 'USD',
      claim: { owner: 'the county', struckOn: '2026-02-27', struckAt: '14:05' },
    };
    expect(parseJob(JSON.stringify(job))).toMatchObject({
      currency: 'USD',
      locale: 'en-US',
      claim: { owner: 'the county', struckOn: '2026-02-27', struckAt: '14:05', claimNumber: null },
    });
    expect(parseJob(JSON.stringify(example()))).toMatchObject({ currency: null, claim: null });
    const wrong = {
      ...example(),
      currency: 'dollars',
      locale: 'english',
      claim: { struckOn: '27/2/2026', struckAt: '25:00' },
    };
    expect(problemsOf(wrong).map((p) => p.column)).toEqual([
      'claim.struckOn',
      'claim.struckAt',
      'currency',
      'locale',
    ]);
  });

  describe('a girder of several spans', () => {
    const ft = (feet: number) => expect.closeTo(feet * 0.3048, 9);
    const several = (member: object, line: object = {}) => {
      const job = example();
      Object.assign(job.member, { span: '58 ft, 84 ft, 58 ft' }, member);
      Object.assign(job.lines['bottom-flange']!, { bearings: ['58 ft', '142 ft'] }, line);
      return job;
    };
    const read = (member: object = {}, line: object = {}) =>
      parseJob(JSON.stringify(several(member, line))).member;

    it('has its bearings where the spans put them, or where the job says', () => {
      expect(read().bearings).toEqual([0, 58, 142, 200].map(ft));
      expect(read({ bearings: ['10 ft', '68 ft', '152 ft', '210 ft'] }).bearings).toEqual(
        [10, 68, 152, 210].map(ft),
      );
      expect(parseJob(JSON.stringify(example())).member).not.toHaveProperty('bearings');
    });

    it('takes for the struck span the one the reach or the impact is in, else the shortest that is read', () => {
      expect(read().span).toEqual(ft(84));
      const all = { bearings: ['0 ft', '200 ft'] };
      expect(read({}, all).span).toEqual(ft(58));
      expect(read({}, { ...all, impact: '100 ft' }).span).toEqual(ft(84));
      expect(read({ struck: ['150 ft', '155 ft'] }, { ...all, impact: '100 ft' }).span).toEqual(ft(58));
    });

    it('says where spans, bearings and the struck reach cannot be', () => {
      for (const [member, column] of [
        [{ span: '58 ft, 0 ft, 58 ft' }, 'member.span'],
        [{ span: '58 ft, 84 ft, long' }, 'member.span'],
        [{ bearings: ['0 ft', '58 ft', '142 ft'] }, 'member.bearings'],
        [{ bearings: ['0 ft', '58 ft', '150 ft', '200 ft'] }, 'member.bearings'],
        [{ struck: ['80 ft', '70 ft'] }, 'member.struck'],
        [{ struck: ['230 ft', '240 ft'] }, 'member.struck[0]'],
      ] as const) {
        expect(problemsOf(several(member)).map((p) => p.column)).toContain(column);
      }
      expect(problemsOf(several({}, { bearings: ['0 ft', '260 ft'] })).map((p) => p.column)).toContain(
        'lines.bottom-flange.bearings',
      );
    });

    it('is held by its piers and by the diaphragms that hold the part a line reads', () => {
      const member = read({
        diaphragms: ['30 ft', { station: '86 ft', holds: 'top-flange' }, '114 ft', '142 ft', '170 ft'],
      });
      expect(member.diaphragms).toEqual([30, 86, 114, 142, 170].map(ft));
      const line = { bearings: [58 * 0.3048, 142 * 0.3048] as const };
      expect(supportsOfLine({ ...line, part: 'bottom-flange' }, member)).toEqual({
        from: ft(0),
        to: ft(200),
        piers: [58, 142].map(ft),
        diaphragms: [30, 114, 170].map(ft),
      });
      expect(supportsOfLine({ ...line, part: 'top-flange' }, member).diaphragms).toEqual(
        [30, 86, 114, 170].map(ft),
      );
      expect(supportsOfLine(line, member).diaphragms).toEqual([30, 114, 170].map(ft));
    });

    it('is jacked over all its bearings and diaphragms', () => {
      const job = several(
        { diaphragms: ['30 ft', '86 ft', '114 ft', '170 ft'] },
        { impact: '100 ft' },
      ) as unknown as Record<string, unknown>;
      job.restraint = { part: 'flange', importance: 'primary' };
      expect(parseJob(JSON.stringify(job)).restraint!.supports).toEqual(
        [0, 30, 58, 86, 114, 142, 170, 200].map(ft),
      );
      job.restraint = {
        part: 'member-upright',
        importance: 'primary',
        plasticModulus: '700 in3',
        plasticModulusSource: 'tables',
      };
      expect(parseJob(JSON.stringify(job)).restraint!.supports).toEqual([0, 58, 142, 200].map(ft));
    });

    it('is not given leave by a published set to be out by the length of all its spans', () => {
      const job = several({}, { bearings: ['0 ft', '200 ft'], impact: '100 ft' }) as unknown as Record<
        string,
        unknown
      >;
      const one = example() as unknown as Record<string, unknown>;
      Object.assign(one.member as object, { span: '84 ft' });
      (one.lines as Record<string, { bearings: string[] }>)['bottom-flange']!.bearings = ['0 ft', '84 ft'];
      const limits = (each: Record<string, unknown>) => {
        each.acceptance = [{ preset: 'fabrication-d1.5-girder' }];
        return parseJob(JSON.stringify(each)).acceptance.map(({ limit }) => limit);
      };
      expect(limits(job)[0]).toBeCloseTo(limits(one)[0]!, 12);
    });
  });

  it('reads which part of the section a line reads, and refuses an edge or height where there is none', () => {
    const with_ = (fields: object) => {
      const job = example();
      Object.assign(job.lines['bottom-flange']!, fields);
      return job;
    };
    const read = (fields: object) => parseJob(JSON.stringify(with_(fields))).lines[0]!;
    expect(read({ part: 'bottom-flange', edge: 'near' })).toMatchObject({
      part: 'bottom-flange',
      edge: 'near',
    });
    expect(read({ part: 'web', height: '18 in' }).height).toBeCloseTo(0.4572, 12);
    expect(read({})).not.toHaveProperty('part');
    for (const [fields, column] of [
      [{ edge: 'far' }, 'lines.bottom-flange.edge'],
      [{ part: 'web', edge: 'far' }, 'lines.bottom-flange.edge'],
      [{ part: 'top-flange', height: '18 in' }, 'lines.bottom-flange.height'],
      [{ height: '18 in' }, 'lines.bottom-flange.height'],
      [{ part: 'flange' }, 'lines.bottom-flange.part'],
    ] as const) {
      expect(problemsOf(with_(fields)).map((p) => p.column)).toEqual([column]);
    }
  });

  it('knows the keys of every object from the schema, however deep', () => {
    const job = example() as unknown as Record<string, unknown>;
    Object.assign((job.lines as Record<string, object>)['bottom-flange']!, {
      strng: 'none',
      string: { wieght: '0.001 lb/ft', tension: '20 lb', positiveIs: 'up' },
      edgeSteps: [{ station: '5 ft', stp: '1/8 in' }],
    });
    job.heating = { limits: { maxTemprature: '1200 F', source: 'the specification' } };
    job.acceptance = [{ presset: 'a' }];
    const suggested = Object.fromEntries(
      problemsOf(job as never).flatMap((p) => (p.suggestion === undefined ? [] : [[p.column, p.suggestion]])),
    );
    expect(suggested).toMatchObject({
      'lines.bottom-flange.strng': '"string"?',
      'lines.bottom-flange.string.wieght': '"weight"?',
      'lines.bottom-flange.edgeSteps[0].stp': '"step"?',
      'heating.limits.maxTemprature': '"maxTemperature"?',
      'acceptance[0].presset': '"preset"?',
    });
  });

  it('says where a key belongs that is right but in the wrong place', () => {
    const hints = (change: (job: Record<string, unknown>) => void) => {
      const job = example() as unknown as Record<string, unknown>;
      change(job);
      return problemsOf(job as never).flatMap((p) => p.suggestion ?? []);
    };
    const told = '"presetFile" is a key of acceptance[…]';
    expect(hints((job) => Object.assign(job, { presetFile: 'rules.json' }))).toEqual([told]);
    expect(hints((job) => Object.assign(job.member as object, { presetFile: 'rules.json' }))).toEqual([told]);
    expect(
      hints((job) => {
        job.acceptance = { presetFile: 'rules.json' };
      }),
    ).toEqual(['put [ ] around it']);
    expect(
      hints((job) => {
        job.acceptance = [{ preset: 'rules.json' }];
      }),
    ).toEqual(['a set in a file of its own is named by "presetFile"']);
    expect(
      hints((job) => {
        job.acceptance = [
          { line: 'bottom-flange', limit: '1/2 in', over: 'whole line', presetFile: 'rules.json' },
        ];
      }),
    ).toEqual(['"presetFile" stands in an entry of its own, not beside these']);
    expect(hints((job) => Object.assign(job, { nonesuch: 1 }))).toEqual([]);
  });

  it('lists every form where a value can have several', () => {
    const job = example();
    job.lines['bottom-flange']!.baseline = { method: 'undamged', degree: 4 };
    job.acceptance = [{ line: 'bottom-flange', limit: '1/2 in', over: 'whole lin' }];
    const problems = problemsOf(job);
    const of = (column: string) => problems.find((problem) => problem.column === column);
    expect(of('lines.bottom-flange.baseline.method')).toMatchObject({
      expected: 'one of "auto", "as-built", "bearings", "undamaged", "reference"',
      suggestion: '"undamaged"?',
    });
    expect(of('lines.bottom-flange.baseline.degree')?.expected).toBe('one of 0, 1, 2');
    expect(of('acceptance[0].over')).toMatchObject({ suggestion: '"whole line"?' });
    expect(of('acceptance[0].over')?.expected).toMatch(/^"whole line" or a length such as/);
  });

  it('does not let a key given twice vanish', () => {
    const text = JSON.stringify(example(), null, 1).replace(
      '"units": "us",',
      '"units": "us",\n "units": "si",',
    );
    expect(() => parseJob(text)).toThrow(InputError);
    try {
      parseJob(text);
    } catch (error) {
      expect((error as InputError).problems).toMatchObject([
        { row: 4, column: 'units', found: 'the key "units" a second time' },
      ]);
    }
  });

  it.each([
    ['a missing colon', '{\n "job" "a"\n}', 2, '"a"', 'a colon between key and value'],
    [
      'a comma too many',
      '{\n "job": "a",\n}',
      3,
      '}',
      'another key, because of the comma before it (take that comma out)',
    ],
    [
      'an open quote',
      '{\n "job": "a,\n "units": "us"\n}',
      2,
      '"a,',
      'text with a closing quote on the same line (an inch mark inside it is written \\")',
    ],
    [
      'an inch mark',
      `{"span": "62'-6"" }`,
      1,
      '" }',
      'a comma or } (an inch mark inside text is written \\")',
    ],
    ['single quotes', "{\n 'job': 1}", 2, "'job': 1}", 'a key in double quotes'],
    ['a comment', '// mine\n{}', 1, '// mine', 'a value (JSON has no comments)'],
    ['an end too early', '{"job": [1', 1, 'the end of the file', 'a closing ]'],
    [
      'a job too deep',
      `${'['.repeat(65)}`,
      1,
      'brackets nested more than 64 deep',
      'a job, which needs no more than a few levels',
    ],
    ['a missing comma', '{\n"a": [1 2]}', 2, '2]}', 'a comma or ]'],
  ])('says where and how JSON breaks: %s', (_, text, row, found, expected) => {
    try {
      parseJob(text);
      expect.unreachable();
    } catch (error) {
      expect((error as InputError).problems).toEqual([{ file: 'job.json', row, found, expected }]);
    }
  });
});

describe('jobJsonSchema', () => {
  it('has the keys of the contract and forbids others', () => {
    const schema = jobJsonSchema() as {
      properties: Record<string, unknown>;
      additionalProperties: boolean;
      required: string[];
    };
    expect(Object.keys(schema.properties)).toEqual(
      expect.arrayContaining(['job', 'units', 'member', 'lines', 'acceptance', 'usefulGain', '$schema']),
    );
    expect(schema.additionalProperties).toBe(false);
    // Lines may be left out where there are panels; a job with neither is refused (checkJob).
    expect(schema.required).toEqual(['job', 'units', 'member']);
  });
});
