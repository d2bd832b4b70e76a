import { Qr } from '../maths/qr.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { acrossGap, atStation, SHARPEST } from './at-station.ts';
import { continuousChain, scatterExcess } from './continuous.ts';
import type { ExtractSettings, ReadStation, ScanProfile, SharedAlong } from './extract-line.ts';
import { finishStations, stationList } from './extract-line.ts';
import { LONG, type MeasuredFlange, type MeasuredSection } from './flange-slices.ts';
import type { FlangeTrack } from './flange-track.ts';
import type { FlangeWidths } from './flange-width.ts';
import type { LineFrame, ScanLine } from './line-frame.ts';
import type { Registration } from './registration.ts';
import { roundingU, stepAlong } from './rounding.ts';
import type { Section } from './section-fit.ts';
import { type Slice, whyEmpty } from './slices.ts';
import { add, dot, scale, subtract, type Vec3 } from './vector.ts';

export interface FlangeSettings extends ExtractSettings {
  /** Width of the flange, m. */
  readonly flangeWidth: number;
  /** Standard deviation between scans from different places, m; null: found in the cloud. */
  readonly registration?: number | null;
}

/** The flange as measured, for showing it. */
export interface FlangeView {
  readonly frame: LineFrame;
  readonly section: Section;
  readonly slices: readonly Slice[];
  /** Length of a slice along the member, m. */
  readonly sliceLength: number;
  readonly track: FlangeTrack;
  readonly measured: MeasuredFlange;
  readonly widths: FlangeWidths;
  readonly registration: Registration;
}

/** The width measured may differ from the job's by this, m, before it is said. */
const WIDTH_NOTE = 0.003;
/** Places that differ by less than this, m, are not worth a word. */
const WORTH_SAYING = 0.0004;
/** Spacing of points at which slices need not be longer than usual: what is asked for where they were. */
const GOOD_SPACING = 0.012;
/** A slice, or a station, that is known no better than this is not used, m. */
const WORST = 0.008;
/** Where an edge is hidden the other one and the width tell it if they are known as well as this, m. */
const ACROSS = 0.003;

interface Estimate {
  readonly at: number;
  readonly value: number;
  /** Where it was read across the line, m. */
  readonly across: number;
  readonly u: number;
  /** Part neighbours share, m, and what all along the line share (`SharedAlong`). */
  readonly rowU: number;
  readonly bias: SharedAlong;
  /** Whether the edge asked for was hidden, and is told from the other. */
  readonly inferred: boolean;
  readonly section: MeasuredSection;
}

/** One line of a flange followed through the cloud: `outsideWindow` points fell elsewhere, `steps` is its rounding, m. */
export function flangeProfile(
  line: ScanLine,
  own: LineFrame,
  view: FlangeView,
  settings: FlangeSettings,
  outsideWindow: number,
  steps: Vec3,
): ScanProfile {
  const { measured, slices, widths } = view;
  const sloped = line.kind === 'tilt';
  const worst = sloped ? 2 * WORST : WORST;
  const all = widths.sections
    .flatMap((section, i): Estimate[] => {
      const found = estimate(line, own, view, widths, i);
      return found === null || found.u > worst ? [] : [{ ...found, section }];
    })
    .sort((a, b) => a.at - b.at);
  const chain = continuousChain(all, measured.thickness);
  const series = all.filter((_, i) => chain[i]);
  const jumped = all.filter((_, i) => !chain[i]);
  const excess = scatterExcess(series);
  const scatter = Number.isFinite(measured.scatter) ? measured.scatter : 0.002;
  const round = roundingU(stepAlong(steps, own.toward), scatter) * (sloped ? 2 : 1);
  const read: ReadStation[] = [];
  const unread: { station: number; reason: string }[] = [];
  let inferred = 0;
  for (const { s, station } of stationList(line, own)) {
    const length = lengthAt(series, s);
    const long = Math.max(line.slice, length);
    const near = series.filter((e) => Math.abs(e.at - s) <= long / 2 + 1e-9);
    const covered = near.reduce((sum, e) => sum + e.section.length, 0);
    if (near.length === 0 || (covered <= long / 2 + 1e-9 && covered < long - 1e-9)) {
      unread.push({ station, reason: whyUnread(line, own, view, jumped, s, long) });
      continue;
    }
    // Measured over long slices, a station is read from the nearest of them.
    const alone =
      length > LONG * view.sliceLength
        ? longSlices(series, s, length, line.kind === 'camber' ? sidewaysOf(own, view.frame) : null)
        : { ...atStation(series, s, long, length), turnU: 0 };
    const aloneU = Math.hypot(
      alone.u,
      common(near, (e) => e.rowU),
      common(near, (e) => e.bias[0] + e.bias[1]),
    );
    const sides = acrossGap(series, s, long, length, { value: alone.value, u: aloneU });
    const pooled = sides === null ? alone : { ...sides, turnU: 0 };
    const members = sides?.members ?? near;
    const lever = sloped ? line.extent / view.section.width : 1;
    const u = Math.hypot(
      pooled.u * excess,
      settings.leastU,
      common(members, (e) => e.rowU),
      round,
      joinedU(view, own, s, sloped ? lever : null),
    );
    if (pooled.u * excess > worst) {
      unread.push({ station, reason: tooDoubtful(line, pooled.turnU > worst / 2, length) });
      continue;
    }
    if (near.filter((e) => e.inferred).length * 2 > near.length) inferred++;
    read.push({
      s,
      station,
      offset: pooled.value,
      across: common(members, (e) => e.across),
      u,
      bias: [common(members, (e) => e.bias[0]), common(members, (e) => e.bias[1])],
      sharpBend: !sloped && Math.abs(pooled.bend) > SHARPEST ? pooled.bend : 0,
      count: near.reduce((sum, e) => sum + e.section.used, 0),
    });
  }
  // Sections that do not tell the line, or tell it elsewhere: something is over the steel there.
  const told = new Set(series.map((e) => e.section.at));
  const covered = measured.sections.filter((each) => !told.has(each.at));
  const kept = slices.reduce((sum, each) => sum + each.count, 0);
  const used = measured.sections.reduce((sum, each) => sum + each.used, 0);
  const off = measured.sections.reduce((sum, each) => sum + each.off, 0);
  const over = covered.reduce((sum, each) => sum + each.off, 0);
  return {
    line,
    ...finishStations(line, own, settings.alignment ?? null, read),
    unread,
    rejected: {
      offLevel: Math.max(0, kept - used - off),
      offSteel: off - over,
      noSteel: 0,
      jumps: over + jumped.reduce((sum, e) => sum + e.section.used, 0),
      outsideWindow,
    },
    thinned: slices.reduce((sum, each) => sum + each.seen - each.count, 0),
    scatter,
    excess,
    notes: notesOf(line, view, widths, steps, own, inferred),
  };
}

/** What the joining of scans from different places leaves uncertain of a line at `s`, m; of a tilt with its lever. */
function joinedU(
  { registration, frame }: FlangeView,
  own: LineFrame,
  s: number,
  lever: number | null,
): number {
  const shift = dot(scale(subtract(own.origin, frame.origin), frame.metres), frame.along);
  const { sideways, up } = registration.u(s + shift);
  // It turns a flange only as much as its two edges differ.
  if (lever !== null) return 0.5 * lever * up;
  return Math.hypot(dot(own.toward, frame.toward) * sideways, dot(own.toward, frame.across) * up);
}

/** Length of the section nearest to a place, m; 0 for none. */
function lengthAt(series: readonly Estimate[], s: number): number {
  let [length, least] = [0, Number.POSITIVE_INFINITY];
  for (const each of series) {
    const off = Math.abs(each.at - s);
    if (off < least) [length, least] = [each.section.length, off];
  }
  return length;
}

/**
 * Between long slices a turn of the steel is told no better than by this share of how far they stand off a straight line.
 * Measured on cast clouds whose hinges are shorter than the slices.
 */
const TURN_SHARE = 0.15;
/** A stand off a straight line by more sd than this is a bend. */
const BENT = 3;

/** What lies this many slices away to either side, and no farther than so many, tells what a place between long slices should be. */
const CLEAR = 1;
const STILL_NEAR = 5;

/** A thing measured along the line: value and u, m. */
interface Point {
  readonly at: number;
  readonly value: number;
  readonly u: number;
}

/**
 * How far a value stands off the cubic through the two points clear of its slice on either side, beyond what their doubt
 * explains, m. Where steel turns sharply within long slices the edge is looked for beside where it is, in one slice
 * after the other, and what is found there agrees with itself; only what lies clear of the turn tells.
 */
function standsOff(points: readonly Point[], at: number, value: number, u: number, length: number): number {
  const near = points.filter((p) => Math.abs(p.at - at) <= STILL_NEAR * length);
  const before = near.filter((p) => p.at < at - CLEAR * length).slice(-2);
  const after = near.filter((p) => p.at > at + CLEAR * length).slice(0, 2);
  if (before.length < 2 || after.length < 2) return 0;
  const outer = [...before, ...after];
  let [usual, variance] = [0, u * u];
  outer.forEach((p, i) => {
    let share = 1;
    outer.forEach((q, k) => {
      if (k !== i) share *= (at - q.at) / (p.at - q.at);
    });
    usual += share * p.value;
    variance += (share * p.u) ** 2;
  });
  return Math.sqrt(Math.max(0, (value - usual) ** 2 - variance));
}

interface Pooled {
  readonly value: number;
  readonly u: number;
  readonly bend: number;
  /** Part of `u` that comes of a bend within the slices, m. */
  readonly turnU: number;
}

/**
 * Value at a place between long slices: a parabola through the five nearest, because so long a stretch of steel may bend,
 * or through three where it plainly does.
 */
function longSlices(
  series: readonly Estimate[],
  s: number,
  length: number,
  sideways: ((e: Estimate) => Point & { readonly share: number }) | null,
): Pooled {
  const near = [...series]
    .sort((a, b) => Math.abs(a.at - s) - Math.abs(b.at - s))
    .slice(0, 5)
    .filter((each) => Math.abs(each.at - s) < 3 * length);
  const inOrder = [...near].sort((a, b) => a.at - b.at);
  let [turn, plain] = [0, false];
  for (let i = 1; i + 1 < inOrder.length; i++) {
    const [a, b, c] = [inOrder[i - 1]!, inOrder[i]!, inOrder[i + 1]!];
    const t = (b.at - a.at) / (c.at - a.at);
    const off = Math.abs(b.value - (1 - t) * a.value - t * c.value);
    const u = Math.hypot(b.u, (1 - t) * a.u, t * c.u);
    turn = Math.max(turn, Math.sqrt(Math.max(0, off * off - u * u)));
    if (off > BENT * u) plain = true;
  }
  const members = plain ? near.slice(0, 3) : near;
  // Beyond the last of them a bend is not carried on.
  const between = inOrder.length > 0 && inOrder[0]!.at <= s && s <= inOrder.at(-1)!.at;
  const bends = between && (members.length >= 5 || (plain && members.length === 3));
  const columns = bends ? 3 : members.length >= 3 ? 2 : 1;
  const qr = new Qr(members.length);
  const weight = Float64Array.from(members, (e) => 1 / Math.max(1e-5, e.u));
  for (let k = 0; k < columns; k++) qr.push(weight.map((w, i) => (members[i]!.at - s) ** k * w));
  const coefficients = qr.solve(qr.apply(weight.map((w, i) => members[i]!.value * w)));
  const u = Math.hypot(...qr.inverseUpper()[0]!);
  let misfit = 0;
  members.forEach((e, i) => {
    let off = e.value;
    for (let k = 0; k < columns; k++) off -= coefficients[k]! * (e.at - s) ** k;
    misfit += (off * weight[i]!) ** 2;
  });
  const left = members.length - columns;
  const value = coefficients[0]!;
  const own = u * Math.max(1, left > 0 ? Math.sqrt(misfit / left) : 1);
  let off = standsOff(series, s, value, own, length);
  if (sideways !== null) {
    // Where the flange's middle lies wrong sideways, a tilted face is read at a wrong place.
    const places = series
      .filter(({ section }) => section.left !== null || section.right !== null)
      .map(sideways);
    const here = [...places].sort((a, b) => Math.abs(a.at - s) - Math.abs(b.at - s)).slice(0, 2);
    off = Math.hypot(
      off,
      Math.max(0, ...here.map((p) => p.share * standsOff(places, p.at, p.value, p.u, length))),
    );
  }
  const turnU = Math.hypot(TURN_SHARE * 2 * turn, off);
  return { value, u: Math.hypot(own, turnU), bend: 0, turnU };
}

/** Of a section the middle of the flange sideways, and how much of it a line that reads the face takes in. */
function sidewaysOf(own: LineFrame, frame: LineFrame) {
  const [ty, tz] = [dot(own.toward, frame.toward), dot(own.toward, frame.across)];
  return ({ at, section: { pose, left, right } }: Estimate) => ({
    at,
    value: pose.y,
    u: Math.min(left?.u ?? 1, right?.u ?? 1),
    share: Math.abs(ty * Math.cos(pose.tilt) + tz * Math.sin(pose.tilt)),
  });
}

/** An edge seen, or told from the other one: with what slices share and what the whole edge shares of its doubt, m. */
export interface Look {
  readonly value: number;
  readonly u: number;
  readonly rowU: number;
  readonly bias: SharedAlong;
}

/**
 * One or two looks at one thing: the mean by weight, with more doubt where they disagree more than they should.
 * @param biasCounts whether they may stand off by what each whole edge shares
 */
export function meanOf(looks: readonly Look[], biasCounts: boolean): Look | null {
  const weights = looks.map(
    (each) => 1 / (each.u ** 2 + each.rowU ** 2 + (biasCounts ? (each.bias[0] + each.bias[1]) ** 2 : 0)),
  );
  const off =
    looks.length < 2
      ? 0
      : Math.abs(looks[0]!.value - looks[1]!.value) / Math.sqrt(1 / weights[0]! + 1 / weights[1]!);
  const doubt = Math.max(1, off / 2);
  // Where they disagree the one known worse is the likelier to be wrong.
  const least = Math.min(...weights);
  const shares = weights.map((w) => (w === least && looks.length > 1 ? w / doubt ** 2 : w));
  const all = shares.reduce((total, w) => total + w, 0);
  if (!(all > 0)) return null;
  const share = shares.map((w) => w / all);
  const mix = (of: (each: Look) => number) => Math.hypot(...looks.map((each, i) => share[i]! * of(each)));
  const sum = (of: (each: Look) => number) =>
    looks.reduce((total, each, i) => total + share[i]! * of(each), 0);
  return {
    value: sum((each) => each.value),
    u: doubt * mix((each) => each.u),
    rowU: doubt * mix((each) => each.rowU),
    bias: [sum((each) => each.bias[0]), sum((each) => each.bias[1])],
  };
}

/** What the slices of a station have in common: the mean, each slice weighing as it does in the station. */
function common(slices: readonly Estimate[], of: (each: Estimate) => number): number {
  let [sum, weight] = [0, 0];
  for (const each of slices) {
    const w = 1 / Math.max(1e-5, each.u) ** 2;
    sum += w * of(each);
    weight += w;
  }
  return sum / weight;
}

/** What one measured section says about a line. */
function estimate(
  line: ScanLine,
  own: LineFrame,
  { frame, section }: FlangeView,
  widths: FlangeWidths,
  index: number,
): Omit<Estimate, 'section'> | null {
  const measured = widths.sections[index]!;
  const width = widths.local[index]!;
  const { pose, left, right, face } = measured;
  const sure = { rowU: 0, bias: [0, 0] as const, inferred: false };
  const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
  /** From the section's own axes to the cloud's, relative to the line's origin, m. */
  const point = (u: number, v: number): Vec3 => {
    const from = scale(subtract(frame.origin, own.origin), frame.metres);
    return add(
      add(from, scale(frame.along, measured.at)),
      add(scale(frame.toward, pose.y + c * u - s * v), scale(frame.across, pose.z + s * u + c * v)),
    );
  };
  // How the line's direction lies in the section's own axes.
  const [ty, tz] = [dot(own.toward, frame.toward), dot(own.toward, frame.across)];
  const [du, dv] = [ty * c + tz * s, tz * c - ty * s];
  const faceU = (u: number) =>
    Math.sqrt(Math.max(0, face.u ** 2 + 2 * u * face.covariance + (u * face.slopeU) ** 2));
  if (line.kind === 'tilt') {
    if (!face.seen) return null;
    // The section's width as a direction: how much it leans toward the line's direction along its `across`.
    const [ay, az] = [dot(own.across, frame.toward), dot(own.across, frame.across)];
    const along = ay * c + az * s;
    const slope = du / along;
    const at = dot(point(0, 0), own.along);
    return {
      at,
      value: slope * line.extent,
      across: 0,
      u: (face.slopeU / along ** 2) * line.extent,
      ...sure,
    };
  }
  if (line.kind === 'camber') {
    if (!face.seen) return null;
    const p = point(0, -section.thickness / 2);
    return {
      at: dot(p, own.along),
      value: dot(p, own.toward),
      across: dot(p, own.across),
      u: Math.hypot(dv * faceU(0), du * Math.min(left?.u ?? 0.01, right?.u ?? 0.01)),
      rowU: 0,
      // Half of what the width is doubted by, alike all along: the middle lies half a width from either edge.
      bias: [(du * widths.widthU) / 2, 0],
      inferred: false,
    };
  }
  // The edge asked for; where it is hidden, the other one and the width measured where both are seen.
  const positive = (line.edge === 'positive') === du > 0;
  const [side, wanted, other] = positive
    ? (['right', right, left] as const)
    : (['left', left, right] as const);
  const sign = positive ? 1 : -1;
  const direct: Look | null = wanted === null ? null : { ...wanted, bias: [widths.biasU(index, side), 0] };
  const across: Look | null =
    other === null || width === null || (wanted === null && Math.hypot(other.u, other.rowU, width.u) > ACROSS)
      ? null
      : {
          value: other.value + sign * width.value,
          u: other.u,
          rowU: Math.hypot(other.rowU, width.u),
          bias: [0, widths.widthU],
        };
  const known = meanOf(
    [direct, across].filter((each) => each !== null),
    width?.measured === false,
  );
  if (known === null) return null;
  const p = point(known.value, 0);
  return {
    at: dot(p, own.along),
    value: dot(p, own.toward),
    across: dot(p, own.across),
    u: Math.hypot(du * known.u, dv * faceU(known.value)),
    rowU: Math.abs(du) * known.rowU,
    bias: [du * known.bias[0], du * known.bias[1]],
    inferred: wanted === null,
  };
}

function whyUnread(
  line: ScanLine,
  own: LineFrame,
  { frame, slices, track, measured }: FlangeView,
  jumped: readonly Estimate[],
  s: number,
  long: number,
): string {
  const shift = dot(scale(subtract(own.origin, frame.origin), frame.metres), frame.along);
  const here = slices
    .map((_, i) => i)
    .filter((i) => Math.abs(slices[i]!.centre - shift - s) <= long / 2 + 1e-9);
  const points = here.reduce((sum, i) => sum + slices[i]!.seen, 0);
  if (points === 0)
    return whyEmpty(
      here.map((i) => slices[i]!),
      line,
    );
  if (here.some((i) => track.disputed[i]))
    return 'two places of the flange explain the points as well, and they differ';
  if (measured.crossed.some((at) => Math.abs(at - shift - s) <= long / 2))
    return "what was followed here lies off by the plate's own thickness: it is the plate's other face";
  if (jumped.some((e) => Math.abs(e.at - s) <= long / 2))
    return 'what was seen here jumps away from the steel on both sides (clamp, jack, board)';
  if (measured.sections.some((e) => Math.abs(e.at - shift - s) <= long / 2)) {
    return line.kind === 'sweep'
      ? 'the edge itself is not seen here (hidden, or too few points on it)'
      : 'the face of the flange is not seen here (hidden, or too few points on it)';
  }
  return `too few points on the flange (${points} in the window)`;
}

function tooDoubtful({ units }: ScanLine, bent: boolean, length: number): string {
  return bent
    ? `the steel turns here within a slice, and points this far apart need slices ${formatLength(length, { units, as: 'offset', trim: true })} long (${formatUncertainty(GOOD_SPACING, units)} between points would do)`
    : `what is seen here tells the steel no better than ${formatUncertainty(WORST, units)}`;
}

function notesOf(
  line: ScanLine,
  view: FlangeView,
  { seen }: FlangeWidths,
  steps: Vec3,
  own: LineFrame,
  inferred: number,
): string[] {
  const { measured, registration, section } = view;
  const { units } = line;
  const size = (m: number) => formatLength(m, { units, as: 'offset', trim: true });
  const notes: string[] = [];
  if (seen !== null && Math.abs(seen.value - section.width) > WIDTH_NOTE + 3 * seen.u)
    notes.push(
      `the flange measures ${size(seen.value)} across, the job says ${size(section.width)}; what is left open of it is in u of its edges (a width measured by hand, in job.json, would settle it)`,
    );
  if (inferred > 0)
    notes.push(
      `${inferred} station${inferred === 1 ? '' : 's'} where the edge itself is not seen: read from the other edge and the width (a nick or a torn edge would not show)`,
    );
  if (measured.longest > 1.5 * view.sliceLength && measured.spacing > GOOD_SPACING)
    notes.push(
      `points on the flange are as far as ${formatUncertainty(measured.spacing, units)} apart, so slices are up to ${size(measured.longest)} long there and a short bend is averaged; points ${formatUncertainty(GOOD_SPACING, units)} apart would do`,
    );
  const differ = formatUncertainty(registration.sd, units);
  if (registration.how === 'found' && registration.sd > WORTH_SAYING)
    notes.push(
      `scans from different places differ by ${differ} (standard deviation) on the same steel; they were fitted to each other on it, and what that leaves open is in u`,
    );
  if (registration.how === 'apart')
    notes.push(
      `scans from different places do not see the same steel, so that their registration could not be checked; ${differ} is in u for it (give "registration" in the set-up if it is known)`,
    );
  if (registration.how === 'lost')
    notes.push(
      `the order of the points does not tell where they were scanned from (a sorted or shuffled file), so that registration could not be checked; ${differ}, all the points scatter by, is in u for it (give "registration" in the set-up: 0 where all were scanned from one place)`,
    );
  const step = stepAlong(steps, own.toward);
  if (step > 0.0011) notes.push(`coordinates are rounded to ${formatUncertainty(step, units)}`);
  return notes;
}
