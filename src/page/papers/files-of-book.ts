import { HEAD_FILE, LEDGER_FILE } from '../../ledger/chain.ts';
import { utf8Bytes } from '../../utf8.ts';
import type { SheetRead } from '../all-readings.ts';
import type { JobBundle } from '../job-bundle.ts';
import { photoBytes } from '../photos/carried.ts';

/**
 * The files a job folder would hold if everything the page has were written into it: the job's own, byte for byte, and
 * each sheet that is not among them yet as the CSV it is handed over as.
 */
export function filesOfBook(bundle: JobBundle, sheets: readonly SheetRead[]): Map<string, Uint8Array> {
  const photos = (bundle.photos ?? []).map((photo) => [photo.file, photoBytes(photo)] as const);
  const texts = [...textsOfBook(bundle, sheets)].map(([file, text]) => [file, utf8Bytes(text)] as const);
  return new Map<string, Uint8Array>([...texts, ...photos]);
}

/** The same without the photographs, as texts. */
export function textsOfBook(bundle: JobBundle, sheets: readonly SheetRead[]): Map<string, string> {
  const { job, files, others, panels, ledgerText, headText, seal } = bundle;
  const held = new Map<string, string>([['job.json', job]]);
  for (const { file, text } of [...others, ...(panels ?? []), ...files]) held.set(file, text);
  if (ledgerText !== undefined) held.set(LEDGER_FILE, ledgerText);
  if (headText !== undefined) held.set(HEAD_FILE, headText);
  // A whole-job file of an earlier page carries the seal in its own words.
  else if (seal !== null) held.set(HEAD_FILE, `${seal.records} ${seal.sha256}\n`);
  for (const { sheet, csv } of keyedSheets(sheets)) held.set(fileOf(sheet.file, held), csv.text);
  return held;
}

/** Sheets with readings that are not among the job's files yet. */
export function keyedSheets(sheets: readonly SheetRead[]): SheetRead[] {
  return sheets.filter(({ csv, filed }) => !filed && csv.count > 0);
}

/** The name of a sheet, or where part of it is filed under that already, the next one: what is filed stays as it is. */
function fileOf(file: string, held: ReadonlyMap<string, string>): string {
  const stem = file.replace(/\.csv$/, '');
  for (let n = 1; ; n++) {
    const name = n === 1 ? file : `${stem}-${n}.csv`;
    if (!held.has(name)) return name;
  }
}
