import type { CloudTally } from '../../scan/cloud.ts';

/** What reading a cloud file gave beside its points. */
export interface CloudRead extends CloudTally {
  readonly sha256: string;
  readonly bytes: number;
}
