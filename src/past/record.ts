import * as z from 'zod';
import { VERDICTS } from '../analysis.ts';
import { COST_KINDS, WORK_KINDS } from '../costs/cost-log.ts';
import { InputError } from '../input-error.ts';
import { isDate } from '../job/dates.ts';
import { jsonProblems } from '../job/json-fault.ts';
import { schemaProblems } from '../job/schema-problems.ts';
import { LINE_KINDS, type LineKind } from '../survey/survey.ts';
import { isVersion1, typedRecord } from './typed-record.ts';

const label = z.string().min(1).max(120);
const length = z.number().positive().max(1000);
const count = z.number().int().min(0).max(100_000);
const date = z.string().refine(isDate, 'a date as YYYY-MM-DD');
const deviation = z.number().min(0).max(20);

const largestByCycle = z
  .array(z.strictObject({ cycle: count, largest: deviation }))
  .max(1000)
  .describe('Largest deviation after each cycle, m; cycle 0 is as found.');

/** What was found on one line. */
const FOUND = {
  largest: deviation.describe('Largest deviation as found, m.'),
  limit: z.number().positive().max(5).nullable().describe('Limit it was judged by, m.'),
  zones: z
    .array(
      z.strictObject({
        rotation: z.number().min(0).max(6).describe('Degree of damage, rad.'),
        strainRatio: z.number().min(0).max(1e4).nullable(),
        station: z.number().min(-1000).max(1e5).nullable().describe('Centre of its bend, m.'),
        vees: count.nullable().describe('Vee heats made in it; null where they were not logged.'),
        expectedVee: z
          .number()
          .positive()
          .max(1)
          .nullable()
          .describe('Rotation one vee as planned was expected to give by the published formula, rad.'),
      }),
    )
    .max(50),
};

/** Which line it was, beside what was found on it: from version 2 on. */
const WHICH = {
  line: label.nullable().describe('What the line was called.'),
  kind: z.enum(LINE_KINDS).nullable().describe('Null where not known: taken for a sweep.'),
  part: label
    .nullable()
    .describe(
      'Part of the member: lines of one part were straightened by the same heats. Null: a part of its own.',
    ),
  heatedCycles: count.nullable().describe('Cycles with heats on it; null where they were not logged.'),
};

/** In every version, in this order. */
const HEAD = {
  job: label.describe('What the job was called.'),
  finished: date.nullable().describe('Last day of work, YYYY-MM-DD; null where not known.'),
  units: z.enum(['us', 'si']),
  spans: z.array(length).min(1).max(50).describe('Spans of the member, m.'),
  section: z.strictObject({
    flangeWidth: length,
    flangeThickness: length,
    webThickness: length.nullable(),
    depth: length.nullable(),
    yieldStress: z.number().positive().max(5e9).describe('Pa'),
    steel: label.nullable(),
  }),
};
const REST = {
  cycles: count.nullable().describe('Cycles of heating and reading.'),
  vees: count.nullable().describe('Vee heats in all.'),
  ratio: z
    .strictObject({ value: z.number().positive().max(100), u: z.number().min(0).max(100) })
    .nullable()
    .describe(
      'Observed over expected rotation of the vees, all zones together, with its standard uncertainty.',
    ),
  deadCycles: count.nullable().describe('Cycles in which the steel stood still.'),
  days: z
    .strictObject(
      Object.fromEntries(WORK_KINDS.map((kind) => [kind, count.optional()])) as Record<
        (typeof WORK_KINDS)[number],
        z.ZodOptional<typeof count>
      >,
    )
    .extend({ all: count.optional().describe('Working days in all.') })
    .describe('Working days by what was done; a kind left out was not recorded.'),
  gas: z
    .strictObject({ amount: z.number().min(0), unit: label })
    .nullable()
    .describe('Fuel gas used in all; null where not logged.'),
  cost: z
    .strictObject({
      currency: z.string().regex(/^[A-Z]{3}$/),
      total: z.number().min(0),
      byKind: z.partialRecord(z.enum(COST_KINDS), z.number().min(0)),
    })
    .nullable()
    .describe('In whole currency units; null where not recorded.'),
  crewJobs: count.nullable().describe('Such jobs the crew had done before; null where not known.'),
  outcome: z.enum(['within', 'plated', 'stopped', 'replaced']),
  verdicts: z
    .array(z.strictObject({ cycle: count, verdict: z.enum(VERDICTS) }))
    .max(1000)
    .describe('The word after each cycle.'),
};

/** The line that was furthest out, and nothing of the others. */
const version1 = z.strictObject({
  schema: z.literal('sweepbook/past/1'),
  ...HEAD,
  damage: z.strictObject(FOUND),
  largestByCycle,
  ...REST,
});

/** All lines and panels of the job: what version 1 says of the one that was furthest out stands where it stood. */
const version2 = z.strictObject({
  schema: z.literal('sweepbook/past/2'),
  ...HEAD,
  damage: z
    .strictObject({ ...WHICH, ...FOUND })
    .describe('The line that was furthest out as found; a panel only where no line was read.'),
  largestByCycle,
  beside: z
    .array(z.strictObject({ ...WHICH, kind: z.enum(LINE_KINDS), ...FOUND, largestByCycle }))
    .max(100)
    .nullable()
    .describe('Every other line and panel of the job; null where nobody knows whether there were any.'),
  veeCycles: count
    .nullable()
    .describe('Cycles with vee heats in them, on whatever line; null where they were not logged.'),
  ...REST,
});

/**
 * A finished job in one line: what a plan for the next one can learn from. SI (m, Pa, rad), no names of people. Version 2;
 * later versions add fields, and a version once written can be read for ever.
 */
export const pastRecordSchema = z.discriminatedUnion('schema', [version1, version2]);
export type PastRecord = z.output<typeof pastRecordSchema>;
export type PastRecordNow = z.output<typeof version2>;

/** A line or panel of a finished job, whatever the version of its record. */
export interface PastLineWork extends Omit<PastRecord['damage'], 'kind'> {
  /** What it was called; null where the record does not say. */
  readonly line: string | null;
  readonly kind: LineKind;
  /** Lines of one part were straightened by the same heats. */
  readonly part: string;
  readonly heatedCycles: number | null;
  readonly largestByCycle: PastRecord['largestByCycle'];
}

/** The line that was furthest out, then all others that the record has. */
export function linesOf(record: PastRecord): PastLineWork[] {
  const { damage, largestByCycle } = record;
  if (record.schema === 'sweepbook/past/1')
    return [{ ...damage, line: null, kind: 'sweep', part: 'line 1', heatedCycles: null, largestByCycle }];
  return [{ ...record.damage, largestByCycle }, ...(record.beside ?? [])].map((each, i) => ({
    ...each,
    kind: each.kind ?? 'sweep',
    part: each.part ?? each.line ?? `line ${i + 1}`,
  }));
}

/** Whether the record says of every line of its job: one of version 1, or typed in by hand without, does not. */
export function saysAllLines(record: PastRecord): boolean {
  return record.schema !== 'sweepbook/past/1' && record.beside !== null;
}

/** A line of a past-jobs file: the record and the SHA-256 of its text. */
export interface PastLine {
  readonly sha256: string;
  readonly record: PastRecord;
}

/** The one text of a record: keys in the order of the schema, no spaces. What its SHA-256 is taken of. */
export function recordText(record: PastRecord): string {
  return JSON.stringify(pastRecordSchema.parse(record));
}

/** One line for a past-jobs file. */
export function pastLineText(record: PastRecord, sha256: (text: string) => string): string {
  const text = recordText(record);
  return `{"sha256":"${sha256(text)}","record":${text}}\n`;
}

export interface PastJobs {
  readonly lines: readonly PastLine[];
  /** Lines that cannot be used, each with its row; the others count. */
  readonly problems: InputError['problems'];
  /** Lines in whose place a later one counts: the same record once more, or a later record of the same job. */
  readonly replaced: readonly PastLine[];
}

/**
 * Reads a file of past jobs, one JSON document a line. A line that was changed since it was written (its SHA-256 is
 * another) or is no record is named and left out; the others are used. Of several records of one job (name, last day and spans
 * alike) the last counts: a job distilled again would teach twice.
 */
export function readPastJobs(text: string, file: string, sha256: (text: string) => string): PastJobs {
  const lines: PastLine[] = [];
  const problems: InputError['problems'][number][] = [];
  text.split('\n').forEach((line, i) => {
    if (line.trim() === '') return;
    const row = i + 1;
    const asWritten = unchangedLine(line, sha256);
    if (asWritten !== null) {
      lines.push(asWritten);
      return;
    }
    const faults = jsonProblems(line, file);
    if (faults.length > 0) {
      problems.push(...faults.map((fault) => ({ ...fault, row })));
      return;
    }
    const raw: unknown = JSON.parse(line);
    const later = laterVersion(raw);
    if (later !== null) {
      problems.push({
        file,
        row,
        found: `a record of version ${later}`,
        expected: `version ${VERSION} or older: a newer Sweepbook wrote it, and reads it`,
      });
      return;
    }
    const form = isVersion1((raw as { record?: unknown } | null)?.record) ? LINE_1 : LINE_2;
    const parsed = form.safeParse(raw, { reportInput: true });
    if (!parsed.success) {
      problems.push(...schemaProblems(parsed.error, file, form).map((fault) => ({ ...fault, row })));
      return;
    }
    const { sha256: stated, record } = parsed.data;
    if (sha256(recordText(record)) !== stated) {
      problems.push({
        file,
        row,
        found: `a record of "${record.job}" that was changed after it was written`,
        expected: `the record whose SHA-256 is ${stated.slice(0, 12)}… (add it anew if the change is meant)`,
      });
      return;
    }
    lines.push({ sha256: stated, record });
  });
  const last = new Map(lines.map((line) => [jobOf(line), line]));
  const counts = (line: PastLine) => last.get(jobOf(line)) === line;
  return {
    lines: lines.filter(counts),
    problems,
    replaced: lines.filter((line) => !counts(line)),
  };
}

/** What two records of one job have in common; a job of no known day is its own record. */
function jobOf({ sha256, record: { job, finished, spans } }: PastLine): string {
  return finished === null ? sha256 : JSON.stringify([job, finished, spans.map((span) => span.toFixed(2))]);
}

/**
 * A line exactly as this program writes it, its SHA-256 right; null for any other, which is then looked at closely. Ten
 * thousand lines are read in a fraction of the time that finding faults takes.
 */
function unchangedLine(line: string, sha256: (text: string) => string): PastLine | null {
  const [, stated, text] = /^\{"sha256":"([0-9a-f]{64})","record":(\{.*\})\}$/.exec(line) ?? [];
  if (text === undefined || sha256(text) !== stated) return null;
  try {
    const parsed = pastRecordSchema.safeParse(JSON.parse(text));
    return parsed.success && JSON.stringify(parsed.data) === text
      ? { sha256: stated!, record: parsed.data }
      : null;
  } catch {
    return null;
  }
}

/** The newest version of a record this program writes. Every older one stays readable: tests/past/versions/ holds one file of each. */
const VERSION = 2;

/** The version of a line from a later program; null where it is none. */
function laterVersion(line: unknown): number | null {
  const record = typeof line === 'object' && line !== null ? (line as { record?: unknown }).record : null;
  const schema =
    typeof record === 'object' && record !== null ? (record as { schema?: unknown }).schema : null;
  const [, digits] = /^sweepbook\/past\/([0-9]{1,6})$/.exec(typeof schema === 'string' ? schema : '') ?? [];
  return digits !== undefined && Number(digits) > VERSION ? Number(digits) : null;
}

// A faulty record is held against its own version: against both at once nobody would read what is wrong with it.
const hash = z.string().regex(/^[0-9a-f]{64}$/);
const LINE_1 = z.strictObject({ sha256: hash, record: version1 });
const LINE_2 = z.strictObject({ sha256: hash, record: version2 });

/**
 * A record typed in by hand, as one JSON document (`typedRecord`: units in words, and what is not known left out).
 *
 * @throws InputError with every fault
 */
export function parsePastRecord(text: string, file: string): PastRecord {
  const faults = jsonProblems(text, file);
  if (faults.length > 0) throw new InputError(`${file} could not be used.`, faults);
  const { record, problems } = typedRecord(JSON.parse(text), file);
  const form = isVersion1(record) ? version1 : version2;
  const parsed = form.safeParse(record, { reportInput: true });
  const all = parsed.success
    ? problems
    : [
        ...problems,
        ...schemaProblems(parsed.error, file, form).filter(
          (fault) => !problems.some((each) => each.column === fault.column),
        ),
      ];
  if (!parsed.success || all.length > 0) throw new InputError(`${file} could not be used.`, all);
  return parsed.data;
}

/** JSON Schema of a record, for editors and other programs. */
export function pastJsonSchema(): Record<string, unknown> {
  return {
    ...z.toJSONSchema(pastRecordSchema, { io: 'input', target: 'draft-2020-12' }),
    $id: 'past.schema.json',
    title: 'Sweepbook record of a finished job',
  };
}
