import type { Alignment, Unnoticed } from './align.ts';
import { atStation, SHARPEST } from './at-station.ts';
import { scatterExcess } from './continuous.ts';
import { lineAlignment } from './line-alignment.ts';
import { isSloped, type LineFrame, lineFrame, type ScanLine } from './line-frame.ts';
import type { SliceEstimate, SliceRejections } from './line-slices.ts';
import { edgeEstimates, faceEstimates } from './line-slices.ts';
import { collectSlices, lineWindow, type Slice, whyEmpty } from './slices.ts';
import type { WebFoot } from './web-fit.ts';
import { plumbEstimates, type WebShape } from './web-line.ts';

/** A plumb reading doubted by more than this, m, is worth the flange beside it. */
const DOUBTED = 0.003;

/** One station of a line taken from a cloud. */
interface ScanStation {
  /** m from the member's reference end */
  readonly station: number;
  /** m, from the chord between the picked points (tilt, plumb: slope times the width it is expressed over). */
  readonly offset: number;
  /**
   * Standard uncertainty of `offset`, m; of a sweep or camber line against the straight line between its ends, because every
   * survey has a set-up of its own that takes up where the line as a whole stands.
   */
  readonly u: number;
  /** The part of it that comes from aligning the scan on another (else 0). */
  readonly alignmentU: number;
  /** Standard uncertainty of the place itself, m, with what the whole line shares. */
  readonly placeU: number;
  /** Change of slope, rad, where the steel turns too sharply in the window to be followed (u says so); else 0. */
  readonly sharpBend: number;
  /** Points that carried it. */
  readonly count: number;
}

/** A line taken from a cloud. */
export interface ScanProfile {
  readonly line: ScanLine;
  readonly stations: readonly ScanStation[];
  readonly shared: {
    /** Sweep and camber: the most that is doubted of where the line as a whole stands, m, not in the stations' `u`; else 0. */
    readonly wholeU: number;
    /** What bringing the scan onto another leaves untold (`LineAlignment`). */
    readonly slides: boolean;
    readonly untold: Unnoticed | null;
  };
  /** Stations of the line that could not be read, and why, in words. */
  readonly unread: readonly { readonly station: number; readonly reason: string }[];
  /** Points left out, by reason. */
  readonly rejected: SliceRejections & { readonly outsideWindow: number };
  /** Points in the window thinned away where a slice was full (they are not faults). */
  readonly thinned: number;
  /** Scatter of the points about the steel in the direction measured, m. */
  readonly scatter: number;
  /** Factor by which slices scatter more than their own uncertainties say; already in `u` where above 1. */
  readonly excess: number;
  /** What whoever reads the line should know about the cloud, in words. */
  readonly notes: readonly string[];
}

/** A web as it was read, for showing it. */
export interface WebLook {
  readonly line: ScanLine;
  readonly frame: LineFrame;
  readonly slices: readonly Slice[];
  /** One for each slice. */
  readonly shapes: readonly WebShape[];
}

export interface ExtractSettings {
  /** Thickness of the flange plate, m. */
  readonly flangeThickness: number;
  /** Uncertainty that no count of points removes (registration, range bias along the line), m; added in quadrature. */
  readonly leastU: number;
  /** How the scan was brought onto the one the set-up is in; null where it stands in its own coordinates. */
  readonly alignment?: Alignment | null;
}

/**
 * Takes one line from a cloud: give `sink` every point (bounded memory), then ask for `profile`.
 * Throws InputError when the set-up cannot be meant.
 */
export function extractLine(line: ScanLine, metresPerUnit: number, settings: ExtractSettings) {
  const frame = lineFrame(line, metresPerUnit);
  const collector = collectSlices(lineWindow(line, frame), frame);
  let offered = 0;

  /** @param feet of a web, from the flange it stands on: for `plumb` */
  function take(feet: readonly WebFoot[] = []): { profile: ScanProfile; web: WebLook | null } {
    const set = collector.result();
    const plumb =
      line.kind === 'plumb' && line.feature !== 'edge' ? plumbEstimates(line, set, offered, feet) : null;
    const found =
      plumb ??
      (line.feature === 'edge'
        ? edgeEstimates(line, set, settings.flangeThickness)
        : faceEstimates(line, set));
    const sloped = isSloped(line);
    const series = found.kept.map((e) => ({
      at: e.at,
      value: sloped ? e.slope! * line.extent : e.value,
      u: sloped ? e.slopeU! * line.extent : e.u,
      used: e.used,
    }));
    const across = (line.band[0] + line.band[1]) / 2;
    const read: ReadStation[] = [];
    const unread: { station: number; reason: string }[] = [];
    const excess = scatterExcess(series);
    for (const { s, station } of stationList(line, frame)) {
      const near = series.filter((e) => Math.abs(e.at - s) <= line.slice / 2 + 1e-9);
      const wanted = set.slices.filter((p) => Math.abs(p.centre - s) <= line.slice / 2 + 1e-9);
      if (near.length * 2 <= wanted.length && near.length < wanted.length) {
        unread.push({ station, reason: whyUnread(line, wanted, found.jumped, s) });
        continue;
      }
      const pooled = atStation(series, s, line.slice, set.thickness);
      read.push({
        s,
        station,
        offset: pooled.value,
        across,
        u: Math.hypot(pooled.u * excess, settings.leastU),
        bias: [0, 0],
        sharpBend: !sloped && Math.abs(pooled.bend) > SHARPEST ? pooled.bend : 0,
        count: near.reduce((sum, e) => sum + e.used, 0),
      });
    }
    const finished = finishStations(line, frame, settings.alignment ?? null, read);
    const profile: ScanProfile = {
      line,
      ...finished,
      unread,
      rejected: { ...found.rejected, outsideWindow: set.outsideWindow },
      thinned: set.slices.reduce((sum, p) => sum + p.seen - p.count, 0),
      scatter: found.scatter,
      excess,
      notes:
        line.kind === 'plumb' && feet.length === 0 && finished.stations.some((each) => each.u > DOUBTED)
          ? [
              'the ends of the web are not seen, and where it is bent that is most of u: a line of the flange it stands on, in the same set-up, tells where it stands',
            ]
          : [],
    };
    const web = plumb === null ? null : { line, frame, slices: set.slices, shapes: plumb.shapes };
    return { profile, web };
  }
  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      offered += count;
      collector.sink(x, y, z, count);
    },
    take,
    profile: (feet: readonly WebFoot[] = []): ScanProfile => take(feet).profile,
    frame,
  };
}

/** Stations from the first picked point to the second, spaced from the first, and the second itself. */
export function stationList(line: ScanLine, frame: LineFrame): { s: number; station: number }[] {
  const list: { s: number; station: number }[] = [];
  const total = line.stations[1] - line.stations[0];
  const whole = Math.floor(total / line.spacing + 1e-9);
  for (let i = 0; i <= whole; i++) {
    list.push({ s: (i * line.spacing) / frame.stationScale, station: line.stations[0] + i * line.spacing });
  }
  if (total - whole * line.spacing > line.slice) list.push({ s: frame.span, station: line.stations[1] });
  return list;
}

function whyUnread(
  line: ScanLine,
  slices: readonly Slice[],
  jumped: readonly SliceEstimate[],
  s: number,
): string {
  const points = slices.reduce((sum, p) => sum + p.seen, 0);
  if (points === 0) return whyEmpty(slices, line);
  if (jumped.some((e) => Math.abs(e.at - s) <= line.slice / 2)) {
    return 'what was seen here jumps away from the steel on both sides (clamp, jack, board)';
  }
  return line.kind === 'plumb'
    ? `the web cannot be told from its foot to its head (${points} points in the window): seen too little of, or bent more sharply than is looked for`
    : `too few points on the steel (${points} in the window)`;
}

/**
 * What is doubted alike all along a line, m, each with its sign: how far off an edge seen along its face lies, and the width
 * by which a hidden edge is told from the other. One standard deviation of each; they may go together or not.
 */
export type SharedAlong = readonly [edge: number, width: number];

/** A station as read, before what the whole line shares is put to it. */
export type ReadStation = Omit<ScanStation, 'alignmentU' | 'placeU'> & {
  readonly s: number;
  /** Where it was read across the line, m. */
  readonly across: number;
  readonly bias: SharedAlong;
};

/** Stations as read, with what the alignment and the edges leave uncertain all along the line. */
export function finishStations(
  line: ScanLine,
  frame: LineFrame,
  alignment: Alignment | null,
  read: readonly ReadStation[],
): Pick<ScanProfile, 'stations' | 'shared'> {
  const aligned = lineAlignment(
    line,
    frame,
    alignment,
    read.map(({ s, offset, across }) => ({ s, toward: offset, across })),
  );
  const hasSetUp = !isSloped(line);
  const [first, last] = [read[0], read.at(-1)];
  /** What is left of a shared doubt against the straight line between the ends. */
  const net = (k: 0 | 1, { s, bias }: ReadStation): number => {
    if (!hasSetUp || first === undefined || last === undefined || first === last) return bias[k];
    const share = (s - first.s) / (last.s - first.s);
    return bias[k] - (1 - share) * first.bias[k] - share * last.bias[k];
  };
  const stations = read.map((each, i): ScanStation => {
    const { station, offset, u, sharpBend, count, bias } = each;
    const alignmentU = aligned.u[i]!;
    return {
      station,
      offset,
      u: Math.hypot(u, alignmentU, net(0, each), net(1, each)),
      alignmentU,
      // Told from both, an edge hangs on the same widths: taken to go together.
      placeU: Math.hypot(u, aligned.placeU[i]!, bias[0] + bias[1]),
      sharpBend,
      count,
    };
  });
  const wholeU = hasSetUp
    ? Math.max(0, ...read.map(({ bias }, i) => Math.hypot(aligned.placeU[i]!, bias[0] + bias[1])))
    : 0;
  return { stations, shared: { wholeU, slides: aligned.slides, untold: aligned.untold } };
}
