import { judgeAcceptance, unmeasuredRules } from './acceptance/acceptance.ts';
import { acceptanceFindings, presetFindings } from './acceptance/findings.ts';
import type { Analysis, LineAnalysis } from './analysis.ts';
import { decide } from './decision/decision.ts';
import { memberVerdict } from './decision/member-verdict.ts';
import { leaveOutCopies } from './doubts/copies.ts';
import type { Finding } from './finding.ts';
import type { Job, Line } from './job/job.ts';
import { progressFindings } from './progress/findings.ts';
import { judgeProgress } from './progress/progress.ts';
import { assembleSurveys } from './survey/assemble.ts';
import { explainSetAside } from './survey/explain-set-aside.ts';
import { judgedSurveys } from './survey/judged.ts';
import { movements, springback, springbackFindings } from './survey/movement.ts';
import { pooledReadingSd } from './survey/reading-sd.ts';
import type { Declaration, Mark, Reading } from './survey/survey.ts';
import { fitLine } from './zones/fit-line.ts';

const SEVERITIES: readonly Finding['severity'][] = ['stop', 'caution', 'note'];

/**
 * The whole pipeline, pure: readings of a job in, every answer out.
 *
 * @param readings every usable reading of the job, any order; readings of lines the job does not have are refused at import
 * @param marks decisions by hand about single readings, oldest first
 * @param declarations what was said of sheets that read like others, oldest first (`leaveOutCopies`)
 * @param findings what reading the job already noticed (files, ledger, rows set aside); passed through
 * @returns plain data in SI; findings sorted stop, caution, note, otherwise in the order they arose
 */
export function analyse(
  job: Job,
  readings: readonly Reading[],
  marks: readonly Mark[] = [],
  findings: readonly Finding[] = [],
  declarations: readonly Declaration[] = [],
): Analysis {
  const counted = leaveOutCopies(readings, declarations);
  const lines = job.lines.map((line) => analyseLine(job, line, counted.readings, marks));
  const unmeasured = unmeasuredRules(job.acceptance);
  const all = [
    ...findings,
    ...counted.findings,
    ...lines.flatMap((item) =>
      [
        ...item.fit.findings,
        ...withoutAsFound(item),
        ...springbackFindings(item.line, item.fit, job.units),
        ...progressFindings(item.line, item.progress),
        ...acceptanceFindings(item.line, job.member, item.fit, item.acceptance, job.units),
      ].map((finding) => (lines.length > 1 ? namingItsLine(finding, item.line.name) : finding)),
    ),
    ...presetFindings(job),
    ...unmeasured.map(
      (result): Finding => ({
        severity: 'caution',
        code: 'rule-without-readings',
        message: `${result.rule.label}: ${result.reason} (${result.rule.source}).`,
      }),
    ),
  ];
  return {
    job,
    member: memberVerdict(lines, unmeasured),
    lines,
    unmeasured,
    decision: decide(job, lines, unmeasured),
    findings: SEVERITIES.flatMap((severity) => all.filter((finding) => finding.severity === severity)),
    readings,
  };
}

/** What opening a job gives, from a folder or on the readings page. */
export interface OpenedReadings {
  readonly job: Job;
  readonly readings: readonly Reading[];
  readonly marks: readonly Mark[];
  readonly findings: readonly Finding[];
  readonly declarations: readonly Declaration[];
}

/** The pipeline on an opened job. */
export function analyseOpened({ job, readings, marks, findings, declarations }: OpenedReadings): Analysis {
  return analyse(job, readings, marks, findings, declarations);
}

/** Reports compare with the first judged survey; where that is not cycle 0, "as found" needs a word. */
function withoutAsFound({ line, fit }: LineAnalysis): Finding[] {
  const [first] = judgedSurveys(fit);
  if (first === undefined || first.cycle === 0) return [];
  return [
    {
      severity: 'note',
      code: 'no-as-found-survey',
      message: `${line.name} was first read with the jacks off and the steel cooled in cycle ${first.cycle}: that survey stands for as-found.`,
      line: line.name,
      cycle: first.cycle,
    },
  ];
}

/** Zones are lettered and cycles numbered line by line: in a job of several lines a message must say which. */
function namingItsLine(finding: Finding, line: string): Finding {
  return finding.message.includes(line) ? finding : { ...finding, message: `${line}: ${finding.message}` };
}

function analyseLine(
  job: Job,
  line: Line,
  readings: readonly Reading[],
  marks: readonly Mark[],
): LineAnalysis {
  const surveys = assembleSurveys(readings, line);
  const readingSd = pooledReadingSd(surveys, line, job.units);
  const fitted = fitLine(line, job.member, surveys, marks, readingSd, job.units);
  const fit = explainSetAside(fitted, surveys, job.units);
  const progress = judgeProgress(line, job.member, fit, job.usefulGain, job.acceptance, job.units);
  return {
    line,
    fit: { ...fit, surveys: fit.surveys.map(({ shape: _shape, ...survey }) => survey) },
    movements: movements(line, fit, progress.series),
    springback: springback(line, fit),
    progress,
    acceptance: judgeAcceptance(line, job.member, fit, job.acceptance, job.units),
  };
}
