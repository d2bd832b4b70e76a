import * as z from 'zod';
import { WEEKDAYS, type Weekday } from './calendar.ts';
import { isDate } from './dates.ts';

/** What the job says of its own work, for a plan; null where past jobs or the common prior must say. */
export interface PlanFields {
  /** First working day, YYYY-MM-DD; null: no dates, only counts. */
  readonly start: string | null;
  readonly workdays: readonly Weekday[];
  /** Days on which nobody works. */
  readonly holidays: readonly string[];
  /** Hours of lane closure a working day takes; null: not said. */
  readonly closureHours: number | null;
  /** Working days in a hundred lost to weather. */
  readonly weatherDays: number;
  readonly veesPerCycle: number | null;
  readonly cyclesPerDay: number | null;
  /** Stated days of work beside the heating, by kind; kinds left out are drawn. */
  readonly days: Readonly<Record<string, number>>;
  /** In the job's currency; null: past jobs say. */
  readonly costPerDay: number | null;
  /** Such jobs the crew has done before; null: not known. */
  readonly crewJobs: number | null;
}

/** Work beside the heating that a job can state days for. */
const STATED_WORK = ['set-up', 'paint removal', 'plating', 'painting', 'inspection', 'clean-up'] as const;

const HOLIDAY = z.string().refine(isDate, 'a date as YYYY-MM-DD');
const days = z.number().min(0).max(365);

/** The form of `plan` in job.json. */
export const planSchema = z.strictObject({
  start: HOLIDAY.optional().describe('First working day, YYYY-MM-DD. Left out: counts without dates.'),
  workdays: z.array(z.enum(WEEKDAYS)).min(1).max(7).optional().describe('Default Monday to Friday.'),
  holidays: z.array(HOLIDAY).max(400).optional().describe('Days on which nobody works.'),
  closureHours: z
    .number()
    .positive()
    .max(24)
    .optional()
    .describe('Hours of lane closure a working day takes.'),
  weatherDays: z
    .number()
    .min(0)
    .max(90)
    .optional()
    .describe('Working days in a hundred lost to weather. Default 0.'),
  veesPerCycle: z.number().int().min(1).max(100).optional().describe('Vees the crew can make in one cycle.'),
  cyclesPerDay: z.number().positive().max(10).optional().describe('Cycles in a working day.'),
  days: z
    .strictObject(
      Object.fromEntries(STATED_WORK.map((kind) => [kind, days.optional()])) as Record<
        (typeof STATED_WORK)[number],
        z.ZodOptional<typeof days>
      >,
    )
    .optional()
    .describe('Days of work beside the heating, by kind. 0 for none; left out: drawn from past jobs.'),
  costPerDay: z
    .number()
    .positive()
    .max(1e7)
    .optional()
    .describe('Cost of a working day, in the currency of the job.'),
  crewJobs: z.number().int().min(0).max(1000).optional().describe('Such jobs the crew has done before.'),
});

/** The plan's fields with every default filled in. */
export function planOf(written: z.output<typeof planSchema> | undefined): PlanFields {
  return {
    start: written?.start ?? null,
    workdays: written?.workdays ?? ['mon', 'tue', 'wed', 'thu', 'fri'],
    holidays: written?.holidays ?? [],
    closureHours: written?.closureHours ?? null,
    weatherDays: written?.weatherDays ?? 0,
    veesPerCycle: written?.veesPerCycle ?? null,
    cyclesPerDay: written?.cyclesPerDay ?? null,
    days: Object.fromEntries(
      Object.entries(written?.days ?? {}).flatMap(([kind, count]) =>
        count === undefined ? [] : [[kind, count]],
      ),
    ),
    costPerDay: written?.costPerDay ?? null,
    crewJobs: written?.crewJobs ?? null,
  };
}
