/**
 * The survey model: all lengths in metres, stations increasing, offsets signed (+ toward the line's
 * `positive` side, standoff already taken off).
 */

export const LINE_KINDS = ['sweep', 'camber', 'tilt', 'plumb', 'bulge'] as const;
export type LineKind = (typeof LINE_KINDS)[number];

/** Jacks off or jacks on when read. Only released readings are judged. */
export type ReadingState = 'released' | 'restrained';

/** One string-to-steel measurement, with where it was written. */
export interface Reading {
  readonly cycle: number;
  readonly line: string;
  /** m from the reference end */
  readonly station: number;
  /** Of a panel, m; absent on lines. */
  readonly height?: number;
  /** m, as read (string to steel), standoff not yet taken off */
  readonly offset: number;
  readonly state: ReadingState;
  /** Stated standard deviation of this reading, m; null: the line's */
  readonly sd: number | null;
  /** Steel temperature when read, °C */
  readonly temperature: number | null;
  /** ISO date, or null */
  readonly date: string | null;
  /** hh:mm, or null */
  readonly time: string | null;
  readonly note: string | null;
  /** Job-relative file and 1-based file line: the reading's identity everywhere. */
  readonly file: string;
  readonly row: number;
  /** SHA-256 of the cloud it was taken from, where the job's ledger knows it. */
  readonly source?: string;
}

/** What a person said of a sheet that reads like another one, from the ledger; the last one for a sheet holds. */
export interface Declaration {
  readonly file: string;
  /** Only the readings of this cycle; left out: the whole file. */
  readonly cycle?: number;
  /** `genuine`: the steel was read again and gave the same; `copy`: it is another sheet over again. */
  readonly action: 'genuine' | 'copy';
  readonly who: string;
  readonly why: string;
  /** ISO date-time */
  readonly when: string;
}

/** A decision by a person about one reading, from the ledger; the last one for a reading holds (see `markFinder`). */
export interface Mark {
  readonly file: string;
  readonly row: number;
  /** Only the reading of this cycle; left out: every reading written in the row (a field-sheet row has one a cycle). */
  readonly cycle?: number;
  /** Only the reading at this station, m (a row of a panel's grid has one a station); left out: every one of the row. */
  readonly station?: number;
  readonly action: 'set-aside' | 'reinstate';
  readonly who: string;
  readonly why: string;
  /** ISO date-time */
  readonly when: string;
}

/** All readings of one line at one cycle in one state, sorted by station (repeats adjacent). */
export interface Survey {
  readonly line: string;
  readonly cycle: number;
  readonly state: ReadingState;
  readonly date: string | null;
  readonly time: string | null;
  readonly temperature: number | null;
  readonly readings: readonly Reading[];
}

/** The standard deviation of one reading and where it came from. */
export interface ReadingSd {
  /** m */
  readonly value: number;
  readonly source: 'default' | 'job' | 'repeats';
  /** Degrees of freedom behind a pooled value; null for a stated one. */
  readonly degreesOfFreedom: number | null;
  /** One sentence for the report. */
  readonly reason: string;
}
