import { guardedDecision } from '../acceptance/guarded.ts';
import type { LineFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Cited, Job, PlateSpec } from '../job/job.ts';
import { type Clearance, plateClearance } from './clearance.ts';
import { chooseFill, type Fill } from './fillers.ts';
import { type Height, type Part, steelSurface } from './steel-surface.ts';
import { type SupportPlane, supportPlane } from './support-plane.ts';

/** Gap between the rigid plate and the steel at one place. */
export interface Gap {
  /** Station, and distance across from the line, m. */
  readonly station: number;
  readonly across: number;
  /** m, never negative; 0 where the plate rests. */
  readonly gap: number;
  /** Of the readings; null at a contact, where the gap is nothing by construction. */
  readonly u: number | null;
  readonly contact: boolean;
  readonly interpolated: boolean;
  readonly fill: Fill;
  /** Gap left after filling against the faying limit, with its uncertainty (guarded as acceptance is). */
  readonly result: 'within' | 'undetermined' | 'outside';
}

export interface PlateFit {
  readonly plate: PlateSpec;
  /** Null where the plate cannot be laid on the readings; `reason` says why. */
  readonly gaps: readonly Gap[] | null;
  readonly reason: string;
  /** Cycle of the as-left survey. */
  readonly cycle: number | null;
  /** Slope of the plate to the string, along and across, rad. */
  readonly slope: { readonly along: number; readonly across: number } | null;
  readonly gapLimit: Cited;
  readonly clearance: Clearance;
  readonly findings: readonly Finding[];
}

/**
 * Largest gap left between faying surfaces where the job states none: 1 mm between parts that make up one ply of a
 * connection with preloaded bolts (EN 1090-2 clause 8.1, from memory; 2 mm where bolts are not preloaded).
 */
const DEFAULT_GAP_LIMIT: Cited = {
  value: 1e-3,
  source: 'EN 1090-2 clause 8.1, preloaded bolts, from memory; the engineer’s own rule goes into gapLimit',
};

/** A flat rigid plate laid on the as-left steel: gaps, fillers and clearance. */
export function fitPlate(job: Job, plate: PlateSpec, fitOf: (line: string) => LineFit | null): PlateFit {
  const gapLimit = plate.gapLimit ?? DEFAULT_GAP_LIMIT;
  const surface = steelSurface(plate, job.member.flangeWidth, fitOf);
  const centre = { along: (plate.from + plate.to) / 2, across: middle(surface?.heights ?? []) };
  const plane = surface === null ? null : supportPlane(surface.heights, centre);
  const clearance = plateClearance(job, plate, fitOf, plane, centre);
  if (surface === null || plane === null) {
    return {
      plate,
      gaps: null,
      reason:
        surface === null
          ? `line ${plate.line} has no judged survey with two readings under the plate`
          : 'the readings lie on one side of the middle of the plate, which cannot rest on them',
      cycle: surface?.cycle ?? null,
      slope: null,
      gapLimit,
      clearance,
      findings: [],
    };
  }
  const gaps = surface.heights.map((h, i): Gap => {
    const contact = plane.contacts.includes(i);
    const level =
      plane.level +
      plane.alongSlope * (h.along - centre.along) +
      plane.acrossSlope * (h.across - centre.across);
    const gap = contact ? 0 : Math.max(0, level - h.height);
    const u = contact ? null : gapU(h, plane, surface.heights);
    const fill = chooseFill(gap, plate.fillers, plate.maxPlies);
    return {
      station: h.along,
      across: h.across,
      gap,
      u,
      contact,
      interpolated: h.interpolated,
      fill,
      result: guardedDecision(fill.left, u ?? 0, gapLimit.value),
    };
  });
  return {
    plate,
    gaps,
    reason: `rests on the highest steel under it, its middle between the contacts; ${surface.across}`,
    cycle: surface.cycle,
    slope: { along: plane.alongSlope, across: plane.acrossSlope },
    gapLimit,
    clearance,
    findings: [...rockFindings(plate, gaps), ...gapFindings(plate, gaps)],
  };
}

/** u of contact heights carried to this place, less the height here; readings that enter both are taken together. */
function gapU(h: Height, plane: SupportPlane, heights: readonly Height[]): number {
  const shares = new Map<string, { share: number; u: number }>();
  const add = (parts: readonly Part[], factor: number) => {
    for (const part of parts) {
      const known = shares.get(part.key);
      shares.set(part.key, { share: (known?.share ?? 0) + factor * part.share, u: part.u });
    }
  };
  const weights = plane.weightsAt(h.along, h.across);
  plane.contacts.forEach((index, k) => {
    add(heights[index]!.parts, weights[k]!);
  });
  add(h.parts, -1);
  return Math.sqrt([...shares.values()].reduce((sum, { share, u }) => sum + (share * u) ** 2, 0));
}

/** Middle of the rows across: 0 for one row and for the two edges of a tilt line. */
function middle(heights: readonly Height[]): number {
  if (heights.length === 0) return 0;
  const across = heights.map((h) => h.across);
  return (Math.min(...across) + Math.max(...across)) / 2;
}

/** Contacts closer together than a third of the plate: it rocks on a crown, and how far it leans is not the steel's to say. */
function rockFindings(plate: PlateSpec, gaps: readonly Gap[]): Finding[] {
  const at = gaps.filter((g) => g.contact).map((g) => g.station);
  const apart = Math.max(...at) - Math.min(...at);
  if (apart >= (plate.to - plate.from) / 3) return [];
  return [
    {
      severity: 'note',
      code: 'plate-can-rock',
      message: `Plate ${plate.name} rests on a crown and can rock on it, so its gaps are known poorly and can be shared between its ends. Settle how it is to lie before the fillers are cut.`,
      line: plate.line,
    },
  ];
}

function gapFindings(plate: PlateSpec, gaps: readonly Gap[]): Finding[] {
  const findings: Finding[] = [];
  const outside = gaps.filter((g) => g.result === 'outside').length;
  const open = gaps.filter((g) => g.result === 'undetermined').length;
  if (outside > 0) {
    findings.push({
      severity: 'caution',
      code: 'faying-gap-outside',
      message: `Plate ${plate.name}: at ${outside} of ${gaps.length} places the gap left after filling is outside the faying limit. Thinner stock, a milled filler or more straightening is needed there.`,
      line: plate.line,
    });
  }
  if (open > 0) {
    findings.push({
      severity: 'note',
      code: 'faying-gap-undetermined',
      message: `Plate ${plate.name}: at ${open} of ${gaps.length} places the readings cannot tell whether the gap left is inside the faying limit. Try the plate and use feeler gauges before the fillers are cut.`,
      line: plate.line,
    });
  }
  return findings;
}
