import type { Problem } from '../input-error.ts';
import type { ReadOptions } from '../read/read-options.ts';
import type { Reading } from '../survey/survey.ts';

/** What a file is read as: each kind has a largest size where files come from anybody. */
export type InputKind =
  | 'job'
  | 'ledger'
  | 'log'
  | 'kept'
  | 'panel'
  | 'photo'
  | 'past'
  | 'whole'
  | 'readings'
  | 'cloud';

export interface Digest {
  /** Lower-case hex */
  readonly sha256: string;
  readonly bytes: number;
}

/** What reading a CSV of readings gives beside its readings. */
export interface CsvRead extends Digest {
  /** Data rows (header, comments and blank lines not counted). */
  readonly rows: number;
  readonly problems: readonly Problem[];
}

/**
 * The files of a job wherever they are: a folder on disk, a folder a browser was let into, one whole-job file. Whatever
 * is made of a job is made of these, so that it is the same wherever it is made. Names are job-relative, with `/`.
 */
export interface JobFiles {
  /** What to call the job in messages: the path of its folder where it has one. */
  readonly name: string;
  /** Folders whose files are not at hand (a page may carry no pictures): nothing is said to be missing of them. */
  readonly notHere: readonly string[];
  /** Names directly in a folder (`''`: the job's own), in no order, dotted ones too; none where there is no such folder. */
  names(folder: string): readonly string[];
  /** Whether this name is a folder. */
  isFolder(name: string): boolean;
  /** Whether this name is a regular file. */
  isFile(name: string): boolean;
  /**
   * The whole of a file; null where there is nothing of this name.
   *
   * @throws InputError where what is there is no file that may be read
   */
  bytes(file: string, kind: InputKind): Uint8Array | null;
  /** SHA-256 and size of a file; null where there is nothing of this name. */
  digest(file: string): Digest | null;
  /**
   * As `digest`, of a file of readings, which may still wait under another name after its import was killed.
   *
   * @param recorded its SHA-256 by the ledger; null where the ledger does not know it
   */
  digestOfReadings(file: string, recorded: string | null): Promise<Digest | null>;
  /** Whether a file of readings is there, or waits to be. */
  hasReadings(file: string, recorded: string): boolean;
  /**
   * Reads a CSV of readings; null where it is not there.
   *
   * @param begin called before the first reading, and again where reading has to begin anew: what came before does not count
   */
  readCsv(
    file: string,
    recorded: string | null,
    options: ReadOptions,
    begin: () => void,
    onReading: (reading: Reading) => void,
  ): Promise<CsvRead | null>;
}
