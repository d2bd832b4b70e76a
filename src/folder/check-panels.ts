import type { Finding } from '../finding.ts';
import type { Ledger } from '../ledger/chain.ts';
import { panelFiles } from '../ledger/contents.ts';
import type { InputStanding } from '../ledger/inputs.ts';
import { checkPanelFiles, type PanelFile } from '../ledger/panels.ts';
import { utf8Text } from '../utf8.ts';
import type { JobFiles } from './job-files.ts';
import { PANELS_FOLDER } from './names.ts';
import { notHere } from './not-here.ts';

/** Job-relative names of the files of panel maps in a folder. */
export function panelNames(source: Pick<JobFiles, 'names'>): string[] {
  return source
    .names(PANELS_FOLDER)
    .filter((name) => !name.startsWith('.') && /\.(csv|json)$/i.test(name))
    .sort()
    .map((name) => `${PANELS_FOLDER}/${name}`);
}

/** Compares the maps of panels with what the ledger has of them, and with each other (`checkPanelFiles`). */
export function checkPanels(
  source: JobFiles,
  ledger: Pick<Ledger, 'records'>,
): { readonly files: readonly InputStanding[]; readonly findings: readonly Finding[] } {
  if (source.notHere.includes(PANELS_FOLDER)) {
    return notHere('panel-maps-not-here', 'the maps of panels', panelFiles(ledger).size);
  }
  const there = new Map(
    panelNames(source).flatMap((file): [string, PanelFile][] => {
      const digest = source.digest(file);
      // Taken away this moment: it counts as gone.
      if (digest === null) return [];
      const text = () => utf8Text(source.bytes(file, 'panel') ?? new Uint8Array(0));
      return [[file, { sha256: digest.sha256, text }]];
    }),
  );
  return checkPanelFiles(ledger, there);
}
