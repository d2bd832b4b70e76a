/**
 * Result types of the pipeline, field by field, in SI. Plain data (no functions), so that a result
 * can be written as JSON, posted from a worker and compared in tests.
 *
 * `u` is always a standard uncertainty of the value beside it.
 */
import type { Finding } from './finding.ts';
import type { AcceptanceRule, Job, Line, PanelSide } from './job/job.ts';
import type { Reading, ReadingSd, ReadingState } from './survey/survey.ts';

/** The verdict words of the contract. */
export const VERDICTS = [
  'not-enough-readings',
  'progressing',
  'slow',
  'undecided',
  'stalled',
  'regressing',
  'within-tolerance',
  'overcorrected',
] as const;
export type Verdict = (typeof VERDICTS)[number];

/**
 * Strain ratio up to which repairs were straightened with small effect on the steel's properties (abstract, Avent, Mukai
 * & Robinson, tests of heat-straightened plates and beams): the limit of what has been proven, not of failure.
 */
export const PROVEN_STRAIN_RATIO = 100;

/** The shape the member would have undamaged, in this line (string set-up not included). */
export interface Baseline {
  /** `absolute`: tilt and plumb, against the vertical, the level or the web; never the member's own lean. */
  readonly method: 'bearings' | 'undamaged' | 'reference' | 'absolute';
  /** Why this method, in words (for `auto`: why it was chosen). */
  readonly reason: string;
  /** Reaches [from, to] the baseline and the string set-up rest on, m. */
  readonly reaches: readonly (readonly [number, number])[];
  /** Sd of the readings about the baseline on those reaches, m. */
  readonly residualSd: number;
  /** Polynomial in (station − about): Σ coefficients[k]·(s − about)^k. Straight terms belong to the set-up and are 0. */
  readonly about: number;
  readonly coefficients: readonly number[];
  /** Profile of the `reference` method, m; empty otherwise. */
  readonly profile: readonly { readonly station: number; readonly offset: number }[];
  readonly edgeSteps: readonly { readonly station: number; readonly step: number }[];
  /**
   * Best estimate of the undamaged shape about the as-found set-up, original sweep included, with its u, m. Where an
   * original sweep cannot be told from the damage, u carries that. Empty for lines without zones.
   */
  readonly undamagedShape: readonly {
    readonly station: number;
    readonly offset: number;
    readonly u: number;
  }[];
}

/** String offset and tilt of one survey: offset + tilt·(station − about), with its covariance. */
export interface SetUp {
  /** m */
  readonly offset: number;
  /** rad */
  readonly tilt: number;
  /** m */
  readonly about: number;
  /** Covariance of [offset, tilt], 2 × 2. */
  readonly covariance: readonly (readonly number[])[];
}

/** One distinct station of one survey: repeats pooled. */
export interface StationFit {
  readonly station: number;
  /** Of a panel, m; absent on lines. */
  readonly height?: number;
  /** Offset (standoff off) minus string set-up minus baseline, m. */
  readonly deviation: number;
  /** Standard uncertainty of `deviation`: reading and set-up together, m. */
  readonly u: number;
  /** The reading part of `u` alone (independent from station to station), m. */
  readonly uReading: number;
  /** Deviation by the fitted model (elastic reactions and zones) at this station, m; null where no model was fitted. */
  readonly fitted: number | null;
  readonly fittedU: number | null;
  readonly count: number;
  /** True when every reading here was set aside from the fit (still shown). */
  readonly setAside: boolean;
}

/** One reading kept out of the fit, under a stated rule or by hand. */
export interface SetAside {
  readonly file: string;
  readonly row: number;
  readonly station: number;
  /** Of a panel, m; absent on lines. */
  readonly height?: number;
  readonly offset: number;
  readonly reason: string;
  readonly by: 'rule' | 'hand';
}

export interface ZoneRotation {
  /** Zone name, "A", "B", … along the line. */
  readonly zone: string;
  /** rad, + where the slope increases with station */
  readonly rotation: number;
  readonly u: number;
}

/** Check that the tie stations still agree with each other after the set-up was fitted. */
export interface Closure {
  readonly agrees: boolean;
  /** Tie stations: residual from the set-up, its u, and whether it disagrees. */
  readonly ties: readonly {
    readonly station: number;
    readonly residual: number;
    readonly u: number;
    readonly off: boolean;
  }[];
  /** In words, naming the stations; null where there was nothing to test. */
  readonly message: string | null;
}

/**
 * The fitted shape of one survey at its stations and between them, with the errors the places share. For the rules that
 * compare one place with others; it is large, so an `Analysis` does not carry it.
 */
export interface FittedShape {
  /** Increasing, m. */
  readonly stations: readonly number[];
  /** Signed, m; at a station read it is the station's `fitted`. */
  readonly deviation: readonly number[];
  /**
   * Error at each place as weights on the same independent standard normal numbers, m:
   * covariance(i, j) = Σ parts[i][k]·parts[j][k].
   */
  readonly parts: readonly ArrayLike<number>[];
}

/** The plate of a panel in one survey. Lengths in m, positive toward the panel's positive side. */
export interface PanelSurvey {
  /** Degrees of freedom the surface leaves the errors of its readings, as a share of the readings. */
  readonly freedom: number;
  /**
   * Out-of-flatness at the nodes of a net over the panel, corner to corner: index row · columns + column, columns by
   * station, rows by height. `seen`: false where no reading is near (a hole, a place not reached).
   */
  readonly map: {
    /** First and last column, m; lowest and highest row, m. */
    readonly from: number;
    readonly to: number;
    readonly low: number;
    readonly high: number;
    readonly columns: number;
    readonly rows: number;
    readonly deviation: readonly number[];
    readonly u: readonly number[];
    readonly seen: readonly boolean[];
  };
  /** Furthest off, over what was seen, signed. */
  readonly crest: {
    readonly station: number;
    readonly height: number;
    readonly deviation: number;
    readonly u: number;
    /** The part of `u` that is new in each survey (the readings, and how rough a surface they were taken for), as a movement needs it. */
    readonly uNew: number;
    /** The part of `u` that stands for a tip between the readings, m: flanks that go straight up to the crest. */
    readonly point: number;
    /** A hole or unread part touches it, so that the largest is at least this. */
    readonly lowerBound: boolean;
  };
  /** Where it is at least half the crest, one connected patch of what was seen. Area in m². */
  readonly half: { readonly along: number; readonly up: number; readonly area: number };
  /** Between the plate and flat, over what was seen, both sides together, m³, and its standard uncertainty. */
  readonly volume: number;
  readonly volumeU: number;
  /** Parts without a reading near, largest first; the box around each. Area in m². */
  readonly unseen: readonly {
    readonly from: number;
    readonly to: number;
    readonly low: number;
    readonly high: number;
    readonly area: number;
    readonly touchesCrest: boolean;
  }[];
  /** What was taken off before the plate was called out of flat. */
  readonly takenOff: {
    /** Top edge against the bottom edge at mid-length: how far the panel leans over its height. */
    readonly sway: { readonly value: number; readonly u: number };
    /** How much more it leans at its far end than at its near one. */
    readonly twist: { readonly value: number; readonly u: number };
    /** Middle of each held edge against the line between its corners. */
    readonly bows: readonly { readonly side: PanelSide; readonly value: number; readonly u: number }[];
    /** All of it at the nodes of the map, set-up included: the steel is this and the deviation together. */
    readonly shape: readonly number[];
  };
  /** Bending of the plate at the nodes of the map, 1/m: κ along, κ up, κ twist, each with its u; empty where not worked out. */
  readonly bending: readonly {
    readonly along: number;
    readonly up: number;
    readonly twist: number;
    readonly u: number;
  }[];
}

/** One survey of a line after fitting. */
export interface SurveyFit {
  readonly cycle: number;
  readonly date: string | null;
  readonly time: string | null;
  readonly temperature: number | null;
  readonly state: ReadingState;
  /** Readings taken, repeats counted, set-aside ones included. */
  readonly count: number;
  readonly setAside: readonly SetAside[];
  readonly setUp: SetUp;
  readonly stations: readonly StationFit[];
  /**
   * Largest |deviation| over stations not set aside, signed. `leftOut`: the reading furthest beyond it that was set aside
   * (by the rule or by hand), to be said where the number is; absent where nothing set aside lowers the number.
   */
  readonly largest: {
    readonly station: number;
    readonly deviation: number;
    readonly u: number;
    /** Of a panel, m; absent on lines. */
    readonly height?: number;
    readonly leftOut?: { readonly station: number; readonly deviation: number };
  };
  /** Root mean square deviation, m. */
  readonly rms: number;
  /** Total curvature across each zone in this survey. Empty for lines without zones. */
  readonly zones: readonly ZoneRotation[];
  /** Covariance of the rotations, zones × zones. */
  readonly zoneCovariance: readonly (readonly number[])[];
  readonly closure: Closure;
  /** Of a panel: its map. `largest` is then the crest of the map. Absent on lines. */
  readonly panel?: PanelSurvey;
  /** Only between the fit and the rules of acceptance, and only where a shape was fitted. */
  readonly shape?: FittedShape;
}

/** A stretch that yielded (or bends elastically only), as found. */
export interface Zone {
  readonly zone: string;
  /** m */
  readonly from: number;
  readonly to: number;
  readonly fromU: number;
  readonly toU: number;
  /**
   * Where its bend is, m: centroid and rms spread of the plastic curvature as found, and the stretch where that is at
   * least a third of its largest. The zone's edges are only where the steel first yielded.
   */
  readonly core: {
    readonly centre: number;
    readonly spread: number;
    readonly from: number;
    readonly to: number;
  };
  /** Total curvature across the zone as found = degree of damage, rad. */
  readonly rotation: number;
  readonly rotationU: number;
  /** Mean radius (to − from)/|rotation|, m. */
  readonly radius: number;
  readonly strainRatio: {
    readonly mean: number;
    readonly peak: number;
    readonly peakU: number;
    /** True when the zone is narrower than the spacing can resolve: the strain is at least this. */
    readonly lowerBound: boolean;
  };
  /**
   * Largest published strain ratio (second difference) at a station in the zone or next to it, as found, whether or not
   * the fit leaves a reading out; null where no station has a neighbour on either side.
   */
  readonly publishedStrain: {
    readonly ratio: number;
    readonly u: number;
    readonly station: number;
    /** True where one of its three readings is left out of the fit. */
    readonly leftOut: boolean;
  } | null;
  readonly class: 'plastic' | 'elastic';
  /** Where the model does not fit the readings of the line (`LineFit.doubt`): the zone's place and length are a guess. */
  readonly doubtful?: true;
  /** Published angle of bend from two offsets on each adjoining straight reach; null where there are not enough readings. */
  readonly degreeOfDamage: { readonly angle: number; readonly u: number } | null;
}

/** Published three-point curvature at an interior station, 1/m. */
export interface PointCurvature {
  readonly station: number;
  readonly curvature: number;
  readonly u: number;
  readonly strainRatio: number;
}

/** Elastic reaction found at a diaphragm: M/EI kink per unit length, 1/m², as found. */
export interface ElasticReaction {
  readonly station: number;
  readonly coefficient: number;
  readonly u: number;
  /** Covariance with the coefficient of every reaction of the line, itself included, in their order, 1/m⁴. */
  readonly covariance: readonly number[];
  /**
   * How the diaphragm gives, as the struck flange shows it: EI over its stiffness, m³, and u of the logarithm; null or left
   * out where the model of the fit has no springs.
   */
  readonly spring?: { readonly compliance: number; readonly logU: number } | null;
}

/** Everything the fit says about one line. */
export interface LineFit {
  readonly baseline: Baseline;
  readonly readingSd: ReadingSd;
  /** Increasing cycle; within a cycle restrained before released. */
  readonly surveys: readonly SurveyFit[];
  readonly zones: readonly Zone[];
  readonly elastic: readonly ElasticReaction[];
  /**
   * Why the model of the bend is not believed, in words; absent where it is. Then every reading others bear out is kept,
   * the shape is a smooth curve through them, and zones are doubtful.
   */
  readonly doubt?: string;
  /** Of the as-found survey. */
  readonly pointCurvature: readonly PointCurvature[];
  readonly findings: readonly Finding[];
}

/** Movement from the previous judged (released) survey to this one. */
export interface Movement {
  readonly fromCycle: number;
  readonly toCycle: number;
  /** At stations read in both; m, change of deviation. */
  readonly stations: readonly {
    readonly station: number;
    /** Of a panel, m. */
    readonly height?: number;
    readonly movement: number;
    readonly u: number;
  }[];
  /** Change of |largest deviation|, m (negative = closing). */
  readonly largest: { readonly movement: number; readonly u: number };
  /**
   * Where the largest deviation did not surely move: the place at which the line surely did, by the fitted shape, most of all;
   * change of |deviation| there, m. Absent where there is none.
   */
  readonly elsewhere?: { readonly station: number; readonly movement: number; readonly u: number };
  readonly zones: readonly ZoneRotation[];
}

/** Change from jacks on to jacks off in one cycle. */
export interface Springback {
  readonly cycle: number;
  readonly stations: readonly { readonly station: number; readonly springback: number; readonly u: number }[];
  readonly largest: { readonly station: number; readonly springback: number; readonly u: number };
}

/** A trend followed through the judged cycles. */
export interface Progress {
  /**
   * Change of |largest deviation| per cycle, m/cycle (negative = closing); null: not enough. On the cycles that move: a dead
   * day between them is counted in `pattern.stoodStill`, not averaged in. While a spell of standing still is on
   * (`pattern.spell`), or the steel opens, it is the change per cycle of that. Cycles without a survey are spread evenly.
   */
  readonly rate: number | null;
  /** Coverage of the intervals of rate and cycles left, 0 to 1: as much on either side, as the calls against the useful gain are made. */
  readonly level: number;
  /** Interval of the rate at `level`. */
  readonly rateLow: number | null;
  readonly rateHigh: number | null;
  /** The survey the rate runs from: since then one pace, or one spell; null: not enough. */
  readonly sinceCycle: number | null;
  /** How the steel moves from cycle to cycle, by the same model as the rate, the word and the forecast; null: not enough. */
  readonly pattern: MovementPattern | null;
  readonly verdict: Verdict;
  readonly reason: string;
  /**
   * A `stalled` line that has not moved since as found while another line of the job has come in: by these readings no heat acts on it
   * (a web's plumb, a camber nobody works on). It stands still, and nothing of what a stall asks to be checked is at fault.
   */
  readonly untouched: boolean;
  /** Interval at `level` of cycles left to tolerance; null where there is no forecast (high null: may never). */
  readonly cyclesLeft: {
    readonly low: number;
    readonly expected: number;
    readonly high: number | null;
  } | null;
  readonly probabilityWithin: number | null;
  /** |largest deviation| by judged cycle, m, as the trend uses it. */
  readonly series: readonly { readonly cycle: number; readonly value: number; readonly u: number }[];
  /** Forecast fan, m; empty where there is no forecast. */
  readonly forecast: readonly {
    readonly cycle: number;
    readonly low: number;
    readonly expected: number;
    readonly high: number;
  }[];
  /** Working days left, from the dates of the surveys; null where dates are missing. */
  readonly daysLeft: { readonly low: number; readonly expected: number; readonly high: number | null } | null;
  readonly zones: readonly ZoneProgress[];
  /**
   * Textbook answers over the same cycles, shown and not judged on: rates in m/cycle; null: not enough. Cycles that stood
   * still are left out of the count of cycles, as they are out of the rate.
   */
  readonly secondOpinion: {
    readonly leastSquares: number;
    readonly theilSen: number;
    /** Two-sided p of no trend (Mann–Kendall). */
    readonly trendP: number;
  } | null;
  /** Movements in a row that together fall short of the rate (CUSUM), though none does alone; null: none. */
  readonly fallingOff: number | null;
  readonly assumptions: readonly string[];
}

/** Cycles that moved and cycles that stood still. Rates in m/cycle, negative = closing. */
export interface MovementPattern {
  /** The surveys the rate is read from: from cycle, to cycle, and the movements between surveys in it. */
  readonly fromCycle: number;
  readonly toCycle: number;
  readonly movements: number;
  /** True where a cycle in that span has no survey of this line: the rate is per cycle over the span. */
  readonly gaps: boolean;
  /**
   * Cycles among the last ten (all, where there are fewer) that stood still: how many (middle and 80 % interval), of how
   * many cycles, and which more likely than not did.
   */
  readonly stoodStill: {
    readonly count: number;
    readonly low: number;
    readonly high: number;
    readonly of: number;
    readonly cycles: readonly number[];
  };
  /** True where no cycle since as found has been seen to move, more likely than not: nothing can be forecast from that. */
  readonly neverMoved: boolean;
  /** Standing still now, for two cycles or more: since the survey of this cycle, for so many; null: not so. */
  readonly spell: { readonly sinceCycle: number; readonly cycles: number } | null;
  /** Rate on cycles that move with its 80 % interval, during a spell that of the cycles before; null: none was seen to close. */
  readonly whenMoving: { readonly rate: number; readonly low: number; readonly high: number } | null;
  /** Chance that the last cycle closed, stood still, opened. */
  readonly lastCycle: { readonly closed: number; readonly stoodStill: number; readonly opened: number };
}

export interface ZoneProgress {
  readonly zone: string;
  /** rad/cycle, of |rotation| toward zero negative */
  readonly rate: number | null;
  readonly rateLow: number | null;
  readonly rateHigh: number | null;
  readonly sinceCycle: number | null;
  readonly verdict: Verdict;
  readonly reason: string;
}

export interface AcceptanceResult {
  readonly rule: AcceptanceRule;
  /** Limit in force here, m. */
  readonly limit: number;
  /** Governing value, m; null when the rule needs readings the job lacks. */
  readonly measured: number | null;
  readonly u: number | null;
  /** Of a panel, where a hole or a part not read beside the crest hides how far it goes: `measured` is a bound; else left out. */
  readonly atLeast?: true;
  /** Governing station or chord in metres; null when not measured. */
  readonly at: {
    readonly station: number;
    /** Of a panel, m. */
    readonly height?: number;
    readonly from?: number;
    readonly to?: number;
  } | null;
  readonly result: 'within' | 'undetermined' | 'outside';
  readonly reason: string;
  /** `tilt` and `plumb`: change of the signed value at that place since the first judged survey, m; else left out. */
  readonly sinceAsFound?: { readonly change: number; readonly u: number };
}

/** Facts for and against stopping; the tool never decides. */
export interface Decision {
  readonly forStopping: readonly string[];
  readonly againstStopping: readonly string[];
  readonly checkFirst: readonly string[];
}

export interface LineAnalysis {
  readonly line: Line;
  readonly fit: LineFit;
  readonly movements: readonly Movement[];
  readonly springback: readonly Springback[];
  readonly progress: Progress;
  readonly acceptance: readonly AcceptanceResult[];
}

export interface Analysis {
  readonly job: Job;
  readonly member: {
    readonly verdict: Verdict;
    readonly reason: string;
    readonly line: string | null;
    /** Of the line that decides, see `Progress.untouched`. */
    readonly untouched: boolean;
  };
  readonly lines: readonly LineAnalysis[];
  /** Results of rules that no line of the job can answer (`rule.line` null). */
  readonly unmeasured: readonly AcceptanceResult[];
  readonly decision: Decision;
  readonly findings: readonly Finding[];
  /** Every usable reading, as read. */
  readonly readings: readonly Reading[];
}
