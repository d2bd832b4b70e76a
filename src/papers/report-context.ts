import type { JobFile, OpenedFiles } from '../folder/open-files.ts';
import { recordWords } from '../ledger/contents.ts';
import type { LedgerRecord } from '../ledger/record.ts';
import type { FileFact, LedgerFact, ReportContext } from '../report/context.ts';
import { dateText } from '../report/dates.ts';
import type { Fraction } from '../report/quantities.ts';

/** What a report says of the job folder: its files as they stand to the ledger, and the ledger in words. */
export function reportContext(
  opened: OpenedFiles,
  settings: {
    /** ISO date the report is made */
    readonly generated: string;
    readonly tool: string;
    readonly fraction: Fraction;
    readonly plotly: string | null;
  },
): ReportContext {
  const { ledger } = opened;
  const facts = ledger.records.map(ledgerFact);
  return {
    generated: settings.generated,
    tool: settings.tool,
    fraction: settings.fraction,
    files: opened.files.map((file) => fileFact(file, opened.job.locale)),
    ledger: facts,
    ledgerSeal: ledger.count === 0 ? null : { records: ledger.count, sha256: ledger.seal },
    plotly: settings.plotly,
  };
}

function fileFact(file: JobFile, locale: string): FileFact {
  return {
    file: file.file,
    sha256: file.sha256 ?? 'the file is gone',
    rows: file.sha256 === null ? null : file.rows,
    note: file.note ?? standingWords(file, locale),
  };
}

function standingWords(file: JobFile, locale: string): string {
  const when = file.when === null ? '' : ` ${dateText(file.when, locale)}`;
  switch (file.standing) {
    case 'known':
      return `as imported${when}`;
    case 'unknown':
      return 'not in the ledger: put here by hand';
    case 'changed':
      return `CHANGED since it was imported${when}`;
    case 'missing':
      return `MISSING; imported${when}`;
    case 'duplicate':
      return 'the same content as another file; not counted twice';
  }
}

function ledgerFact(record: LedgerRecord): LedgerFact {
  return { when: record.when, what: recordWords(record) };
}
