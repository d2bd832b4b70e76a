import type { Finding } from '../finding.ts';
import { HEAD_FILE, LEDGER_FILE, type Ledger } from '../ledger/chain.ts';
import { idInJob, idInLedger, withId } from '../ledger/identity.ts';
import type { FileStanding } from '../ledger/standing.ts';
import { sha256Hex } from '../sha256.ts';
import { checkPanels } from './check-panels.ts';
import { checkPhotos } from './check-photos.ts';
import type { JobFiles } from './job-files.ts';
import { CSV_FOLDERS, JOB_FILE, PANELS_FOLDER, PHOTOS_FOLDER } from './names.ts';
import { readRecord } from './read-record.ts';

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
  /** What else is in the folder and was not compared, because no answer is made from it: files, and folders with a `/`. */
  readonly notCompared: readonly string[];
  readonly findings: readonly Finding[];
}

/**
 * Hashes every file of the job again and follows the ledger's chain. Reads bytes only; no file has to be readable as
 * readings. Changes nothing.
 *
 * @param seal a seal noted earlier (a report prints it): the ledger must still hold that record; at least 8 hex digits
 */
export async function verifyFiles(source: JobFiles, seal: string | null): Promise<Verification> {
  const { present, ledger, kept, now, inputs, findings: told } = readRecord(source);
  const findings: Finding[] = [...told];
  const files: VerifiedFile[] = [...inputs.standings];

  if (seal !== null && !ledger.seals.some((each) => each.startsWith(seal.toLowerCase()))) {
    findings.push({
      severity: 'stop',
      code: 'seal-not-in-ledger',
      message: `No record of the ledger has the seal ${seal}: it is not the ledger the seal was noted from, or records were changed or lost.`,
      file: 'ledger.jsonl',
    });
  }

  if (now !== null) findings.push(...jobFileFindings(source, now.job, ledger));

  for (const file of [...new Set([...kept.keys(), ...present])]) {
    const record = kept.get(file);
    const recorded = record?.sha256 ?? null;
    const sha256 = (await source.digestOfReadings(file, recorded))?.sha256 ?? null;
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

  for (const check of [checkPanels, checkPhotos]) {
    const kind = check(source, ledger);
    files.push(...kind.files);
    findings.push(...kind.findings);
  }

  for (const into of CSV_FOLDERS) {
    for (const name of source.names(into)) {
      // Figures kept beside a survey taken from a scan are drawn, not read.
      if (name.startsWith('.') || /\.(csv|view\.json)$/i.test(name)) continue;
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
    notCompared: notCompared(source, new Set(files.map((each) => each.file))),
    findings,
  };
}

/** Folders looked into file by file. */
const COMPARED_FOLDERS: readonly string[] = [...CSV_FOLDERS, PANELS_FOLDER, PHOTOS_FOLDER];

function notCompared(source: JobFiles, compared: ReadonlySet<string>): string[] {
  const rest: string[] = [];
  for (const name of source.names('')) {
    if (COMPARED_FOLDERS.includes(name)) {
      const inside = source.names(name).map((each) => `${name}/${each}`);
      rest.push(...inside.filter((file) => !compared.has(file)));
    } else if (source.isFolder(name)) rest.push(`${name}/`);
    else if (!compared.has(name) && name !== LEDGER_FILE && name !== HEAD_FILE) rest.push(name);
  }
  return rest.sort();
}

/** job.json may be edited; when it last was, as far as the ledger can tell, belongs to the audit. */
function jobFileFindings(source: JobFiles, job: string, ledger: Ledger): Finding[] {
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
  const id = idInLedger(ledger.records);
  // A write killed before it put the id of its record into job.json is no edit.
  const hashes = [
    source.digest(JOB_FILE)?.sha256,
    ...(id === null || idInJob(job) !== null ? [] : [sha256Hex(withId(job, id))]),
  ];
  if (last?.jobFile !== undefined && !hashes.includes(last.jobFile)) {
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
