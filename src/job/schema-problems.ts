import type * as z from 'zod';
import type { Problem } from '../input-error.ts';
import { closest } from './closest.ts';
import { SUGGESTS } from './job-schema.ts';

type Issue = z.core.$ZodIssue;

/** zod's issues in our words: path inside the file, what was found, what was expected. */
export function schemaProblems(error: z.ZodError, file: string): Problem[] {
  return error.issues.flatMap((issue) => problemsOf(issue, [], file));
}

function problemsOf(issue: Issue, parent: readonly PropertyKey[], file: string): Problem[] {
  const path = [...parent, ...issue.path];
  const where = path.length === 0 ? {} : { column: pathText(path) };
  switch (issue.code) {
    case 'unrecognized_keys':
      return issue.keys.map((key) => {
        const near = closest(key, siblings(path));
        return {
          file,
          column: pathText([...path, key]),
          found: `the unknown key ${show(key)}`,
          expected: 'only keys that the job format has',
          ...(near === null ? {} : { suggestion: `"${near}"?` }),
        };
      });
    case 'invalid_union':
      return unionProblems(issue, path, file);
    case 'custom': {
      const [expected, suggestion] = issue.message.split(SUGGESTS);
      return [
        {
          file,
          ...where,
          found: show(issue.input),
          expected: expected!,
          ...(suggestion === undefined ? {} : { suggestion }),
        },
      ];
    }
    case 'invalid_type':
      return [
        { file, ...where, found: show(issue.input), expected: TYPE_WORDS[issue.expected] ?? issue.expected },
      ];
    case 'invalid_value': {
      const values = issue.values.map((value) => JSON.stringify(value));
      const near = typeof issue.input === 'string' ? closest(issue.input, issue.values.map(String)) : null;
      return [
        {
          file,
          ...where,
          found: show(issue.input),
          expected: values.length === 1 ? values[0]! : `one of ${values.join(', ')}`,
          ...(near === null ? {} : { suggestion: `"${near}"?` }),
        },
      ];
    }
    case 'too_small':
      return [
        {
          file,
          ...where,
          found: show(issue.input),
          expected: sizeWords(issue.origin, 'at least', issue.minimum),
        },
      ];
    case 'too_big':
      return [
        {
          file,
          ...where,
          found: show(issue.input),
          expected: sizeWords(issue.origin, 'at most', issue.maximum),
        },
      ];
    default:
      return [{ file, ...where, found: show(issue.input), expected: 'a value the job format allows' }];
  }
}

/** A value no branch of a union takes: every form it could have, or the faults of the branch most likely meant. */
function unionProblems(
  issue: Extract<Issue, { code: 'invalid_union' }>,
  path: readonly PropertyKey[],
  file: string,
): Problem[] {
  const branches = issue.errors.map((issues) => ({
    issues: issues as Issue[],
    cost: issues.reduce((sum, i) => sum + costOf(i), 0),
  }));
  const atRoot = branches.every((branch) =>
    branch.issues.every((i) => i.path.length === 0 && i.code !== 'unrecognized_keys'),
  );
  if (atRoot)
    return [
      anyOf(
        branches.flatMap((branch) => branch.issues),
        issue.input,
        path,
        file,
      ),
    ];
  // Objects told apart by one key (`method`): a wrong word there is the fault, whatever else is in them.
  const words = branches.flatMap((branch) =>
    branch.issues.filter((i) => i.code === 'invalid_value' && i.path.length === 1),
  );
  const told = branches.filter((branch) =>
    branch.issues.some((i) => i.path.length > 0 || i.code === 'unrecognized_keys'),
  );
  const best = branches.reduce((a, b) => (b.cost < a.cost ? b : a), branches[0] ?? { issues: [], cost: 0 });
  const key = words[0]?.path[0];
  if (key !== undefined && words.length === told.length && words.every((i) => i.path[0] === key)) {
    return [
      anyOf(words, words[0]!.input, [...path, key], file),
      ...best.issues
        .filter((i) => i.path[0] !== key && i.code !== 'unrecognized_keys')
        .flatMap((i) => problemsOf(i, path, file)),
    ];
  }
  return best.issues.flatMap((i) => problemsOf(i, path, file));
}

/** One problem that lists every form: `one of "auto", "bearings"`, `"whole line" or a length such as …`. */
function anyOf(
  issues: readonly Issue[],
  input: unknown,
  path: readonly PropertyKey[],
  file: string,
): Problem {
  const values: unknown[] = [];
  const expected: string[] = [];
  let suggestion: string | undefined;
  for (const issue of issues) {
    if (issue.code === 'invalid_value') values.push(...issue.values);
    else
      for (const problem of problemsOf({ ...issue, path: [] }, path, file)) {
        expected.push(problem.expected);
        suggestion ??= problem.suggestion;
      }
  }
  const words = [...new Set(values.map((value) => JSON.stringify(value)))];
  const near = typeof input === 'string' ? closest(input, values.map(String)) : null;
  if (words.length > 0) expected.unshift(words.length === 1 ? words[0]! : `one of ${words.join(', ')}`);
  if (near !== null) suggestion = `"${near}"?`;
  return {
    file,
    ...(path.length === 0 ? {} : { column: pathText(path) }),
    found: show(input),
    expected: [...new Set(expected)].join(' or '),
    ...(suggestion === undefined ? {} : { suggestion }),
  };
}

function costOf(issue: Issue): number {
  if (issue.path.length === 0 && (issue.code === 'invalid_type' || issue.code === 'invalid_value'))
    return 100;
  if (issue.code === 'invalid_value') return 20;
  return issue.code === 'unrecognized_keys' ? 5 * issue.keys.length : 3;
}

const TYPE_WORDS: Record<string, string> = {
  string: 'text',
  number: 'a number',
  object: 'an object { … }',
  record: 'an object { … }',
  array: 'a list [ … ]',
  tuple: 'two values [from, to]',
  boolean: 'true or false',
};

function sizeWords(origin: string, bound: string, size: number | bigint): string {
  if (origin === 'string')
    return bound === 'at least' ? 'text that is not empty' : `${bound} ${size} characters`;
  if (origin === 'array') return `${bound} ${size} ${size === 1 ? 'entry' : 'entries'}`;
  return `${bound} ${size}`;
}

/** A value as the user wrote it, short enough for one line. */
function show(value: unknown): string {
  if (value === undefined) return 'nothing';
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}

function pathText(path: readonly PropertyKey[]): string {
  return path.reduce<string>(
    (text, step) =>
      typeof step === 'number' ? `${text}[${step}]` : text === '' ? String(step) : `${text}.${String(step)}`,
    '',
  );
}

const KEYS: Record<string, readonly string[]> = {
  '': [
    'job',
    'units',
    'dashedLengths',
    'member',
    'lines',
    'usefulGain',
    'acceptance',
    'repairs',
    'jacks',
    'plates',
    'restraint',
    'heating',
  ],
  member: [
    'span',
    'yieldStress',
    'elasticModulus',
    'flangeWidth',
    'flangeThickness',
    'webThickness',
    'depth',
    'steel',
    'diaphragms',
  ],
  line: ['kind', 'bearings', 'positive', 'baseline', 'standoff', 'readingSd', 'impact', 'edgeSteps'],
  baseline: ['method', 'reaches', 'degree', 'file'],
  edgeSteps: ['station', 'step'],
  acceptance: ['line', 'limit', 'over', 'at', 'label', 'source', 'preset'],
  repairs: ['date', 'from', 'to', 'note'],
  jacks: ['name', 'station', 'ramArea'],
  plates: [
    'name',
    'line',
    'from',
    'to',
    'thickness',
    'boltHead',
    'clearance',
    'side',
    'width',
    'tilt',
    'across',
    'fillers',
    'maxPlies',
    'gapLimit',
    'gapLimitSource',
  ],
  restraint: [
    'setUp',
    'supports',
    'part',
    'webPart',
    'plasticModulus',
    'plasticModulusSource',
    'importance',
    'fraction',
    'fractionSource',
    'gaugeDivision',
  ],
  heating: [
    'temperature',
    'veeAngle',
    'veeDepth',
    'shapeFactor',
    'shapeFactorSource',
    'axialFactor',
    'axialFactorSource',
    'limits',
  ],
  limits: [
    'maxTemperature',
    'coolBelow',
    'veeAngle',
    'veeDepth',
    'openWidth',
    'spacing',
    'repairs',
    'source',
  ],
};

/** Keys that can stand where the unknown one stood. */
function siblings(path: readonly PropertyKey[]): readonly string[] {
  if (path.length === 0) return KEYS['']!;
  if (path[0] === 'heating' && path.includes('limits')) return KEYS.limits!;
  if (path[0] !== 'lines') return KEYS[String(path[0])] ?? [];
  if (path.includes('edgeSteps')) return KEYS.edgeSteps!;
  return path.includes('baseline') ? KEYS.baseline! : KEYS.line!;
}
