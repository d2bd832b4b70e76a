import type { ReadHow } from '../../scan/cloud.ts';

/** What every command that reads a point cloud is asked; paths are absolute. */
export interface CloudRequest extends ReadHow {
  readonly cloud: string;
  readonly job: string;
  /** The job folder as it was typed, for what to do next. */
  readonly jobGiven: string;
  /** A set-up given as options, or null: read from a file. */
  readonly given: unknown;
  readonly setUp: string | null;
  readonly units: string | null;
  readonly cycle: number;
  readonly date: string | null;
  /** The scan whose coordinates the set-up is in, or null: this scan's own. */
  readonly alignTo: string | null;
  /** CSV of targets in this scan, or null. */
  readonly targets: string | null;
  readonly waitMs: number;
}
