/** Heating patterns a log may name. */
export const PATTERNS = ['vee', 'spot', 'line', 'strip'] as const;
export type Pattern = (typeof PATTERNS)[number];

/** One heat as the crew logged it, in SI. `null` where the log does not say. */
export interface Heat {
  readonly cycle: number;
  /** Line or panel the heated part belongs to; null where the job has one line with zones. */
  readonly line: string | null;
  /** Zone name as logged, e.g. "A"; on a panel the line or spot of its map, e.g. "L1", "S4". */
  readonly zone: string | null;
  /** m */
  readonly station: number | null;
  /** Of a heat on a panel, m. */
  readonly height: number | null;
  readonly pattern: Pattern;
  /** Included angle of a vee, rad. */
  readonly angle: number | null;
  /** Depth of a vee (apex to open end), or length of a line or strip, m. */
  readonly depth: number | null;
  /** Open-end width of a vee, width of a strip, or diameter of a spot, m. */
  readonly width: number | null;
  /** Edge or side the apex points to, in words. */
  readonly apex: string | null;
  /** Highest steel temperature reached, °C. */
  readonly temperature: number | null;
  /** Steel temperature just before this heat began, °C. */
  readonly before: number | null;
  /** ISO date. */
  readonly date: string | null;
  /** hh:mm */
  readonly time: string | null;
  /** Gauge pressure of the jacks, Pa. */
  readonly pressure: number | null;
  readonly torch: string | null;
  /** What the steel's temperature was read with: crayons, contact pyrometer, … */
  readonly device: string | null;
  readonly weather: string | null;
  /** Fuel gas used, in the log's own unit. */
  readonly gas: number | null;
  /** Cost of this line of the log, in the log's own currency. */
  readonly cost: number | null;
  readonly note: string | null;
  /** Job-relative file and 1-based file line. */
  readonly file: string;
  readonly row: number;
}

/** The whole log, with the units its heading gives to gas and cost. */
export interface HeatLog {
  readonly heats: readonly Heat[];
  /** As written in the heading, e.g. "lb" or "ft3"; null where the log has no such column. */
  readonly gasUnit: string | null;
  readonly currency: string | null;
}
