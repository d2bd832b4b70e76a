import { guardedDecision } from '../acceptance/guarded.ts';
import type { LineFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Cited, Job, JobUnits, PlateSpec } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { type Clearance, plateClearance } from './clearance.ts';
import { type DrawDown, drawDownForce } from './draw-down.ts';
import { chooseFill, type Fill } from './fillers.ts';
import { type Height, type LeftOut, type Part, type SteelSurface, steelSurface } from './steel-surface.ts';
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
  /** Least force here that draws the plate down by the gap left, N, the plate a beam on its contacts; null where none is left. */
  readonly drawDown: number | null;
  /** The most it can take, N: with the bolts on either side already tight; null where `drawDown` is. */
  readonly drawDownMost: number | null;
  /** Whether the pull-in the engineer states does that, even at the most; null where none is stated, there is nothing to draw, or it depends on how tight the other bolts are. */
  readonly closes: boolean | null;
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
  /** Readings under the plate that the fit leaves out: with them no gap is called within. */
  readonly leftOut: readonly LeftOut[];
  /** Largest gap with those readings counted as read, m; null where there are none or they change nothing. */
  readonly largestAsRead: number | null;
  readonly clearance: Clearance;
  readonly findings: readonly Finding[];
}

/**
 * Largest gap left between faying surfaces where the job states none, by the code of the job's units. No American
 * limit for a gap under a bolted plate was at hand; burrs are one that holds plies apart.
 */
export const DEFAULT_GAP_LIMIT: Record<JobUnits, Cited> = {
  us: {
    value: INCH / 16,
    source:
      'RCSC specification 3.4, height of burrs that may stay between faying surfaces, as aisc.org FAQ 2.4.3 quotes it; the engineer’s own rule goes into gapLimit',
  },
  si: {
    value: 1e-3,
    source: 'EN 1090-2 clause 8.1, preloaded bolts, from memory; the engineer’s own rule goes into gapLimit',
  },
};

/** Total thickness of fillers from which the codes ask for more than a filler. */
const THICK_FILLER: Record<JobUnits, number> = { us: INCH / 4, si: 6e-3 };

/** A flat rigid plate laid on the as-left steel: gaps, fillers and clearance. */
export function fitPlate(job: Job, plate: PlateSpec, fitOf: (line: string) => LineFit | null): PlateFit {
  const gapLimit = plate.gapLimit ?? DEFAULT_GAP_LIMIT[job.units];
  const surface = steelSurface(plate, job.member.flangeWidth, fitOf);
  const centre = { along: (plate.from + plate.to) / 2, across: middle(surface?.heights ?? []) };
  const plane = surface === null ? null : supportPlane(surface.heights, centre);
  const leftOut = surface?.leftOut ?? [];
  const asRead =
    surface === null || leftOut.length === 0 ? null : planeAsRead(plate, surface, leftOut, centre);
  const planes = [plane, asRead?.plane ?? null].filter((p) => p !== null);
  const clearance = plateClearance(job, plate, fitOf, planes, centre);
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
      leftOut,
      largestAsRead: null,
      clearance,
      findings: leftOutFindings(job, plate, leftOut, null),
    };
  }
  const contacts = plane.contacts.map((i) => surface.heights[i]!.along);
  const width = plate.width ?? job.member.flangeWidth;
  const stiffness = (job.member.elasticModulus * width * plate.thickness ** 3) / 12;
  const gaps = surface.heights.map((h, i): Gap => {
    const contact = plane.contacts.includes(i);
    const level =
      plane.level +
      plane.alongSlope * (h.along - centre.along) +
      plane.acrossSlope * (h.across - centre.across);
    const gap = contact ? 0 : Math.max(0, level - h.height);
    const u = contact ? null : gapU(h, plane, surface.heights);
    const fill = chooseFill(gap, plate.fillers, plate.maxPlies);
    const drawDown =
      contact || fill.left < 1e-6 ? null : drawDownForce(h.along, fill.left, contacts, stiffness);
    const decided = guardedDecision(fill.left, u ?? 0, gapLimit.value);
    return {
      station: h.along,
      across: h.across,
      gap,
      u,
      contact,
      interpolated: h.interpolated,
      fill,
      drawDown: drawDown?.least ?? null,
      drawDownMost: drawDown?.most ?? null,
      closes: drawDown === null || plate.pullIn === null ? null : closedBy(plate.pullIn.value, drawDown),
      // A reading left out may be the steel: nothing under this plate is then known to be inside.
      result: decided === 'within' && leftOut.length > 0 ? 'undetermined' : decided,
    };
  });
  return {
    plate,
    gaps,
    reason: `rests on the highest steel under it, its middle between the contacts; ${surface.across}`,
    cycle: surface.cycle,
    slope: { along: plane.alongSlope, across: plane.acrossSlope },
    gapLimit,
    leftOut,
    largestAsRead: asRead?.largest ?? null,
    clearance,
    findings: [
      ...leftOutFindings(job, plate, leftOut, asRead?.largest ?? null),
      ...rockFindings(plate, gaps, plane.weightsAt(centre.along, centre.across)),
      ...gapFindings(plate, gaps, leftOut.length > 0),
      ...fillerFindings(job, plate, gaps),
    ],
  };
}

function closedBy(pullIn: number, { least, most }: DrawDown): boolean | null {
  if (most <= pullIn) return true;
  return least > pullIn ? false : null;
}

/** The plate laid on all readings, those left out counted as read: where it rests, and the largest gap then. */
function planeAsRead(
  plate: PlateSpec,
  surface: SteelSurface,
  leftOut: readonly LeftOut[],
  centre: { readonly along: number; readonly across: number },
): { plane: SupportPlane; largest: number } | null {
  // A tilt reading left out gives no height of its own; it is listed.
  const more = leftOut
    .filter((out) => out.line !== plate.tilt)
    .map((out) => ({ along: out.station, across: out.across, height: out.height }));
  const points = [...surface.heights, ...more];
  const plane = supportPlane(points, centre);
  if (plane === null) return null;
  const gaps = points.map(
    (h) =>
      plane.level +
      plane.alongSlope * (h.along - centre.along) +
      plane.acrossSlope * (h.across - centre.across) -
      h.height,
  );
  return { plane, largest: Math.max(0, ...gaps) };
}

function leftOutFindings(
  job: Job,
  plate: PlateSpec,
  leftOut: readonly LeftOut[],
  largest: number | null,
): Finding[] {
  if (leftOut.length === 0) return [];
  const { units } = job;
  const list = leftOut
    .map(
      (out) =>
        `${out.line} at ${formatLength(out.station, { units, as: 'station', digits: 2 })} (${out.rows.join(', ')}: ${out.reason})`,
    )
    .join('; ');
  const counted =
    largest === null
      ? ''
      : ` Counted as read, the largest gap would be ${formatLength(largest, { units, as: 'offset', fraction: 32 })}.`;
  return [
    {
      severity: 'caution',
      code: 'reading-set-aside-under-plate',
      message: `Plate ${plate.name}: ${leftOut.length} ${leftOut.length === 1 ? 'station is' : 'stations are'} left out of the shape under it: ${list}.${counted} No gap is called within until they are read again.`,
      line: plate.line,
    },
  ];
}

/** Fillers of 1/4 in and more. */
function fillerFindings(job: Job, plate: PlateSpec, gaps: readonly Gap[]): Finding[] {
  const thickest = Math.max(0, ...gaps.map((g) => g.fill.thickness));
  if (thickest < THICK_FILLER[job.units] - 1e-6) return [];
  const inches = thickest / INCH;
  const factor =
    inches > 0.75
      ? 'past 3/4 in the factor ends'
      : `bolts count for ${Math.min(1, 1 - 0.4 * (inches - 0.25)).toFixed(2)} of their shear strength through the thickest`;
  return [
    {
      severity: 'caution',
      code: 'thick-fillers',
      message: `Plate ${plate.name}: fillers up to ${formatLength(thickest, { units: job.units, as: 'offset', fraction: 64 })}. From 1/4 in on, bolts that carry load through them lose strength, 1 − 0.4(t − 0.25 in) up to 3/4 in, unless the filler runs past the plate and is bolted there or the joint is slip-critical (AISC LRFD specification J6; AASHTO asks the like): ${factor}. The engineer designs them.`,
      line: plate.line,
    },
  ];
}

/** u of contact heights carried to this place, less the height here; readings that enter both are taken together. */
function gapU(h: Height, plane: SupportPlane, heights: readonly Height[]): number {
  const shares = new Map<string, { share: number; u: number }>();
  const add = (parts: readonly Part[], factor: number) => {
    for (const part of parts) {
      const known = shares.get(part.key);
      // The larger of the two: the u of a set-up differs a little from station to station.
      shares.set(part.key, {
        share: (known?.share ?? 0) + factor * part.share,
        u: Math.max(known?.u ?? 0, part.u),
      });
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

/**
 * Contacts closer together than a third of the plate: it rocks on a crown. Its middle on the line between two of three
 * contacts: it rocks across that line, as over a twisted flange. How far it leans is then not the steel's to say.
 *
 * @param weights of the contacts at the middle of the plate
 */
function rockFindings(plate: PlateSpec, gaps: readonly Gap[], weights: readonly number[]): Finding[] {
  if (weights.length > 2 && weights.some((weight) => Math.abs(weight) < 1e-6)) {
    return [
      {
        severity: 'note',
        code: 'plate-can-rock',
        message: `Plate ${plate.name} rests on two places across its middle and can rock from one side of them to the other: the gaps here are those of one side, and can be shared between both. Settle how it is to lie before the fillers are cut.`,
        line: plate.line,
      },
    ];
  }
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

function gapFindings(plate: PlateSpec, gaps: readonly Gap[], leftOut: boolean): Finding[] {
  const findings: Finding[] = [];
  const outside = gaps.filter((g) => g.result === 'outside');
  const closed = outside.filter((g) => g.closes === true).length;
  const stay = outside.length - closed;
  const open = gaps.filter((g) => g.result === 'undetermined').length;
  const places = (n: number) => `${n} of ${gaps.length} places`;
  if (stay > 0) {
    const bolts =
      plate.pullIn === null
        ? ' Whether bolts draw it down is not known (pullIn).'
        : outside.some((g) => g.closes === false)
          ? ' The stated pull-in does not close it.'
          : ' The stated pull-in closes it only while the bolts beside it are loose.';
    findings.push({
      severity: 'caution',
      code: 'faying-gap-outside',
      message: `Plate ${plate.name}: at ${places(stay)} the gap left after filling is outside the faying limit.${bolts} Thinner stock, a milled filler or more straightening is needed there.`,
      line: plate.line,
    });
  }
  if (closed > 0) {
    findings.push({
      severity: 'note',
      code: 'faying-gap-closed-by-bolts',
      message: `Plate ${plate.name}: at ${places(closed)} the gap left is outside the faying limit but the stated pull-in (${plate.pullIn!.source}) draws the plate down. That bends the plate and takes from the bolts’ preload: the engineer decides.`,
      line: plate.line,
    });
  }
  if (open > 0 && !leftOut) {
    findings.push({
      severity: 'note',
      code: 'faying-gap-undetermined',
      message: `Plate ${plate.name}: at ${places(open)} the readings cannot tell whether the gap left is inside the faying limit. Try the plate and use feeler gauges before the fillers are cut.`,
      line: plate.line,
    });
  }
  return findings;
}
