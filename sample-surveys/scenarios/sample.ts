/**
 * What a bundled sample consists of, and the habits of a field book they share. Every name, place and number in
 * the samples is invented; the shapes come from the simulated girder in `tests/mechanics/`.
 */
import type { Reading } from '../../src/survey/survey.ts';
import type { Campaign } from '../../tests/mechanics/campaign.ts';
import type { Random } from '../../tests/mechanics/random.ts';

export const INCH = 0.0254;
export const FOOT = 0.3048;
export const KSI = 6.894757293168361e6;

/** One file as the crew hands it in. */
export interface SampleFile {
  readonly name: string;
  readonly text: string;
  /** ISO date-time of the import. */
  readonly when: string;
}

export interface Sample {
  readonly folder: string;
  readonly seed: string;
  /** One sentence for the table. */
  readonly story: string;
  readonly units: 'us' | 'si';
  /** ISO date-time the job folder was started. */
  readonly started: string;
  readonly job: object;
  readonly files: readonly SampleFile[];
  /** heats.csv, where the crew kept one. */
  readonly heats?: string;
  /** What is true, line by line. */
  readonly truth: Readonly<Record<string, Campaign>>;
  /** What is true beside the lines, as text for truth.md. */
  readonly notes?: string;
}

/** Working days from a date on (ISO), weekends and the given days left out. */
export function workingDays(from: string, count: number, off: readonly string[] = []): string[] {
  const days: string[] = [];
  for (let time = Date.parse(`${from}T00:00:00Z`); days.length < count; time += 86_400_000) {
    const day = new Date(time);
    const text = day.toISOString().slice(0, 10);
    if (day.getUTCDay() % 6 !== 0 && !off.includes(text)) days.push(text);
  }
  return days;
}

/** hh:mm within the hour before the crew leaves, to five minutes. */
export function readingTime(random: Random, hour = 15): string {
  const minutes = 60 * hour + 5 * random.integer(0, 14);
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
}

/** The readings with what was written beside them: `notes` by cycle and index of the reading in its cycle and line. */
export function annotate(
  readings: readonly Reading[],
  facts: (cycle: number) => { readonly time: string | null; readonly temperature: number | null },
  notes: Readonly<Record<string, string>> = {},
): Reading[] {
  const seen = new Map<string, number>();
  return readings.map((reading) => {
    const key = `${reading.cycle}/${reading.state}/${reading.line}`;
    const index = seen.get(key) ?? 0;
    seen.set(key, index + 1);
    return { ...reading, ...facts(reading.cycle), note: notes[`${key}/${index}`] ?? null };
  });
}

/** Time of the import: the evening of the last day in the file, in UTC. */
export function evening(day: string): string {
  return `${day}T21:10:00.000Z`;
}
