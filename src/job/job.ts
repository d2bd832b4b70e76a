import type { LineKind } from '../survey/survey.ts';
import type { Claim } from './claim-fields.ts';
import type { PlanFields } from './plan-fields.ts';

/**
 * A job after reading: every quantity in SI (metres, pascals, radians, °C), every default filled in.
 * The text form of job.json and its zod schema live beside this file; nothing past this point knows feet.
 */
export interface Job {
  /** Tells the job from every other of the same name; left out in jobs older than it. */
  readonly id?: string;
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
  /** The published or agency's sets chosen, with what they say beside their limits; left out: none. */
  readonly presets?: readonly PresetInForce[];
  /** Earlier damage or repairs of the same location. */
  readonly repairs: readonly Repair[];
  readonly jacks: readonly Jack[];
  readonly plates: readonly PlateSpec[];
  /** How the member is held and pushed while it is heated; null where the job does not say. */
  readonly restraint: Restraint | null;
  readonly heating: Heating;
  /** What the claim is filed under; null where the job says nothing of it. */
  readonly claim: Claim | null;
  readonly plan: PlanFields;
  /** ISO 4217 code of costs.csv; null where the job does not say. */
  readonly currency: string | null;
  /** Language tag by which reports write money and dates. */
  readonly locale: string;
}

/** A chosen set of rules: what a reader must know of it beside the limits themselves. */
export interface PresetInForce {
  readonly key: string;
  readonly title: string;
  readonly source: string;
  readonly note: string;
  /** Rules of it that this member does not call for, and why. */
  readonly passedOver: readonly string[];
  /** What it is written for where the job does not say that this member is such; null: it says so, or it is for any. */
  readonly unconfirmed: string | null;
}

/** A number that only counts with its citation. */
export interface Cited {
  readonly value: number;
  /** Document and clause. */
  readonly source: string;
}

/** How much of the member's safety rests on the part that is jacked. */
export type Importance = 'primary' | 'secondary' | 'fracture-critical' | 'unknown-load';

export interface Restraint {
  /** `continuous`: runs on over its supports and turns freely on each. The others are one length held at its ends. */
  readonly setUp: 'continuous' | 'simple' | 'fixed' | 'cantilever';
  /**
   * Document or calculation that says the ends cannot turn (`fixed`), or that no diaphragm gives (`continuous`); null
   * elsewhere: the diaphragms of a continuous set-up give.
   */
  readonly setUpSource: string | null;
  /** Line the jacks push along: what the blow left locked in is taken from it. */
  readonly line: string;
  /**
   * Stations of the supports, m: two or more, increasing (cantilever: the held end, then the free end). Where the job
   * does not say, those of a continuous set-up are the line's bearings and the diaphragms between them.
   */
  readonly supports: readonly number[];
  /** What bends: the damaged flange in its plane, that flange with a part of the web, or the whole member. */
  readonly part: 'flange' | 'flange-with-web' | 'member-sideways' | 'member-upright';
  /** Height of web bending with the flange, m; 0 unless `flange-with-web`. */
  readonly webPart: number;
  /** Plastic modulus from a table, m³, with its source; null: from the dimensions. */
  readonly plasticModulus: Cited | null;
  readonly importance: Importance;
  /** Stated share of the plastic moment; null: the published one for the importance, where there is one. */
  readonly fraction: Cited | null;
  /** Smallest mark of the gauge, Pa. Default 50 psi or 0.5 MPa. */
  readonly gaugeDivision: number;
  /** Rated pressure of pump and hoses, Pa; null where not said. */
  readonly pumpRating: number | null;
  /** Stress that dead load leaves along the heated part, Pa, as the engineer states it; null where not said. */
  readonly deadLoad: DeadLoad | null;
}

export interface DeadLoad {
  /** Pa, tension positive. */
  readonly stress: number;
  /** Whether the deck takes part in carrying it. */
  readonly composite: boolean;
  /** Document or calculation. */
  readonly source: string;
}

/** What is planned for each heat, and the limits the job states for itself. */
export interface Heating {
  /** Planned steel temperature, °C; null: the limit in force. */
  readonly temperature: number | null;
  /** Planned vee, rad and m; null: chosen inside the limits. */
  readonly veeAngle: number | null;
  readonly veeDepth: number | null;
  /** Factors on the expected rotation; null: 1 (a flat plate, no axial load). */
  readonly shapeFactor: Cited | null;
  readonly axialFactor: Cited | null;
  readonly limits: StatedHeatLimits | null;
  /** Those of the chosen presets; left out: none of them has any. */
  readonly presetLimits?: readonly StatedHeatLimits[];
}

/** Limits the job states for itself; `null` leaves the published one in force. */
export interface StatedHeatLimits {
  /** °C; below it a heat does nothing */
  readonly minTemperature?: number | null;
  /** °C */
  readonly maxTemperature: number | null;
  /** °C */
  readonly coolBelow: number | null;
  /** rad */
  readonly veeAngle: readonly [number, number] | null;
  /** Depth over the width of the heated element. */
  readonly veeDepth: readonly [number, number] | null;
  /** m */
  readonly openWidth: readonly [number, number] | null;
  /** m */
  readonly spacing: number | null;
  /** Heats on a bulge; nothing here has a built-in value. Diameter of spots and distances, m; heats on one panel a cycle. */
  readonly spotDiameter?: readonly [number, number] | null;
  readonly spotSpacing?: number | null;
  readonly spotsPerCycle?: number | null;
  readonly lineSpacing?: number | null;
  readonly linesPerCycle?: number | null;
  /** Repairs one place may have. */
  readonly repairs: number | null;
  /** Specification and clause they come from. */
  readonly source: string;
}

export type ElementKind = 'rolled beam' | 'welded girder' | 'column' | 'truss member';

export type JobUnits = 'us' | 'si';

/** What a diaphragm may hold sideways; `web`: neither flange. */
export const DIAPHRAGM_HOLDS = ['both-flanges', 'bottom-flange', 'top-flange', 'web'] as const;
export type DiaphragmHold = (typeof DIAPHRAGM_HOLDS)[number];

/** An intermediate stiffener of the web. */
export interface Stiffener {
  /** m */
  readonly station: number;
  /** Which flanges it is welded or fitted to, so that they stay square to the web there; `web`: neither. It holds the web flat in any case. */
  readonly holds: DiaphragmHold;
}

export interface Member {
  /**
   * Bearing to bearing, m. Of several spans the struck one; where nothing says which was, the shortest that a line reads, so
   * that limits that grow with the span are the strictest.
   */
  readonly span: number;
  /** Stations of all bearings of a member of several spans, m, increasing, three or more; left out: one span. */
  readonly bearings?: readonly number[];
  /** The struck reach, m; left out: not said. */
  readonly struck?: readonly [number, number];
  /** Whether a deck holds the top flange; left out: not said. */
  readonly deck?: 'composite' | 'not composite' | 'none';
  /** What each of `diaphragms` holds; left out: both flanges, every one. */
  readonly diaphragmHolds?: readonly DiaphragmHold[];
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
  /** What kind of member it is, for rule sets written for one kind. */
  readonly element?: ElementKind;
  /** Intermediate stiffeners of the web. */
  readonly webStiffeners?: 'none' | 'one side' | 'both sides';
  /** Clear distance between them, m; where the job only says where they stand, the least between two. */
  readonly stiffenerSpacing?: number;
  /** Where they stand, by increasing station; left out: not said. */
  readonly stiffeners?: readonly Stiffener[];
  /** Where a yield stress other than the grade's comes from, such as a test of coupons. */
  readonly yieldSource?: string;
  /** Grade as written, e.g. "A36"; null where the job does not say. */
  readonly steel: string | null;
  /** Diaphragm stations, m, increasing; null where the job does not say (different from "none": []). */
  readonly diaphragms: readonly number[] | null;
}

export type BaselineSpec =
  /** Along the member: chosen from the readings. `plumb`: the vertical. `tilt`: as read, zero being what the job left unsaid. */
  | { readonly method: 'auto' }
  /** `plumb` against the vertical; `tilt` against the level or square to the web. Nothing of the member's own lean is taken off. */
  | { readonly method: 'absolute'; readonly against: 'vertical' | 'level' | 'square-to-web' }
  /** `tilt` and `plumb`: the value the member was built with, m, and the document that says so. */
  | { readonly method: 'as-built'; readonly offset: number; readonly source: string }
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

/** A string over a camber line, for its sag. */
export interface StringSet {
  /** Weight per length, N/m. */
  readonly weight: number;
  /** N */
  readonly tension: number;
  /** Which way a positive offset of the line points. */
  readonly positiveIs: 'up' | 'down';
  /** Stations of its ends, m; null: the bearings of the line. */
  readonly ends: readonly [number, number] | null;
}

/** Parts of the section that a line may read. */
export const LINE_PARTS = ['bottom-flange', 'top-flange', 'web'] as const;
export type LinePart = (typeof LINE_PARTS)[number];
/** `near`: the edge on the side the blow came from. */
export const LINE_EDGES = ['near', 'far'] as const;

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
  /** Which part of the section it reads; left out: not said. */
  readonly part?: LinePart;
  /** Which edge of the flange; left out: not said, or not a flange. */
  readonly edge?: (typeof LINE_EDGES)[number];
  /** Height of a reading on the web above the underside of the bottom flange, m; left out: not said, or not on the web. */
  readonly height?: number;
  /** Known steps of the measured edge (flange width change, cover plate), part of the baseline. m. */
  readonly edgeSteps: readonly { readonly station: number; readonly step: number }[];
  /** Camber lines only: the string whose sag is taken off; `none`: read without one. Left out: not said, nothing taken off. */
  readonly string?: StringSet | 'none';
  /** Present where the line is a panel: kind `bulge`, every reading with its height. */
  readonly panel?: PanelPlace;
}

/** An edge of a panel: `bottom` and `top` by height, `from` and `to` by station. */
export const PANEL_SIDES = ['bottom', 'top', 'from', 'to'] as const;
export type PanelSide = (typeof PANEL_SIDES)[number];

/** A panel of a web or flange, read as a grid. Its stations are the `bearings` of its line. */
export interface PanelPlace {
  readonly element: 'web' | 'bottom flange' | 'top flange';
  /** Lower and upper edge, m: heights of a web; of a flange, distances across it. */
  readonly heights: readonly [number, number];
  /** Edges held by flanges, stiffeners or the web; at least two. */
  readonly held: readonly PanelSide[];
  /** m; null where neither the panel nor the member says. */
  readonly thickness: number | null;
  /** What a force on the bulge may be; left out: the job does not say. */
  readonly push?: PanelPush;
  readonly cutOut?: CutOut;
}

export interface PanelPush {
  /** Share of the yield-line load. */
  readonly share: Cited;
  /** How held edges hold the plate: `supported` turns freely there. */
  readonly edges: 'clamped' | 'supported';
  readonly edgesSource: string | null;
  /** Jack that pushes, by name. */
  readonly jack: string | null;
}

/** An opening cut into a panel. Lengths in m. */
export interface CutOut {
  /** In order around it, either way. */
  readonly corners: readonly { readonly station: number; readonly height: number }[];
  readonly radius: number;
  /** The plate bolted over it; null where the job states none. */
  readonly plate: CoverPlate | null;
}

export interface CoverPlate {
  readonly sides: 'positive' | 'negative' | 'both';
  readonly thickness: number;
  readonly boltDiameter: number;
  /** Rows of bolts around the opening, the most between bolts of a row, and between rows. */
  readonly rows: number;
  readonly pitch: number;
  readonly gauge: number;
  /** Edge of the opening to the first row; last row to the edge of the plate. */
  readonly fromOpening: number;
  readonly edgeDistance: number;
  readonly leastEdge: Cited | null;
  /** Largest gap left under a bolt; null: the published rule for plates. */
  readonly gapLimit: Cited | null;
  readonly fillers: readonly number[];
  readonly maxPlies: number;
  /** Kept clear along held edges. */
  readonly fillet: number;
  readonly obstacles: readonly {
    readonly what: string;
    readonly stations: readonly [number, number];
    /** Null: over the whole height. */
    readonly heights: readonly [number, number] | null;
  }[];
}

export type RuleExtent =
  | { readonly kind: 'whole-line' }
  /** Deviation from any chord of this length (m) slid along the line. */
  | { readonly kind: 'chord'; readonly length: number }
  | { readonly kind: 'impact' };

/** `guarded`: inside with twice the uncertainty to spare (JCGM 106:2012, 8.3.2). `simple`: the reading itself decides (8.2). */
export type DecisionRule = 'guarded' | 'simple';

export interface AcceptanceRule {
  /** Line it is judged on; null: the job has no line of this kind, so the rule cannot be judged and says so. */
  readonly line: string | null;
  readonly kind: LineKind;
  /** m for sweep, camber, plumb, bulge; for tilt the limit is an edge-to-edge difference in m over the flange width. */
  readonly limit: number;
  /** `tilt` only: the limit is for each edge of the flange from the web, so half of the edge-to-edge reading is held against it. */
  readonly edgesFromWeb?: boolean;
  /** How readings and their uncertainty are held against the limit. Left out: `guarded`. */
  readonly decision?: DecisionRule;
  readonly over: RuleExtent;
  /** True on a panel: `whole-line` is then the whole panel. */
  readonly panel?: true;
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
  /** Rated force, N; null where not said. */
  readonly capacity: number | null;
  /** Side of the line it pushes toward; null: as straightens the largest bend within its reach. */
  readonly push: 'positive' | 'negative' | null;
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
  /** Side of the line's positive direction the plate lies on. Default `positive`. */
  readonly side: 'positive' | 'negative';
  /** Width across the steel, m; null: the flange width. */
  readonly width: number | null;
  /** Line of kind `tilt` that says how the steel slopes across; null: not read. */
  readonly tilt: string | null;
  /** Further lines under the plate and how far across from `line` they run, m (signed). */
  readonly across: readonly { readonly line: string; readonly at: number }[];
  /** Stock thicknesses for fillers, m. */
  readonly fillers: readonly number[];
  /** Most plies in one filler stack. Default 3. */
  readonly maxPlies: number;
  /** Largest gap left between faying surfaces, m, as the job states it; null: the published rule. */
  readonly gapLimit: Cited | null;
  /** Force that draws the plate down at one place, N, as the engineer states it; null: no gap counts as closed. */
  readonly pullIn: Cited | null;
}
