import type { AcceptanceResult, Analysis, LineAnalysis, Movement, SurveyFit, Zone } from '../analysis.ts';
import { type LineToday, lineToday, placeOfBend } from '../decision/line-today.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { nextStep } from '../decision/next-step.ts';
import { shortVerdict } from '../decision/verdict-words.ts';
import type { JobUnits, Member } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { hypot } from '../maths/portable.ts';
import { shortfallText } from '../survey/coverage.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { type QuietCycles, quietOf } from '../survey/movement.ts';
import {
  formatDecimal,
  formatLength,
  formatLimit,
  formatPlace,
  formatUncertainty,
} from '../units/format-length.ts';
import { formatTemperature } from '../units/format-quantity.ts';

/**
 * What the terminal, the sheets and the readings page say first, in a crew chief's words. The choice of line, survey,
 * limit and next step is made in `decision`; here it is only put into words, once.
 */
export interface Headline {
  /** The line that decides; null where the job has none. */
  readonly line: LineAnalysis | null;
  /** One sentence each: where the line stands, what it moved, what was read and not judged, the other lines. */
  readonly sentences: readonly string[];
  readonly next: string;
}

export function headline(analysis: Analysis): Headline {
  const { units } = analysis.job;
  const [line = null, ...others] = linesThatDecide(analysis.lines);
  const next = nextStep(analysis);
  if (line === null) return { line, sentences: [], next };
  const today = lineToday(line);
  const done = line.progress.verdict === 'within-tolerance' && analysis.unmeasured.length > 0;
  const sentences = [
    done
      ? `Every line read is inside its limits, but no readings answer: ${analysis.unmeasured.map((r) => r.rule.label).join('; ')}.`
      : standing(line, today, units),
    ...leftOutSentences(today, units),
    ...(today.moved === null ? [] : [movedSentence(today.moved, units)]),
    ...(today.lack === null ? paceSentences(line, units) : []),
    ...notJudgedSentences(line.line.name, today, units),
    ...(others.length === 0 ? [] : [`Other lines: ${others.map((o) => inShort(o, units)).join('; ')}.`]),
  ];
  return { line, sentences, next };
}

/** `bottom-flange is 2 1/16 in ± 0.07 in out at 23'-0", outside its limit of 1/2 in over the whole line.` */
export function standing(item: LineAnalysis, today: LineToday, units: JobUnits): string {
  const { name } = item.line;
  const { now, lack, limit } = today;
  if (now === null) return `${name} has no reading that can be judged yet (jacks off and steel cooled).`;
  if (lack !== null) {
    const before =
      today.told === null
        ? ''
        : `; by cycle ${today.told.cycle} it was ${offset(Math.abs(today.told.largest.deviation), units)}`;
    return `What ${name} is out by cannot be told from cycle ${now.cycle}${before}.`;
  }
  if (limit === null) {
    const { deviation, u } = now.largest;
    return `${name} is ${atLeast(now)}${offset(Math.abs(deviation), units)} ${plusMinus(u, units)} out at ${formatPlace(now.largest, units)}; no limit is set for it.`;
  }
  if (limit.measured === null) return `${name} is not measured against ${limitWords(limit, units)}.`;
  const size = `${limit.atLeast === true ? 'at least ' : ''}${offset(limit.measured, units)} ${plusMinus(limit.u ?? 0, units)}`;
  const at =
    limit.at === null
      ? ''
      : limit.at.height === undefined
        ? placeWords(placeOfBend(now, limit.at.station), limit.at.station, units)
        : ` at ${formatPlace(limit.at, units)}`;
  if (limit.result === 'undetermined' && limit.atLeast === true)
    return `${name} is ${size} out${at}, beside a hole or a part not read: whether it is inside its limit of ${limitWords(limit, units)} cannot be told.`;
  switch (limit.result) {
    case 'outside':
      return `${name} is ${size} ${item.progress.verdict === 'overcorrected' ? 'past straight, on the other side,' : 'out'}${at}, outside its limit of ${limitWords(limit, units)}.`;
    case 'undetermined':
      return `${name} is ${size} out${at}, too near its limit of ${limitWords(limit, units)} to tell.`;
    case 'within':
      return item.acceptance.length === 1
        ? `${name} is ${size} out${at}, inside its limit of ${limitWords(limit, units)}.`
        : `${name} is inside all its limits; the nearest has ${size}${at} of the ${limitWords(limit, units)} allowed.`;
  }
}

/** A hole beside the crest of a panel hides how far it goes. */
function atLeast(survey: SurveyFit): string {
  return survey.panel?.crest.lowerBound === true ? 'at least ' : '';
}

/** `1/2 in over the whole line`, `1/4 in over any 20'-0"`, `1/4 in where the blow struck`. */
export function limitWords(
  { rule, limit }: Pick<AcceptanceResult, 'rule' | 'limit'>,
  units: JobUnits,
): string {
  return `${formatLimit(limit, units)}${rule.edgesFromWeb === true ? ' at the edges from the web' : ''} ${extentWords(rule, units)}`;
}

export function extentWords({ over, panel }: AcceptanceResult['rule'], units: JobUnits): string {
  if (over.kind === 'whole-line') return `over the whole ${panel === true ? 'panel' : 'line'}`;
  return over.kind === 'chord' ? `over any ${place(over.length, units)}` : 'where the blow struck';
}

/**
 * What the guard band has to do with a result that it decides, or nearly: the number with its ± added (or taken off), to
 * the decimals that were compared. Empty where the number alone leaves no question.
 */
export function guardWords({ rule, limit, measured, u, result }: AcceptanceResult, units: JobUnits): string {
  if (measured === null || u === null || rule.decision === 'simple') return '';
  const say = (metres: number) => formatDecimal(metres, { units, as: 'offset' });
  const [low, high] = [Math.max(0, measured - MEASURED.factor * u), measured + MEASURED.factor * u];
  if (result === 'within')
    return high > CLOSE * limit ? `: with its ± at most ${say(high)}, still inside` : '';
  if (result === 'outside')
    return low * CLOSE < limit ? `: less its ± at least ${say(low)}, still outside` : '';
  return measured <= limit
    ? `: reads inside, but with its ± it may be ${say(high)}`
    : `: reads outside, but less its ± it may be ${say(low)}`;
}

/** Share of a limit from which on rounded fractions no longer show on which side a number with its ± lies. */
const CLOSE = 0.85;

/** `Moved in cycle 5`, or over the cycles a movement spans: `Moved, cycle 4 to 8`. */
export function movedLabel({ fromCycle, toCycle }: Pick<Movement, 'fromCycle' | 'toCycle'>): string {
  return `Moved ${spanWords({ fromCycle, toCycle })}`;
}

/** `in cycle 5`, or `from cycle 4 to 8` where cycles between were not read. */
export function spanWords({ fromCycle, toCycle }: Pick<Movement, 'fromCycle' | 'toCycle'>): string {
  return toCycle === fromCycle + 1 ? `in cycle ${toCycle}` : `from cycle ${fromCycle} to ${toCycle}`;
}

/** Below so many standard uncertainties a movement is said with a doubt: one day in twenty reads beyond two by chance. */
const HARDLY = 3;

/** What a movement is, beyond its number: nothing is called closing that reading error could have made. */
export function movedWord({ movement, u }: Movement['largest']): string {
  const times = Math.abs(movement) / u;
  if (times < MEASURED.factor) return 'within reading error';
  return `${movement < 0 ? 'closer' : 'further out'}${times < HARDLY ? ', if at all' : ''}`;
}

/** A number that a reading set aside would have made larger never stands without saying so. */
function leftOutSentences({ now, lack }: LineToday, units: JobUnits): string[] {
  const leftOut = lack === null ? now?.largest.leftOut : undefined;
  if (leftOut === undefined) return [];
  return [
    `A reading left out as doubtful stands further out, ${offset(Math.abs(leftOut.deviation), units)} at ${place(leftOut.station, units)}: read that station again.`,
  ];
}

function movedSentence(moved: Movement, units: JobUnits): string {
  const { movement, u } = moved.largest;
  const span = spanWords(moved);
  const size = `${formatLength(Math.abs(movement), { units, as: 'offset', fraction: 32 })} ${plusMinus(u, units)}`;
  const word = movedWord(moved.largest);
  const [way, doubt] = word.split(',');
  return word === 'within reading error'
    ? `What it moved ${span} is within reading error (${size})${elsewhereWords(moved, units)}.`
    : `It came ${size} ${way} ${span}${doubt === undefined ? '' : `,${doubt}`}.`;
}

/** `; near 42'-0" it came 1/2 in closer`: work that does not show where the line is furthest out. */
function elsewhereWords({ elsewhere }: Movement, units: JobUnits): string {
  if (elsewhere === undefined) return '';
  const size = formatLength(Math.abs(elsewhere.movement), { units, as: 'offset', fraction: 32 });
  return `; near ${place(elsewhere.station, units)} it came ${size} ${elsewhere.movement < 0 ? 'closer' : 'further out'}`;
}

/** The pace as a crew says it: `On days it moves, 1 1/8 in a cycle; it stood still on 1 of the last 7.` */
function paceSentences(item: LineAnalysis, units: JobUnits): string[] {
  const { verdict, pattern, untouched } = item.progress;
  if (pattern === null || verdict === 'within-tolerance' || verdict === 'overcorrected') return [];
  if (verdict === 'regressing') return [];
  const { whenMoving, spell, stoodStill } = pattern;
  if (untouched) return ['It has not moved since it was found: no heat so far acts on it.'];
  // A pace that may as well be none is no pace to quote.
  const pace =
    whenMoving === null || whenMoving.high >= 0
      ? null
      : `${formatLength(-whenMoving.rate, { units, as: 'offset', fraction: 32 })} a cycle`;
  if (spell !== null) {
    const before = pace === null ? '' : `; on days it moved before, ${pace}`;
    const crept = creptIn(item, spell.sinceCycle, units);
    return [
      crept === null
        ? `It has stood still for ${spell.cycles} cycles, since cycle ${spell.sinceCycle}${before}.`
        : `It has hardly moved for ${spell.cycles} cycles, ${crept} in all since cycle ${spell.sinceCycle}${before}.`,
    ];
  }
  // The pace may be that of the last cycles only, and not every cycle need have been read: no count is claimed for it.
  const quiet = quietWords(quietOf(item), stoodStill.of);
  if (quiet === '') return pace === null ? [] : [`It now moves ${pace}.`];
  return [
    pace === null
      ? `${quiet.charAt(0).toUpperCase()}${quiet.slice(1)}.`
      : `On days it moves, ${pace}; ${quiet}.`,
  ];
}

/** What little a line surely moved over a spell of hardly moving, `3/16 in closer`; null where the readings show none. */
function creptIn({ progress: { series } }: LineAnalysis, from: number, units: JobUnits): string | null {
  const [start, end] = [series.find((point) => point.cycle === from), series.at(-1)];
  if (start === undefined || end === undefined) return null;
  const moved = end.value - start.value;
  const u = hypot(start.u, end.u);
  if (Math.abs(moved) <= HARDLY * u) return null;
  return `${formatLength(Math.abs(moved), { units, as: 'offset', fraction: 32 })} ${movedWord({ movement: moved, u })}`;
}

/** `it stood still on 1 of the last 7`, `it came back out on 1 of the last 7, and on 2 only steel elsewhere on the line moved`. */
function quietWords({ still, back, elsewhere }: QuietCycles, last: number): string {
  const did = [
    ...(still.length === 0 ? [] : [`stood still on ${still.length}`]),
    ...(back.length === 0 ? [] : [`came back out on ${back.length}`]),
  ];
  const own = did.length === 0 ? '' : `it ${did.join(' and ')} of the last ${last}`;
  if (elsewhere.length === 0) return own;
  const rest = 'only steel elsewhere on the line moved';
  return own === ''
    ? `on ${elsewhere.length} of the last ${last} ${rest}`
    : `${own}, and on ${elsewhere.length} ${rest}`;
}

function notJudgedSentences(name: string, today: LineToday, units: JobUnits): string[] {
  return today.notJudged.slice(-1).map((survey) => {
    const why = notJudgedWords(survey, units);
    const rest = today.now === null ? '' : `; the numbers here are of cycle ${today.now.cycle}`;
    return `Cycle ${survey.cycle} of ${name} was read ${why} and is not judged${rest}.`;
  });
}

export function notJudgedWords(survey: SurveyFit, units: JobUnits): string {
  if (survey.state === 'restrained') return 'with the jacks on';
  return survey.temperature === null ? 'hot' : `hot, at ${formatTemperature(survey.temperature, units)},`;
}

function inShort(item: LineAnalysis, units: JobUnits): string {
  const { limit, now, lack } = lineToday(item);
  const outside = limit?.result === 'outside' ? `outside ${limitWords(limit, units)}, ` : '';
  const size = now === null || lack !== null ? '' : ` (${offset(Math.abs(now.largest.deviation), units)})`;
  return `${item.line.name} ${outside}${shortVerdict(item.progress)}${size}`;
}

/**
 * Findings the first screen has not said already in its own words: the verdict of a line, and a survey of today that is
 * not judged.
 */
export function otherFindings(analysis: Analysis): Analysis['findings'] {
  const today = new Map(analysis.lines.map((item) => [item.line.name, lineToday(item)]));
  return analysis.findings.filter(({ code, line, cycle }) => {
    if (code === 'line-regressing' || code === 'line-overcorrected') return false;
    const late = line === undefined ? [] : (today.get(line)?.notJudged ?? []);
    return code !== 'steel-too-hot-to-judge' || !late.some((survey) => survey.cycle === cycle);
  });
}

/** Whether cycles left mean anything: what is done so far takes a line that goes the wrong way nowhere. */
export function looksAhead(verdict: LineAnalysis['progress']['verdict']): boolean {
  return verdict !== 'regressing' && verdict !== 'overcorrected' && verdict !== 'within-tolerance';
}

/** Messages in order, each without the sentences an earlier one has said already: advice that goes with many is said once. */
export function withoutRepeats(messages: readonly string[]): string[] {
  const said = new Set<string>();
  return messages.map((message) =>
    message
      .split(/(?<=[.!?])\s+/)
      .filter((sentence) => {
        const known = said.has(sentence);
        said.add(sentence);
        return !known;
      })
      .join(' '),
  );
}

/** Deviation as found, in its u, from which a line with no zone is bent enough to say why it has none. */
const CLEARLY_BENT = 4;

/**
 * Why a line that is clearly out of line as found has no zone table; null where it has one, is straight, or is of a kind
 * that carries no zones.
 */
export function noZonesWords({ line, fit }: LineAnalysis, member: Member): string | null {
  if ((line.kind !== 'sweep' && line.kind !== 'camber') || fit.zones.length > 0) return null;
  const asFound = judgedSurveys(fit)[0];
  if (asFound === undefined) return null;
  const { deviation, u } = asFound.largest;
  if (Math.abs(deviation) <= CLEARLY_BENT * u) return null;
  const head = 'none: the readings show no sharp bend, only one long curve';
  return member.diaphragms === null
    ? `${head}. Without the diaphragms it can as well be steel held bent against them as steel that yielded: give member.diaphragms ([] if there are none), and read closer where it bends most`
    : `${head}, which steel held bent between its diaphragms, or made so, would show as well. Read closer where it bends most; heat works only where steel yielded`;
}

/** Why today's number of a line cannot be told; null where it can. */
export function untold(item: LineAnalysis, today: LineToday, units: JobUnits): string | null {
  if (today.now === null || today.lack === null) return null;
  return shortfallText(today.lack, item.line.name, today.now, units);
}

/**
 * The bend of a zone as found, the same number on every screen: as the as-found survey reads it with the zone held, so
 * that later surveys compare with it; its doubt is the larger one, which knows of the zone's edges.
 */
export function bendAsFound(
  { fit }: Pick<LineAnalysis, 'fit'>,
  zone: Zone,
  asFound: SurveyFit | null,
): { readonly rotation: number; readonly u: number } {
  const read = (asFound ?? fit.surveys[0])?.zones.find((each) => each.zone === zone.zone);
  if (read === undefined) return { rotation: zone.rotation, u: zone.rotationU };
  return { rotation: read.rotation, u: Math.max(read.u, zone.rotationU) };
}

/** ` at 24'-0"`; ` near 24'-0"` where the rule's own place is another station of the same bend. */
function placeWords({ station }: ReturnType<typeof placeOfBend>, own: number, units: JobUnits): string {
  return ` ${station === own ? 'at' : 'near'} ${place(station, units)}`;
}

function offset(metres: number, units: JobUnits): string {
  return formatLength(metres, { units, as: 'offset' });
}

function place(metres: number, units: JobUnits): string {
  return formatLength(metres, { units, as: 'station' });
}

function plusMinus(u: number, units: JobUnits): string {
  return `± ${formatUncertainty(MEASURED.factor * u, units)}`;
}
