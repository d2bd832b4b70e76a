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
  findings.push(...cloudsTwice(folder, ledger));
  return { files, findings };
}

/** Two maps of one panel, under two cycles, from one cloud: the later is no cycle, and would show a panel that stands still. */
function cloudsTwice(folder: string, ledger: Pick<Ledger, 'records'>): Finding[] {
  const newest = new Map(
    ledger.records.flatMap((record) =>
      record.kind === 'panel' ? [[JSON.stringify([record.panel, record.cycle]), record] as const] : [],
    ),
  );
  const there = [...newest.values()]
    .filter((record) => record.files.some(({ file }) => existsSync(inJob(folder, file))))
    .sort((a, b) => a.cycle - b.cycle);
  return there.flatMap((record, at) => {
    const first = there
      .slice(0, at)
      .find((other) => other.panel === record.panel && other.source.sha256 === record.source.sha256);
    if (first === undefined) return [];
    return [
      {
        severity: 'stop' as const,
        code: 'panel-cloud-twice',
        message: `Panel ${record.panel}: the maps of cycles ${first.cycle} and ${record.cycle} are from the same cloud (${record.source.name}), so one of them says nothing of its day. Make it again from its own scan with sweepbook bulge, or take its files away.`,
        file: record.files[0]!.file,
      },
    ];
  });
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
