import { existsSync, readFileSync, statSync } from 'node:fs';
import type { Finding } from '../../finding.ts';
import type { Ledger } from '../../ledger/chain.ts';
import { keptFiles, panelFiles } from '../../ledger/contents.ts';
import type { FileStanding } from '../../ledger/standing.ts';
import { csvFiles, namesIn } from './csv-files.ts';
import { hashBytes, hashFile } from './hash-file.ts';
import { CSV_FOLDERS, HEAT_LOG_FILE, inJob, JOB_FILE, PANELS_FOLDER } from './layout.ts';
import { readLedger } from './ledger.ts';
import { withFile } from './place.ts';

interface VerifiedFile {
  readonly file: string;
  readonly standing: FileStanding;
  /** Of the bytes there now; null when missing. */
  readonly sha256: string | null;
  /** As the ledger has it; null when it does not know the file. */
  readonly recorded: string | null;
  readonly when: string | null;
}

export interface Verification {
  /** False when anything was changed, lost or cannot be read (any `stop` finding). */
  readonly ok: boolean;
  readonly records: number;
  /** SHA-256 of the newest record: the seal of all before it. */
  readonly seal: string;
  readonly files: readonly VerifiedFile[];
  readonly findings: readonly Finding[];
}

/**
 * Hashes every file of the job again and follows the ledger's chain. Reads bytes only; no file has to be readable as
 * readings. Changes nothing.
 *
 * @param seal a seal noted earlier (a report prints it): the ledger must still hold that record; at least 8 hex digits
 */
export async function verifyJob(folder: string, seal: string | null): Promise<Verification> {
  const present = csvFiles(folder);
  const ledger = readLedger(folder);
  const kept = keptFiles(ledger);
  const findings: Finding[] = [...ledger.findings];
  const files: VerifiedFile[] = [];

  if (seal !== null && !ledger.seals.some((each) => each.startsWith(seal.toLowerCase()))) {
    findings.push({
      severity: 'stop',
      code: 'seal-not-in-ledger',
      message: `No record of the ledger has the seal ${seal}: it is not the ledger the seal was noted from, or records were changed or lost.`,
      file: 'ledger.jsonl',
    });
  }

  findings.push(...jobFileFindings(folder, ledger), ...heatLogFindings(folder, ledger));

  for (const file of [...new Set([...kept.keys(), ...present])]) {
    const record = kept.get(file);
    const recorded = record?.sha256 ?? null;
    const sha256 = await withFile(folder, file, recorded, (path) => hashFile(path).sha256);
    if (sha256 === null && recorded === null) continue;
    const standing: FileStanding =
      sha256 === null ? 'missing' : recorded === null ? 'unknown' : recorded === sha256 ? 'known' : 'changed';
    files.push({ file, standing, sha256, recorded, when: record?.when ?? null });
    if (standing === 'changed') {
      findings.push(
        finding(
          'stop',
          'file-changed',
          file,
          'is not the file that was imported: its SHA-256 differs from the ledger.',
        ),
      );
    } else if (standing === 'missing') {
      findings.push(finding('stop', 'file-missing', file, 'is in the ledger but gone from the folder.'));
    } else if (standing === 'unknown') {
      findings.push(
        finding(
          'note',
          'file-not-in-ledger',
          file,
          'was put there by hand; the ledger does not know it. It is read like any other.',
        ),
      );
    }
  }

  const panels = panelFiles(ledger);
  const maps = namesIn(inJob(folder, PANELS_FOLDER))
    .filter((name) => !name.startsWith('.') && /\.(csv|json)$/i.test(name))
    .map((name) => `${PANELS_FOLDER}/${name}`);
  for (const file of [...new Set([...panels.keys(), ...maps])].sort()) {
    const path = inJob(folder, file);
    const recorded = panels.get(file)?.sha256 ?? null;
    const sha256 = existsSync(path) ? hashFile(path).sha256 : null;
    const standing: FileStanding =
      sha256 === null ? 'missing' : recorded === null ? 'unknown' : recorded === sha256 ? 'known' : 'changed';
    files.push({ file, standing, sha256, recorded, when: panels.get(file)?.when ?? null });
    if (standing === 'known') continue;
    const [severity, code, said] = PANEL_SAYS[standing];
    findings.push(finding(severity, code, file, said));
  }

  for (const into of CSV_FOLDERS) {
    for (const name of namesIn(inJob(folder, into))) {
      if (!name.startsWith('.') && /\.csv$/i.test(name)) continue;
      if (name.startsWith('.')) continue;
      findings.push(
        finding('note', 'file-not-read', `${into}/${name}`, 'is not a CSV file and is not read.'),
      );
    }
  }
  return {
    ok: !findings.some((each) => each.severity === 'stop'),
    records: ledger.count,
    seal: ledger.seal,
    files,
    findings,
  };
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

/** The heat log grows by hand; rows that were there when a record was written should still be. */
function heatLogFindings(folder: string, ledger: Ledger): Finding[] {
  const path = inJob(folder, HEAT_LOG_FILE);
  const now = statSync(path, { throwIfNoEntry: false })?.isFile() ? readFileSync(path) : Buffer.alloc(0);
  const altered = ledger.records.findLast(
    ({ heatLog }) => heatLog !== undefined && hashBytes(now.subarray(0, heatLog.bytes)) !== heatLog.sha256,
  );
  if (altered === undefined) return [];
  const said =
    now.length === 0
      ? `was there at ledger record ${altered.seq} (${day(altered.when)}) and is gone or empty.`
      : `no longer begins as it did at ledger record ${altered.seq} (${day(altered.when)}): rows logged by then were changed or taken out.`;
  return [finding('caution', 'heat-log-edited', HEAT_LOG_FILE, said)];
}

/** job.json may be edited; when it last was, as far as the ledger can tell, belongs to the audit. */
function jobFileFindings(folder: string, ledger: Ledger): Finding[] {
  const dated = ledger.records.filter((each) => each.jobFile !== undefined);
  const findings: Finding[] = [];
  const note = (message: string) =>
    findings.push({ severity: 'note', code: 'job-file-edited', message, file: JOB_FILE });
  dated.forEach((record, i) => {
    const before = dated[i - 1];
    if (before !== undefined && before.jobFile !== record.jobFile) {
      note(
        `job.json was edited between ledger record ${before.seq} (${day(before.when)}) and ${record.seq} (${day(record.when)}).`,
      );
    }
  });
  const last = dated.at(-1);
  if (last !== undefined && last.jobFile !== hashFile(inJob(folder, JOB_FILE)).sha256) {
    note(`job.json was edited after ledger record ${last.seq} (${day(last.when)}).`);
  }
  return findings;
}

function day(when: string): string {
  return when.slice(0, 10);
}

function finding(severity: Finding['severity'], code: string, file: string, said: string): Finding {
  return { severity, code, message: `${file} ${said}`, file };
}
