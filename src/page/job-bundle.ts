import * as z from 'zod';
import { InputError } from '../input-error.ts';

const text = z.string();
const state = z.enum(['released', 'restrained']);

/** One place on a sheet with the readings keyed there, as keyed; several are repeats. */
const cell = z.strictObject({
  line: text,
  state,
  /** m */
  station: z.number(),
  /** m; on panels only */
  height: z.number().optional(),
  readings: z.array(text),
});

/** What was noted of one survey (a line with the jacks off or on), as keyed. */
const surveyFacts = z.strictObject({
  line: text,
  state,
  time: text,
  temperature: text,
  note: text,
});

const sheet = z.strictObject({
  cycle: z.int().min(0).max(9999),
  /** ISO date, or empty */
  date: text,
  /** Job-relative name its readings have, here and once imported. */
  file: text.regex(/^readings\/[^/\\]+\.csv$/),
  surveys: z.array(surveyFacts),
  cells: z.array(cell),
  /** Stations put on the list by hand, by line. */
  stations: z.array(z.strictObject({ line: text, station: z.number() })),
  /** Heights put on the list by hand, by panel. */
  heights: z.array(z.strictObject({ line: text, height: z.number() })).optional(),
});

const finding = z.object({
  severity: z.enum(['note', 'caution', 'stop']),
  code: text,
  message: text,
  line: text.optional(),
  cycle: z.number().optional(),
  station: z.number().optional(),
  file: text.optional(),
  row: z.number().optional(),
});

const mark = z.object({
  file: text,
  row: z.int(),
  cycle: z.int().optional(),
  station: z.number().optional(),
  action: z.enum(['set-aside', 'reinstate']),
  who: text,
  why: text,
  when: text,
});

const declaration = z.object({
  file: text,
  cycle: z.int().optional(),
  action: z.enum(['genuine', 'copy']),
  who: text,
  why: text,
  when: text,
});

/**
 * A whole job as one file: job.json and every file of readings kept as text, with what the folder's ledger says of
 * them, and the sheets keyed on the readings page.
 */
const bundleSchema = z.strictObject({
  schema: z.literal('sweepbook/page-job/1'),
  /** Text of job.json. */
  job: text,
  /** Files of readings, in the order they are read. */
  files: z.array(
    z.strictObject({
      file: text,
      text,
      /** Rows an import set aside because they cannot be used. */
      aside: z.array(z.int()),
      sha256: text,
      rows: z.int().nullable(),
      /** How the file stands to the ledger, in words. */
      note: text,
      /** SHA-256 of the cloud it was taken from. */
      source: text.optional(),
    }),
  ),
  /** Other files of the job: profiles and rule sets job.json refers to, the logs. */
  others: z.array(z.strictObject({ file: text, text })),
  /** Files of the panels' maps: not read here, but carried along and compared with the ledger. */
  panels: z.array(z.strictObject({ file: text, text })).optional(),
  /** Photographs, byte for byte; where they are too large together they stay in the job folder. */
  photos: z
    .array(z.strictObject({ file: text.regex(/^photos\/[^./\\][^/\\]*\.(?:jpg|png)$/), base64: text }))
    .optional(),
  marks: z.array(mark),
  declarations: z.array(declaration).optional(),
  findings: z.array(finding),
  ledger: z.array(z.strictObject({ when: text, what: text })),
  /** Text of ledger.jsonl: what this file says of marks and files is worked out from it again. */
  ledgerText: text.optional(),
  /** Text of the seal of its newest record, as the folder had it. */
  headText: text.optional(),
  seal: z.strictObject({ records: z.int(), sha256: text }).nullable(),
  sheets: z.array(sheet),
});

/** Parts of a sheet, to read what a damaged record still holds. */
export const sheetParts = { sheet, cell } as const;

/** A bundle from data of any kind; null where it is none. */
export function readBundle(raw: unknown): JobBundle | null {
  const parsed = bundleSchema.safeParse(raw);
  return parsed.success ? parsed.data : null;
}

export type JobBundle = z.infer<typeof bundleSchema>;
export type Sheet = z.infer<typeof sheet>;
export type Cell = z.infer<typeof cell>;
export type SurveyFacts = z.infer<typeof surveyFacts>;

/** A bundle with nothing in it but a job. */
export function bundleOf(job: string): JobBundle {
  return {
    schema: 'sweepbook/page-job/1',
    job,
    files: [],
    others: [],
    marks: [],
    findings: [],
    ledger: [],
    seal: null,
    sheets: [],
  };
}

/** @throws InputError when the text is not a whole-job file */
export function parseBundle(source: string, file: string): JobBundle {
  let raw: unknown;
  try {
    raw = JSON.parse(source);
  } catch {
    throw new InputError(`${file} is not a whole-job file.`, [
      { file, found: 'text that is not JSON', expected: 'a file this page wrote' },
    ]);
  }
  const parsed = bundleSchema.safeParse(raw);
  if (parsed.success) return parsed.data;
  throw new InputError(
    `${file} is not a whole-job file this page can read.`,
    parsed.error.issues.slice(0, 20).map((issue) => ({
      file,
      column: issue.path.join('.') || 'the whole file',
      found: 'something else',
      expected: issue.message,
    })),
  );
}

/** True for text that says it is a whole-job file. */
export function looksLikeBundle(source: string): boolean {
  return /^\s*\{\s*"schema"\s*:\s*"sweepbook\/page-job\//.test(source);
}

export function bundleText(bundle: JobBundle): string {
  return `${JSON.stringify(bundle, null, 1)}\n`;
}
