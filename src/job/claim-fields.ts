import * as z from 'zod';
import { isDate } from './dates.ts';

/** What a claim for the cost of a repair is filed under; null where it was not recorded. Nothing here enters a number. */
export interface Claim {
  readonly owner: string | null;
  readonly structureNumber: string | null;
  readonly featureCrossed: string | null;
  /** YYYY-MM-DD */
  readonly struckOn: string | null;
  /** hh:mm, 24-hour clock */
  readonly struckAt: string | null;
  readonly incidentNumber: string | null;
  readonly claimNumber: string | null;
  readonly policeReport: string | null;
  readonly vehicle: string | null;
}

/** The form of `claim` in job.json. */
export function claimSchema(words: z.ZodString) {
  return z.strictObject({
    owner: words.optional().describe('Who owns the structure.'),
    structureNumber: words.optional(),
    featureCrossed: words.optional().describe('What it crosses, for example "Juniper Lane".'),
    struckOn: z
      .string()
      .refine(isDate, 'a date as YYYY-MM-DD')
      .optional()
      .describe('Date of the strike, YYYY-MM-DD.'),
    struckAt: z
      .string()
      .regex(/^(?:[01]\d|2[0-3]):[0-5]\d$/)
      .optional()
      .describe('Time of the strike, hh:mm.'),
    incidentNumber: words.optional(),
    claimNumber: words.optional(),
    policeReport: words.optional().describe('Number of the police report.'),
    vehicle: words.optional().describe('The vehicle, as the report may name it.'),
  });
}

/** Every field of the claim, null where it was left out; null where the job has none. */
export function claimOf(written: z.output<ReturnType<typeof claimSchema>> | undefined): Claim | null {
  if (written === undefined) return null;
  const { owner, structureNumber, featureCrossed, struckOn, struckAt } = written;
  const { incidentNumber, claimNumber, policeReport, vehicle } = written;
  return {
    owner: owner ?? null,
    structureNumber: structureNumber ?? null,
    featureCrossed: featureCrossed ?? null,
    struckOn: struckOn ?? null,
    struckAt: struckAt ?? null,
    incidentNumber: incidentNumber ?? null,
    claimNumber: claimNumber ?? null,
    policeReport: policeReport ?? null,
    vehicle: vehicle ?? null,
  };
}

/** ISO 4217, from memory: three capital letters. */
export const CURRENCY = /^[A-Z]{3}$/;

/** A language tag such as en-US or de (BCP 47, language and region only). */
export const LOCALE = /^[a-z]{2,3}(?:-[A-Z]{2})?$/;
