import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import type { BulgeDocument } from './bulge-document.ts';
import type { ClaimFacts } from './claim.ts';
import type { Html } from './html.ts';
import type { Fraction } from './quantities.ts';

/** What a report says beside the analysis: where its numbers came from and how to write them. */
export interface ReportContext {
  /** ISO date (or date-time) the report is made; the builders read no clock. */
  readonly generated: string;
  /** Program and version, e.g. "Sweepbook 0.1.0". */
  readonly tool: string;
  /** Lengths of `us` jobs are written to the nearest 1/fraction inch: 8, 16, 32 or 64. */
  readonly fraction: Fraction;
  readonly files: readonly FileFact[];
  readonly ledger: readonly LedgerFact[];
  /** Seal of the ledger as it stood: the SHA-256 of its last record. A copy of the report then dates the ledger. */
  readonly ledgerSeal?: { readonly records: number; readonly sha256: string } | null;
  /** Text of the plotting library for the interactive layer; null leaves it out (everything else stays). */
  readonly plotly: string | null;
  /** Days that stood still beside the heat log, one sentence each, for the first screen. */
  readonly besideDays?: readonly string[];
  /** Everything behind the summary too: tables by station, every finding, every file. False where left out. */
  readonly full?: boolean;
  /** Paper the sheet is made for; Letter for jobs in feet and inches, else A4, where left out. */
  readonly paper?: 'A4' | 'letter';
  /** Heats, ceiling and next vees; left out where the heat log was not at hand. */
  readonly heats?: HeatsOfJob;
  /** Why the heat log could not be used, in words; left out where it could. */
  readonly heatsFault?: string;
  /** Maps of panels, oldest first. */
  readonly panels?: readonly BulgeDocument[];
  /** The claim and the crack checks, for the final report; left out where the logs were not at hand. */
  readonly claim?: ClaimFacts;
  /** Sections of other stages (heats, plates, bulge maps), placed before the method statement. */
  readonly sections?: readonly ReportSection[];
}

/** One file the numbers rest on. */
export interface FileFact {
  /** Job-relative name. */
  readonly file: string;
  readonly sha256: string;
  /** Data rows, null where not counted. */
  readonly rows: number | null;
  /** What is known of it: when it was imported, or that the ledger does not know it. */
  readonly note: string;
}

/** One record of the ledger, in words. */
export interface LedgerFact {
  /** ISO date-time */
  readonly when: string;
  readonly what: string;
}

/** A section another stage adds. Its body is markup made with `html`, so every text in it is escaped. */
export interface ReportSection {
  /** Lower-case word, unique in the page. */
  readonly id: string;
  readonly title: string;
  readonly body: Html;
  readonly in: 'daily' | 'final' | 'both';
}
