import type { LineInputs } from '../../analyse-line.ts';
import type { LineAnalysis } from '../../analysis.ts';
import { conclude, prepare } from '../../conclude.ts';
import { type OpenedFiles, openFiles } from '../../folder/open-files.ts';
import { verificationText } from '../../folder/verification-text.ts';
import { verifyFiles } from '../../folder/verify-files.ts';
import { InputError } from '../../input-error.ts';
import { isPractice } from '../../job/practice-mark.ts';
import { photosOf as recordedPhotos } from '../../ledger/contents.ts';
import { readLogs } from '../../papers/logs.ts';
import {
  type AtHand,
  cardPaper,
  drawingPaper,
  exportPapers,
  heatsPapers,
  jsonText,
  type MadeBy,
  type Paper,
  planAt,
  planPaper,
  platesPapers,
  reportPaper,
  statusPaper,
} from '../../papers/papers.ts';
import { revealPaper } from '../../papers/reveal-paper.ts';
import { PRACTICE_FILE, parsePractice } from '../../practice/file.ts';
import { replay } from '../../practice/replay.ts';
import type { ReportSection } from '../../report/context.ts';
import { utf8Text } from '../../utf8.ts';
import { ORDINARY_COLUMNS } from '../../wrap-text.ts';
import { filesInMemory } from './files-in-memory.ts';

/** What can be asked for; each is what the command of the same name writes or prints. */
export const PAPER_KINDS = [
  'daily',
  'card',
  'heats',
  'plates',
  'drawing',
  'plan',
  'final',
  'export',
  'status',
  'verify',
  'reveal',
] as const;
export type PaperKind = (typeof PAPER_KINDS)[number];
type Analysed = Exclude<PaperKind, 'verify' | 'reveal'>;

/** A job as its files, and what is wanted of it. Plain data: it goes to the worker as it is. */
export interface PapersAsked extends MadeBy {
  readonly paper: PaperKind;
  /** Everything behind the summary of a report too. */
  readonly full: boolean;
  /** What to call the job in messages. */
  readonly name: string;
  /** Bytes by job-relative name. */
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** Folders of the job whose files are not among these, though they may be in the job folder. */
  readonly notHere: readonly string[];
  /** Those of them that were keyed on the page and are in no folder yet. */
  readonly keyed: readonly string[];
  /** Columns of text there is room for where the paper is shown. */
  readonly columns: number;
  /** A seal noted earlier, for `verify`; null: none. */
  readonly seal: string | null;
}

export interface PapersMade {
  /** The first is the one to show. */
  readonly papers: readonly Paper[];
  /** What the command would say beside it; null: nothing. */
  readonly said: string | null;
  /** The first in fewer columns, where the screen has no room for those of the command; left out: shown as it is. */
  readonly shown?: string;
}

const KEYED = 'keyed on the readings page, not in the ledger yet';

/**
 * Makes papers of a job from its files, the same bytes as the command line makes of the same files in a folder (a
 * final report: with `--plain`, for the page carries no plotting library).
 *
 * @param linesOf works lines out, or knows them from before
 * @throws InputError as the command does
 */
export async function makePapers(
  asked: PapersAsked,
  linesOf: (inputs: readonly LineInputs[]) => readonly LineAnalysis[],
): Promise<PapersMade> {
  const source = filesInMemory(asked.name, asked.files, asked.notHere);
  const { keyed } = asked;
  if (asked.paper === 'verify') {
    const recorded = new Map([...asked.files].filter(([file]) => !keyed.includes(file)));
    const result = await verifyFiles(filesInMemory(asked.name, recorded, asked.notHere), asked.seal);
    const json = jsonText({ schema: 'sweepbook/verify/1', ...result });
    return {
      papers: [
        { file: 'reports/verify.txt', type: 'text/plain', text: verificationText(result) },
        { file: 'reports/verify.json', type: 'application/json', text: json },
      ],
      said:
        keyed.length === 0 ? null : `Keyed here and in no ledger yet, so not compared: ${keyed.join(', ')}.`,
    };
  }
  const opened = withKeyed(await openFiles(source), keyed);
  if (asked.paper === 'reveal') {
    const bytes = source.bytes(PRACTICE_FILE, 'job');
    if (bytes === null || !isPractice(opened.job)) throw new InputError('This is no practice.');
    const practice = replay(parsePractice(utf8Text(bytes)));
    return { papers: [revealPaper(opened, practice, ORDINARY_COLUMNS)], said: null };
  }
  const logs = readLogs(source, opened.job);
  const prepared = prepare(opened);
  const at = { opened, logs, analysis: conclude(prepared, linesOf(prepared.lines)) };
  return papersOf(at, asked.paper, asked);
}

/** A sheet keyed here was put nowhere by hand: its readings count, and the report says where they are from. */
function withKeyed(opened: OpenedFiles, keyed: readonly string[]): OpenedFiles {
  const isKeyed = (file: string | undefined) => file !== undefined && keyed.includes(file);
  return {
    ...opened,
    files: opened.files.map((each) => (isKeyed(each.file) ? { ...each, note: KEYED } : each)),
    findings: opened.findings.filter(({ code, file }) => code !== 'file-not-in-ledger' || !isKeyed(file)),
  };
}

/** Loaded where it is asked for: nothing else needs the readers of pictures. */
async function photosOf({ opened }: AtHand, { full }: PapersAsked): Promise<ReportSection | null> {
  if (recordedPhotos(opened.ledger).length === 0) return null;
  const { photosOfJob } = await import('../../papers/photos/photos-of-job.ts');
  return photosOfJob(opened, { all: full, camera: false });
}

async function papersOf(at: AtHand, paper: Analysed, asked: PapersAsked): Promise<PapersMade> {
  const { generated, tool } = asked;
  const made = { generated, tool };
  const alone = (...papers: Paper[]): PapersMade => ({ papers, said: null });
  const inColumns = (text: (columns: number) => string): Pick<PapersMade, 'shown'> =>
    asked.columns < ORDINARY_COLUMNS ? { shown: text(asked.columns) } : {};
  switch (paper) {
    case 'daily':
    case 'final': {
      if (at.analysis.readings.length === 0) throw new InputError('No readings yet: key or add some first.');
      const final = paper === 'final';
      const wish = { ...made, final, full: asked.full, fraction: 16, plotly: null, past: [] } as const;
      const { fault, ...report } = reportPaper(at, {
        ...wish,
        photos: final ? await photosOf(at, asked) : null,
      });
      const said =
        fault === null ? null : `caution: ${fault} The report names every fault under “Heats and jacking”.`;
      return { papers: [report], said };
    }
    case 'card':
      return alone(cardPaper(at, made));
    case 'heats': {
      const { text, json } = heatsPapers(at, ORDINARY_COLUMNS);
      const { notRead } = at.logs.heats;
      const said =
        notRead.length === 0
          ? null
          : `note: columns of heats.csv that mean nothing here: ${notRead.join(', ')}`;
      return { papers: [text, json], said, ...inColumns((columns) => heatsPapers(at, columns).text.text) };
    }
    case 'plates': {
      const { text, json } = platesPapers(at, ORDINARY_COLUMNS);
      return { ...alone(text, json), ...inColumns((columns) => platesPapers(at, columns).text.text) };
    }
    case 'drawing':
      return alone(drawingPaper(at, made));
    case 'plan':
      return alone(planPaper(at, planAt(at, []), made));
    case 'export':
      return alone(...exportPapers(at));
    case 'status':
      return alone(statusPaper(at));
  }
}
