/** The edge of the process, passed in so that commands run the same in tests. */
export interface Io {
  /** Result text to stdout. */
  readonly out: (text: string) => void;
  /** Notes, progress and errors to stderr. */
  readonly err: (text: string) => void;
  /** Whether stdout is a terminal (colour, width). */
  readonly isTerminal: boolean;
  /** Whether stderr is a terminal (progress bars). */
  readonly errIsTerminal: boolean;
  /** Columns of the terminal, 80 when piped. */
  readonly columns: number;
  readonly colour: boolean;
  /** The one clock. */
  readonly now: () => Date;
  readonly cwd: string;
  /** $SWEEPBOOK_PAST: the folder of finished jobs; left out: none. */
  readonly pastFolder?: string | undefined;
  /** Exit status to leave with: 0 done, 1 input could not be used, 2 wrong usage. */
  readonly setExit: (status: 0 | 1 | 2) => void;
}
