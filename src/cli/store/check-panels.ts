import { existsSync } from 'node:fs';
import type { Finding } from '../../finding.ts';
import type { Ledger } from '../../ledger/chain.ts';
import { panelFiles } from '../../ledger/contents.ts';
import type { InputStanding } from '../../ledger/inputs.ts';
import { namesIn } from './csv-files.ts';
import { hashFile } from './hash-file.ts';
import { inJob, PANELS_FOLDER } from './layout.ts';

/** Compares the maps of panels with what the ledger has of them. */
export function checkPanels(
  folder: string,
  ledger: Pick<Ledger, 'records'>,
): { readonly files: readonly InputStanding[]; readonly findings: readonly Finding[] } {
  const files: InputStanding[] = [];
  const findings: Finding[] = [];
  const panels = panelFiles(ledger);
  const maps = namesIn(inJob(folder, PANELS_FOLDER))
    .filter((name) => !name.startsWith('.') && /\.(csv|json)$/i.test(name))
    .map((name) => `${PANELS_FOLDER}/${name}`);
  for (const file of [...new Set([...panels.keys(), ...maps])].sort()) {
    const path = inJob(folder, file);
    const recorded = panels.get(file)?.sha256 ?? null;
    const sha256 = existsSync(path) ? hashFile(path).sha256 : null;
    const standing =
      sha256 === null ? 'missing' : recorded === null ? 'unknown' : recorded === sha256 ? 'known' : 'changed';
    files.push({ file, standing, sha256, recorded, when: panels.get(file)?.when ?? null });
    if (standing === 'known') continue;
    const [severity, code, said] = PANEL_SAYS[standing];
    findings.push({ severity, code, message: `${file} ${said}`, file });
  }
  return { files, findings };
}

/** A map can be made again from its scan, so one taken away is no loss; one that was altered is. */
const PANEL_SAYS = {
  changed: [
    'stop',
    'panel-changed',
    'is not the map that was made: its SHA-256 differs from the ledger. Make it again with sweepbook bulge.',
  ],
  missing: ['note', 'panel-missing', 'was made and is gone; sweepbook bulge makes it again.'],
  unknown: ['note', 'panel-not-in-ledger', 'is not in the ledger; sweepbook bulge makes it again.'],
} as const;
