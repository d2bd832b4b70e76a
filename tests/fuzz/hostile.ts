import fc from 'fast-check';
import { CELLS, HOSTILE } from './hostile-texts.ts';

const HEADINGS = [
  'cycle',
  'line',
  'station',
  'offset',
  'station_ft',
  'offset (in)',
  'offset_mm',
  'station [m]',
  'date',
  'time',
  'state',
  'sd',
  'temperature (F)',
  'note',
  'cycle 0',
  'cycle 1',
  'cycle 2 restrained (mm)',
  'offest',
  '',
  'by',
];

const cell = fc.oneof(
  { weight: 6, arbitrary: fc.constantFrom(...CELLS) },
  { weight: 1, arbitrary: fc.constantFrom(...HOSTILE) },
  { weight: 2, arbitrary: fc.double({ min: -100, max: 100, noNaN: true }).map((value) => value.toFixed(3)) },
  { weight: 1, arbitrary: fc.string({ maxLength: 12 }) },
  { weight: 1, arbitrary: fc.string({ unit: 'binary', maxLength: 8 }) },
);

const heading = fc.oneof(
  { weight: 3, arbitrary: fc.constant('cycle,line,station,offset') },
  { weight: 2, arbitrary: fc.constant('station,cycle 0,cycle 1,cycle 2') },
  { weight: 1, arbitrary: fc.constant('cycle,station,offset,state,date,time,temperature,sd,note') },
  {
    weight: 3,
    arbitrary: fc
      .array(
        fc.oneof({ weight: 8, arbitrary: fc.constantFrom(...HEADINGS) }, { weight: 1, arbitrary: cell }),
        { maxLength: 8 },
      )
      .map((names) => names.join(',')),
  },
);

/** A few characters of a text put in, taken out or changed. */
export function spoiled(text: fc.Arbitrary<string>): fc.Arbitrary<string> {
  const slip = fc.tuple(
    fc.nat(),
    fc.constantFrom('insert', 'delete', 'replace', 'cut'),
    fc.oneof(
      fc.constantFrom('"', ',', ';', '\n', '\r', '\0', '#', '{', '}', '[', ']', ':', '\\'),
      fc.string({ unit: 'binary', minLength: 1, maxLength: 2 }),
    ),
  );
  return fc.tuple(text, fc.array(slip, { maxLength: 3 })).map(([whole, slips]) =>
    slips.reduce((now, [place, kind, what]) => {
      const at = now.length === 0 ? 0 : place % now.length;
      if (kind === 'insert') return now.slice(0, at) + what + now.slice(at);
      if (kind === 'delete') return now.slice(0, at) + now.slice(at + 1);
      if (kind === 'cut') return now.slice(0, at);
      return now.slice(0, at) + what + now.slice(at + 1);
    }, whole),
  );
}

/** A cell that suits a column, now and then another one. */
const fitting = (...good: string[]) =>
  fc.oneof({ weight: 12, arbitrary: fc.constantFrom(...good) }, { weight: 1, arbitrary: cell });
const aCycle = fitting('0', '1', '2', '7');
const aStation = fitting('0', '1.5', '10', '12.25', '31', `31'-6"`, '0+12.5', '18 ft', '5 m');
const anOffset = fitting('0', '3 1/2', '-0 1/16', '3.3125', '84 mm', '51', '½', '-2.5', '3/8"', '5 1/8');

const ROWS: Record<string, fc.Arbitrary<readonly string[]>> = {
  'cycle,line,station,offset': fc.tuple(aCycle, fitting('bottom-flange', 'top flange'), aStation, anOffset),
  'station,cycle 0,cycle 1,cycle 2': fc.tuple(aStation, anOffset, anOffset, anOffset),
  'cycle,station,offset,state,date,time,temperature,sd,note': fc.tuple(
    aCycle,
    aStation,
    anOffset,
    fitting('', 'released', 'restrained'),
    fitting('', '2026-03-04', '2026-03-05'),
    fitting('', '07:05'),
    fitting('', '68', '20 C'),
    fitting('', '1/16'),
    fc.oneof(fc.constant(''), fc.constantFrom(...HOSTILE)),
  ),
};

const sheetOf = (head: string) =>
  fc
    .tuple(
      fc.array(ROWS[head]!, { maxLength: 14 }),
      fc.constantFrom(',', ';', '\t'),
      fc.constantFrom('\n', '\r\n', '\r'),
      fc.boolean(),
    )
    .map(
      ([rows, mark, newline, bom]) =>
        (bom ? '\ufeff' : '') +
        [head.split(',').join(mark), ...rows.map((cells) => cells.join(mark))].join(newline),
    );

/** Text of a readings CSV, from right to nonsense. */
export const csvText: fc.Arbitrary<string> = fc.oneof(
  { weight: 4, arbitrary: fc.oneof(...Object.keys(ROWS).map(sheetOf)) },
  { weight: 2, arbitrary: spoiled(fc.oneof(...Object.keys(ROWS).map(sheetOf))) },
  {
    weight: 4,
    arbitrary: spoiled(
      fc
        .tuple(
          heading,
          fc.array(fc.array(cell, { minLength: 1, maxLength: 7 }), { maxLength: 12 }),
          fc.constantFrom(',', ';', '\t'),
          fc.constantFrom('\n', '\r\n', '\r'),
          fc.boolean(),
        )
        .map(
          ([head, rows, mark, newline, bom]) =>
            (bom ? '\ufeff' : '') +
            [head.replaceAll(',', mark), ...rows.map((cells) => cells.join(mark))].join(newline),
        ),
    ),
  },
  { weight: 1, arbitrary: fc.string({ unit: 'binary', maxLength: 200 }) },
  { weight: 1, arbitrary: fc.constantFrom(...HOSTILE) },
);

const jobBase = {
  job: 'Mill Lane',
  units: 'us',
  member: {
    span: '62 ft',
    yieldStress: '36 ksi',
    flangeWidth: '12 in',
    flangeThickness: '1 in',
    diaphragms: ['15 ft', '31 ft'],
  },
  lines: {
    'bottom-flange': {
      kind: 'sweep',
      bearings: ['0 ft', '62 ft'],
      positive: 'north',
      baseline: { method: 'undamaged', reaches: [['0 ft', '14 ft']], degree: 1 },
      impact: '30 ft',
      edgeSteps: [{ station: '20 ft', step: '1/2 in' }],
    },
  },
  acceptance: [
    { line: 'bottom-flange', limit: '1/2 in', over: '20 ft' },
    { preset: 'straightened-spd-4-100' },
  ],
  repairs: [{ date: '2020-01-01', from: 10, to: 12 }],
  jacks: [{ name: 'A', station: 30, ramArea: '12.7 in2' }],
  plates: [{ name: 'P1', line: 'bottom-flange', from: 20, to: 40, thickness: '3/4 in' }],
};

/** Every path of keys in the example, so that any one value can be replaced or dropped. */
function pathsOf(value: unknown, path: (string | number)[] = []): (string | number)[][] {
  if (typeof value !== 'object' || value === null) return [path];
  return [
    path,
    ...Object.entries(value).flatMap(([key, child]) =>
      pathsOf(child, [...path, Array.isArray(value) ? Number(key) : key]),
    ),
  ];
}
const PATHS = pathsOf(jobBase).filter((path) => path.length > 0);

const anyValue: fc.Arbitrary<unknown> = fc.oneof(
  fc.constantFrom<unknown>(
    ...CELLS,
    ...HOSTILE,
    null,
    true,
    [],
    {},
    -1,
    0,
    1e308,
    36,
    62,
    'us',
    'si',
    'sweep',
    'bulge',
    'impact',
  ),
  fc.jsonValue({ maxDepth: 3 }),
);

function changed(job: unknown, path: readonly (string | number)[], value: unknown, kind: string): void {
  let at = job as Record<string | number, unknown>;
  for (const step of path.slice(0, -1)) {
    const next = at[step];
    if (typeof next !== 'object' || next === null) return;
    at = next as Record<string | number, unknown>;
  }
  const last = path.at(-1)!;
  if (kind === 'delete') delete at[last];
  else if (kind === 'rename') {
    Object.defineProperty(at, String(value).slice(0, 40), {
      value: at[last],
      enumerable: true,
      configurable: true,
      writable: true,
    });
    delete at[last];
  } else at[last] = value;
}

/** Text of a job.json, from nearly right to nonsense. */
export const jobText: fc.Arbitrary<string> = fc.oneof(
  {
    weight: 8,
    arbitrary: fc
      .array(
        fc.tuple(
          fc.constantFrom(...PATHS),
          anyValue,
          fc.constantFrom('replace', 'replace', 'delete', 'rename'),
        ),
        { maxLength: 4 },
      )
      .map((changes) => {
        const job = structuredClone(jobBase);
        for (const [path, value, kind] of changes) changed(job, path, value, kind);
        return JSON.stringify(job);
      }),
  },
  { weight: 2, arbitrary: spoiled(fc.constant(JSON.stringify(jobBase, null, 1))) },
  { weight: 1, arbitrary: fc.json({ maxDepth: 4 }) },
  { weight: 1, arbitrary: fc.string({ unit: 'binary', maxLength: 200 }) },
  {
    weight: 1,
    arbitrary: fc.integer({ min: 1, max: 3000 }).map((depth) => '['.repeat(depth) + ']'.repeat(depth)),
  },
);
