import type { JobUnits } from '../job/job.ts';
import type { LineKind } from '../survey/survey.ts';

/** What the reader must know of the job. */
export interface ReadOptions {
  /** Job-relative name the readings carry. */
  readonly file: string;
  readonly units: JobUnits;
  readonly dashed?: 'eighths' | 'sixteenths' | null;
  /** Lines of the job with the stations that can be on them, m; null: no job, any line name is taken. */
  readonly lines: readonly LineExtent[] | null;
  /** Line of a file without a line column, where the job has several. */
  readonly line?: string;
  /** Problems kept; the rest are only counted. Default 1000. */
  readonly mostProblems?: number;
}

export interface LineExtent {
  readonly name: string;
  readonly kind: LineKind;
  readonly from: number;
  readonly to: number;
  /** Of a panel: the heights that can be on it, m. Its readings need a height, those of lines must not have one. */
  readonly heights?: readonly [number, number];
  /** What to say when a station is outside, m: the member without the overhang allowed for. Default: from and to. */
  readonly said?: readonly [number, number];
}
