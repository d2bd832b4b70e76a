import type { PanelSurvey } from '../analysis.ts';
import type { Cited, Job, PanelPlace } from '../job/job.ts';
import { MEGAPASCAL, POUND_FORCE, PSI } from '../units/factors.ts';

/** How the plate around the load is held: what its yield-line load depends on. */
export interface PlateEdges {
  /** Held edges that turn freely; the others are clamped, or the plate runs on past them. */
  readonly turning: number;
  /** Whether the load may stand at a free edge: the outer edge of a flange, the rim of a hole. */
  readonly free: boolean;
}

/**
 * Yield-line load of a plate under a point load, in multiples of m_p per unit length, moments of both signs alike
 * (Johansen): the least over where the load stands and how wide the plate is, so that it errs to the safe side.
 *
 * Inside the plate a fan gives 2π(m + m′) = 4π. Along an edge that turns freely, a quarter of the fan gives way to
 * straight pieces that meet the edge, at 2 tan β with β = π/4: each such edge takes π − 2 off. With all four it is 8, the
 * square plate loaded in its middle, 4(a/b + b/a). At a free edge half a fan with straight hogging lines from the edge at
 * 45° gives π + 2; a freely turning edge beyond takes π − 2 off again.
 */
export function yieldLineFactor({ turning, free }: PlateEdges): number {
  const perEdge = Math.PI - 2;
  return free ? Math.PI + 2 - (turning > 0 ? perEdge : 0) : 4 * Math.PI - Math.min(4, turning) * perEdge;
}

/** Plastic moment of a plate per unit length: Fy·t²/4 (elementary), N. */
export function plasticMoment(yieldStress: number, thickness: number): number {
  return (yieldStress * thickness ** 2) / 4;
}

export interface PushCeiling {
  /** Multiples of m_p, and m_p itself, N (N·m per m). */
  readonly factor: number;
  readonly moment: number;
  readonly mechanism: string;
  /** N, cold. */
  readonly yieldLoad: number;
  readonly share: Cited;
  /** Largest force on the bulge, rounded down, N. */
  readonly force: number;
  /** Jack that pushes, its gauge pressure at that force rounded down to a mark, Pa, and whether its rating came first. */
  readonly jack: { readonly name: string; readonly pressure: number; readonly rated: boolean } | null;
}

/**
 * The largest force on the bulge of a panel: the stated share of its cold yield-line load, rounded down. Null where the
 * job states no share or no thickness.
 */
export function pushCeiling(
  job: Job,
  panel: PanelPlace,
  surveys: readonly PanelSurvey[],
): PushCeiling | null {
  const { push, thickness } = panel;
  if (push === undefined || thickness === null) return null;
  const clamped = push.edges === 'clamped';
  const outer = panel.element !== 'web' && (!panel.held.includes('bottom') || !panel.held.includes('top'));
  const torn = surveys.some((survey) => survey.crest.lowerBound);
  const edges = { turning: clamped ? 0 : panel.held.length, free: outer || torn };
  const factor = yieldLineFactor(edges);
  const moment = plasticMoment(job.member.yieldStress, thickness);
  const yieldLoad = factor * moment;
  const step = job.units === 'us' ? 100 * POUND_FORCE : 500;
  const allowed = Math.floor((push.share.value * yieldLoad) / step + 1e-9) * step;
  const jack = job.jacks.find((each) => each.name === push.jack);
  const rated = jack !== undefined && jack.capacity !== null && jack.capacity < allowed;
  const force = rated ? Math.floor(jack.capacity! / step + 1e-9) * step : allowed;
  const division = job.restraint?.gaugeDivision ?? (job.units === 'us' ? 50 * PSI : 0.5 * MEGAPASCAL);
  const where = outer
    ? 'at the free edge of the flange'
    : torn
      ? 'at the rim of what was not read at the crest, taken for a hole'
      : 'inside the panel';
  const held = clamped
    ? `held edges clamped (${push.edgesSource ?? ''})`
    : `${panel.held.length} held edges free to turn`;
  return {
    factor,
    moment,
    mechanism: `point load ${where}, ${held}`,
    yieldLoad,
    share: push.share,
    force,
    jack:
      jack === undefined
        ? null
        : {
            name: jack.name,
            pressure: Math.floor(force / jack.ramArea / division + 1e-9) * division,
            rated,
          },
  };
}
