import {
  type AcceptanceResult,
  type Analysis,
  type LineAnalysis,
  PROVEN_STRAIN_RATIO,
  type SurveyFit,
  type Verdict,
  type Zone,
} from '../analysis.ts';
import { decidingRule, largestOfShape, lineToday } from '../decision/line-today.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { verdictWords, zoneVerdict } from '../decision/verdict-words.ts';
import type { Finding } from '../finding.ts';
import { inertText as inert } from '../inert-text.ts';
import type { JobUnits, Member } from '../job/job.ts';
import { EXPECTED, levelText, MEASURED } from '../maths/coverage-level.ts';
import { crestPerRadian } from '../survey/crest.ts';
import { edgesKnown } from '../survey/edges-known.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { INCH } from '../units/factors.ts';
import { formatLength, formatPlace, formatUncertainty } from '../units/format-length.ts';
import { formatAngle, formatDoubted } from '../units/format-quantity.ts';
import { alignColumns, wrapText } from '../wrap-text.ts';
import {
  bendAsFound,
  guardWords,
  headline,
  limitWords,
  looksAhead,
  movedLabel,
  movedWord,
  noZonesWords,
  otherFindings,
  untold,
  withoutRepeats,
} from './crew-words.ts';
import { bulgeText, panelLimit, pastText, takenOffText } from './panel-words.ts';

/** How the text may look: `paint` adds colour where the terminal has it and is the identity elsewhere. */
export interface TextStyle {
  /** Columns to use; 80 when piped. */
  readonly columns: number;
  readonly paint: (role: 'good' | 'warn' | 'bad' | 'strong' | 'faint', text: string) => string;
}

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

/** Width of the labels of a line's rows. */
const LABEL = 26;

/**
 * One screen a crew can read at arm's length: verdict in words, where the line that decides stands, what to do next;
 * then for each line largest deviation and its station, limits, movement of the last cycle, cycles left, a row a zone;
 * then findings that matter. Plain text first; colour is only an extra.
 *
 * @param besideDays what the heat log says of days on which nothing moved, one sentence each
 */
export function statusText(analysis: Analysis, style: TextStyle, besideDays: readonly string[] = []): string {
  const width = Math.max(40, Math.min(style.columns, 100));
  const out: string[] = [];
  out.push(spread(inert(analysis.job.name), whenText(analysis), width));
  out.push('='.repeat(width));
  // Evidence that is doubtful comes before what it says.
  const stops = analysis.findings.filter((finding) => finding.severity === 'stop');
  if (stops.length > 0) out.push(...findingsText(stops, width, style).slice(1), '');
  out.push(style.paint(VERDICT_ROLE[analysis.member.verdict], verdictWords(analysis.member).toUpperCase()));
  const head = headline(analysis);
  out.push(...wrapText(inert(head.sentences.join(' ')), width, ''));
  out.push(...wrapText(`NEXT  ${inert(head.next)}`, width, '', 6).map((text) => style.paint('strong', text)));
  const byHand = analysis.findings.filter((finding) => finding.code === 'file-not-in-ledger');
  for (const { message } of byHand) out.push(...wrapText(inert(message), width, ''));
  for (const sentence of besideDays) out.push(...wrapText(inert(sentence), width, ''));
  for (const item of linesThatDecide(analysis.lines)) out.push('', ...lineText(analysis, item, width, style));
  out.push(
    ...findingsText(
      otherFindings(analysis).filter((finding) => finding.severity !== 'stop'),
      width,
      style,
    ),
  );
  const zones = analysis.lines.some(({ fit }) => fit.zones.length > 0 && judgedSurveys(fit).length > 0);
  out.push(
    '',
    ...wrapText(
      `${zones ? `${WORTH_NOTE} ` : ''}± is about ${levelText(MEASURED)}. Measurements and estimates only: the owner’s specification, local codes and a licensed engineer decide.`,
      width,
      '',
    ),
  );
  return out.join('\n') + '\n';
}

/** Under all lines, so that it stands once. */
const WORTH_NOTE =
  '“Worth”: how far the steel would move if that bend alone were taken out, its bearings held; not where it stands.';

/** The last judged survey of any line. */
function whenText(analysis: Analysis): string {
  if (analysis.readings.length === 0) return 'no readings yet';
  const judged = analysis.lines.flatMap((item) => judgedSurveys(item.fit));
  const last = judged.reduce<SurveyFit | null>(
    (latest, survey) => (latest === null || survey.cycle >= latest.cycle ? survey : latest),
    null,
  );
  if (last === null) return 'nothing read cold with the jacks off';
  return `cycle ${last.cycle}${last.date === null ? '' : `, ${last.date}`}`;
}

function lineText(analysis: Analysis, item: LineAnalysis, width: number, style: TextStyle): string[] {
  const { line, fit, progress, acceptance } = item;
  const units = analysis.job.units;
  const offset = (metres: number, sign: 'negative' | 'always' = 'negative') =>
    formatLength(metres, { units, as: 'offset', sign });
  const doubt = (u: number) => formatUncertainty(MEASURED.factor * u, units);
  const station = (metres: number) => formatLength(metres, { units, as: 'station' });
  const out: string[] = [];
  const head = `${inert(line.name)} (${line.kind}, + ${inert(line.positive)})`;
  out.push(...wrapText(head, width, '').map((text) => style.paint('strong', text)));
  if (analysis.lines.length > 1)
    out.push(`  ${style.paint(VERDICT_ROLE[progress.verdict], verdictWords(progress).toUpperCase())}`);
  const row = (label: string, value: string) =>
    out.push(...wrapText(`${label.padEnd(LABEL)}${inert(value)}`, width, '  ', LABEL));
  const leads = linesThatDecide(analysis.lines)[0] === item;
  const today = lineToday(item);
  const { asFound, now, moved } = today;
  const missing = untold(item, today, units);
  if (now === null) row('Largest now', 'nothing read with the jacks off and the steel cooled yet');
  else if (missing !== null) row('Largest now', leads ? 'cannot be told yet' : `cannot be told: ${missing}`);
  else {
    const { largest } = now;
    row(
      'Largest now',
      `${now.panel?.crest.lowerBound === true ? 'at least ' : ''}${offset(largest.deviation, 'always')} ± ${doubt(largest.u)} at ${formatPlace(largest, units)}${shapeText(item, now, offset)}` +
        (now === asFound
          ? ''
          : `, was ${offset(asFound!.largest.deviation, 'always')} ${asFound!.cycle === 0 ? 'as found' : `in cycle ${asFound!.cycle}`}`) +
        (largest.leftOut === undefined
          ? ''
          : `; not counting a reading left out, ${offset(largest.leftOut.deviation, 'always')} at ${station(largest.leftOut.station)}`),
    );
  }
  if (now?.panel !== undefined) {
    const past = pastText(now.panel, panelLimit(acceptance), units);
    row('Bulge', [past, bulgeText(now.panel, units)].filter((text) => text !== '').join('; '));
    row('Taken off', takenOffText(now.panel, units));
  }
  for (const result of limitsInOrder(acceptance)) {
    row(
      'Limit',
      result.measured === null
        ? `${limitWords(result, units)}: not measured${result.reason === missing || now === null ? '' : `, ${result.reason}`}`
        : `${limitWords(result, units)}: ${result.result}, ${result.atLeast === true ? 'at least ' : ''}${offset(result.measured)} ± ${doubt(result.u ?? 0)}${guardWords(result, units)}${result.rule.decision === 'simple' ? ' (simple acceptance)' : ''}${result.sinceAsFound === undefined ? '' : `; changed ${offset(result.sinceAsFound.change, 'always')} there since as found`}`,
    );
  }
  if (acceptance.length === 0) row('Limit', 'none set in job.json');
  if (moved !== null) {
    const { movement, u } = moved.largest;
    const size = formatLength(Math.abs(movement), { units, as: 'offset', fraction: 32 });
    row(movedLabel(moved), `${size} ± ${doubt(u)}, ${movedWord(moved.largest)}`);
  }
  if (missing === null && progress.cyclesLeft !== null && looksAhead(progress.verdict))
    row(`Cycles left (${levelText(EXPECTED)})`, cyclesLeftText(progress));
  // Of a line inside its limits the rows above say it all.
  if (now !== null && missing === null && progress.verdict !== 'within-tolerance')
    row('Why', progress.reason);
  if (fit.zones.length > 0 && now !== null)
    out.push(...zoneTable(item, analysis.job.member, asFound, missing === null ? now : null, units, width));
  const noZones = noZonesWords(item, analysis.job.member);
  if (noZones !== null) row('Zones', `${noZones}.`);
  return out;
}

/** The limit that decides first, the others as the job gives them. */
function limitsInOrder(results: readonly AcceptanceResult[]): AcceptanceResult[] {
  const first = decidingRule(results);
  return first === null ? [] : [first, ...results.filter((result) => result !== first)];
}

function cyclesLeftText({ cyclesLeft, probabilityWithin }: LineAnalysis['progress']): string {
  const { low, expected, high } = cyclesLeft!;
  if (high !== null && round(high) === '0')
    return 'none by the estimate, which is inside the limits; the readings do not show it yet';
  const range =
    high === null
      ? `${round(low)} or more, it may never get there`
      : round(high) === round(low)
        ? round(low)
        : `${round(low)} to ${round(high)}`;
  const chance =
    probabilityWithin === null ? '' : `; chance of ever getting there ${chanceText(probabilityWithin)}`;
  return `${range}; likely ${round(expected)}${chance}`;
}

/** Largest of the shape through all readings, where that reads differently: the limits are judged on it. */
function shapeText(item: LineAnalysis, now: SurveyFit, offset: (metres: number) => string): string {
  const shape = largestOfShape(item, now);
  if (shape === null || offset(shape) === offset(Math.abs(now.largest.deviation))) return '';
  return ` (shape through all readings: ${offset(shape)})`;
}

/** One line a zone, within 80 columns: edges to the inch or centimetre, which is finer than they are known. */
function zoneTable(
  item: LineAnalysis,
  member: Member,
  asFound: SurveyFit | null,
  now: SurveyFit | null,
  units: JobUnits,
  width: number,
): string[] {
  const edge = (metres: number) =>
    units === 'us'
      ? formatLength(Math.round(metres / INCH) * INCH, { units, as: 'station' })
      : formatLength(metres, { units, as: 'station', digits: 2 });
  const header = ['Zone', 'From', 'To', 'As found', 'Bend now', 'Worth', 'Word'];
  const rows = item.fit.zones.map((zone): string[] => {
    const found = bendAsFound(item, zone, asFound);
    const read = now?.zones.find((entry) => entry.zone === zone.zone);
    const current = now === asFound ? found : read;
    const progress = item.progress.zones.find((entry) => entry.zone === zone.zone);
    const crest = crestPerRadian(item.line, zone.core.centre, member);
    return [
      zone.class === 'plastic' ? zone.zone : `${zone.zone} elastic`,
      edge(zone.from),
      edge(zone.to),
      formatAngle(found.rotation),
      current === undefined
        ? now === null
          ? 'not told'
          : 'not read'
        : `${formatAngle(current.rotation)} ± ${formatAngle(MEASURED.factor * current.u)}`,
      current === undefined ? '' : formatLength(Math.abs(current.rotation) * crest, { units, as: 'offset' }),
      progress === undefined || now === null ? '' : zoneVerdict(progress.verdict),
    ];
  });
  const edges = Math.max(...item.fit.zones.map((zone) => edgesKnown(zone, asFound ?? now)));
  const strain = item.fit.zones.map((zone) => `${zone.zone} ${strainWords(zone)}`);
  return [
    ...alignColumns([header, ...rows]).map((row) => `  ${row}`),
    ...wrapText(
      `Edges to about ± ${formatLength(edges, { units, as: 'offset', fraction: 2, digits: 0 })}; strain ratio as found, where it is largest (bending strain over yield strain; up to ${PROVEN_STRAIN_RATIO} is proven): ${strain.join(', ')}.`,
      width,
      '  ',
    ),
  ];
}

/**
 * Strain ratio of a zone. What is called elastic is only not shown to have yielded, so its number never stands alone:
 * it may well be above 1.
 */
function strainWords({ class: kind, strainRatio: { peak, peakU, lowerBound } }: Zone): string {
  const number = lowerBound ? `over ${peak.toFixed(0)}` : formatDoubted(peak, MEASURED.factor * peakU);
  return kind === 'plastic' ? number : `elastic (not shown to be above 1: ${number}, if it is bent at all)`;
}

/** Stops and cautions in full; notes as a count, since the report lists them. */
function findingsText(findings: readonly Finding[], width: number, style: TextStyle): string[] {
  const out: string[] = [];
  const shown = findings.filter((finding) => finding.severity !== 'note');
  const notes = findings.length - shown.length;
  if (findings.length === 0) return out;
  out.push('');
  const messages = withoutRepeats(shown.map((finding) => finding.message));
  for (const [i, finding] of shown.entries()) {
    const where =
      finding.file === undefined
        ? ''
        : ` [${inert(finding.file)}${finding.row === undefined ? '' : `:${finding.row}`}]`;
    const lines = wrapText(
      `${finding.severity.toUpperCase()}: ${inert(messages[i]!)}${where}`,
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
