import type { Alignment } from './align.ts';
import { atStation, SHARPEST } from './at-station.ts';
import { scatterExcess } from './continuous.ts';
import { type LineAlignment, lineAlignment } from './line-alignment.ts';
import { type LineFrame, lineFrame, type ScanLine } from './line-frame.ts';
import type { SliceEstimate, SliceRejections } from './line-slices.ts';
import { edgeEstimates, faceEstimates } from './line-slices.ts';
import { collectSlices, lineWindow, type Slice, whyEmpty } from './slices.ts';
import { plumbEstimates, type WebFoot, type WebShape } from './web-line.ts';

/** A plumb reading doubted by more than this, m, is worth the flange beside it. */
const DOUBTED = 0.003;

/** One station of a line taken from a cloud. */
export interface ScanStation {
  /** m from the member's reference end */
  readonly station: number;
  /** m, from the chord between the picked points (tilt, plumb: slope times the width it is expressed over). */
  readonly offset: number;
  /** Standard uncertainty of `offset`, m, and the part of it that comes from aligning the scan on another (else 0). */
  readonly u: number;
  readonly alignmentU: number;
  /** Change of slope, rad, where the steel turns too sharply in the window to be followed (u says so); else 0. */
  readonly sharpBend: number;
  /** Points that carried it. */
  readonly count: number;
}

/** A line taken from a cloud. */
export interface ScanProfile {
  readonly line: ScanLine;
  readonly stations: readonly ScanStation[];
  /** What bringing the scan onto another leaves in the line as a whole, and untold (`LineAlignment`). */
  readonly aligned: Omit<LineAlignment, 'u'>;
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
    const sloped = line.kind === 'tilt' || line.kind === 'plumb';
    const series = found.kept.map((e) => ({
      at: e.at,
      value: sloped ? e.slope! * line.extent : e.value,
      u: sloped ? e.slopeU! * line.extent : e.u,
      used: e.used,
    }));
    const read: (Omit<ScanStation, 'alignmentU'> & { readonly s: number })[] = [];
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
        u: Math.hypot(pooled.u * excess, settings.leastU),
        sharpBend: !sloped && Math.abs(pooled.bend) > SHARPEST ? pooled.bend : 0,
        count: near.reduce((sum, e) => sum + e.used, 0),
      });
    }
    const across = (line.band[0] + line.band[1]) / 2;
    const { stations, aligned } = withAlignment(
      line,
      frame,
      settings.alignment ?? null,
      read.map((each) => ({ ...each, across })),
    );
    const profile: ScanProfile = {
      line,
      stations,
      aligned,
      unread,
      rejected: { ...found.rejected, outsideWindow: set.outsideWindow },
      thinned: set.slices.reduce((sum, p) => sum + p.seen - p.count, 0),
      scatter: found.scatter,
      excess,
      notes:
        line.kind === 'plumb' && feet.length === 0 && stations.some((each) => each.u > DOUBTED)
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

/** Stations as read, with what the alignment leaves uncertain in each. */
export function withAlignment(
  line: ScanLine,
  frame: LineFrame,
  alignment: Alignment | null,
  read: readonly (Omit<ScanStation, 'alignmentU'> & { readonly s: number; readonly across: number })[],
): Pick<ScanProfile, 'stations' | 'aligned'> {
  const { u: left, ...aligned } = lineAlignment(
    line,
    frame,
    alignment,
    read.map(({ s, offset, across }) => ({ s, toward: offset, across })),
  );
  const stations = read.map(({ station, offset, u, sharpBend, count }, i) => ({
    station,
    offset,
    u: Math.hypot(u, left[i]!),
    alignmentU: left[i]!,
    sharpBend,
    count,
  }));
  return { stations, aligned };
}
