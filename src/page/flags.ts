import { checkReadings } from '../doubts/check-readings.ts';
import type { Finding } from '../finding.ts';
import type { Reading } from '../survey/survey.ts';
import type { SheetRead } from './all-readings.ts';
import type { OpenedBundle } from './open-bundle.ts';
import type { KeyedAt } from './sheet-csv.ts';

/** Something wrong or doubtful in what was keyed. */
export interface Flag {
  /** The reading meant; null where it is a whole survey. */
  readonly at: KeyedAt | null;
  readonly line: string;
  readonly kind: 'not-a-length' | 'doubtful' | 'survey';
  readonly message: string;
}

/** Doubts that only say that the sheet is not finished yet, or what the page shows anyway. */
const NOT_YET = new Set([
  'bearing-not-read',
  'stations-missing',
  'station-new',
  'no-as-found-survey',
  'cycles-missing',
]);

/**
 * The core's own import checks, run on the sheet as it grows: what `sweepbook add` would doubt tonight is said while the
 * crew still stands at the station.
 *
 * @param others readings of the job, without this sheet's
 */
export function flagsOf(read: SheetRead, opened: OpenedBundle, others: readonly Reading[]): Flag[] {
  const unreadable = read.csv.unreadable.map(
    (at): Flag => ({
      at,
      line: at.line,
      kind: 'not-a-length',
      message: `"${at.text}" is not a length yet; expected ${at.expected}.`,
    }),
  );
  if (read.filed) return unreadable;
  const { doubts } = checkReadings(read.readings, opened.job, others);
  return [...unreadable, ...doubts.filter((doubt) => !NOT_YET.has(doubt.code)).map((d) => flagOf(d, read))];
}

function flagOf(doubt: Finding, read: SheetRead): Flag {
  const at = doubt.row === undefined ? undefined : read.csv.rows.get(doubt.row);
  const single = at !== undefined && doubt.station !== undefined;
  return {
    at: single ? at : null,
    line: doubt.line ?? at?.line ?? '',
    kind: single ? 'doubtful' : 'survey',
    message: doubt.message,
  };
}
