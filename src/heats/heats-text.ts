import type { Finding } from '../finding.ts';
import { inertText as inert } from '../inert-text.ts';
import type { Job } from '../job/job.ts';
import { EXPECTED, levelText, MEASURED } from '../maths/coverage-level.ts';
import { exp } from '../maths/portable.ts';
import { INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import {
  formatAngle,
  formatForce,
  formatMilliradians,
  formatStress,
  formatTemperature,
} from '../units/format-quantity.ts';
import { tableText, wrapText } from '../wrap-text.ts';
import { HEAT_CAUTIONS, HEAT_DEFERRAL } from './cautions.ts';
import { formatMoment } from './format-moment.ts';
import type { HeatsOfJob } from './heats-of-job.ts';
import type { JobFactor } from './job-factor.ts';
import type { LayoutProposal } from './layout.ts';
import { limitTemperature, pressureText } from './limit-text.ts';
import { missingForCeiling } from './missing-for-ceiling.ts';
import type { PanelHeating } from './panel-heats.ts';
import {
  bulgeLimitText,
  PANEL_HEATS_NOTE,
  panelHeatRows,
  panelWorkLines,
  pushLines,
} from './panel-heats-text.ts';
import { patternsText } from './quantities.ts';
import type { JobRestraint } from './restraint-of-job.ts';
import type { ZoneHeats, ZoneStep } from './zone-heats.ts';

/** Steps shown a zone; the document has them all. */
const SHOWN_STEPS = 3;

/** What `sweepbook heats` prints: ceiling, limits, zones, proposal, work done, findings, cautions. */
export function heatsText(job: Job, heats: HeatsOfJob, columns: number): string {
  const width = Math.max(40, Math.min(columns, 100));
  const out: string[] = [];
  const para = (text: string, indent = '', hang = 0) => out.push(...wrapText(text, width, indent, hang));
  const title = (text: string) => {
    const lines = wrapText(text, width);
    out.push('', ...lines, '-'.repeat(Math.max(...lines.map((line) => line.length))));
  };
  para(inert(job.name));

  // A job of panels alone has no line that jacks push along, and no zones: what it has stands under its panels.
  const linesToo = job.lines.some((line) => line.panel === undefined);
  if (linesToo) {
    title('Jacking ceiling');
    ceilingLines(job, heats).forEach((text) => {
      para(text, '  ', 2);
    });
  }
  const moments = momentRows(job, heats);
  if (moments.length > 0) {
    out.push('');
    out.push(...tableText(moments, width, new Set([0, 2, 3, 4, 5, 6])));
    para(MOMENTS_NOTE, '  ');
  }

  title('Limits of heating');
  limitLines(job, heats).forEach((text) => {
    para(text, '  ', 2);
  });

  if (linesToo) title('Zones');
  if (linesToo && heats.zones.length === 0) para('No plastic zone found in the readings.', '  ');
  if (heats.factor !== null) para(factorText(heats.factor), '  ');
  for (const zone of heats.zones) zoneLines(job, zone, heats.factor, para);
  for (const text of sameFlangeLines(heats)) para(text, '  ');

  for (const layout of heats.layouts) {
    title(`Proposed next vees on ${inert(layout.line)}: for the engineer to decide`);
    out.push(...layoutLines(job, heats, layout, width, para));
  }

  for (const panel of heats.panels) panelLines(job, heats, panel, width, title, para, out);

  title('Work done');
  workLines(heats).forEach((text) => {
    para(text, '  ', 2);
  });

  if (heats.findings.length > 0) title('Findings');
  for (const finding of heats.findings) para(findingLine(finding), '  ', 2);

  title('Before anyone heats or jacks');
  for (const caution of HEAT_CAUTIONS) para(`- ${caution.text} [${caution.source}]`, '  ', 2);
  out.push('');
  para(`${HEAT_DEFERRAL} ± is about ${levelText(MEASURED)}.`);
  return `${out.join('\n')}\n`;
}

/** Beside the table of moments. */
export const MOMENTS_NOTE =
  'At the ceiling; where diaphragms give, “Jacks” is with rigid ones and “Jacks*” with ones as soft as may be, and “Of Mp” and “Must hold” are the worst of both and between. Jacks and locked in bend the same way where their signs agree, and are then added in “Of Mp”. “Must hold”: below zero the support is pulled the way the jacks push. Check that each diaphragm and its connections can hold that.';

/** Which lines have no heats of their own, because another reads the same flange. */
export function sameFlangeLines({ led }: HeatsOfJob): string[] {
  return [...led].map(
    ([line, on]) =>
      `${inert(line)} reads the same flange as ${inert(on)}: a heat acts on both, and is counted and proposed on ${inert(on)} alone.`,
  );
}

/** The ceiling in plain lines, or what is missing for one. */
export function ceilingLines(job: Job, heats: HeatsOfJob): string[] {
  const { restraint } = heats;
  if (restraint === null) {
    return [
      `None can be given: job.json does not say ${missingForCeiling(job)}. Do not jack without one from the engineer.`,
    ];
  }
  const plasticMoment = restraint.part.plasticModulus * job.member.yieldStress;
  const part = `Bends: ${inert(restraint.part.how)}; plastic moment ${formatMoment(plasticMoment, job.units)} cold.`;
  const { ceiling } = restraint;
  if (ceiling === null) return [`None can be given: job.json does not say ${missingForCeiling(job)}.`, part];
  const { units } = job;
  const station = (metres: number) => formatLength(metres, { units, as: 'station' });
  const jacks = ceiling.jacks.length;
  const limited =
    ceiling.rating === null
      ? 'rounded down'
      : `the rating of ${inert(ceiling.rating.of)}, rounded down; by the moment it would be ${pressureText(ceiling.exactPressure, units)}`;
  const { lockedIn } = ceiling;
  return [
    ceiling.pressure === 0
      ? 'No jacking with these jacks: see the findings.'
      : `${pressureText(ceiling.pressure, units)} on the gauge${jacks === 1 ? '' : `, all ${jacks} jacks at once`}; ${limited}.`,
    ...ceiling.jacks.map(
      (jack) =>
        `${inert(jack.name)} at ${station(jack.station)}: at most ${formatForce(jack.forceAtCeiling, units)}`,
    ),
    setUpText(job, restraint),
    part,
    `Share: ${(ceiling.limit.fraction * 100).toFixed(0)} % = ${formatMoment(ceiling.moment, units)}, ${inert(ceiling.limit.source)}; governs at ${station(ceiling.governsAt)}.`,
    lockedIn === null
      ? 'What the blow left locked in is not known (the readings or the diaphragms do not give it) and is not in the ceiling.'
      : `Of that, what the blow left there acting as the jacks do: ${formatMoment(lockedIn.moment, units)}, ± ${formatMoment(MEASURED.factor * lockedIn.u, units)}; as found, heat lets some of it go. The jacks alone would reach the share at ${pressureText(ceiling.alone, units)}.`,
    ceiling.uncertainty,
    ...hotText(job, heats),
  ];
}

/** How the pushed part is held, in words. */
function setUpText(job: Job, restraint: JobRestraint): string {
  const { setUp, setUpSource, supports } = job.restraint!;
  const place = (s: number) => formatLength(s, { units: job.units, as: 'station' });
  const at = supports.map(place).join(', ');
  switch (setUp) {
    case 'continuous':
      return restraint.held.springs.length === 0
        ? `Held: runs on over rigid supports at ${at}, free to turn on each${setUpSource === null ? '' : ` (${inert(setUpSource)})`}.`
        : `Held: runs on over ${at}, free to turn on each; its diaphragms give. ${givesText(job, restraint)}`;
    case 'fixed':
      return `Held: ends at ${at} that cannot turn (${inert(setUpSource ?? '')}).`;
    case 'simple':
      return `Held: free to turn at ${at}, nothing beyond.`;
    case 'cantilever':
      return `Held: at ${place(supports[0]!)}, free at the other end.`;
  }
}

const WAYS = {
  rigid: 'rigid',
  likely: 'giving as is likely',
  soft: 'giving as much as that leaves open',
} as const;

/** How much the diaphragms give, where that is known from, and which way of taking them governs. */
function givesText(job: Job, { held, part, governs }: JobRestraint): string {
  const stiffness = (compliance: number) =>
    part.inertia === null ? null : (job.member.elasticModulus * part.inertia) / compliance;
  const say = (newtonsPerMetre: number) =>
    job.units === 'us'
      ? `${formatForce(newtonsPerMetre * INCH, 'us')} an inch`
      : `${formatForce(newtonsPerMetre * 1e-3, 'si')} a millimetre`;
  const each = held.springs.map(({ station, compliance, logU }) => {
    const k = stiffness(compliance);
    const factor = exp(MEASURED.factor * logU);
    const at = formatLength(station, { units: job.units, as: 'station' });
    return k === null ? at : `${at} about ${say(k)}, as little as ${say(k / factor)}`;
  });
  const known = held.springs.every(({ shown }) => shown)
    ? 'As the struck flange shows'
    : 'The readings do not show how much; as diaphragms usually do (common practice, no source)';
  const worst =
    governs === null
      ? ''
      : ` Worked out rigid, as likely and as soft as that leaves open; the worst governs, here ${WAYS[governs]}.`;
  return `${known}: ${each.join('; ')}.${worst} An engineer who knows them rigid cites it ("setUp": "continuous-rigid").`;
}

function hotText(job: Job, { hotStress }: HeatsOfJob): string[] {
  if (hotStress === null) {
    return [
      'Published work also keeps the stress of external forces below the yield stress of the heated steel (Avent and Mukai). State the dead load stress (restraint.deadLoad) to have it compared.',
    ];
  }
  const stress = (pascals: number) => formatStress(pascals, job.units);
  return [
    `Heated steel: dead load ${stress(Math.abs(hotStress.deadLoad))} (${hotStress.composite ? 'composite' : 'not composite'}, ${inert(hotStress.source)}), jacks ${stress(hotStress.jacking)}, locked in ${stress(hotStress.lockedIn)}: together ${stress(hotStress.total)} at ${formatLength(hotStress.station, { units: job.units, as: 'station' })}, against ${stress(hotStress.hotYield)} at ${formatTemperature(hotStress.temperature, job.units)} (Fy(T) from memory of FHWA-IF-08-999, chapter 4; E(T)/E is ${hotStress.modulusRatio.toFixed(2)}). No uncertainty: nominal values.`,
  ];
}

/** Heading, then a row a place: moments at the ceiling and what the supports must hold; empty without a ceiling. */
export function momentRows(job: Job, { restraint }: HeatsOfJob): string[][] {
  if (restraint === null || restraint.ceiling === null || restraint.ceiling.pressure === 0) return [];
  const { units } = job;
  const known = restraint.lockedIn !== null;
  const rows = restraint.diagram.map((point) => {
    const held = restraint.reactions.find((r) => r.station === point.station);
    return [
      formatLength(point.station, { units, as: 'station', fraction: 2, digits: 2 }),
      inert(point.what),
      ...(point.ends === null
        ? [formatMoment(point.jacking, units)]
        : [formatMoment(point.ends.rigid, units), formatMoment(point.ends.soft, units)]),
      ...(known ? [formatMoment(point.lockedIn ?? 0, units)] : []),
      point.share.toFixed(2),
      held === undefined ? '' : formatForce(held.force, units),
    ];
  });
  const jacks = restraint.held.ends === null ? ['Jacks'] : ['Jacks', 'Jacks*'];
  return [['At', 'What', ...jacks, ...(known ? ['Locked in'] : []), 'Of Mp', 'Must hold'], ...rows];
}

function limitLines(job: Job, { limits, plan }: HeatsOfJob): string[] {
  const { units } = job;
  // A limit is shown rounded down, never up.
  const temperature = (celsius: number) => limitTemperature(celsius, units);
  const small = (metres: number) => formatLength(metres, { units, as: 'offset' });
  return [
    limits.maxTemperature === null
      ? 'Steel temperature: NOT KNOWN for this grade.'
      : `Steel temperature at most ${temperature(limits.maxTemperature.value)} (${inert(limits.maxTemperature.source)}).`,
    `Below about ${formatTemperature(limits.minTemperature.value, units)} a heat does nothing (${inert(limits.minTemperature.source)}).`,
    `Cool below ${temperature(limits.coolBelow.value)} before the next heat and before reading (${inert(limits.coolBelow.source)}).`,
    ...(job.lines.every((line) => line.panel !== undefined)
      ? []
      : [
          `Planned vee: ${formatAngle(plan.angle, 0)}, ${small(plan.depth)} deep, ${small(plan.openWidth)} at the open end; ${plan.how}.`,
          `Vees heated together stand ${small(limits.spacing.value)} apart or more (${inert(limits.spacing.source)}).`,
        ]),
  ];
}

function panelLines(
  job: Job,
  heats: HeatsOfJob,
  panel: PanelHeating,
  width: number,
  title: (text: string) => void,
  para: (text: string, indent?: string, hang?: number) => void,
  out: string[],
): void {
  title(`Panel ${inert(panel.line)}`);
  for (const text of pushLines(job, panel)) para(text, '  ', 2);
  para(bulgeLimitText(job, heats.limits), '  ', 2);
  for (const text of panelWorkLines(job, panel)) para(text, '  ', 2);
  out.push('');
  if (panel.reason !== null) {
    para(`Proposed next heats: none: ${panel.reason}.`, '  ', 2);
    return;
  }
  para(
    'Proposed next heats: for the engineer to decide. L: line heat along a crease, S: spot heat on the dome.',
    '  ',
  );
  out.push(...tableText(panelHeatRows(job, panel, panel.next), width));
  para(PANEL_HEATS_NOTE, '  ');
}

function zoneLines(
  job: Job,
  zone: ZoneHeats,
  factor: JobFactor | null,
  para: (text: string, indent?: string, hang?: number) => void,
): void {
  const station = (metres: number) => formatLength(metres, { units: job.units, as: 'station', fraction: 2 });
  para(
    `Zone ${zone.zone} of ${inert(zone.line)} at ${station(zone.station)}: bend left ${withU(zone.remaining, zone.remainingU)} (${formatAngle(zone.remaining)})`,
    '  ',
    4,
  );
  const { total } = zone;
  if (total !== null) {
    para(stepText(total), '    ', 2);
    // Without a log a single step says nothing that the progress table does not.
    const logged = total.vees + total.otherHeats > 0 && zone.steps.length > 1;
    for (const step of logged ? zone.steps.slice(-SHOWN_STEPS) : []) para(stepText(step), '    ', 2);
  }
  para(leftText(zone), '    ', 2);
  if (zone.planned !== null && zone.plannedMovement !== null) {
    const moves = Math.abs(zone.plannedMovement);
    const formula = `By the formula one planned vee here, at Mj/Mp ${(zone.plannedLoadRatio ?? 0).toFixed(2)}, turns ${formatMilliradians(zone.planned)} and moves ${station(zone.movementAt)} by ${formatLength(moves, { units: job.units, as: 'offset' })}, bearings held`;
    // One count of heats left stands on a screen: what heats have done before what a formula says they should.
    const count =
      zone.left.expected !== null || zone.plannedHeats === null
        ? ''
        : `; ${zone.plannedHeats} such heats would take out what the fit says is left`;
    para(
      factor === null
        ? `${formula}${count}. It carries no uncertainty: single heats vary considerably.`
        : `Expect of one planned vee here ${movementText(job, moves, factor)} at ${station(zone.movementAt)}, as heats of this job have done. ${formula}.`,
      '    ',
      2,
    );
  }
}

function factorText({ value, low, high, vees }: JobFactor): string {
  return `Of late the ${vees} logged vees of this job have done ${value.toFixed(2)} of what the formula expects (${levelText(EXPECTED)}: ${low.toFixed(2)} to ${high.toFixed(2)}).`;
}

/** A movement by the formula as heats of this job have done it, with its interval; below zero it opens. */
function movementText(job: Job, byFormula: number, { value, low, high }: JobFactor): string {
  const say = (share: number) => formatLength(share * byFormula, { units: job.units, as: 'offset' });
  return `${say(value)} (${levelText(EXPECTED)}: ${say(low)} to ${say(high)})`;
}

function stepText(step: ZoneStep): string {
  const cycles =
    step.toCycle === step.fromCycle + 1
      ? `Cycle ${step.toCycle}`
      : `Cycles ${step.fromCycle + 1} to ${step.toCycle}`;
  const others = step.otherHeats === 0 ? '' : ` and ${step.otherHeats} other`;
  const heats =
    step.vees + step.otherHeats === 0
      ? 'no heat logged here'
      : `${step.vees} vee${step.vees === 1 ? '' : 's'}${others}`;
  // A ratio known no better than to a half says nothing; its parts stand beside it.
  const ratio =
    step.ratio === null || MEASURED.factor * step.ratioU! > 0.5
      ? ''
      : `, ratio ${step.ratio.toFixed(2)} ± ${(MEASURED.factor * step.ratioU!).toFixed(2)}`;
  const expected =
    step.expected === null
      ? ''
      : `, expected ${formatMilliradians(step.expected)}${ratio}${step.assumed.length === 0 ? '' : ` (taken: ${step.assumed.join(', ')})`}`;
  return `${cycles}: ${heats}; observed ${withU(step.observed, step.observedU)}${expected}`;
}

/** `Heats left: 10 (80 %: 7 to 15)`, or why there is no number. */
export function leftText({ left, unit, sinceCycle }: ZoneHeats): string {
  const since = sinceCycle === null ? '' : ` since cycle ${sinceCycle}`;
  const label = unit === 'heats' ? 'Heats left' : 'Cycles left to straight';
  if (left.expected === null) return `${label}: cannot be given: ${left.reason}${since}.`;
  if (left.expected === 0) return `${label}: none, ${left.reason}.`;
  if (left.low === null) return `${label}: about ${left.expected}; ${left.reason}.`;
  const range =
    left.high === null ? `${left.low} or more, may never get there` : `${left.low} to ${left.high}`;
  return `${label}: ${left.expected} (${levelText(EXPECTED)}: ${range}), ${left.reason}${since}.`;
}

function withU(radians: number, u: number): string {
  return `${(radians * 1000).toFixed(1)} ± ${formatMilliradians(MEASURED.factor * u)}`;
}

function layoutLines(
  job: Job,
  heats: HeatsOfJob,
  layout: LayoutProposal,
  width: number,
  para: (text: string, indent?: string, hang?: number) => void,
): string[] {
  if (layout.vees.length === 0) {
    para(`None: ${layout.reason}.`, '  ');
    return [];
  }
  const { units } = job;
  const small = (metres: number) => formatLength(metres, { units, as: 'offset' });
  const { factor } = heats;
  const gain = layout.largestBefore - layout.largestAfter;
  const formulaOnly = layout.vees.every((v) => v.basis === 'formula');
  para(
    `What the zones’ bends alone set the steel off, bearings held (not where it stands): up to ${small(layout.largestBefore)} before. ${
      factor !== null && formulaOnly
        ? `These vees: ${movementText(job, gain, factor)} off it, as heats of this job have done; ${small(gain)} by the formula alone.`
        : `${small(layout.largestAfter)} expected after; it carries no uncertainty, single heats vary considerably.`
    }`,
    '  ',
  );
  const unseen = [...new Set(layout.vees.filter((v) => v.basis === 'formula').map((v) => v.zone))];
  if (unseen.length > 0 && heats.quantities.heats > 0) {
    para(
      `Zone ${unseen.join(', ')}: counted on by the formula, which the heats here have not shown reliably of late. Check temperature reached, jacking, vee placement and restraint before spending more heats.`,
      '  ',
    );
  }
  return tableText(
    [
      ['Vee', 'Station', 'Zone', 'Apex at edge', 'Open end', 'Depth'],
      ...layout.vees.map((vee, i) => [
        String(i + 1),
        chalkStation(vee.station, job),
        vee.zone,
        apexText(job, layout.line, vee.apex),
        small(heats.plan.openWidth),
        small(heats.plan.depth),
      ]),
    ],
    width,
  );
}

/** A station a crew can chalk: to the half inch or the centimetre (`CHALK`), finer than a vee is placed. */
export function chalkStation(metres: number, job: Job): string {
  return formatLength(metres, { units: job.units, as: 'station', fraction: 2, digits: 2 });
}

/** Which edge the apex lies at, in the line's own words. */
function apexText(job: Job, lineName: string, apex: 'positive' | 'negative'): string {
  const positive = inert(job.lines.find((line) => line.name === lineName)?.positive ?? 'the + side');
  return apex === 'positive' ? positive : `opposite to “${positive}”`;
}

function workLines({ quantities }: HeatsOfJob): string[] {
  if (quantities.heats === 0) return ['No heat log (heats.csv) in the job folder.'];
  const per = (value: number | null, unit: string | null) =>
    value === null ? null : `${value}${unit === null ? '' : ` ${inert(unit)}`}`;
  const line = (q: { gas: number | null; cost: number | null }) => {
    const gas = per(q.gas, quantities.gasUnit);
    const cost = per(q.cost, quantities.currency);
    return [gas === null ? null : `gas ${gas}`, cost === null ? null : `cost ${cost}`]
      .filter((t) => t !== null)
      .map((t) => `, ${t}`)
      .join('');
  };
  return [
    ...quantities.cycles.map(
      (c) =>
        `Cycle ${c.cycle}: ${patternsText(c.byPattern)}; ${c.dates.length === 0 ? 'no date' : `${c.dates.length} day${c.dates.length === 1 ? '' : 's'}`}${line(c)}`,
    ),
    `In all: ${quantities.heats} heats, ${quantities.workingDays === null ? 'working days not known' : `${quantities.workingDays} working days`}${line(quantities)}. Sums of the log, no uncertainty.`,
    ...quantities.gaps.map((gap) => `Not in the sums: ${gap}.`),
  ];
}

/** `STOP: … [heats.csv:12]` */
function findingLine(finding: Finding): string {
  const where =
    finding.file === undefined
      ? ''
      : ` [${inert(finding.file)}${finding.row === undefined ? '' : `:${finding.row}`}]`;
  return `${finding.severity.toUpperCase()}: ${inert(finding.message)}${where}`;
}
