import type { Finding } from '../finding.ts';
import type { KeptFile } from './record.ts';

/** How a file of the job stands to the ledger. */
export type FileStanding = 'known' | 'unknown' | 'changed' | 'missing' | 'duplicate';

/** What to say of a file beside its readings. */
export function standingFindings(
  file: string,
  standing: FileStanding,
  record: KeptFile | undefined,
): Finding[] {
  if (standing === 'unknown') {
    return [
      {
        severity: 'note',
        code: 'file-not-in-ledger',
        message: `${file} was put there by hand: it is read, but the ledger does not know it. Import it with \`sweepbook add\` to record it.`,
        file,
      },
    ];
  }
  if (standing === 'changed') {
    return [
      {
        severity: 'stop',
        code: 'file-changed',
        message: `${file} is no longer the file that was imported (its SHA-256 differs from the ledger's): readings may have been altered. Put the original back, or find out who changed it and why.`,
        file,
      },
    ];
  }
  const aside = record?.setAside.length ?? 0;
  if (aside === 0) return [];
  return [
    {
      severity: 'note',
      code: 'rows-set-aside-at-import',
      message: `${aside} unusable row${aside === 1 ? ' of' : 's of'} ${file} ${aside === 1 ? 'was' : 'were'} set aside when it was imported.`,
      file,
      row: record!.setAside[0]!.row,
    },
  ];
}

export function fileMissing(file: string, record: KeptFile): Finding {
  return {
    severity: 'stop',
    code: 'file-missing',
    message: `${file} is in the ledger (${record.readings} readings, given as "${record.original}") but gone from the folder. Adding the original file again puts it back.`,
    file,
  };
}

export function fileTwice(file: string, twin: string): Finding {
  return {
    severity: 'caution',
    code: 'file-twice',
    message: `${file} holds the same bytes as ${twin}; it is not counted a second time.`,
    file,
  };
}
