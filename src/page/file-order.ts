import type { Reading } from '../survey/survey.ts';

/**
 * Readings in the order a job folder gives them: files by name, `readings/` before `scans/`. Sheets keyed here stand
 * among the files as they will once they are imported.
 */
export function inFileOrder(readings: readonly Reading[]): Reading[] {
  const folder = (file: string) => (file.startsWith('readings/') ? 0 : 1);
  return [...readings].sort(
    (a, b) => folder(a.file) - folder(b.file) || (a.file < b.file ? -1 : a.file > b.file ? 1 : 0),
  );
}
