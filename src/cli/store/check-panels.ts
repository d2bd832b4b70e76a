import type { Finding } from '../../finding.ts';
import type { Ledger } from '../../ledger/chain.ts';
import type { InputStanding } from '../../ledger/inputs.ts';
import { checkPanelFiles, type PanelFile } from '../../ledger/panels.ts';
import { namesIn } from './csv-files.ts';
import { hashFile } from './hash-file.ts';
import { inJob, PANELS_FOLDER } from './layout.ts';
import { readInputText } from './open-input.ts';

/** Job-relative names of the files of panel maps in a folder. */
export function panelNames(folder: string): string[] {
  return namesIn(inJob(folder, PANELS_FOLDER))
    .filter((name) => !name.startsWith('.') && /\.(csv|json)$/i.test(name))
    .sort()
    .map((name) => `${PANELS_FOLDER}/${name}`);
}

/** Compares the maps of panels with what the ledger has of them, and with each other (`checkPanelFiles`). */
export function checkPanels(
  folder: string,
  ledger: Pick<Ledger, 'records'>,
): { readonly files: readonly InputStanding[]; readonly findings: readonly Finding[] } {
  const there = new Map(
    panelNames(folder).map((file): [string, PanelFile] => {
      const path = inJob(folder, file);
      return [file, { sha256: hashFile(path).sha256, text: () => readInputText(path, 'panel') }];
    }),
  );
  return checkPanelFiles(ledger, there);
}
