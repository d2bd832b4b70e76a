import * as z from 'zod';
import { InputError } from '../input-error.ts';
import { jsonProblems } from '../job/json-fault.ts';
import { PRACTICE_WARNING } from '../job/practice-mark.ts';
import { schemaProblems } from '../job/schema-problems.ts';
import type { PracticeHeat } from './steel.ts';

/** In the folder of a practice, beside job.json. */
export const PRACTICE_FILE = 'practice.json';
/** Cycles one practice may have: each is replayed at every command. */
const MOST_CYCLES = 100;

const side = z.union([z.literal(1), z.literal(-1)]);
const station = z.number().min(-10).max(200);

/** What the truth follows from: the seed and what was done. Nothing in it tells a shape to who reads it. SI. */
const practiceSchema = z.strictObject({
  schema: z.literal('sweepbook/practice/1'),
  warning: z.literal(PRACTICE_WARNING),
  setUp: z.strictObject({
    seed: z.string().min(1).max(40),
    units: z.enum(['us', 'si']),
    blows: z.union([z.literal(1), z.literal(2)]),
    spacing: z.number().min(0.1).max(3),
  }),
  cycles: z
    .array(
      z.strictObject({
        /** Null as found. */
        heat: z
          .strictObject({
            cycle: z.number().int().min(1).max(MOST_CYCLES),
            vees: z
              .array(z.strictObject({ station, angle: z.number().min(0.05).max(2.1), open: side }))
              .max(20),
            temperature: z.number().min(20).max(1200),
            pressure: z.number().min(0).max(2e8),
            jacks: z
              .array(z.strictObject({ station, ramArea: z.number().positive().max(1), push: side }))
              .max(100),
          })
          .nullable(),
        /** Surveys taken after it, in order: read with the jacks on, and said so. */
        underLoad: z.array(z.boolean()).max(50),
      }),
    )
    .min(1)
    .max(MOST_CYCLES + 1),
  /** Cycles heated when the truth was shown for the first time: none is heated after it. Left out while it is kept back. */
  revealed: z.number().int().min(0).max(MOST_CYCLES).optional(),
});
type Written = z.output<typeof practiceSchema>;
export interface PracticeFile extends Omit<Written, 'cycles'> {
  readonly cycles: readonly { readonly heat: PracticeHeat | null; readonly underLoad: readonly boolean[] }[];
}

/** @throws InputError with every fault */
export function parsePractice(text: string): PracticeFile {
  const faults = jsonProblems(text, PRACTICE_FILE);
  if (faults.length > 0) throw new InputError(`${PRACTICE_FILE} could not be used.`, faults);
  const parsed = practiceSchema.safeParse(JSON.parse(text), { reportInput: true });
  if (!parsed.success)
    throw new InputError(
      `${PRACTICE_FILE} could not be used.`,
      schemaProblems(parsed.error, PRACTICE_FILE, practiceSchema),
    );
  const wrong = parsed.data.cycles.findIndex(({ heat }, i) => (heat?.cycle ?? 0) !== i);
  if (wrong >= 0)
    throw new InputError(`${PRACTICE_FILE} could not be used.`, [
      {
        file: PRACTICE_FILE,
        column: `cycles[${wrong}]`,
        found: `cycle ${parsed.data.cycles[wrong]!.heat?.cycle ?? 0}`,
        expected: `cycle ${wrong}: the as-found survey, then a heat a cycle`,
      },
    ]);
  return parsed.data;
}

/** The practice with its truth shown now, or earlier. */
export function withTruthShown(practice: PracticeFile): PracticeFile {
  return { ...practice, revealed: practice.revealed ?? practice.cycles.length - 1 };
}

export function practiceText(practice: PracticeFile): string {
  return `${JSON.stringify(practiceSchema.parse(practice), null, 2)}\n`;
}
