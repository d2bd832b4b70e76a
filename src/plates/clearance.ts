import type { LineFit, SurveyFit } from '../analysis.ts';
import type { Job, PlateSpec } from '../job/job.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { baselineShape } from './steel-surface.ts';
import type { SupportPlane } from './support-plane.ts';

/** Vertical clearance under low steel at the plate, m. Null where it cannot be said; `reason` tells why. */
export interface Clearance {
  /** As the job states it; it carries no uncertainty here. */
  readonly before: number | null;
  readonly asLeft: number | null;
  readonly asLeftU: number | null;
  readonly asLeftAt: number | null;
  /** With the plate and its bolt heads. */
  readonly withPlate: number | null;
  readonly withPlateU: number | null;
  readonly reason: string;
}

/**
 * Readings that the fit leaves out count here: clearance takes the lowest that was read. `planes`: where the plate lies
 * on the readings used, and on all of them.
 *
 * Clearance before damage (stated), as left (less the largest drop of the steel under the plate, from a vertical
 * line) and with plate and bolt heads. Where the plate itself lies under a vertical line its own lowest point counts:
 * a plate that bridges a hollow hangs lower than the steel there.
 */
export function plateClearance(
  job: Job,
  plate: PlateSpec,
  fitOf: (line: string) => LineFit | null,
  planes: readonly SupportPlane[],
  centre: { readonly along: number; readonly across: number },
): Clearance {
  const nothing: Clearance = {
    before: plate.clearance,
    asLeft: null,
    asLeftU: null,
    asLeftAt: null,
    withPlate: null,
    withPlateU: null,
    reason: 'the job states no clearance before damage',
  };
  if (plate.clearance === null) return nothing;
  const before = plate.clearance;
  const own = job.lines.find((line) => line.name === plate.line)?.kind === 'camber';
  // On its own vertical line the plate lies underneath, so its side is down; another line says in words which way is up.
  const vertical = own ? { name: plate.line, down: plate.side === 'positive' ? 1 : -1 } : verticalLine(job);
  const takes = plate.thickness + (plate.boltHead ?? 0);
  const heads = plate.boltHead === null ? 'bolt heads not stated' : 'bolt heads included';
  if (vertical === null) {
    return {
      ...nothing,
      withPlate: before - takes,
      reason: `no camber line says how far the steel has dropped: with the plate is the clearance before damage less the plate (${heads}), if the plate lies underneath`,
    };
  }
  const fit = fitOf(vertical.name);
  const survey = fit === null ? undefined : judgedSurveys(fit).at(-1);
  const under = survey?.stations.filter((s) => s.station >= plate.from && s.station <= plate.to) ?? [];
  if (fit === null || survey === undefined || under.length === 0) {
    return { ...nothing, reason: `line ${vertical.name} has no judged readings under the plate` };
  }
  const lowest = under.reduce((a, b) => (vertical.down * b.deviation > vertical.down * a.deviation ? b : a));
  const asLeft = before - vertical.down * lowest.deviation;
  const plateDrop =
    own && planes.length > 0
      ? Math.max(
          ...planes.map((plane) =>
            lowestOfPlate(
              plate,
              fit,
              survey,
              plane,
              centre,
              vertical.down,
              plate.width ?? job.member.flangeWidth,
            ),
          ),
        )
      : null;
  return {
    before,
    asLeft,
    asLeftU: lowest.u,
    asLeftAt: lowest.station,
    withPlate: plateDrop === null ? asLeft - takes : before - plateDrop - takes,
    withPlateU: lowest.u,
    reason: `from line ${vertical.name}${lowest.setAside ? ', its lowest a reading that the fit leaves out' : ''}; ${heads}${own ? '' : '; if the plate lies underneath'}. The clearance before damage carries no uncertainty here`,
  };
}

/** Largest drop of the plate's inner face below the undamaged steel, over its corners and the readings under it, m. */
function lowestOfPlate(
  plate: PlateSpec,
  fit: LineFit,
  survey: SurveyFit,
  plane: SupportPlane,
  centre: { readonly along: number; readonly across: number },
  down: number,
  width: number,
): number {
  const places = [plate.from, plate.to, ...survey.stations.map((s) => s.station)].filter(
    (s) => s >= plate.from && s <= plate.to,
  );
  const edge = Math.abs(plane.acrossSlope) * (width / 2);
  return Math.max(
    ...places.map(
      (s) =>
        plane.level + plane.alongSlope * (s - centre.along) + edge - down * baselineShape(fit.baseline, s),
    ),
  );
}

/** The first camber line whose words say which way is positive. */
function verticalLine(job: Job): { name: string; down: 1 | -1 } | null {
  for (const line of job.lines) {
    if (line.kind !== 'camber') continue;
    if (/\b(?:down|downward|downwards|below|low|lower)\b/i.test(line.positive))
      return { name: line.name, down: 1 };
    if (/\b(?:up|upward|upwards|above|high|higher)\b/i.test(line.positive))
      return { name: line.name, down: -1 };
  }
  return null;
}
