import * as z from 'zod';
import { InputError } from '../../input-error.ts';
import { safeCsvName } from '../../job/csv-name.ts';
import type { JobUnits } from '../../job/job.ts';
import { panelFiles } from '../../ledger/contents.ts';
import type { BulgeDocument } from '../../report/bulge-document.ts';
import { bulgeCsv } from '../../scan/bulge-csv.ts';
import { namesIn } from '../store/csv-files.ts';
import { withFolderLock } from '../store/folder-lock.ts';
import { hashBytes } from '../store/hash-file.ts';
import { inJob, PANELS_FOLDER } from '../store/layout.ts';
import { appendToLedger, readLedger } from '../store/ledger.ts';
import { makeFolder } from '../store/make-folder.ts';
import { readInputText } from '../store/open-input.ts';
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

const number = z.number();
/** All that a report reads of a map: it may have been written by another version, or by hand. */
const PanelMap = z.looseObject({
  schema: z.literal('sweepbook/bulge/1'),
  cycle: number,
  date: z.string().nullable(),
  source: z.looseObject({ name: z.string(), sha256: z.string() }),
  alignment: z.looseObject({ words: z.string() }).nullish(),
  map: z.looseObject({
    panel: z.looseObject({ name: z.string() }),
    seenFrom: z.enum(['positive', 'negative']),
    outline: z
      .array(z.tuple([number, number]))
      .min(3)
      .max(1000),
    columns: number.min(1).max(10_000),
    rows: number.min(1).max(10_000),
    cells: z.array(z.looseObject({ u: number, v: number, deviation: number })).max(100_000),
    largest: z.looseObject({ deviation: number, sd: number, u: number, v: number }),
    extent: z.looseObject({ along: number, up: number }),
    curvature: z.looseObject({ greatest: number, least: number, sd: number, radius: number }),
    rejected: z.looseObject({ jumps: number, offSurface: number }),
    seen: number,
  }),
});

/** Maps kept in a job, by panel and then cycle. */
export function readPanels(folder: string): BulgeDocument[] {
  return namesIn(inJob(folder, PANELS_FOLDER))
    .filter((name) => name.endsWith('.json') && !name.startsWith('.'))
    .map((name): BulgeDocument => {
      const file = `${PANELS_FOLDER}/${name}`;
      const unusable = (found: string) =>
        new InputError(
          'a panel map of the job cannot be used; make it again with `sweepbook bulge`, or take it away',
          [{ file, found, expected: 'a map written by sweepbook bulge (sweepbook/bulge/1)' }],
        );
      let document: BulgeDocument;
      try {
        document = JSON.parse(
          readInputText(inJob(folder, `${PANELS_FOLDER}/${name}`), 'panel'),
        ) as BulgeDocument;
      } catch (error) {
        if (error instanceof SyntaxError) throw unusable('text that is not JSON');
        throw error;
      }
      const whole = PanelMap.safeParse(document).success;
      if (!whole) throw unusable('another document');
      return document;
    })
    .sort((a, b) =>
      a.map.panel.name < b.map.panel.name ? -1 : a.map.panel.name > b.map.panel.name ? 1 : a.cycle - b.cycle,
    );
}
