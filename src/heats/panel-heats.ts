import type { LineAnalysis, PanelSurvey } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Job, Line } from '../job/job.ts';
import { hypot } from '../maths/portable.ts';
import type { Place } from '../panels/crease-lines.ts';
import { readSpacing } from '../panels/seen.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { formatLength, formatLimit } from '../units/format-length.ts';
import { HAIR } from './check-heats.ts';
import type { HeatLimits } from './heat-limits.ts';
import type { Heat, HeatLog } from './heat-log.ts';
import { type HeatsLeft, heatsLeft } from './heats-left.ts';
import { pressureText } from './limit-text.ts';
import { type PushCeiling, pushCeiling } from './panel-ceiling.ts';
import { missingLimits, type PanelHeat, panelHeats, statedLimits } from './panel-layout.ts';

/** What the logged heats of one step did to the crest. Lengths in m, positive = flatter. */
export interface PanelStep {
  readonly fromCycle: number;
  readonly toCycle: number;
  readonly spots: number;
  readonly lines: number;
  readonly observed: number;
  readonly observedU: number;
  /** A heat on the average; null where none is logged. */
  readonly perHeat: number | null;
  readonly perHeatU: number | null;
}

/** A logged heat with where it was made. */
export interface PanelHeatMade {
  readonly heat: Heat;
  /** Name on the map, as logged; null where the log gives a place only. */
  readonly name: string | null;
  /** m; null where neither the name nor the log gives one. */
  readonly place: Place | null;
}

/** Heating and pushing of one panel. */
export interface PanelHeating {
  readonly line: string;
  /** Cycle the next heats rest on; null before a judged survey. */
  readonly cycle: number | null;
  /** Null where job.json does not say what it needs; `ceilingMissing` says what that is. */
  readonly ceiling: PushCeiling | null;
  readonly ceilingMissing: string | null;
  /** Every place for a heat on the as-found map. */
  readonly places: readonly PanelHeat[];
  readonly next: readonly PanelHeat[];
  /** Why there is no next heat; null where there is. */
  readonly reason: string | null;
  readonly steps: readonly PanelStep[];
  readonly total: PanelStep | null;
  /** Heats until the crest is at its limit; null without a limit, beside a hole, or where a step has no logged heat. */
  readonly left: HeatsLeft | null;
  readonly made: readonly PanelHeatMade[];
  readonly findings: readonly Finding[];
}

/**
 * Heats, ceiling and what heats have done, panel by panel.
 *
 * @param none why no heat may be proposed on a line; null where one may
 */
export function panelHeatingOf(
  job: Job,
  lines: readonly LineAnalysis[],
  log: HeatLog,
  limits: HeatLimits,
  none: (line: LineAnalysis) => string | null,
): PanelHeating[] {
  const single = job.lines.length === 1 ? job.lines[0]!.name : null;
  return lines
    .filter(({ line }) => line.panel !== undefined)
    .map((entry) => {
      const heats = log.heats.filter((heat) => (heat.line ?? single) === entry.line.name);
      return panelHeating(job, entry, heats, limits, none(entry));
    });
}

function panelHeating(
  job: Job,
  entry: LineAnalysis,
  heats: readonly Heat[],
  limits: HeatLimits,
  none: string | null,
): PanelHeating {
  const { line } = entry;
  const panel = line.panel!;
  const surveys = judgedSurveys(entry.fit).filter((survey) => survey.panel !== undefined);
  const [first, last] = [surveys[0], surveys.at(-1)];
  const [found, now] = [first?.panel, last?.panel];
  const maps = [found, now].filter((map) => map !== undefined);
  const stated = statedLimits(limits.bulge);
  const laid =
    found === undefined || now === undefined || stated === null || panel.thickness === null
      ? null
      : panelHeats(found, now, panel.thickness, job.member, stated, readSpacing(first!.stations));
  const ceiling = now === undefined ? null : pushCeiling(job, panel, maps);
  const places = laid?.places ?? [];
  const made = heats.map((heat) => madeAt(heat, places));
  const steps = entry.movements.map(({ fromCycle, toCycle, largest }) =>
    stepOf(fromCycle, toCycle, -largest.movement, largest.u, heats),
  );
  const total =
    first === undefined || last === undefined || first === last
      ? null
      : stepOf(
          first.cycle,
          last.cycle,
          Math.abs(found!.crest.deviation) - Math.abs(now!.crest.deviation),
          hypot(found!.crest.uNew, now!.crest.uNew),
          heats,
        );
  const limit = entry.acceptance[0]?.limit ?? null;
  const recent = steps.slice(-MOST_STEPS);
  const logged = recent.length > 0 && recent.every((step) => step.spots + step.lines > 0);
  const reason = whyNone(job, line, limits, stated !== null, laid?.next.length ?? 0, found, none);
  return {
    line: line.name,
    cycle: last?.cycle ?? null,
    ceiling,
    ceilingMissing: ceiling === null ? missingForPush(line, now !== undefined) : null,
    places,
    next: reason === null ? (laid?.next ?? []) : [],
    reason,
    steps,
    total,
    left:
      limit === null || !logged || now === undefined || now.crest.lowerBound
        ? null
        : heatsLeft(
            recent.map((step) => ({ count: step.spots + step.lines, rotation: step.observed })),
            Math.max(0, Math.abs(now.crest.deviation) - limit),
            now.crest.uNew,
            surveys[surveys.length - 1 - recent.length]?.panel?.crest.uNew ?? now.crest.uNew,
            'heats',
          ),
    made,
    findings: [
      ...tornFindings(line, now, panel.push !== undefined),
      ...madeFindings(job, line, made, places, found, limits, ceiling),
    ],
  };
}

/** Steps that count towards heats left, as for zones: a bulge slows as it flattens. */
const MOST_STEPS = 6;

function stepOf(
  fromCycle: number,
  toCycle: number,
  observed: number,
  observedU: number,
  heats: readonly Heat[],
): PanelStep {
  const here = heats.filter((heat) => heat.cycle > fromCycle && heat.cycle <= toCycle);
  const spots = here.filter((heat) => heat.pattern === 'spot').length;
  const lines = here.filter((heat) => heat.pattern === 'line').length;
  const count = spots + lines;
  return {
    fromCycle,
    toCycle,
    spots,
    lines,
    observed,
    observedU,
    perHeat: count === 0 ? null : observed / count,
    perHeatU: count === 0 ? null : observedU / count,
  };
}

function madeAt(heat: Heat, places: readonly PanelHeat[]): PanelHeatMade {
  const named = places.find((place) => place.name.toLowerCase() === heat.zone?.toLowerCase());
  const logged =
    heat.station === null || heat.height === null ? null : { station: heat.station, height: heat.height };
  return {
    heat,
    name: heat.zone,
    place: logged ?? (named === undefined ? null : named.path[Math.floor(named.path.length / 2)]!),
  };
}

function whyNone(
  job: Job,
  line: Line,
  limits: HeatLimits,
  stated: boolean,
  count: number,
  found: PanelSurvey | undefined,
  none: string | null,
): string | null {
  if (none !== null) return none;
  if (found === undefined) return 'the panel has not been read';
  if (line.panel!.thickness === null) return 'the thickness of the plate is not stated';
  if (!stated)
    return `heats on a bulge have no limits that are built in: state ${missingLimits(limits.bulge)
      .map((name) => `heating.limits.${name}`)
      .join(', ')} with their source in job.json, or choose a rule set that has them`;
  if (limits.maxTemperature === null)
    return `the temperature limit of ${job.member.steel ?? 'this steel'} is not settled`;
  return count > 0
    ? null
    : 'the map shows no place that was bent past yield for certain and is still bent; find it on the steel itself';
}

/** What job.json leaves out that a ceiling for a force on the bulge needs. */
function missingForPush(line: Line, read: boolean): string {
  const path = `panels.${line.name}`;
  const lacks = [
    ...(line.panel!.push === undefined
      ? [`which share of the yield-line load a force may use, with its source (${path}.push)`]
      : []),
    ...(line.panel!.thickness === null ? [`the thickness of the plate (${path}.thickness)`] : []),
  ];
  if (lacks.length > 0) return `job.json does not say ${lacks.join(', nor ')}`;
  return read ? 'no ceiling' : 'the panel has not been read';
}

function tornFindings(line: Line, now: PanelSurvey | undefined, pushed: boolean): Finding[] {
  if (!pushed || now === undefined || !now.crest.lowerBound) return [];
  return [
    {
      severity: 'caution',
      code: 'push-beside-hole',
      message: `Panel ${line.name}: part of it at the crest was not read. Where that is a tear or a hole, no force and no heat before cracks have been looked for to their ends and the engineer has said how they are stopped; the ceiling takes the crest for the rim of a hole.`,
      line: line.name,
      station: now.crest.station,
    },
  ];
}

function madeFindings(
  job: Job,
  line: Line,
  made: readonly PanelHeatMade[],
  places: readonly PanelHeat[],
  found: PanelSurvey | undefined,
  limits: HeatLimits,
  ceiling: PushCeiling | null,
): Finding[] {
  const { units } = job;
  const small = (m: number) => formatLength(m, { units, as: 'offset' });
  const about = ({ heat }: PanelHeatMade) => ({
    cycle: heat.cycle,
    file: heat.file,
    row: heat.row,
    line: line.name,
  });
  const findings: Finding[] = [];
  const { spotDiameter, spotSpacing, spotsPerCycle, linesPerCycle } = limits.bulge;
  for (const each of made) {
    const { heat, place } = each;
    if (
      heat.zone !== null &&
      places.length > 0 &&
      !places.some((p) => p.name.toLowerCase() === heat.zone!.toLowerCase())
    )
      findings.push({
        ...about(each),
        severity: 'caution',
        code: 'heat-place-not-known',
        message: `"${heat.zone}" is not a line or spot of the map of ${line.name} (${places[0]!.name} to ${places.at(-1)!.name}). Give the station and height where it was made.`,
      });
    if (place !== null && found !== undefined && places.length > 0) {
      const reach = Math.max(limits.bulge.spotSpacing?.value ?? 0, limits.bulge.lineSpacing?.value ?? 0);
      const near = places.some((p) =>
        p.path.some((at, i) => distance(place, at, p.path[i + 1] ?? at) <= reach),
      );
      if (!near)
        findings.push({
          ...about(each),
          severity: 'caution',
          code: 'heat-outside-yield',
          message: `Heated on ${line.name} at ${formatLength(place.station, { units, as: 'station' })}, height ${small(place.height)}, away from every place that the as-found map shows past yield. Heat there bends straight steel.`,
        });
    }
    if (
      heat.pattern === 'spot' &&
      heat.width !== null &&
      spotDiameter !== null &&
      (heat.width > spotDiameter.high * HAIR || heat.width < spotDiameter.low / HAIR)
    )
      findings.push({
        ...about(each),
        severity: 'caution',
        code: 'spot-diameter',
        message: `A spot ${small(heat.width)} across on ${line.name}; the limit is ${formatLimit(spotDiameter.low, units)} to ${formatLimit(spotDiameter.high, units)} (${spotDiameter.source}).`,
      });
    const pressure = heat.pressure ?? 0;
    if (pressure > 0) {
      const most = ceiling?.jack?.pressure ?? null;
      if (most === null)
        findings.push({
          ...about(each),
          severity: 'caution',
          code: 'no-ceiling-for-push',
          message: `Heated on ${line.name} with a jack on, but job.json does not say what a force on this panel may be (panels.${line.name}.push, with its jack), so no ceiling could be checked.`,
        });
      else if (pressure > most * HAIR)
        findings.push({
          ...about(each),
          severity: 'stop',
          code: 'push-above-ceiling',
          message: `Gauge at ${pressureText(pressure, units)} on ${line.name}, above its ceiling of ${pressureText(most, units)} (${ceiling!.share.source}). Release, look for cracks, and ask the engineer before going on.`,
        });
    }
  }
  const spots = made.filter((each) => each.heat.pattern === 'spot' && each.place !== null);
  spots.forEach((b, i) => {
    for (const a of spots.slice(0, i)) {
      const apart = hypot(a.place!.station - b.place!.station, a.place!.height - b.place!.height);
      if (a.heat.cycle !== b.heat.cycle || spotSpacing === null || apart >= spotSpacing.value / HAIR)
        continue;
      findings.push({
        ...about(b),
        severity: 'caution',
        code: 'spots-too-close',
        message: `Spots of rows ${a.heat.row} and ${b.heat.row} on ${line.name} stand ${small(apart)} apart in one cycle; the limit is ${formatLimit(spotSpacing.value, units)} (${spotSpacing.source}).`,
      });
    }
  });
  for (const [pattern, most] of [
    ['spot', spotsPerCycle],
    ['line', linesPerCycle],
  ] as const) {
    for (const cycle of new Set(made.map((each) => each.heat.cycle))) {
      const here = made.filter((each) => each.heat.cycle === cycle && each.heat.pattern === pattern);
      if (most === null || here.length <= most.value) continue;
      findings.push({
        ...about(here[most.value]!),
        severity: 'caution',
        code: 'more-heats-than-a-cycle-may-have',
        message: `${here.length} ${pattern} heats on ${line.name} in cycle ${cycle}; the limit is ${most.value} a cycle (${most.source}).`,
      });
    }
  }
  return findings;
}

/** From a place to the straight piece between two others, m. */
function distance(p: Place, a: Place, b: Place): number {
  const [dx, dy] = [b.station - a.station, b.height - a.height];
  const long = dx * dx + dy * dy;
  const t =
    long === 0
      ? 0
      : Math.max(0, Math.min(1, ((p.station - a.station) * dx + (p.height - a.height) * dy) / long));
  return hypot(p.station - a.station - t * dx, p.height - a.height - t * dy);
}
