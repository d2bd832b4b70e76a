import { inertText as inert } from '../inert-text.ts';
import type { Job } from '../job/job.ts';
import { EXPECTED, levelText, MEASURED } from '../maths/coverage-level.ts';
import { formatLength, formatLimit, formatUncertainty } from '../units/format-length.ts';
import { formatForce } from '../units/format-quantity.ts';
import type { BulgeLimits, HeatLimits } from './heat-limits.ts';
import { limitTemperature, pressureText } from './limit-text.ts';
import type { PanelHeating, PanelStep } from './panel-heats.ts';
import type { PanelHeat } from './panel-layout.ts';

/** A force shown on the safe side, to the hundred pounds or half kilonewton it was rounded down to. */
export function pushText(job: Job, force: number): string {
  return formatForce(force, job.units);
}

/** The ceiling for a force on the bulge in plain lines, or what is missing for one. */
export function pushLines(job: Job, { ceiling, ceilingMissing, line }: PanelHeating): string[] {
  if (ceiling === null)
    return [
      `Force on the bulge: none can be given: ${ceilingMissing}. Do not push on ${inert(line)} without one from the engineer.`,
    ];
  const { factor, moment, yieldLoad, share, force, jack, mechanism } = ceiling;
  return [
    `Force on the bulge: at most ${pushText(job, force)}, rounded down, cold and jacks square to the plate${jack === null ? '' : `; ${pressureText(jack.pressure, job.units)} on the gauge of ${inert(jack.name)}${jack.rated ? ', its rating' : ''}`}.`,
    `Share ${(share.value * 100).toFixed(0)} % (${inert(share.source)}) of the yield-line load ${pushText(job, yieldLoad)} = ${factor.toFixed(2)} × m_p, m_p = Fy·t²/4 = ${forcePerWidth(job, moment)}: ${inert(mechanism)} (Johansen; a fan inside a clamped plate is 4π = 12.57). No uncertainty: specified yield stress, nominal thickness. Heated steel yields at less: published work keeps the stress of external forces below that (Avent and Mukai); whether the share does is for the engineer to say.`,
  ];
}

/** Moment per length is a force: `1.72 kip·in per in`. */
function forcePerWidth(job: Job, moment: number): string {
  return job.units === 'us'
    ? `${formatForce(moment, 'us')}·in per in`
    : `${(moment / 1000).toFixed(2)} kN·m per m`;
}

/** Limits of heats on a bulge, those that are stated. */
export function bulgeLimitText(job: Job, limits: HeatLimits): string {
  const { units } = job;
  const { spotDiameter, spotSpacing, lineSpacing, spotsPerCycle, linesPerCycle }: BulgeLimits = limits.bulge;
  const small = (m: number) => formatLimit(m, units);
  const said: [string, { readonly source: string } | null][] = [
    [
      spotDiameter === null ? '' : `spots ${small(spotDiameter.low)} to ${small(spotDiameter.high)} across`,
      spotDiameter,
    ],
    [spotSpacing === null ? '' : `${small(spotSpacing.value)} from centre to centre`, spotSpacing],
    [spotsPerCycle === null ? '' : `at most ${spotsPerCycle.value} spots a cycle`, spotsPerCycle],
    [lineSpacing === null ? '' : `lines ${small(lineSpacing.value)} apart`, lineSpacing],
    [linesPerCycle === null ? '' : `at most ${linesPerCycle.value} lines a cycle`, linesPerCycle],
  ];
  const given = said.flatMap(([text, from]) => (from === null ? [] : [{ text, source: inert(from.source) }]));
  // A source that several share is named once, after the last of them.
  const parts = given.map(({ text, source }, i) =>
    given[i + 1]?.source === source ? text : `${text} (${source})`,
  );
  const hot = limits.maxTemperature;
  const temperature =
    hot === null
      ? 'Steel temperature: NOT KNOWN for this grade.'
      : `Steel at most ${limitTemperature(hot.value, units)} (${inert(hot.source)}).`;
  return parts.length === 0 ? temperature : `${temperature} ${sentence(parts.join('; '))}.`;
}

function sentence(text: string): string {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}

/** Place of a spot, or the ends and corners of a line, as a crew chalks them: `24'-6", 20 in`. */
export function heatPlace(job: Job, { path }: PanelHeat): string {
  const { units } = job;
  return path
    .map(
      ({ station, height }) =>
        `${formatLength(station, { units, as: 'station', fraction: 2, digits: 2 })}, ${formatLength(height, { units, as: 'offset', fraction: 2, digits: 0 })}`,
    )
    .join(' to ');
}

/** Face to heat in the panel's own words where they are short. */
export function heatFace(job: Job, panel: string, face: PanelHeat['face']): string {
  const positive = job.lines.find((line) => line.name === panel)?.positive ?? '+ face';
  if (positive.length > 26) return face === 'positive' ? '+ face' : '− face';
  return face === 'positive' ? positive : `not ${positive}`;
}

/** Heading, then a row a heat. */
export function panelHeatRows(job: Job, panel: PanelHeating, heats: readonly PanelHeat[]): string[][] {
  return [
    ['Heat', 'Station and height', 'Face', 'Bend there'],
    ...heats.map((heat) => [
      heat.name,
      heatPlace(job, heat),
      heatFace(job, panel.line, heat.face),
      `${heat.left.toFixed(1)} × yield`,
    ]),
  ];
}

/** `Cycle 3: 6 spots and 2 lines; 1/8 ± 1/16 in out of the crest, 1/64 in a heat`. */
export function panelStepText(job: Job, step: PanelStep): string {
  const { units } = job;
  const cycles =
    step.toCycle === step.fromCycle + 1
      ? `Cycle ${step.toCycle}`
      : `Cycles ${step.fromCycle + 1} to ${step.toCycle}`;
  const of = (count: number, word: string) => `${count} ${word}${count === 1 ? '' : 's'}`;
  const heats =
    step.spots + step.lines === 0
      ? 'no heat logged here'
      : [step.lines > 0 ? of(step.lines, 'line') : '', step.spots > 0 ? of(step.spots, 'spot') : '']
          .filter((text) => text !== '')
          .join(' and ');
  const length = (m: number) => formatLength(m, { units, as: 'offset', fraction: 32, digits: 1 });
  const each =
    step.perHeat === null
      ? ''
      : `, ${thousandths(units, step.perHeat)} ± ${thousandths(units, MEASURED.factor * step.perHeatU!)} a heat`;
  return `${cycles}: ${heats}; crest flatter by ${length(step.observed)} ± ${formatUncertainty(MEASURED.factor * step.observedU, units)}${each}`;
}

/** What one heat does is far below a sixteenth. */
function thousandths(units: Job['units'], metres: number): string {
  return units === 'us' ? `${(metres / 0.0254).toFixed(3)} in` : `${(metres * 1000).toFixed(2)} mm`;
}

/** Heats left to the limit, or null where the log cannot say. */
export function panelLeftText({ left }: PanelHeating): string | null {
  if (left === null || left.expected === null) return null;
  if (left.expected === 0) return 'Heats left to the limit: none that the readings can see.';
  const range =
    left.low === null
      ? 'no interval from one step'
      : left.high === null
        ? `${levelText(EXPECTED)}: ${left.low} or more, may never get there`
        : `${levelText(EXPECTED)}: ${left.low} to ${left.high}`;
  return `Heats left to the limit: ${left.expected} (${range}), at the pace of the logged ones.`;
}

/** Beside every list of proposed heats. */
export const PANEL_HEATS_NOTE =
  'Where the map as found shows the plate past yield for certain, what is still bent most. The face is the one that stands proud there: a heated face shrinks as it cools (common practice, no source).';

/** Steps shown a panel; the document has them all. */
const SHOWN_STEPS = 3;

/** What the logged heats have done: all together, the last few steps, and how many are left. */
export function panelWorkLines(job: Job, panel: PanelHeating): string[] {
  const logged = panel.made.length > 0;
  const left = panelLeftText(panel);
  return [
    ...(panel.total === null ? [] : [panelStepText(job, panel.total)]),
    ...(logged && panel.steps.length > 1
      ? panel.steps.slice(-SHOWN_STEPS).map((step) => panelStepText(job, step))
      : []),
    ...(left === null ? [] : [left]),
    ...(logged
      ? []
      : ['No heat on this panel is logged (heats.csv: its name under "line", L1 or S4 under "zone").']),
  ];
}
