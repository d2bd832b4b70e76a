import type { BulgeMap } from '../scan/bulge-map.ts';

/** A bulge map as it is kept in the job. */
export interface BulgeDocument {
  readonly schema: 'sweepbook/bulge/1';
  readonly cycle: number;
  readonly date: string | null;
  readonly source: { readonly name: string; readonly sha256: string };
  /** How the scan was brought onto another; null or absent where it stands in its own coordinates. */
  readonly alignment?: {
    readonly reference: { readonly name: string; readonly sha256: string };
    readonly words: string;
    /** Standard uncertainty of the panel's place, m; null where the patches do not hold it. */
    readonly placeU: number | null;
  } | null;
  readonly map: BulgeMap;
}
