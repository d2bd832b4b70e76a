import type { Analysis } from '../analysis.ts';
import { currencyDigits } from '../costs/money.ts';
import { sumCosts } from '../costs/sums.ts';
import { csvText } from '../export/csv-text.ts';
import { exportDocument, exportTables } from '../export/tables.ts';
import { REPORTS_FOLDER } from '../folder/names.ts';
import type { OpenedFiles } from '../folder/open-files.ts';
import { withHeats } from '../heats/beside-heats.ts';
import { heatsDocument } from '../heats/heats-document.ts';
import { type HeatsOfJob, heatsOfJob } from '../heats/heats-of-job.ts';
import { heatsText } from '../heats/heats-text.ts';
import { InputError } from '../input-error.ts';
import type { PastRecord } from '../past/record.ts';
import { type Plan, planJob } from '../plan/plan.ts';
import { coverPlatesOf } from '../plates/cover-plate.ts';
import { platesDocument } from '../plates/plates-document.ts';
import { platesOfJob } from '../plates/plates-of-job.ts';
import { platesText } from '../plates/plates-text.ts';
import type { BulgeDocument } from '../report/bulge-document.ts';
import { bulgeSection } from '../report/bulge-section.ts';
import type { ReportSection } from '../report/context.ts';
import { renderCoverSheet } from '../report/cover-plate-sheet.ts';
import { renderCrewCard } from '../report/crew-card.ts';
import { renderDaily } from '../report/daily.ts';
import { renderFinal } from '../report/final.ts';
import { newestCycle } from '../report/picks.ts';
import { renderPlanSheet } from '../report/plan-sheet.ts';
import { type Fraction, quantities } from '../report/quantities.ts';
import { statusDocument } from '../status/status-document.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { besideHeatLog, heldBy, type Logs } from './logs.ts';
import { readPanels } from './panels.ts';
import { plannedAgainst } from './planned-against.ts';
import { reportContext } from './report-context.ts';
import { claimOf, reportExtras } from './report-extras.ts';
import { scanSection } from './scan-views.ts';

/** A job read, analysed, and its logs beside it: what every paper is made of. */
export interface AtHand {
  readonly opened: OpenedFiles;
  readonly logs: Logs;
  readonly analysis: Analysis;
}

/** A document as it is written: the same text from the command line and from the page. */
export interface Paper {
  /** Job-relative name it has in the job folder. */
  readonly file: string;
  readonly type: 'text/html' | 'text/csv' | 'text/plain' | 'application/json';
  readonly text: string;
}

export interface MadeBy {
  /** ISO date the paper is made, where it is made. */
  readonly generated: string;
  /** Program and version. */
  readonly tool: string;
}

export interface ReportWish extends MadeBy {
  readonly final: boolean;
  readonly fraction: Fraction;
  /** Everything behind the summary too. */
  readonly full: boolean;
  /** Undefined: by the units of the job. */
  readonly paper?: 'A4' | 'letter' | undefined;
  /** Text of the plotting library; null: no interactive layer. */
  readonly plotly: string | null;
  /** Finished jobs to plan with. */
  readonly past: readonly PastRecord[];
  /** The photographs of a final report; null: none. */
  readonly photos: ReportSection | null;
}

/**
 * The daily sheet or the final report.
 *
 * @returns with why the heat log could not be used; null where it could
 * @throws InputError when a map of a panel cannot be used
 */
export function reportPaper(
  { opened, logs, analysis }: AtHand,
  wish: ReportWish,
): Paper & { readonly fault: string | null } {
  const { final, full, fraction, paper } = wish;
  const { job } = opened;
  const extras = reportExtras(logs, analysis, fraction);
  // A scan that is read as a survey of a panel of the job is drawn with that panel's other cycles.
  const surveyed = ({ cycle, map }: BulgeDocument) =>
    analysis.lines.some(
      ({ line, fit }) =>
        line.panel !== undefined &&
        line.name === map.panel.name &&
        fit.surveys.some((survey) => survey.cycle === cycle),
    );
  const maps = readPanels(opened.source).filter((each) => !surveyed(each));
  const scans = scanSection(opened, quantities(job.units, fraction, job.locale), final);
  const panels = bulgeSection(maps, quantities(job.units, fraction, job.locale), job.member);
  const claim = final ? claimOf(logs, analysis) : null;
  const planned = claim === null ? null : plannedAgainst(opened, analysis, claim, wish.past);
  const base = reportContext(opened, wish);
  const context = {
    ...base,
    full,
    ...(paper === undefined ? {} : { paper }),
    ...(extras.heats === null ? {} : { heats: extras.heats }),
    ...(extras.faults === null ? {} : { heatsFault: extras.faults }),
    panels: maps,
    besideDays: besideLog(analysis, logs).days,
    ...(claim === null ? {} : { claim }),
    files: [...base.files, ...extras.files],
    sections: [
      ...(base.sections ?? []),
      ...extras.sections,
      ...[planned, scans, panels, wish.photos].flatMap((each) => each ?? []),
    ],
  };
  const name = final ? 'final' : `daily-cycle-${String(newestCycle(analysis)).padStart(2, '0')}`;
  return {
    file: `${REPORTS_FOLDER}/${name}.html`,
    type: 'text/html',
    text: (final ? renderFinal : renderDaily)(extras.analysis, context),
    fault: extras.fault,
  };
}

/** An analysis beside the heat log of its job: its stops among the findings, and what it says of days that stood still. */
export function besideLog(
  analysis: Analysis,
  { heats }: Pick<Logs, 'heats'>,
): { readonly analysis: Analysis; readonly days: readonly string[] } {
  const beside = besideHeatLog(analysis, heats);
  return { analysis: withHeats(analysis, beside), days: beside.days };
}

/** The status document beside the heat log. */
export function statusPaper({ analysis, logs }: AtHand): Paper {
  const document = statusDocument(besideLog(analysis, logs).analysis);
  return { file: `${REPORTS_FOLDER}/status.json`, type: 'application/json', text: jsonText(document) };
}

/** The crew card. @throws InputError with every fault of the heat log */
export function cardPaper(at: AtHand, made: MadeBy): Paper {
  const { analysis } = at;
  const judged = analysis.lines.flatMap((line) => judgedSurveys(line.fit));
  const text = renderCrewCard(analysis.job, heatsAt(at), {
    ...made,
    lines: analysis.lines,
    within: analysis.lines.filter((l) => l.progress.verdict === 'within-tolerance').map((l) => l.line.name),
    cycle: judged.length === 0 ? null : Math.max(...judged.map((s) => s.cycle)),
  });
  return { file: `${REPORTS_FOLDER}/crew-card.html`, type: 'text/html', text };
}

/** What heats come to, as text for people and as a document. @throws InputError with every fault of the heat log */
export function heatsPapers(at: AtHand, columns: number): { readonly text: Paper; readonly json: Paper } {
  const heats = heatsAt(at);
  const { job } = at.opened;
  return bothOf('heats', heatsText(job, heats, columns), heatsDocument(job, heats));
}

/** Gaps and fillers under the plates, as text for people and as a document. */
export function platesPapers({ opened, analysis }: AtHand, columns: number) {
  const fits = platesOfJob(analysis);
  const covers = coverPlatesOf(opened.job, analysis.lines);
  return bothOf(
    'plates',
    platesText(opened.job, fits, columns, covers),
    platesDocument(opened.job, fits, covers),
  );
}

/** Drawings of the openings of panels and their plates, to lay out and drill. @throws InputError when no panel has an opening */
export function drawingPaper({ opened, analysis }: Pick<AtHand, 'opened' | 'analysis'>, made: MadeBy): Paper {
  const covers = coverPlatesOf(opened.job, analysis.lines);
  if (covers.length === 0)
    throw new InputError('No drawing can be made: no panel has an opening.', [
      {
        file: 'job.json',
        column: 'panels',
        found: 'no "cutOut" in any panel',
        expected: 'a panel with "cutOut" (sweepbook plates --help shows one)',
      },
    ]);
  const text = renderCoverSheet(opened.job, covers, made);
  return { file: `${REPORTS_FOLDER}/plate-drawing.html`, type: 'text/html', text };
}

/**
 * The plan of the work ahead.
 *
 * @param past finished jobs to plan with
 * @throws InputError with every fault of a log, or where there is nothing to plan with
 */
export function planAt(at: AtHand, past: readonly PastRecord[]): Plan {
  const { analysis, logs } = at;
  const costs = sumCosts(heldBy(logs.costs), heldBy(logs.heats), analysis.job.currency);
  const { plan, reason, needed } = planJob({
    analysis,
    heats: heatsAt(at),
    past,
    daysDone: Object.fromEntries(costs.days.byWork.map(({ work, dates }) => [work, dates.length])),
    lastDay:
      costs.days.byWork
        .flatMap(({ dates }) => dates)
        .sort()
        .at(-1) ?? null,
    // Gas of the heat log alone is not what a day costs.
    ...(costs.byKind.some((kind) => kind.of === 'labour')
      ? {
          spent: {
            money: costs.total / 10 ** currencyDigits(costs.currency),
            days: costs.days.all.length,
          },
        }
      : {}),
  });
  if (plan !== null) return plan;
  throw new InputError('There is nothing to plan with.', [
    {
      file: 'job.json',
      found: reason,
      expected: needed,
    },
  ]);
}

/** The plan on one page for the front office. */
export function planPaper(at: AtHand, plan: Plan, made: MadeBy): Paper {
  const text = renderPlanSheet(at.opened.job, plan, made);
  return { file: `${REPORTS_FOLDER}/plan.html`, type: 'text/html', text };
}

/** Tidy tables, one CSV each, and all of them as one document. */
export function exportPapers({ analysis }: Pick<AtHand, 'analysis'>): Paper[] {
  const into = `${REPORTS_FOLDER}/export`;
  return [
    ...exportTables(analysis).map((table): Paper => {
      return { file: `${into}/${table.name}.csv`, type: 'text/csv', text: csvText(table) };
    }),
    { file: `${into}/export.json`, type: 'application/json', text: jsonText(exportDocument(analysis)) },
  ];
}

/** What the heats of a job come to. @throws InputError with every fault of the heat log */
export function heatsAt({ analysis, logs }: Pick<AtHand, 'analysis' | 'logs'>): HeatsOfJob {
  return heatsOfJob(analysis, heldBy(logs.heats));
}

/** A document as every command prints it. */
export function jsonText(document: unknown): string {
  return `${JSON.stringify(document, null, 2)}\n`;
}

function bothOf(
  name: string,
  text: string,
  document: unknown,
): { readonly text: Paper; readonly json: Paper } {
  const file = `${REPORTS_FOLDER}/${name}`;
  return {
    text: { file: `${file}.txt`, type: 'text/plain', text },
    json: { file: `${file}.json`, type: 'application/json', text: jsonText(document) },
  };
}
