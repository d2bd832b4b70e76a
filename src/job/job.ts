import type { LineKind } from '../survey/survey.ts';

/**
 * A job after reading: every quantity in SI (metres, pascals, radians, °C), every default filled in.
 * The text form of job.json and its zod schema live beside this file; nothing past this point knows feet.
 */
export interface Job {
  readonly name: string;
  /** The units people read and write in this job. */
  readonly units: JobUnits;
  /** What a dashed length such as `5-3-8` means in this job; null: dashed lengths are refused. */
  readonly dashedLengths: 'eighths' | 'sixteenths' | null;
  readonly member: Member;
  readonly lines: readonly Line[];
  /** Movement of the largest deviation per cycle that is worth another cycle, m. Default 1/32 in. */
  readonly usefulGain: number;
  readonly acceptance: readonly AcceptanceRule[];
  /** Earlier damage or repairs of the same location. */
  readonly repairs: readonly Repair[];
  readonly jacks: readonly Jack[];
  readonly plates: readonly PlateSpec[];
}

export type JobUnits = 'us' | 'si';

export interface Member {
  /** m */
  readonly span: number;
  /** Pa */
  readonly yieldStress: number;
  /** Pa; default 29000 ksi */
  readonly elasticModulus: number;
  /** m */
  readonly flangeWidth: number;
  /** m */
  readonly flangeThickness: number;
  /** m, or null where the job does not say */
  readonly webThickness: number | null;
  readonly depth: number | null;
  /** Grade as written, e.g. "A36"; null where the job does not say. */
  readonly steel: string | null;
  /** Diaphragm stations, m, increasing; null where the job does not say (different from "none": []). */
  readonly diaphragms: readonly number[] | null;
}

export type BaselineSpec =
  | { readonly method: 'auto' }
  | { readonly method: 'bearings' }
  | {
      readonly method: 'undamaged';
      /** Given reaches [from, to] in m; null: found from the readings. */
      readonly reaches: readonly (readonly [number, number])[] | null;
      readonly degree: 0 | 1 | 2;
    }
  | {
      readonly method: 'reference';
      /** Job-relative file the profile came from. */
      readonly file: string;
      /** Profile points, m, stations increasing. */
      readonly profile: readonly { readonly station: number; readonly offset: number }[];
    };

export interface Line {
  readonly name: string;
  readonly kind: LineKind;
  /** Stations of the two bearings (or straight-edge feet) of this line, m, increasing. */
  readonly bearings: readonly [number, number];
  /** What a positive offset means, in words. */
  readonly positive: string;
  readonly baseline: BaselineSpec;
  /** Height of the blocks that hold the string clear, m. Taken off every offset. Default 0. */
  readonly standoff: number;
  /** Stated standard deviation of one reading, m; null: the default (1/16 in) until repeats say better. */
  readonly readingSd: number | null;
  /** Station of the blow, m; null where unknown. */
  readonly impact: number | null;
  /** Known steps of the measured edge (flange width change, cover plate), part of the baseline. m. */
  readonly edgeSteps: readonly { readonly station: number; readonly step: number }[];
}

export type RuleExtent =
  | { readonly kind: 'whole-line' }
  /** Deviation from any chord of this length (m) slid along the line. */
  | { readonly kind: 'chord'; readonly length: number }
  | { readonly kind: 'impact' };

export interface AcceptanceRule {
  /** Line it is judged on; null: the job has no line of this kind, so the rule cannot be judged and says so. */
  readonly line: string | null;
  readonly kind: LineKind;
  /** m for sweep, camber, plumb, bulge; for tilt the limit is an edge-to-edge difference in m over the flange width. */
  readonly limit: number;
  readonly over: RuleExtent;
  /** Short name shown beside the result. */
  readonly label: string;
  /** Specification and clause, or "set by the job". */
  readonly source: string;
  /** Key of the preset the rule came from; null when written out in the job. */
  readonly preset: string | null;
}

export interface Repair {
  readonly date: string | null;
  readonly from: number;
  readonly to: number;
  readonly note: string;
}

export interface Jack {
  readonly name: string;
  /** Station, m; null where unknown. */
  readonly station: number | null;
  /** Effective ram area, m². */
  readonly ramArea: number;
}

export interface PlateSpec {
  readonly name: string;
  readonly line: string;
  readonly from: number;
  readonly to: number;
  /** m */
  readonly thickness: number;
  /** Height of bolt heads below the plate, m; null where not said. */
  readonly boltHead: number | null;
  /** Vertical clearance under low steel before damage, m; null where not said. */
  readonly clearance: number | null;
}
