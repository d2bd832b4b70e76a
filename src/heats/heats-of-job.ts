import type { Analysis, LineAnalysis, Verdict } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Job } from '../job/job.ts';
import { sameFlange } from '../member/one-flange.ts';
import { sameSide } from '../member/sides.ts';
import { formatAngle } from '../units/format-quantity.ts';
import { type AssignedHeat, assignHeats, type ZonedLine } from './assign-heats.ts';
import { checkHeats } from './check-heats.ts';
import { type HeatLimits, heatLimitsOf } from './heat-limits.ts';
import type { HeatLog } from './heat-log.ts';
import { type HotStress, hotStress } from './hot-stress.ts';
import { jackingFindings } from './jacking-findings.ts';
import { type JobFactor, jobFactor } from './job-factor.ts';
import { type LayoutProposal, proposeLayout } from './layout.ts';
import { type LedLines, ledLines } from './lead-lines.ts';
import { limitFindings } from './limit-findings.ts';
import { saidOnce, sanityFindings } from './log-sanity.ts';
import { type PanelHeating, panelHeatingOf } from './panel-heats.ts';
import { type PlannedVee, plannedVee } from './planned-vee.ts';
import { type HeatQuantities, heatQuantities } from './quantities.ts';
import { type JobRestraint, restraintOfJob } from './restraint-of-job.ts';
import { type ZoneHeats, zoneHeats } from './zone-heats.ts';

/** Everything said about heating and jacking of one job. */
export interface HeatsOfJob {
  readonly limits: HeatLimits;
  /** Null where the job does not say how the member is held. */
  readonly restraint: JobRestraint | null;
  /** Null where the job states no dead load stress. */
  readonly hotStress: HotStress | null;
  readonly plan: PlannedVee;
  readonly zones: readonly ZoneHeats[];
  /** Lines left out of `zones` and `layouts`, because they read the flange of the other line named. */
  readonly led: LedLines;
  /** What heats of this job have done of what the formula expects, of late; null with too few logged steps. */
  readonly factor: JobFactor | null;
  /** One a sweep line with plastic zones; one for all lines of one flange. */
  readonly layouts: readonly LayoutProposal[];
  /** One a panel. */
  readonly panels: readonly PanelHeating[];
  readonly quantities: HeatQuantities;
  /** The heats of the log with the line and zone each belongs to. */
  readonly made: readonly AssignedHeat[];
  readonly findings: readonly Finding[];
}

/** Heats, restraint and the next vees from an analysis and a heat log (an empty log where there is none). */
export function heatsOfJob(analysis: Analysis, log: HeatLog): HeatsOfJob {
  const { job } = analysis;
  const limits = heatLimitsOf(job);
  const restraint = restraintOfJob(job, analysis.lines);
  const hot = hotStress(job, limits, restraint);
  const plan = plannedVee(job, limits);
  const lines: ZonedLine[] = analysis.lines.map(({ line, fit }) => ({ line, zones: fit.zones }));
  const led = ledLines(job, analysis.lines);
  const assigned = assignHeats(log.heats, lines, led);
  const byLine = analysis.lines
    .filter(({ line }) => !led.has(line.name))
    .map((entry) => ({
      entry,
      zones: zoneHeats(
        job,
        entry.line,
        entry.fit,
        entry.progress,
        assigned,
        limits,
        pushOn(job, analysis.lines, entry, restraint),
      ),
    }));
  const zones = byLine.flatMap((l) => l.zones);
  const findings = [
    ...jackingFindings(job, restraint, hot),
    ...checkHeats(
      job,
      assigned,
      lines,
      limits,
      restraint,
      Math.max(-1, ...analysis.lines.flatMap(({ fit }) => fit.surveys.map(({ cycle }) => cycle))),
    ),
    ...limitFindings(job, limits, plan),
    ...byLine.flatMap((l) => doubtFindings(l.entry)),
    ...againstFindings(zones),
    ...boundFindings(zones),
    ...sanityFindings(zones),
  ];
  const laid = panelHeatingOf(
    job,
    analysis.lines,
    log,
    limits,
    (l) => NO_HEATS_BY_VERDICT[l.progress.verdict] ?? null,
  );
  findings.push(...laid.flatMap((panel) => panel.findings));
  // Every first screen says to settle a stop before any more heat: a proposal beside one would contradict it.
  const stop = [...findings, ...analysis.findings].find((f) => f.severity === 'stop');
  const whyNone = (verdict: Verdict) =>
    stop !== undefined ? STOPPED : (NO_HEATS_BY_VERDICT[verdict] ?? null);
  const panels = stop === undefined ? laid : laid.map((panel) => ({ ...panel, next: [], reason: STOPPED }));
  return {
    limits,
    restraint,
    hotStress: hot,
    plan,
    zones,
    led,
    factor: jobFactor(zones),
    // Flange vees straighten a sweep; a vertical bend takes vees in the web, which are left to the engineer.
    layouts: byLine
      .filter((l) => l.entry.line.kind === 'sweep' && l.zones.length > 0)
      .map((l) => {
        // Vees of one cycle are heated with the jacks as they stand: a bend those make worse gets none.
        const helped = l.zones.filter((zone) => zone.against === null);
        const layout = proposeLayout(
          l.entry.line,
          job.member,
          l.entry.fit,
          helped,
          plan,
          limits,
          mostVees(log),
          job.units,
        );
        const why = whyNone(l.entry.progress.verdict);
        return why === null
          ? layout
          : { ...layout, vees: [], largestAfter: layout.largestBefore, reason: why };
      }),
    panels,
    quantities: heatQuantities(log),
    made: assigned,
    findings: saidOnce(findings),
  };
}

/**
 * The jacks as they act on a line: they push along one, and so along every other of the same flange whose positive side is
 * known against it. What they do to the rest is not known.
 */
function pushOn(
  job: Job,
  lines: readonly LineAnalysis[],
  entry: LineAnalysis,
  restraint: JobRestraint | null,
): JobRestraint | null {
  const pushed = lines.find(({ line }) => line.name === job.restraint?.line);
  if (restraint === null || pushed === undefined) return null;
  if (entry === pushed) return restraint;
  const side = sameFlange(entry, pushed) ? sameSide(pushed.line, entry.line) : null;
  return side === null
    ? null
    : {
        ...restraint,
        sense: restraint.sense === null ? null : side === 1 ? restraint.sense : (-restraint.sense as 1 | -1),
      };
}

const STOPPED = 'a stop stands, and no heat is proposed until the engineer has lifted it';

/** What the readings say that no proposal of further heats may contradict. */
const NO_HEATS_BY_VERDICT: Partial<Record<Verdict, string>> = {
  'within-tolerance':
    'the line is inside all its limits and needs no heat for them; whether to go on is for the engineer to say',
  regressing:
    'the line goes the wrong way: no more heat of the same kind before it has been read again and the engineer has looked',
  overcorrected:
    'the line is past straight: no more heat of the same kind before it has been read again and the engineer has looked',
};

/** As many vees as the crew made in one cycle so far; four before there is a log (common practice, no source). */
function mostVees(log: HeatLog): number {
  const byCycle = new Map<number, number>();
  for (const heat of log.heats) {
    if (heat.pattern === 'vee') byCycle.set(heat.cycle, (byCycle.get(heat.cycle) ?? 0) + 1);
  }
  return byCycle.size === 0 ? 4 : Math.max(...byCycle.values());
}

/** Vees are placed by zones; where those are doubtful, so are the vees. */
function doubtFindings({ line, fit }: LineAnalysis): Finding[] {
  return fit.doubt === undefined || fit.zones.length === 0
    ? []
    : [
        {
          severity: 'caution',
          code: 'vees-by-doubtful-zones',
          message: `The zones of ${line.name} are doubtful, and so is where vees would stand by them: find the sharpest bend on the steel itself, and have the engineer place the vees. ${fit.doubt}`,
          line: line.name,
        },
      ];
}

function againstFindings(zones: readonly ZoneHeats[]): Finding[] {
  return zones
    .filter((zone) => zone.against !== null && zone.remaining > 2 * zone.remainingU)
    .map((zone) => ({
      severity: 'caution',
      code: 'jacks-against-bend',
      message: `Pushing to straighten the largest bend, the jacks of this set-up bend zone ${zone.zone} further the wrong way (${zone.against!.toFixed(2)} of the plastic moment at the centre of its bend, at the ceiling). Heat it with the jacks off, or set them up for it.`,
      line: zone.line,
      station: zone.station,
    }));
}

function boundFindings(zones: readonly ZoneHeats[]): Finding[] {
  return zones.flatMap((zone) =>
    zone.steps
      .filter((s) => s.unjacked && s.bound !== null && s.observed - 2 * s.observedU > s.bound)
      .map(
        (s): Finding => ({
          severity: 'caution',
          code: 'more-than-heat-alone-can-do',
          message: `Zone ${zone.zone} turned ${formatAngle(s.observed)} in cycles ${s.fromCycle + 1} to ${s.toCycle} without jacking; its vees can turn at most ${formatAngle(s.bound!)} even if perfectly held (from memory of Holt 1971). Look for something else that moved: a released reaction, a jack left on, the string.`,
          line: zone.line,
          cycle: s.toCycle,
          station: zone.station,
        }),
      ),
  );
}
