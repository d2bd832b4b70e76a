import type { Analysis, LineAnalysis, SurveyFit, Verdict, Zone } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import { inertText as inert } from '../inert-text.ts';
import type { JobUnits } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { wrapText } from '../wrap-text.ts';

/** How the text may look: `paint` adds colour where the terminal has it and is the identity elsewhere. */
export interface TextStyle {
  /** Columns to use; 80 when piped. */
  readonly columns: number;
  readonly paint: (role: 'good' | 'warn' | 'bad' | 'strong' | 'faint', text: string) => string;
}

/** The verdict words as a crew reads them aloud. */
const VERDICT_WORDS: Record<Verdict, string> = {
  'not-enough-readings': 'NOT ENOUGH READINGS YET',
  progressing: 'STILL MOVING: PROGRESSING',
  slow: 'STILL MOVING: SLOW',
  undecided: 'UNDECIDED: CANNOT TELL YET',
  stalled: 'STALLED',
  regressing: 'GOING THE WRONG WAY',
  'within-tolerance': 'WITHIN TOLERANCE',
  overcorrected: 'OVERCORRECTED',
};

/** The same in a column of the zone table. */
const ZONE_WORDS: Record<Verdict, string> = {
  'not-enough-readings': 'too few',
  progressing: 'progressing',
  slow: 'slow',
  undecided: 'undecided',
  stalled: 'stalled',
  regressing: 'wrong way',
  'within-tolerance': 'straight',
  overcorrected: 'overcorrected',
};

const VERDICT_ROLE: Record<Verdict, 'good' | 'warn' | 'bad' | 'strong'> = {
  'not-enough-readings': 'warn',
  progressing: 'good',
  slow: 'warn',
  undecided: 'warn',
  stalled: 'bad',
  regressing: 'bad',
  'within-tolerance': 'good',
  overcorrected: 'bad',
};

/** Common practice, no source; the report has the list in full. */
const STALL_CHECKS =
  'Before a stall is believed, common practice is to check that the heat was reached, where the vees stood, and jacks and restraint, and to go on for some cycles while residual stress works out. The engineer decides.';

/** Expanded uncertainty shown beside a value: two standard uncertainties, about 95 % (JCGM 100:2008, 6.2). */
const COVERAGE = 2;

/**
 * One screen a crew can read at arm's length: verdict in words, largest deviation and its station,
 * tolerance, movement of the last cycle, cycles left, a line per zone, findings that matter.
 * Plain text first; colour is only an extra.
 */
export function statusText(analysis: Analysis, style: TextStyle): string {
  const width = Math.max(40, Math.min(style.columns, 100));
  const out: string[] = [];
  const last = latestSurvey(analysis.lines);
  const when =
    last === null
      ? analysis.readings.length === 0
        ? 'no readings yet'
        : 'no jacks-off reading yet'
      : `cycle ${last.cycle}${last.date === null ? '' : `, ${last.date}`}`;
  out.push(spread(inert(analysis.job.name), when, width));
  out.push('='.repeat(width));
  out.push(style.paint(VERDICT_ROLE[analysis.member.verdict], VERDICT_WORDS[analysis.member.verdict]));
  out.push(...wrapText(inert(analysis.member.reason), width, ''));
  if (analysis.lines.some((item) => item.progress.verdict === 'stalled'))
    out.push(...wrapText(STALL_CHECKS, width, ''));
  for (const line of analysis.lines) out.push('', ...lineText(analysis, line, width, style));
  out.push(...findingsText(analysis.findings, width, style));
  out.push(
    '',
    ...wrapText(
      '± is about 95 %. Measurements and estimates only: the owner’s specification, local codes and a licensed engineer decide.',
      width,
      '',
    ),
  );
  return out.join('\n') + '\n';
}

function lineText(analysis: Analysis, item: LineAnalysis, width: number, style: TextStyle): string[] {
  const { line, fit, progress, acceptance, movements } = item;
  const units = analysis.job.units;
  const offset = (metres: number, sign: 'negative' | 'always' = 'negative') =>
    formatLength(metres, { units, as: 'offset', sign });
  const spread95 = (u: number) => formatUncertainty(COVERAGE * u, units);
  const station = (metres: number) => formatLength(metres, { units, as: 'station' });
  const out: string[] = [];
  const head = `${inert(line.name)} (${line.kind}, + ${inert(line.positive)})`;
  out.push(...wrapText(head, width, '').map((text) => style.paint('strong', text)));
  if (analysis.lines.length > 1) {
    out.push(`  ${style.paint(VERDICT_ROLE[progress.verdict], VERDICT_WORDS[progress.verdict])}`);
    if (line.name !== analysis.member.line) out.push(...wrapText(inert(progress.reason), width, '  '));
  }
  const now = fit.surveys.filter((survey) => survey.state === 'released').at(-1);
  if (now === undefined) {
    out.push('  No released reading yet.');
    return out;
  }
  const row = (label: string, value: string) =>
    out.push(...wrapText(`${label.padEnd(20)}${value}`, width, '  ', 20));
  const { largest } = now;
  const asFound = fit.surveys.find((survey) => survey.state === 'released')!;
  row(
    'Largest now',
    `${offset(largest.deviation, 'always')} ± ${spread95(largest.u)} at ${station(largest.station)}${shapeText(item, now, offset)}` +
      (now.cycle === fit.surveys[0]?.cycle
        ? ''
        : `, was ${offset(asFound.largest.deviation, 'always')} ${asFound.cycle === 0 ? 'as found' : `in cycle ${asFound.cycle}`}`),
  );
  for (const result of acceptance) {
    const measured =
      result.measured === null
        ? inert(result.reason)
        : `${result.result}, ${offset(result.measured)} ± ${spread95(result.u ?? 0)}`;
    const label = inert(result.rule.label);
    const limit = offset(result.limit);
    row('Tolerance', `${measured}: ${label.includes(limit) ? label : `${label}, ${limit}`}`);
  }
  if (acceptance.length === 0) row('Tolerance', 'none set in job.json');
  const moved = movements.at(-1);
  if (moved !== undefined) {
    const { movement, u } = moved.largest;
    const cycles = `cycle ${moved.fromCycle} to ${moved.toCycle}`;
    const moved32 = formatLength(Math.abs(movement), { units, as: 'offset', fraction: 32 });
    const size = `${moved32} ± ${spread95(u)}`;
    const words = movement <= 0 ? 'closer' : 'further out';
    row(
      'Last cycle moved it',
      Math.abs(movement) < COVERAGE * u
        ? `${size}${moved32.startsWith('0 ') ? '' : ` ${words}`}, which is within reading error (${cycles})`
        : `${size} ${words} (${cycles})`,
    );
  }
  if (progress.cyclesLeft !== null && progress.verdict !== 'within-tolerance') {
    const { low, expected, high } = progress.cyclesLeft;
    const range =
      high === null
        ? `${round(low)} or more, it may never get there`
        : round(high) === round(low)
          ? round(low)
          : `${round(low)} to ${round(high)}`;
    const chance =
      progress.probabilityWithin === null
        ? ''
        : `; chance of ever getting there ${chanceText(progress.probabilityWithin)}`;
    row(
      'Cycles left (80 %)',
      high !== null && round(high) === '0'
        ? 'none by the estimate, which is inside the limits; the readings do not show it yet'
        : `${range}; likely ${round(expected)}${chance}`,
    );
  }
  if (fit.zones.length > 0) out.push(...zoneTable(item, now, units));
  return out;
}

/** The fitted shape's own largest where it reads differently: verdict, trend and acceptance lean on that one. */
function shapeText(item: LineAnalysis, now: SurveyFit, offset: (metres: number) => string): string {
  const trend = item.progress.series.at(-1);
  const shaped = now.stations.some((station) => station.fitted !== null);
  if (!shaped || trend === undefined || trend.cycle !== now.cycle) return '';
  const text = offset(trend.value);
  return text === offset(Math.abs(now.largest.deviation)) ? '' : ` (shape through all readings: ${text})`;
}

/** One line a zone, within 80 columns: edges to the inch or centimetre, which is finer than they are known. */
function zoneTable(item: LineAnalysis, now: SurveyFit, units: JobUnits): string[] {
  const edge = (metres: number) =>
    units === 'us'
      ? formatLength(Math.round(metres / INCH) * INCH, { units, as: 'station' })
      : formatLength(metres, { units, as: 'station', digits: 2 });
  const header = ['Zone', 'From', 'To', 'Bend, mrad', 'As found', 'Strain ratio', 'Verdict'];
  const table = [header, ...item.fit.zones.map((zone) => zoneRow(zone, item, now, edge))];
  const widths = header.map((_, column) => Math.max(...table.map((cells) => cells[column]!.length)));
  return table.map((cells) =>
    `  ${cells.map((cell, column) => cell.padEnd(widths[column]!)).join('  ')}`.trimEnd(),
  );
}

function zoneRow(zone: Zone, item: LineAnalysis, now: SurveyFit, edge: (metres: number) => string): string[] {
  const current = now.zones.find((entry) => entry.zone === zone.zone);
  const progress = item.progress.zones.find((entry) => entry.zone === zone.zone);
  const mrad = (value: number) => (1000 * value).toFixed(1);
  const { peak, peakU, lowerBound } = zone.strainRatio;
  return [
    zone.class === 'plastic' ? zone.zone : `${zone.zone} elastic`,
    edge(zone.from),
    edge(zone.to),
    current === undefined ? 'not read' : `${mrad(current.rotation)} ± ${mrad(COVERAGE * current.u)}`,
    mrad(zone.rotation),
    lowerBound ? `over ${peak.toFixed(0)}` : `${peak.toFixed(0)} ± ${(COVERAGE * peakU).toFixed(0)}`,
    progress === undefined ? '' : ZONE_WORDS[progress.verdict],
  ];
}

/** Stops and cautions in full; notes as a count, since the report lists them. */
function findingsText(findings: readonly Finding[], width: number, style: TextStyle): string[] {
  const out: string[] = [];
  const shown = findings.filter((finding) => finding.severity !== 'note');
  const notes = findings.length - shown.length;
  if (findings.length === 0) return out;
  out.push('');
  for (const finding of shown) {
    const where =
      finding.file === undefined
        ? ''
        : ` [${inert(finding.file)}${finding.row === undefined ? '' : `:${finding.row}`}]`;
    const lines = wrapText(
      `${finding.severity.toUpperCase()}: ${inert(finding.message)}${where}`,
      width,
      '  ',
      2,
    );
    out.push(...lines.map((text) => style.paint(finding.severity === 'stop' ? 'bad' : 'warn', text)));
  }
  if (notes > 0)
    out.push(
      style.paint(
        'faint',
        `  ${notes} ${notes === 1 ? 'note' : 'notes'} more: see the report, or status --json`,
      ),
    );
  return out;
}

function latestSurvey(lines: readonly LineAnalysis[]): SurveyFit | null {
  const surveys = lines.flatMap((item) => item.fit.surveys.filter((survey) => survey.state === 'released'));
  return surveys.reduce<SurveyFit | null>(
    (last, survey) => (last === null || survey.cycle >= last.cycle ? survey : last),
    null,
  );
}

function chanceText(probability: number): string {
  if (probability > 0.99) return 'over 99 %';
  if (probability < 0.01) return 'under 1 %';
  return `${Math.round(100 * probability)} %`;
}

function round(cycles: number): string {
  return String(Math.ceil(cycles - 1e-9));
}

/** Left and right on one line where they fit, else on two. */
function spread(left: string, right: string, width: number): string {
  const gap = width - left.length - right.length;
  return gap >= 2 ? left + ' '.repeat(gap) + right : `${left}\n${right}`;
}
