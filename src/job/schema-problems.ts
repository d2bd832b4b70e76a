import type * as z from 'zod';
import type { Problem } from '../input-error.ts';
import { closest } from './closest.ts';
import { SUGGESTS } from './job-schema.ts';

type Issue = z.core.$ZodIssue;

/** The file a fault is in, and the schema it was held against (for "did you mean"). */
interface Held {
  readonly file: string;
  readonly schema: z.core.$ZodType;
}

/** zod's issues in our words: path inside the file, what was found, what was expected. */
export function schemaProblems(error: z.ZodError, file: string, schema: z.core.$ZodType): Problem[] {
  return error.issues.flatMap((issue) => problemsOf(issue, [], { file, schema }));
}

function problemsOf(issue: Issue, parent: readonly PropertyKey[], held: Held): Problem[] {
  const { file } = held;
  const path = [...parent, ...issue.path];
  const where = path.length === 0 ? {} : { column: pathText(path) };
  switch (issue.code) {
    case 'unrecognized_keys':
      return issue.keys.map((key) => {
        const hint = keyHint(key, held, path);
        return {
          file,
          column: pathText([...path, key]),
          found: `the unknown key ${show(key)}`,
          expected: 'only keys that the job format has',
          ...(hint === null ? {} : { suggestion: hint }),
        };
      });
    case 'invalid_union':
      return unionProblems(issue, path, held);
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
        {
          file,
          ...where,
          found: show(issue.input),
          expected: ownWords(issue) ?? TYPE_WORDS[issue.expected] ?? issue.expected,
          ...(issue.expected === 'array' && issue.input !== null && typeof issue.input === 'object'
            ? { suggestion: 'put [ ] around it' }
            : {}),
        },
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
          expected: ownWords(issue) ?? sizeWords(issue.origin, 'at least', issue.minimum),
        },
      ];
    case 'too_big':
      return [
        {
          file,
          ...where,
          found: Array.isArray(issue.input) ? `${issue.input.length} entries` : show(issue.input),
          expected: ownWords(issue) ?? sizeWords(issue.origin, 'at most', issue.maximum),
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
  held: Held,
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
        held,
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
      anyOf(words, words[0]!.input, [...path, key], held),
      ...best.issues
        .filter((i) => i.path[0] !== key && i.code !== 'unrecognized_keys')
        .flatMap((i) => problemsOf(i, path, held)),
    ];
  }
  return best.issues.flatMap((i) => problemsOf(i, path, held));
}

/** One problem that lists every form: `one of "auto", "bearings"`, `"whole line" or a length such as …`. */
function anyOf(issues: readonly Issue[], input: unknown, path: readonly PropertyKey[], held: Held): Problem {
  const values: unknown[] = [];
  const expected: string[] = [];
  let suggestion: string | undefined;
  for (const issue of issues) {
    if (issue.code === 'invalid_value') values.push(...issue.values);
    else
      for (const problem of problemsOf({ ...issue, path: [] }, path, held)) {
        expected.push(problem.expected);
        suggestion ??= problem.suggestion;
      }
  }
  const words = [...new Set(values.map((value) => JSON.stringify(value)))];
  const near = typeof input === 'string' ? closest(input, values.map(String)) : null;
  if (words.length > 0) expected.unshift(words.length === 1 ? words[0]! : `one of ${words.join(', ')}`);
  if (near !== null) suggestion = `"${near}"?`;
  return {
    file: held.file,
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

/** What a schema says of its own form, where it does: the library's words begin like this. */
function ownWords(issue: Issue): string | null {
  return /^(Invalid input|Too (small|big))/.test(issue.message) ? null : issue.message;
}

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

/** A path as faults name it: `lines.bottom-flange.bearings[0]`. */
export function pathText(path: readonly PropertyKey[]): string {
  return path.reduce<string>(
    (text, step) =>
      typeof step === 'number' ? `${text}[${step}]` : text === '' ? String(step) : `${text}.${String(step)}`,
    '',
  );
}

/** Keys of the objects that can stand at a path, read from the schema itself; every branch of a union counts. */
function keysAt(schema: z.core.$ZodType, path: readonly PropertyKey[]): readonly string[] {
  const { def } = (schema as z.core.$ZodTypes)._zod;
  const [step, ...rest] = path;
  switch (def.type) {
    case 'optional':
      return keysAt(def.innerType, path);
    case 'pipe':
      return keysAt(def.in, path);
    case 'union':
      return [...new Set(def.options.flatMap((option) => keysAt(option, path)))];
    case 'object': {
      if (step === undefined) return Object.keys(def.shape);
      const inner = Object.hasOwn(def.shape, step) ? def.shape[String(step)] : undefined;
      return inner === undefined ? [] : keysAt(inner, rest);
    }
    case 'record':
      return step === undefined ? [] : keysAt(def.valueType, rest);
    case 'array':
      return typeof step === 'number' ? keysAt(def.element, rest) : [];
    default:
      return [];
  }
}

/** What was most likely meant by a key that cannot stand where it stands; null where nothing comes near. */
function keyHint(key: string, held: Held, path: readonly PropertyKey[]): string | null {
  const near = closest(key, keysAt(held.schema, path));
  // One form of a union has it, and not the form the other keys are of.
  if (near === key) return `"${key}" stands in an entry of its own, not beside these`;
  if (near !== null) return `"${near}"?`;
  const places = placesOf(held.schema, key);
  return places.length === 0 ? null : `"${key}" is a key of ${places.join(' or ')}`;
}

/** Places shown where a key belongs: more would be no hint. */
const MOST_PLACES = 2;

/** Where in the format a key can stand, `acceptance[…]`, `lines.<name>`; empty where it stands nowhere, or in too many places to say. */
function placesOf(schema: z.core.$ZodType, key: string): string[] {
  const found = new Set<string>();
  const walk = (at: z.core.$ZodType, place: string): void => {
    const { def } = (at as z.core.$ZodTypes)._zod;
    switch (def.type) {
      case 'optional':
        walk(def.innerType, place);
        return;
      case 'pipe':
        walk(def.in, place);
        return;
      case 'union':
        for (const option of def.options) walk(option, place);
        return;
      case 'record':
        walk(def.valueType, `${place}.<name>`);
        return;
      case 'array':
        walk(def.element, `${place}[…]`);
        return;
      case 'object':
        if (Object.hasOwn(def.shape, key)) found.add(place === '' ? 'the job itself' : place);
        for (const [name, inner] of Object.entries(def.shape))
          walk(inner as z.core.$ZodType, place === '' ? name : `${place}.${name}`);
        return;
      default:
    }
  };
  walk(schema, '');
  return found.size > MOST_PLACES ? [] : [...found];
}
