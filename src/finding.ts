/** Something the tool noticed, as a value: shown in the terminal, in every report and in `--json`. */
export interface Finding {
  readonly severity: 'note' | 'caution' | 'stop';
  /** Stable lower-case phrase that states the fact, e.g. `stations-not-increasing`. Words may change, codes do not. */
  readonly code: string;
  /** One or two plain sentences: what was seen, with numbers in the job's units, and what to do next. */
  readonly message: string;
  /** The line it concerns, where it concerns one. */
  readonly line?: string;
  readonly cycle?: number;
  /** Station in metres, where it concerns one. */
  readonly station?: number;
  /** Job-relative file and 1-based row (file line), where a reading or log entry is meant. */
  readonly file?: string;
  readonly row?: number;
}
