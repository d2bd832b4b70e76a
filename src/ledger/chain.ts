import type { Finding } from '../finding.ts';
import { LedgerRecord } from './record.ts';

/** Names inside a job folder. */
export const LEDGER_FILE = 'ledger.jsonl';
/** Seal of the newest ledger record, so that a ledger cut short is noticed. */
export const HEAD_FILE = '.ledger-head';

/** SHA-256 that stands for the record before the first. */
export const FIRST_SEAL = '0'.repeat(64);

/** The seal before the first record: it stands from just before that is written, so that no seal at all is a loss. */
export const EMPTY_HEAD = `0 ${FIRST_SEAL}\n`;

/** The newest record ever written, as `.ledger-head` keeps it. */
export interface Head {
  readonly seq: number;
  readonly sha256: string;
}

/** The ledger as read: every record that can be read, and everything that is wrong with the chain. */
export interface Ledger {
  readonly records: readonly LedgerRecord[];
  /** Lines in the file, readable or not. */
  readonly count: number;
  /** SHA-256 of the last line: the seal of everything before it. 64 zeros when empty. */
  readonly seal: string;
  /** Seals of every line, oldest first. */
  readonly seals: readonly string[];
  /** `stop` findings: records changed, lost, unreadable. Empty when the chain holds. */
  readonly findings: readonly Finding[];
}

/**
 * Tests the chain of a ledger. Each record carries the SHA-256 of the line before, so a changed, inserted, removed or
 * reordered record is seen at the record after it; the head shows a change of the last one, or a ledger that was cut
 * short.
 *
 * @param lines text of every line that is not blank, without its end, with the SHA-256 of its bytes
 * @param head null: there is none; `not given`: whether there is one is not known, and nothing is said of it
 */
export function checkChain(
  lines: readonly { readonly text: string; readonly sha256: string }[],
  head: Head | null | 'not given',
): Ledger {
  const records: LedgerRecord[] = [];
  const findings: Finding[] = [];
  const stop = (code: string, row: number, message: string) =>
    findings.push({ severity: 'stop', code, message, file: LEDGER_FILE, row });

  let previous = FIRST_SEAL;
  let written = '';
  let numbered = 0;
  for (const [index, line] of lines.entries()) {
    const row = index + 1;
    const record = recordOf(line.text);
    if (record === null) {
      stop(
        'ledger-record-unreadable',
        row,
        `Ledger record ${row} cannot be read; it was changed or damaged.`,
      );
    } else {
      records.push(record);
      // Past a removed record the numbers run on: said once, at the gap, not again at every record after it.
      if (record.previous !== previous || (record.seq !== row && record.seq !== numbered + 1)) {
        stop(
          'ledger-chain-broken',
          row,
          `Ledger record ${row} does not follow from the one before it: a record was changed, removed or inserted ` +
            'at or before this place. Compare with a copy of the job folder.',
        );
      }
      numbered = record.seq;
      if (record.when < written) {
        stop(
          'ledger-dates-back',
          row,
          `Ledger record ${row} is dated ${record.when.slice(0, 16)}, before the one it follows (${written.slice(0, 16)}): ` +
            'a clock was wrong, or the record was not written when it says.',
        );
      }
      written = record.when;
      if (record.sealGone === true) {
        stop(
          'ledger-seal-gone',
          row,
          `When record ${row} was written, the seal of the one before it (${HEAD_FILE}) was gone: records may have been cut off.`,
        );
      }
      if (record.lost !== undefined) {
        stop(
          'ledger-records-lost',
          row,
          `When record ${row} was written, newer records (up to number ${record.lost.seq}) had gone from the ledger.`,
        );
      }
    }
    previous = line.sha256;
  }

  const seals = lines.map((line) => line.sha256);
  const gone = lostRecords(head === 'not given' ? null : head, seals);
  if (gone !== null) {
    stop(
      'ledger-cut-short',
      Math.max(1, lines.length),
      `The ledger once had a record ${gone.seq} that is no longer there as it was written: the end of ledger.jsonl ` +
        'was lost or changed. Compare with a copy of the job folder.',
    );
  }
  if (head === null && lines.length > 0) {
    stop(
      'ledger-seal-gone',
      lines.length,
      `The seal of the ledger's last record (${HEAD_FILE}) is gone: whether the end of ledger.jsonl was cut off cannot be told. Compare with a copy of the job folder.`,
    );
  }
  return { records, count: lines.length, seal: previous, seals, findings };
}

function recordOf(line: string): LedgerRecord | null {
  try {
    const parsed = LedgerRecord.safeParse(JSON.parse(line));
    return parsed.success ? parsed.data : null;
  } catch {
    return null;
  }
}

/** The head from the text of `.ledger-head`; null where it is none. */
export function headOf(text: string): Head | null {
  const match = /^(\d{1,9}) ([0-9a-f]{64})\n?$/.exec(text);
  return match === null ? null : { seq: Number.parseInt(match[1]!, 10), sha256: match[2]! };
}

/** The newest record ever written, when the ledger no longer holds it. */
export function lostRecords(head: Head | null, seals: readonly string[]): Head | null {
  return head === null || head.seq === 0 || seals[head.seq - 1] === head.sha256 ? null : head;
}
