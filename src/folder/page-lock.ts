/** Announcement of a page that writes in a job folder, beside those of command lines. */
export const PAGE_LOCK = '.busy-page-';
/** How often a page that writes gives a sign of life, ms. */
export const BEAT_MS = 3000;
/**
 * A page that gave none for so long is gone, ms: twenty signs missed. Measured between two files of the folder, so that no
 * clocks of two computers are compared. A page that was only held up finds its announcement gone and stops.
 */
export const SILENT_MS = 20 * BEAT_MS;

/** What stands in the announcement; each sign of life writes it anew. */
export function pageLockText(since: string, beat: number): string {
  return `${JSON.stringify({ page: 'Sweepbook readings page', since, beat })}\n`;
}

/** Since when a page has been writing, ISO; null where it was stopped before it could say. */
export function pageLockSince(text: string): string | null {
  return /"since":"(\d{4}-\d\d-\d\dT\d\d:\d\d)/.exec(text)?.[1] ?? null;
}
