import * as z from 'zod';

/** A row of an import that could not be used and was set aside by `--set-aside`. */
const SetAsideRow = z.object({
  /** 1-based line of the file */
  row: z.int().positive(),
  column: z.string().optional(),
  found: z.string(),
  expected: z.string(),
});

/** How many readings of one line at one cycle a file holds. */
const SurveyCount = z.object({
  line: z.string(),
  cycle: z.number(),
  state: z.enum(['released', 'restrained']),
  readings: z.int().nonnegative(),
});

export const KeptFile = z.object({
  /** Job-relative, with `/`; nothing outside the two folders, whatever a ledger says. */
  file: z.string().regex(/^(readings|scans)\/[^./\\][^/\\]*\.csv$/i),
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  bytes: z.int().nonnegative(),
  /** Name it was given under, as given. */
  original: z.string(),
  /** Data rows (header, comments and blank lines not counted). */
  rows: z.int().nonnegative(),
  /** Readings taken from them. */
  readings: z.int().nonnegative(),
  surveys: z.array(SurveyCount),
  setAside: z.array(SetAsideRow),
  /** What it was made from, where the store did not receive it as it is (a scan and its SHA-256). */
  source: z.object({ name: z.string(), sha256: z.string().optional() }).optional(),
});

const common = {
  /** 1, 2, 3 … */
  seq: z.int().positive(),
  /** ISO date-time, UTC */
  when: z.string(),
  /** SHA-256 of the line before (its bytes without the line end); 64 zeros in the first. */
  previous: z.string().regex(/^[0-9a-f]{64}$/),
  /** The job's id (job.json): given by `new`, or by the first record written since there are ids. */
  id: z
    .string()
    .regex(/^[0-9a-zA-Z-]{8,64}$/)
    .optional(),
  /** The id job.json brought along where it had been copied from another job: `id` took its place. */
  copyOf: z.string().max(64).optional(),
  /** SHA-256 of job.json when the record was written, so that a later change of its limits can be dated. */
  jobFile: z
    .string()
    .regex(/^[0-9a-f]{64}$/)
    .optional(),
  /** The heat log as it was when the record was written; newer records have it among `inputs`. */
  heatLog: z.object({ bytes: z.int().positive(), sha256: z.string().regex(/^[0-9a-f]{64}$/) }).optional(),
  /** What a verdict rests on beside readings, as it was when first seen (or accepted by hand): see `checkInputs`. */
  inputs: z
    .object({
      /** Parts of job.json that matter, each by the SHA-256 of its value. */
      fields: z.array(z.object({ field: z.string(), sha256: z.string().regex(/^[0-9a-f]{64}$/) })),
      files: z.array(
        z.object({
          file: z.string(),
          sha256: z.string().regex(/^[0-9a-f]{64}$/),
          bytes: z.int().nonnegative(),
        }),
      ),
    })
    .optional(),
  /** Set when the store noticed, before writing this record, that the seal of the last one was gone. */
  sealGone: z.literal(true).optional(),
  /** Set when the store noticed, before writing this record, that newer records than the last were gone. */
  lost: z.object({ seq: z.number(), sha256: z.string() }).optional(),
};

const StartRecord = z.object({ ...common, kind: z.literal('start'), job: z.string() });
const ImportRecord = z.object({ ...common, kind: z.literal('import'), files: z.array(KeptFile).min(1) });
const MarkRecord = z.object({
  ...common,
  kind: z.literal('mark'),
  action: z.enum(['set-aside', 'reinstate']),
  file: z.string(),
  rows: z.array(z.int().positive()).min(1),
  /** Only the readings of these cycles in the rows; left out: all of them. */
  cycles: z.array(z.int().nonnegative()).min(1).optional(),
  /** Only the readings at these stations, m; left out: all of them. */
  stations: z.array(z.number()).min(1).optional(),
  who: z.string().min(1),
  why: z.string().min(1),
});

/** What a person said of a sheet that reads like another one: the copy it is, or a reading taken again. */
const DeclareRecord = z.object({
  ...common,
  kind: z.literal('declare'),
  action: z.enum(['genuine', 'copy']),
  file: z.string(),
  cycles: z.array(z.int().nonnegative()).min(1).optional(),
  who: z.string().min(1),
  why: z.string().min(1),
});

/** A file that differs from its record was looked at, and stands as it is now. */
const AcceptRecord = z.object({
  ...common,
  kind: z.literal('accept'),
  file: z.string(),
  who: z.string().min(1),
  why: z.string().min(1),
});

/** A map of a panel was made from a scan; a later record of the same files replaces it. */
const PanelRecord = z.object({
  ...common,
  kind: z.literal('panel'),
  panel: z.string(),
  cycle: z.int().nonnegative(),
  files: z
    .array(
      z.object({
        file: z.string().regex(/^panels\/[^./\\][^/\\]*\.(csv|json)$/i),
        sha256: z.string().regex(/^[0-9a-f]{64}$/),
      }),
    )
    .min(1),
  source: z.object({ name: z.string(), sha256: z.string() }),
});

/** A photograph was kept, or its caption said anew; withdrawn, it is shown and looked for no more. */
const PhotoRecord = z.object({
  ...common,
  kind: z.literal('photo'),
  file: z.string().regex(/^photos\/[^./\\][^/\\]*\.(jpg|png)$/),
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  bytes: z.int().nonnegative(),
  /** Name it was given under, as given. */
  original: z.string(),
  cycle: z.int().nonnegative().nullable(),
  /** What it shows, as the reader of the report is told. */
  caption: z.string().min(1),
  withdrawn: z.object({ who: z.string().min(1), why: z.string().min(1) }).optional(),
});

/** One line of ledger.jsonl. */
export const LedgerRecord = z.discriminatedUnion('kind', [
  StartRecord,
  ImportRecord,
  MarkRecord,
  PanelRecord,
  DeclareRecord,
  AcceptRecord,
  PhotoRecord,
]);
export type LedgerRecord = z.infer<typeof LedgerRecord>;
export type KeptFile = z.infer<typeof KeptFile>;
export type SurveyCount = z.infer<typeof SurveyCount>;
export type SetAsideRow = z.infer<typeof SetAsideRow>;

type WithoutCommon<T> = T extends unknown
  ? Omit<
      T,
      'seq' | 'when' | 'previous' | 'id' | 'copyOf' | 'jobFile' | 'heatLog' | 'inputs' | 'sealGone' | 'lost'
    >
  : never;
/** What a writer supplies; the store adds number, time and chain. */
export type LedgerEntry = WithoutCommon<LedgerRecord>;
