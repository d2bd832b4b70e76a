import type { PanelSurvey } from '../analysis.ts';
import type { Line, PanelPlace } from '../job/job.ts';
import { hypot } from '../maths/portable.ts';
import { type Net, netOver, nodeAt, patches, seenNodes, usual } from './seen.ts';
import { MOST_WAVES, type Surface } from './surface.ts';

/** A hole within so many reading spacings of the crest touches it. */
const TOUCHES = 1.2;

/**
 * A top sharper than the fit believes (a fold, the mark of a wheel nut) is rounded off, and between wide-spaced readings
 * nothing says how high it is. Shares of the crest taken for that as standard uncertainties (type B, JCGM 100, 4.3): of the
 * crest itself, of what a parabola of its curvature rises between two readings (κ·h²/8), and of what one as long as the panel
 * would. Settled on seeds 41 and 42 of the plates of bench:panels, held to others: folded and point-loaded plates lose 1 to 4 % of
 * their crest on grids of 2 to 4 in, up to a third on grids of 12 in. The readings around a folded top do not tell: the surface leaves
 * nothing of them over, the point simply stands between them. It is the same in every survey, so it does not disturb a movement.
 */
const TOP = 0.02;
const BETWEEN = 0.45;
const ACROSS = 1.5;
/**
 * A plate pushed in at a point yields in a fan and stands as a cone (Johansen's mechanism): its flanks are straight to the tip,
 * which stands between the readings. Where flanks do not level off toward the crest, so many times what they rise
 * from one reading to the next is taken for that tip.
 */
const SHARP = 0.45;
/** A crest below so many u is what the errors of a flat panel show somewhere (1 in 20 panels of some twenty places). */
const FLAT = 3.3;

/** The map of one survey, its crest, what it has not seen, and what was taken off. */
export function mapOf(
  line: Line,
  panel: PanelPlace,
  places: readonly { readonly station: number; readonly height: number }[],
  surface: Surface,
): Omit<PanelSurvey, 'freedom'> {
  const [from, to] = line.bearings;
  const [low, high] = panel.heights;
  const [width, height] = [to - from, high - low];
  const net = netOver(from, to, low, high);
  const seen = seenNodes(net, places);
  const across = Array.from({ length: net.columns }, (_, c) => c / (net.columns - 1));
  const upward = Array.from({ length: net.rows }, (_, r) => r / (net.rows - 1));
  const { value: deviation, u } = surface.onNet(across, upward);
  let top = -1;
  seen.forEach((s, i) => {
    if (s && (top < 0 || Math.abs(deviation[i]!) > Math.abs(deviation[top]!))) top = i;
  });
  if (top < 0) top = 0;
  const place = summit(net, deviation, seen, top);
  const [x, y] = [(place.station - from) / width, (place.height - low) / height];
  const { value, u: fitted } = surface.bulge(x, y);
  const cell = net.stepX * net.stepY;
  const [reachX, reachY] = [usual(places.map((p) => p.station)), usual(places.map((p) => p.height))];
  const bend = surface.bending(x, y);
  const rise = (Math.abs(bend.along.value) * reachX ** 2 + Math.abs(bend.up.value) * reachY ** 2) / 16;
  const coarse = (Math.max(reachX, reachY) / Math.min(width, height)) ** 2;
  // Nor does the surface follow anything narrower than its finest wave; a tip a little narrower still shows in it.
  const finest = 0.7 * Math.sqrt((width * height) / MOST_WAVES);
  const point =
    SHARP * stillRising(surface, x, y, Math.max(reachX, finest) / width, Math.max(reachY, finest) / height);
  const known = hypot(
    hypot(fitted, hypot(TOP * value, point)),
    hypot(BETWEEN * rise, ACROSS * coarse * value),
  );
  const own = Math.abs(value) < FLAT * fitted ? Math.max(known, Math.abs(value) / 2) : known;
  const unseen = patches(net, (i) => !seen[i]).map((patch) => {
    const at = patch.map((i) => nodeAt(net, i));
    const touchesCrest =
      at.some(
        (p) =>
          Math.abs(p.station - place.station) <= TOUCHES * reachX &&
          Math.abs(p.height - place.height) <= TOUCHES * reachY,
      ) || patch.some((i) => Math.abs(deviation[i]!) + u[i]! > Math.abs(value));
    return { ...boxOf(at), area: patch.length * cell, touchesCrest };
  });
  const half = patches(net, (i) => seen[i]! && deviation[i]! * Math.sign(value) >= Math.abs(value) / 2).find(
    (patch) => patch.includes(top),
  );
  const volume = surface.sumOnNet(
    across,
    upward,
    deviation.map((d, i) => (seen[i] ? Math.sign(d) * weight(net, i) * cell : 0)),
  );
  const box = half === undefined ? null : boxOf(half.map((i) => nodeAt(net, i)));
  const lean = (share: number) => {
    const [upper, lower] = [surface.reference(share, 1), surface.reference(share, 0)];
    return { value: upper.value - lower.value, u: Math.sqrt(upper.u ** 2 + lower.u ** 2) };
  };
  const [near, far] = [lean(0), lean(1)];
  return {
    map: { from, to, low, high, columns: net.columns, rows: net.rows, deviation, u, seen },
    crest: {
      ...place,
      deviation: value,
      u: own,
      uNew: surface.newPart(x, y),
      point,
      lowerBound: unseen.some((each) => each.touchesCrest),
    },
    half: {
      along: box === null ? 0 : box.to - box.from + net.stepX,
      up: box === null ? 0 : box.high - box.low + net.stepY,
      area: (half?.length ?? 0) * cell,
    },
    volume: volume.value,
    volumeU: hypot(volume.u, TOP * volume.value),
    unseen,
    takenOff: {
      sway: lean(0.5),
      twist: { value: far.value - near.value, u: Math.sqrt(far.u ** 2 + near.u ** 2) },
      bows: panel.held.map((side) => ({ side, ...surface.bow(side, 0.5) })),
      shape: surface.referenceOnNet(across, upward),
    },
    bending: surface.bendingOnNet(across, upward).map(({ along, up, twist }) => ({
      along: along.value,
      up: up.value,
      twist: twist.value,
      u: Math.max(along.u, up.u),
    })),
  };
}

const STEPS = [-2.5, -1.5, -0.5, 0, 0.5, 1.5, 2.5] as const;
/** Steps from the crest outward, eight ways: places in STEPS. */
const WAYS = [-1, 0, 1].flatMap((a) =>
  [-1, 0, 1].flatMap((b) => (a === 0 && b === 0 ? [] : [[1, 2, 3].map((k) => [3 + k * a, 3 + k * b])])),
);

/**
 * Mean over eight ways from the crest of what the flank falls in the first whole spacing of the readings, m, counted from half
 * a spacing out, where it falls there about as fast as in the spacing after it: a cone falls evenly (1), a parabola half as
 * fast (0.5), and a bell that ends there much faster. In full from 0.95 to 1.3, nothing below 0.7 and above 2.2: between
 * a cone and a small bell readings this far apart cannot choose.
 *
 * @param stepX, stepY spacing of the readings, shares of the panel
 */
function stillRising(surface: Surface, x: number, y: number, stepX: number, stepY: number): number {
  const xs = STEPS.map((step) => x + step * stepX);
  const ys = STEPS.map((step) => y + step * stepY);
  const { value } = surface.onNet(
    xs.map((at) => Math.min(1, Math.max(0, at))),
    ys.map((at) => Math.min(1, Math.max(0, at))),
  );
  const side = Math.sign(value[3 * STEPS.length + 3]!);
  let sum = 0;
  let ways = 0;
  for (const way of WAYS) {
    if (way.some(([c, r]) => xs[c!]! < 0 || xs[c!]! > 1 || ys[r!]! < 0 || ys[r!]! > 1)) continue;
    const [near, mid, far] = way.map(([c, r]) => side * value[r! * STEPS.length + c!]!) as [
      number,
      number,
      number,
    ];
    ways++;
    const first = near - mid;
    if (first <= 0 || mid <= far) continue;
    const pace = first / (mid - far);
    sum += first * Math.max(0, Math.min(1, (pace - 0.7) / 0.25, (2.2 - pace) / 0.9));
  }
  return ways === 0 ? 0 : sum / ways;
}

/** Half at the rim of the net, a quarter in its corners: the trapezoid rule. */
function weight(net: Net, index: number): number {
  const column = index % net.columns;
  const row = Math.floor(index / net.columns);
  return (
    (column === 0 || column === net.columns - 1 ? 0.5 : 1) * (row === 0 || row === net.rows - 1 ? 0.5 : 1)
  );
}

/** Top of the parabola through a node and its neighbours either side, along and up; the node where one is missing. */
function summit(
  net: Net,
  deviation: readonly number[],
  seen: readonly boolean[],
  top: number,
): { station: number; height: number } {
  const at = nodeAt(net, top);
  const side = Math.sign(deviation[top]!);
  const shift = (before: number, after: number): number => {
    const bend = before - 2 * side * deviation[top]! + after;
    return bend < 0 ? Math.max(-0.5, Math.min(0.5, (before - after) / (2 * bend))) : 0;
  };
  const column = top % net.columns;
  const row = Math.floor(top / net.columns);
  const value = (i: number) => side * deviation[i]!;
  const inX = column > 0 && column < net.columns - 1 && seen[top - 1] && seen[top + 1];
  const inY = row > 0 && row < net.rows - 1 && seen[top - net.columns] && seen[top + net.columns];
  return {
    station: at.station + (inX ? shift(value(top - 1), value(top + 1)) * net.stepX : 0),
    height: at.height + (inY ? shift(value(top - net.columns), value(top + net.columns)) * net.stepY : 0),
  };
}

function boxOf(at: readonly { readonly station: number; readonly height: number }[]) {
  let [from, to, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const p of at) {
    from = Math.min(from, p.station);
    to = Math.max(to, p.station);
    low = Math.min(low, p.height);
    high = Math.max(high, p.height);
  }
  return { from, to, low, high };
}
