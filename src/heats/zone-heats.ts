import type { LineFit, Progress, SurveyFit } from '../analysis.ts';
import type { Job, Line } from '../job/job.ts';
import { atan, hypot } from '../maths/portable.ts';
import { heldAt } from '../survey/crest.ts';
import { heldShape } from '../survey/held-bend.ts';
import { judgedSurveys } from '../survey/judged.ts';
import type { AssignedHeat } from './assign-heats.ts';
import type { HeatLimits } from './heat-limits.ts';
import { type HeatsLeft, heatsLeft } from './heats-left.ts';
import { expectVee, plannedVee } from './planned-vee.ts';
import { type JobRestraint, jackSense, loadRatioAt } from './restraint-of-job.ts';

/** What happened to one zone between two judged surveys. Rotations in rad, positive = straighter. */
export interface ZoneStep {
  readonly fromCycle: number;
  readonly toCycle: number;
  /** Vee heats logged in the zone in these cycles. */
  readonly vees: number;
  readonly otherHeats: number;
  readonly observed: number;
  readonly observedU: number;
  /** Sum of the expected rotations of the logged vees; null without a vee. It carries no uncertainty of its own. */
  readonly expected: number | null;
  /** Observed over expected, with the observed part of its uncertainty. */
  readonly ratio: number | null;
  readonly ratioU: number | null;
  /** Most the vees can turn without jacking. */
  readonly bound: number | null;
  /** True when every logged vee was made without jacking. */
  readonly unjacked: boolean;
  readonly assumed: readonly string[];
}

export interface ZoneHeats {
  readonly line: string;
  readonly zone: string;
  /** Where the zone's bend is centred, m. */
  readonly station: number;
  /** |rotation| now, rad. */
  readonly remaining: number;
  readonly remainingU: number;
  /** + or − 1: sense of the bend as found (see Zone.rotation). */
  readonly sense: number;
  readonly steps: readonly ZoneStep[];
  /** All steps together: readings in between cancel, so this is known far better than any one step. Null before the second survey. */
  readonly total: ZoneStep | null;
  /** Cycle whose survey `left` counts from: within the present regime, at most six steps back. Null before the second survey. */
  readonly sinceCycle: number | null;
  /** Whether `left` counts logged vee heats or, without a log, cycles. */
  readonly unit: 'heats' | 'cycles';
  readonly left: HeatsLeft;
  /** Expected of one planned vee where the bend is centred, rad, and the Mj/Mp it is for; null where no temperature is known. */
  readonly planned: number | null;
  readonly plannedLoadRatio: number | null;
  /** Whole planned heats to take the bend out, ⌈remaining / planned⌉; no interval: single heats vary and no published scatter is at hand. */
  readonly plannedHeats: number | null;
  /** Movement at the impact (or at the zone where no impact is given) of one planned vee, bearings held, m. */
  readonly plannedMovement: number | null;
  readonly movementAt: number;
  /** Mj/Mp at the ceiling with which the jacks bend this zone further the wrong way; null where they do not. */
  readonly against: number | null;
}

/**
 * Observed and expected rotation and heats left, zone by zone. Elastic zones are left out: heat has nothing to undo
 * there. Heats left are counted from the present regime only: what early heats did says little once a zone has slowed.
 *
 * @param restraint as it acts on this line; null where the jacks do not push along its flange
 */
export function zoneHeats(
  job: Job,
  line: Line,
  fit: LineFit,
  progress: Pick<Progress, 'sinceCycle' | 'zones'> | null,
  heats: readonly AssignedHeat[],
  limits: HeatLimits,
  restraint: JobRestraint | null,
): ZoneHeats[] {
  const judged = judgedSurveys(fit);
  const last = judged.at(-1);
  if (last === undefined) return [];
  const facts: HeatFacts = {
    job,
    limits,
    restraint,
    jacks: restraint === null ? () => 1 : jackSense(job, restraint, fit.zones),
  };
  return fit.zones
    .filter((zone) => zone.class === 'plastic')
    .map((zone): ZoneHeats => {
      const mine = heats.filter((h) => h.line === line && h.zone === zone);
      const sense = Math.sign(zone.rotation) || 1;
      const at = (s: SurveyFit) => s.zones.find((z) => z.zone === zone.zone) ?? { rotation: 0, u: 0 };
      const steps = judged
        .slice(1)
        .map((to, i) => zoneStep(facts, judged[i]!, to, at(judged[i]!), at(to), sense, mine));
      const now = at(last);
      const station = zone.core.centre;
      const vee = expectVee(job, limits, restraint, {
        station,
        angle: plannedVee(job, limits).angle,
        temperature: null,
        pressure: null,
        jacks: facts.jacks(station, sense),
      });
      // A bend turned past straight has nothing left to take out: that is the verdict's business, not a count of heats.
      const remaining = Math.max(0, sense * now.rotation);
      const recent = stepsSince(steps, regimeStart(zone.zone, progress));
      const logged = recent.length > 0 && recent.every((s) => s.vees > 0);
      const unit = logged ? 'heats' : 'cycles';
      const startU = at(judged[judged.length - 1 - recent.length]!).u;
      const counted = recent.map((s) => ({
        count: logged ? s.vees : s.toCycle - s.fromCycle,
        rotation: s.observed,
      }));
      const movementAt = line.impact ?? station;
      return {
        line: line.name,
        zone: zone.zone,
        station,
        remaining,
        remainingU: now.u,
        sense,
        steps,
        total: judged.length < 2 ? null : zoneStep(facts, judged[0]!, last, at(judged[0]!), now, sense, mine),
        sinceCycle: recent[0]?.fromCycle ?? null,
        unit,
        left: heatsLeft(counted, remaining, now.u, startU, unit),
        planned: vee === null ? null : vee.rotation,
        plannedLoadRatio: vee === null ? null : vee.loadRatio,
        plannedHeats: vee === null || vee.rotation <= 0 ? null : Math.ceil(remaining / vee.rotation - 1e-9),
        plannedMovement:
          vee === null
            ? null
            : -vee.rotation *
              heldShape((x) => Math.max(0, x - station), heldAt(line, job.member))(movementAt),
        movementAt,
        against:
          restraint?.ceiling != null && facts.jacks(station, sense) < 0
            ? Math.abs(loadRatioAt(job, restraint, restraint.ceiling.pressure, station))
            : null,
      };
    });
}

/** The later of the zone's and the line's last change of rate. */
function regimeStart(zone: string, progress: Pick<Progress, 'sinceCycle' | 'zones'> | null): number | null {
  const own = progress?.zones.find((z) => z.zone === zone)?.sinceCycle ?? null;
  const line = progress?.sinceCycle ?? null;
  return own === null || line === null ? (own ?? line) : Math.max(own, line);
}

/** Most steps counted: a zone slows as it straightens, and an average over a long run would promise too much. */
const MOST_STEPS = 6;

/** The last steps of the regime; the last three where it is too short to show a scatter. */
function stepsSince(steps: readonly ZoneStep[], since: number | null): readonly ZoneStep[] {
  const recent = since === null ? steps : steps.filter((s) => s.fromCycle >= since);
  return recent.length >= 2 ? recent.slice(-MOST_STEPS) : steps.slice(-3);
}

/** What every expectation of one line needs. */
interface HeatFacts {
  readonly job: Job;
  readonly limits: HeatLimits;
  readonly restraint: JobRestraint | null;
  readonly jacks: (station: number, sense: number) => 1 | -1;
}

function zoneStep(
  facts: HeatFacts,
  from: SurveyFit,
  to: SurveyFit,
  before: { readonly rotation: number; readonly u: number },
  after: { readonly rotation: number; readonly u: number },
  sense: number,
  heats: readonly AssignedHeat[],
): ZoneStep {
  const here = heats.filter((h) => h.heat.cycle > from.cycle && h.heat.cycle <= to.cycle);
  const vees = here.filter((h) => h.heat.pattern === 'vee' && h.station !== null);
  const expectations = vees.map((h) =>
    expectVee(facts.job, facts.limits, facts.restraint, {
      station: h.station!,
      angle: veeAngle(h.heat),
      temperature: h.heat.temperature,
      pressure: h.heat.pressure,
      jacks: facts.jacks(h.station!, sense),
    }),
  );
  const known = expectations.filter((e) => e !== null);
  const complete = vees.length > 0 && known.length === vees.length;
  const expected = complete ? sum(known.map((e) => e.rotation)) : null;
  const observed = sense * (before.rotation - after.rotation);
  const observedU = hypot(before.u, after.u);
  return {
    fromCycle: from.cycle,
    toCycle: to.cycle,
    vees: vees.length,
    otherHeats: here.length - vees.length,
    observed,
    observedU,
    expected,
    ratio: expected === null || expected <= 0 ? null : observed / expected,
    ratioU: expected === null || expected <= 0 ? null : observedU / expected,
    bound: complete ? sum(known.map((e) => e.bound)) : null,
    unjacked: complete && known.every((e) => e.loadRatio === 0 && !e.assumed.some((a) => a.includes('jack'))),
    assumed: [...new Set(known.flatMap((e) => e.assumed))],
  };
}

/** Angle as logged, or from depth and open width; rad. */
export function veeAngle(heat: {
  readonly angle: number | null;
  readonly depth: number | null;
  readonly width: number | null;
}): number | null {
  if (heat.angle !== null) return heat.angle;
  return heat.depth === null || heat.width === null ? null : 2 * atan(heat.width / (2 * heat.depth));
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
