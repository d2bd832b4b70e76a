import { safeCsvName } from '../../job/csv-name.ts';
import type { JobUnits } from '../../job/job.ts';
import { panelFiles } from '../../ledger/contents.ts';
import type { BulgeDocument } from '../../report/bulge-document.ts';
import { bulgeCsv } from '../../scan/bulge-csv.ts';
import { withFolderLock } from '../store/folder-lock.ts';
import { hashBytes } from '../store/hash-file.ts';
import { inJob, PANELS_FOLDER } from '../store/layout.ts';
import { appendToLedger, readLedger } from '../store/ledger.ts';
import { makeFolder } from '../store/make-folder.ts';
import { writeAtomic } from '../store/write-atomic.ts';

/**
 * Writes a map as JSON (for the report) and as a grid CSV, and a ledger record of both; a map of the same panel and cycle
 * is replaced. A kill between leaves a map the ledger does not know as it is: `verify` says so, making it again cures it.
 */
export async function keepPanel(
  folder: string,
  document: BulgeDocument,
  units: JobUnits,
  when: () => string,
  waitMs: number,
): Promise<{ readonly json: string; readonly csv: string }> {
  const stem = safeCsvName(`cycle-${document.cycle}-${document.map.panel.name}`).replace(/\.csv$/, '');
  const rounded = (_key: string, value: unknown) =>
    typeof value === 'number' && Number.isFinite(value) ? Number(value.toPrecision(9)) : value;
  await withFolderLock(folder, waitMs, async () => {
    makeFolder(inJob(folder, PANELS_FOLDER));
    const texts = {
      csv: bulgeCsv(document.map, units, document.source),
      json: `${JSON.stringify(document, rounded)}\n`,
    };
    const files = (['csv', 'json'] as const).map((ending) => {
      writeAtomic(inJob(folder, `${PANELS_FOLDER}/${stem}.${ending}`), texts[ending]);
      return { file: `${PANELS_FOLDER}/${stem}.${ending}`, sha256: hashBytes(texts[ending]) };
    });
    const { cycle, source } = document;
    const known = panelFiles(readLedger(folder));
    // The same map again is no news.
    if (files.every(({ file, sha256 }) => known.get(file)?.sha256 === sha256)) return;
    appendToLedger(folder, { kind: 'panel', panel: document.map.panel.name, cycle, files, source }, when());
  });
  return { json: `${PANELS_FOLDER}/${stem}.json`, csv: `${PANELS_FOLDER}/${stem}.csv` };
}
