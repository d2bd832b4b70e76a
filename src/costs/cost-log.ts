/** What money is spent on. */
export const COST_KINDS = [
  'labour',
  'plant',
  'materials',
  'gas',
  'traffic control',
  'engineering',
  'testing',
  'paint',
  'plate work',
  'other',
] as const;
export type CostKind = (typeof COST_KINDS)[number];

/** What was done that day. Any row may say it; working days are counted by it. */
export const WORK_KINDS = [
  'set-up',
  'paint removal',
  'heating',
  'reading',
  'plating',
  'painting',
  'inspection',
  'clean-up',
] as const;
export type WorkKind = (typeof WORK_KINDS)[number];

/** One row of a cost log. */
export interface CostEntry {
  /** YYYY-MM-DD */
  readonly date: string;
  readonly kind: CostKind;
  readonly work: WorkKind | null;
  readonly cycle: number | null;
  /** Hours (or days, pieces: whatever the rate is for); null where the row has none. */
  readonly hours: number | null;
  /** Price of one of them, in the currency; null where the row has none. */
  readonly rate: number | null;
  /** What the row costs, in smallest units of the currency; null where the row says neither an amount nor hours with a rate. */
  readonly amount: number | null;
  readonly note: string | null;
  readonly file: string;
  readonly row: number;
}

export interface CostLog {
  readonly entries: readonly CostEntry[];
}
