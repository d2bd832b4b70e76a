import { unmeasuredRules } from './acceptance/acceptance.ts';
import { acceptanceFindings, presetFindings } from './acceptance/findings.ts';
import type { LineInputs } from './analyse-line.ts';
import type { Analysis, LineAnalysis } from './analysis.ts';
import { decide } from './decision/decision.ts';
import { memberVerdict } from './decision/member-verdict.ts';
import { leaveOutCopies } from './doubts/copies.ts';
import { turnedSigns } from './doubts/turned-sign.ts';
import type { Finding } from './finding.ts';
import type { Job } from './job/job.ts';
import { isPractice, PRACTICE_NOTE } from './job/practice-mark.ts';
import { memberFindings } from './member/findings.ts';
import { progressFindings } from './progress/findings.ts';
import { markUntouched } from './progress/untouched.ts';
import { judgedSurveys } from './survey/judged.ts';
import { springbackFindings } from './survey/movement.ts';
import type { Declaration, Mark, Reading } from './survey/survey.ts';

const SEVERITIES: readonly Finding['severity'][] = ['stop', 'caution', 'note'];

/** What opening a job gives, from a folder or on the readings page. */
export interface OpenedReadings {
  readonly job: Job;
  /** Every usable reading, any order; readings of lines the job does not have are refused at import. */
  readonly readings: readonly Reading[];
  /** Decisions by hand about single readings, oldest first. */
  readonly marks: readonly Mark[];
  /** What reading the job already noticed (files, ledger, rows set aside); passed through. */
  readonly findings: readonly Finding[];
  /** What was said of sheets that read like others, oldest first (`leaveOutCopies`). */
  readonly declarations: readonly Declaration[];
}

/** A job ready to be analysed line by line. */
export interface Prepared {
  readonly opened: OpenedReadings;
  /** What is left to work out, in the order of the job's lines. */
  readonly lines: readonly LineInputs[];
  /** About readings left out as copies. */
  readonly findings: readonly Finding[];
}

/** The first step of the pipeline, cheap: which readings count, and what each line has of them. */
export function prepare(opened: OpenedReadings): Prepared {
  const { job } = opened;
  const counted = leaveOutCopies(opened.readings, opened.declarations);
  const byLine = new Map<string, Reading[]>(job.lines.map((line) => [line.name, []]));
  for (const reading of counted.readings) byLine.get(reading.line)?.push(reading);
  const { units, member, usefulGain, acceptance } = job;
  return {
    opened,
    findings: counted.findings,
    lines: job.lines.map((line) => {
      const readings = byLine.get(line.name)!;
      return {
        job: { units, member, usefulGain, acceptance },
        line,
        readings,
        marks: marksAbout(readings, opened.marks),
      };
    }),
  };
}

function marksAbout(readings: readonly Reading[], marks: readonly Mark[]): readonly Mark[] {
  if (marks.length === 0) return marks;
  const rows = new Set(readings.map(({ file, row }) => `${row} ${file}`));
  return marks.filter(({ file, row }) => rows.has(`${row} ${file}`));
}

/**
 * The last step, cheap: what the lines say together.
 *
 * @param judged one of each of the prepared lines, in their order (`analyseLine`)
 * @returns plain data in SI; findings sorted stop, caution, note, otherwise in the order they arose
 */
export function conclude(prepared: Prepared, judged: readonly LineAnalysis[]): Analysis {
  const lines = markUntouched(judged);
  const { job, readings, findings } = prepared.opened;
  const unmeasured = unmeasuredRules(job.acceptance);
  const all = [
    ...findings,
    ...practiceFindings(job, readings),
    ...prepared.findings,
    ...lines.flatMap((item) =>
      [
        ...item.fit.findings,
        ...turnedSigns(item.line, item.fit),
        ...withoutAsFound(item),
        ...springbackFindings(item.line, item.fit, job.units),
        ...progressFindings(item.line, item.progress),
        ...acceptanceFindings(item.line, job.member, item.fit, item.acceptance, job.units),
      ].map((finding) => (lines.length > 1 ? namingItsLine(finding, item.line.name) : finding)),
    ),
    ...memberFindings(lines, job),
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

/** Readings of a simulated girder in a job of real steel: nothing that rests on them may stand. */
function practiceFindings(job: Job, readings: readonly Reading[]): Finding[] {
  const first = isPractice(job) ? undefined : readings.find((reading) => reading.note === PRACTICE_NOTE);
  if (first === undefined) return [];
  return [
    {
      severity: 'stop',
      code: 'practice-readings',
      message: `${first.file} holds readings of a practice girder, which is simulated: take them out before anything is done by this job’s answers.`,
      file: first.file,
      row: first.row,
    },
  ];
}
