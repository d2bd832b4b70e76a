import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command } from 'commander';
import { describe, expect, it } from 'vitest';
import { addScan } from '../../src/cli/commands/scan.ts';
import type { Io } from '../../src/cli/io.ts';
import { InputError } from '../../src/input-error.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { extractLine } from '../../src/scan/extract-line.ts';
import { lineFrame } from '../../src/scan/line-frame.ts';
import { parseScanSetUp, scanSetUp } from '../../src/scan/set-up.ts';
import { scanJsonSchema } from '../../src/scan/set-up-schema.ts';

const job = (units: 'us' | 'si') =>
  parseJob(
    JSON.stringify({
      job: 'Reed Lane',
      units,
      member: { span: '62 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
      lines: { flange: { kind: 'sweep', bearings: ['0 ft', '62 ft'], positive: 'north' } },
    }),
  );
const picks = { from: [0, 0, 0], to: [18.9, 0, 0], direction: [0, 1, 0] };
const problemsOf = (raw: unknown, units: 'us' | 'si' = 'us') => {
  try {
    scanSetUp(raw, 'scan.json', job(units));
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
  return [];
};

function faultOf(run: () => unknown) {
  try {
    run();
  } catch (error) {
    if (error instanceof InputError) return error.problems[0];
    throw error;
  }
  return undefined;
}

/** Every key of a JSON Schema, with whether it is described. */
function keysOf(schema: unknown): { key: string; described: boolean }[] {
  if (typeof schema !== 'object' || schema === null) return [];
  if (Array.isArray(schema)) return schema.flatMap(keysOf);
  const { properties } = schema as { properties?: Record<string, { description?: string }> };
  return [
    ...Object.entries(properties ?? {}).map(([key, value]) => ({
      key,
      described: (value.description ?? '').length > 10,
    })),
    ...Object.values(schema).flatMap(keysOf),
  ];
}

describe('the set-up of a scan', () => {
  const keys = keysOf(scanJsonSchema());

  it('has a JSON Schema with every key described, and each stands in README and help', () => {
    expect(keys.length).toBeGreaterThan(25);
    expect(keys.filter((each) => !each.described)).toEqual([]);
    const readme = readFileSync(join(import.meta.dirname, '../../README.md'), 'utf8');
    const section = readme.slice(readme.indexOf('## Scans'), readme.indexOf('## The verdict words'));
    const program = new Command();
    let help = '';
    addScan(program, { cwd: '/' } as Io);
    program.commands[0]!.configureOutput({
      writeOut: (text) => {
        help += text;
      },
    });
    program.commands[0]!.outputHelp();
    for (const { key } of keys.filter((each) => each.key !== '$schema')) {
      expect(section, key).toMatch(new RegExp(`[\`."]${key}[\`."]`));
      expect(help, key).toMatch(new RegExp(`\\b${key}\\b`));
    }
  });

  it('the reader takes every key the schema has, and no other', () => {
    const whole = {
      $schema: './scan.schema.json',
      units: 'm',
      columns: ['x', 'y', 'z'],
      leastSd: '0.5 mm',
      registration: '1 mm',
      lines: {
        flange: {
          ...picks,
          stations: ['0 ft', '62 ft'],
          feature: 'edge',
          edge: 'negative',
          across: [0, 0, 1],
          reach: '30 in',
          band: ['-1 ft', '1 ft'],
          spacing: '2 ft',
          slice: '6 in',
          extent: '12 in',
        },
      },
      panels: {
        'bay 3': {
          corners: [
            [0, 0, 0],
            [1, 0, 0],
            [1, 0, 1],
            [0, 0, 1],
          ],
          positive: [0, 1, 0],
          held: ['1-2', '3-4'],
          margin: '1 in',
          reach: '6 in',
          cell: '1 in',
        },
      },
      targets: { T1: [0, 1, 2] },
      targetSd: '1/8 in',
      patches: { 'west seat': { at: [0, 0, 0], radius: '6 in' } },
    };
    const given = new Set([
      ...Object.keys(whole),
      ...Object.keys(whole.lines.flange),
      ...Object.keys(whole.panels['bay 3']),
      ...Object.keys(whole.patches['west seat']),
    ]);
    expect([...given].sort()).toEqual([...new Set(keys.map((each) => each.key))].sort());
    const setUp = scanSetUp(whole, 'scan.json', job('us'));
    // 1 in is 25.4 mm exactly.
    expect(setUp.lines[0]).toMatchObject({ edge: 'negative', stations: [0, 18.8976] });
    expect(setUp.lines[0]!.reach).toBeCloseTo(0.762, 12);
    expect(setUp.registration).toBeCloseTo(0.001, 12);
    expect(problemsOf({ ...whole, colums: ['x', 'y', 'z'] })[0]).toMatchObject({ suggestion: '"columns"?' });
  });

  it.each([
    ['a list', [], { found: 'a list', expected: /object/ }],
    ['nothing', null, { found: 'null', expected: /object/ }],
    ['a unit that is none', { units: 'furlong' }, { column: 'units', found: '"furlong"' }],
    [
      'no pick',
      { lines: { flange: { ...picks, from: undefined } } },
      { expected: 'three numbers [x, y, z]' },
    ],
    ['half a pick', { lines: { flange: { ...picks, to: [1, 2] } } }, { expected: 'three numbers [x, y, z]' }],
    [
      'a pick of text',
      { lines: { flange: { ...picks, to: [1, '2', 3] } } },
      { column: 'lines.flange.to[1]' },
    ],
    ['a line of no job', { lines: { 'Träger süd': picks } }, { column: 'lines.Träger süd' }],
    ['less than nought', { leastSd: -1 }, { column: 'leastSd', expected: /0 or more/ }],
    ['metres for millimetres', { registration: 2 }, { column: 'registration', expected: /unit/ }],
    ['targets without error', { targetSd: 0 }, { column: 'targetSd', expected: /more than 0/ }],
  ])('refuses %s where it stands', (_what, raw, wanted) => {
    const all = raw === null || Array.isArray(raw) ? raw : { units: 'm', lines: { flange: picks }, ...raw };
    const [first, ...rest] = problemsOf(all);
    expect(rest).toEqual([]);
    const { expected, ...other } = wanted as { expected?: string | RegExp };
    expect(first).toMatchObject({ file: 'scan.json', ...other });
    if (expected !== undefined) expect(first?.expected).toMatch(expected);
  });

  it('refuses a key that stands twice, and a name that JSON.parse drops', () => {
    const read = (text: string) => faultOf(() => parseScanSetUp(text, 'scan.json', job('us')));
    expect(read('{"units":"ft","units":"m"}')?.column).toBe('units');
    expect(read('{"units":"m","lines":{"__proto__":{}}}')?.column).toBe('__proto__');
    expect(read(' ')?.found).toBe('an empty file');
  });

  it('says lengths in the units of the job, rounded', () => {
    const wrong = { units: 'm', lines: { flange: { ...picks, slice: '2 ft', reach: '5 m' } } };
    expect(problemsOf(wrong).map((p) => p.found)).toEqual(['24 in', '196 7/8 in']);
    expect(problemsOf(wrong, 'si').map((p) => p.found)).toEqual(['609.6 mm', '5000.0 mm']);
    const far = scanSetUp(
      { units: 'm', lines: { flange: { ...picks, to: [17.123456, 0, 0] } } },
      'scan.json',
      job('us'),
    );
    // 17.123456 m is 56 ft 2.15 in.
    expect(faultOf(() => lineFrame(far.lines[0]!, 1))).toMatchObject({
      found: expect.stringContaining('56\'-2 1/8" apart'),
      expected: expect.stringContaining('62\'-0"'),
    });
  });
});

describe('a station without points', () => {
  /** Strips of points every 5 mm along x, square to the line: y and z as given. */
  function reasonsWith(points: readonly (readonly [number, number, number])[]) {
    const setUp = scanSetUp(
      {
        units: 'm',
        lines: { flange: { ...picks, feature: 'face', reach: '100 mm', band: ['-100 mm', '100 mm'] } },
      },
      'scan.json',
      job('si'),
    );
    const taken = extractLine(setUp.lines[0]!, 1, { flangeThickness: 0.025, leastU: 0.0003 });
    const [x, y, z] = [0, 1, 2].map((k) => Float64Array.from(points, (p) => p[k]!));
    taken.sink(x!, y!, z!, points.length);
    return taken.profile().unread;
  }
  const strip = (from: number, to: number, y: number) =>
    Array.from({ length: Math.round((to - from) * 4000) }, (_, i) => {
      const x = from + i / 4000;
      return [x, y + 0.0005 * Math.sin(7 * i), 0.09 * Math.sin(13 * i)] as const;
    });

  it('is hidden where nothing is, and outside the search where steel stands just beyond it', () => {
    // On the line to 8 m, 250 mm off (beyond a reach of 100 mm) to 12 m, nothing to 15 m, then on the line again.
    const unread = reasonsWith([...strip(0, 8, 0), ...strip(8, 12, 0.25), ...strip(15, 18.9, 0)]);
    const between = (from: number, to: number) =>
      unread.filter((each) => each.station > from && each.station < to).map((each) => each.reason);
    expect(between(8.2, 11.8).length).toBeGreaterThan(10);
    for (const reason of between(8.2, 11.8)) expect(reason).toMatch(/within 300 mm beyond its "reach"/);
    expect(between(12.2, 14.8).length).toBeGreaterThan(6);
    for (const reason of between(12.2, 14.8)) expect(reason).toMatch(/\(hidden from the scanner\)/);
    expect(between(0, 7.8)).toEqual([]);
  });
});
