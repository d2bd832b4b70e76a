import { InputError } from '../input-error.ts';
import type { Job, Line } from '../job/job.ts';
import { median } from '../maths/median.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { parseLength } from '../units/parse-length.ts';
import { extractFlange, type FlangeSettings, type FlangeView } from './extract-flange.ts';
import { extractLine, type ScanProfile } from './extract-line.ts';
import type { ScanLine } from './line-frame.ts';
import { scanSetUp } from './set-up.ts';
import { CLOUD_UNITS, type CloudUnit } from './units.ts';
import { cross, dot, length, scale, subtract, unit, type Vec3 } from './vector.ts';

/** Two points picked on a flange, in the cloud's own unit and axes. */
export interface Picks {
  readonly from: Vec3;
  readonly to: Vec3;
  /** Stations of the two as written, with a comma between; null: the line's bearings. */
  readonly stations: string | null;
  /** Null: found from the distance. */
  readonly units: CloudUnit | null;
  /** Which side is positive, seen from the first pick toward the second, standing upright; null: found. */
  readonly positive: 'left' | 'right' | null;
  /** More keys of the line in the set-up, as given. */
  readonly more: Readonly<Record<string, unknown>>;
}

/** Units told apart by the distance between two picks: the two feet are not, and do not matter. */
const UNITS: readonly CloudUnit[] = ['m', 'ft', 'mm', 'in', 'cm'];
/** Picks may disagree with their stations by this much, m and as a share (as `lineFrame` allows). */
const OFF = 0.05;
const OFF_SHARE = 0.01;

/** The unit in which two points are as far apart as their stations; null where none is. */
export function unitOfDistance(distance: number, stationed: number): CloudUnit | null {
  const fits = UNITS.filter(
    (name) => Math.abs(distance * CLOUD_UNITS[name] - stationed) <= Math.max(OFF, OFF_SHARE * stationed),
  );
  return fits[0] ?? null;
}

/** Whether two picks are enough for a line: all but a bulge's straight-edge, which lies anywhere on a plate. */
export const pickable = (line: Line): boolean => line.kind !== 'bulge';

/** Lines that two picks can be for: as long as the picks are apart in some unit. Sweep lines where there are any. */
export function linesForPicks(job: Job, picks: Pick<Picks, 'from' | 'to' | 'stations' | 'units'>): Line[] {
  const distance = length(subtract(picks.to, picks.from));
  const fits = job.lines.filter((line) => {
    if (!pickable(line)) return false;
    const [a, b] = stationsOf(job, line, picks.stations);
    const found = unitOfDistance(distance, b - a);
    return found !== null && (picks.units === null || sameUnit(found, picks.units));
  });
  const sweeps = fits.filter((line) => line.kind === 'sweep');
  return sweeps.length > 0 ? sweeps : fits;
}

/** Stations of two picks, m. @throws InputError when they are not two increasing stations */
function stationsOf(job: Job, line: Line, written: string | null): readonly [number, number] {
  if (written === null) return line.bearings;
  const parts = written
    .split(',')
    .map((text) => parseLength(text, { unit: job.units === 'us' ? 'ft' : 'm', station: true }));
  const [a, b] = parts;
  if (parts.length === 2 && a!.ok && b!.ok && b!.metres > a!.metres) return [a!.metres, b!.metres];
  throw new InputError('an option could not be used', [
    {
      file: 'options',
      column: '--stations',
      found: written,
      expected: 'two increasing stations with a comma between, such as "5 ft, 57 ft"',
    },
  ]);
}

const sameUnit = (a: CloudUnit, b: CloudUnit): boolean =>
  Math.abs(CLOUD_UNITS[a] / CLOUD_UNITS[b] - 1) < 1e-5;

/** Tried as the vertical, the likeliest first: scanners level themselves. */
export const UPRIGHTS: readonly (readonly [name: string, axis: Vec3])[] = [
  ['z', [0, 0, 1]],
  ['y', [0, 1, 0]],
];

/** Directions of a line in a set-up, its left side positive. */
function waysOf(kind: Line['kind'], axis: Vec3, left: Vec3): Readonly<Record<string, Vec3>> {
  if (kind === 'camber') return { direction: axis };
  if (kind === 'tilt') return { direction: axis, across: left };
  return kind === 'plumb' ? { direction: left, across: axis } : { direction: left };
}

/** A web read at fewer of its stations than this share is not the web. */
const LEAST_READ = 0.3;

/** What was found from two picks: the line as a set-up would have it, and why, in words. */
export interface FoundLine {
  readonly units: CloudUnit;
  /** The line's part of a set-up, ready for scan.json. */
  readonly written: Readonly<Record<string, unknown>>;
  readonly rows: readonly (readonly [what: string, found: string])[];
  /** What rests on an assumption and must be looked at, in words. */
  readonly assumed: readonly string[];
  /** Farthest from the straight line between its own ends, m; null where no station was read. */
  readonly farthest: { readonly station: number; readonly offset: number } | null;
}

/**
 * Finds how a flange line lies in a cloud from two points picked on it: give `sink` every point, then ask for `found`.
 * Throws InputError where the distance fits no unit.
 * @param earlier offsets of the line read before, by station, m; for which side is positive
 */
export function lineFromPicks(
  job: Job,
  line: Line,
  picks: Picks,
  settings: FlangeSettings,
  earlier: readonly { readonly station: number; readonly offset: number }[],
  uprights = UPRIGHTS,
) {
  const [a, b] = stationsOf(job, line, picks.stations);
  const distance = length(subtract(picks.to, picks.from));
  const station = (m: number) => formatLength(m, { units: job.units, as: 'station' });
  const told = picks.units ?? unitOfDistance(distance, b - a);
  if (told === null) {
    throw new InputError('the unit of the cloud cannot be told from the two picks; nothing was imported', [
      {
        file: 'options',
        column: '--from, --to',
        found: `points ${distance.toPrecision(5)} apart: ${UNITS.map((name) => `${station(distance * CLOUD_UNITS[name])} if in ${name}`).join(', ')}`,
        expected: `${station(b - a)}, the distance between the stations of line "${line.name}" (are they picked at the bearings? if not, say where with --stations)`,
      },
    ]);
  }
  const units: CloudUnit = told;
  const metres = CLOUD_UNITS[units];
  const along = unit(subtract(picks.to, picks.from));
  const tries = uprights
    .filter(([, axis]) => Math.abs(dot(axis, along)) < 0.5)
    .map(([name, axis]) => {
      const left = unit(cross(axis, along));
      const written = (keys: Readonly<Record<string, unknown>>) => ({
        from: picks.from,
        to: picks.to,
        ...waysOf(line.kind, axis, left),
        ...(picks.stations === null ? {} : { stations: picks.stations.split(',').map((s) => s.trim()) }),
        ...picks.more,
        ...keys,
      });
      const scanLine = (keys: Readonly<Record<string, unknown>>) =>
        scanSetUp({ units, lines: { [line.name]: written(keys) } }, 'options', job).lines[0]!;
      // Of a sweep both edges are taken at first: the one seen better is the one to keep to.
      const edges = line.kind === 'sweep' ? [{ edge: 'positive' }, { edge: 'negative' }] : [{}];
      return { name, axis, left, written, ...taker(edges.map(scanLine)) };
    });

  /** Follows the flange for its lines; a plumb line is read from the web by itself. */
  function taker(lines: readonly ScanLine[]) {
    if (line.kind !== 'plumb') {
      const flange = extractFlange(lines, metres, settings);
      return {
        sink: flange.sink,
        read: () => {
          const view = flange.view();
          return { view, profiles: flange.profiles(view), worth: worthOf(view) };
        },
      };
    }
    const web = extractLine(lines[0]!, metres, settings);
    return {
      sink: web.sink,
      read: () => {
        const profile = web.profile();
        const worth = profile.stations.length / Math.max(1, profile.stations.length + profile.unread.length);
        if (worth < LEAST_READ) {
          throw new InputError(
            `the web of line "${line.name}" cannot be read in this cloud; nothing was taken from it`,
            [
              {
                file: 'scan',
                column: line.name,
                found: profile.unread[0]?.reason ?? 'no station',
                expected:
                  'two points picked on the web at half its height, and most of the web seen between them',
              },
            ],
          );
        }
        return { view: null, profiles: [profile], worth };
      },
    };
  }

  function found(): FoundLine {
    const results = tries.map((each) => {
      try {
        return { ...each, ...each.read() };
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        return { ...each, error };
      }
    });
    const good = results.flatMap((each) => ('view' in each ? [each] : []));
    const best = good.reduce((x, y) => (y.worth > 1.1 * x.worth ? y : x), good[0]!);
    // Nothing followed in any way: what the likeliest says is what is wrong.
    if (best === undefined) throw (results[0] as { error: InputError }).error;
    const side = line.kind === 'sweep' ? sweepSide(best, best.profiles) : wayOf(best, best.profiles[0]!);
    const { profile } = side;
    const off = distance * metres - (b - a);
    const assumed = [...side.assumed, 'the first pick is the end station numbers start from'];
    return {
      units,
      written: best.written(side.keys),
      assumed,
      farthest: farthestOf(profile.stations),
      rows: [
        ['Line', `${line.name}, ${line.kind}, positive ${line.positive}`],
        [
          'Unit',
          `${units}${picks.units === null ? ' (the two feet are alike here)'.repeat(units === 'ft' ? 1 : 0) : ', as given'}: the picks are ${station(distance * metres)} apart, the stations ${station(b - a)} (${formatLength(off, { units: job.units, as: 'offset', sign: 'always' })})`,
        ],
        ['Stations', `${station(a)} at the first pick, ${station(b)} at the second`],
        ['Up', `the ${best.name} axis of the cloud`],
        ...(best.view === null ? [] : [flangeRow(best.view)]),
        ...side.rows,
      ],
    };
  }

  function flangeRow(view: FlangeView): readonly [string, string] {
    const width = widthOf(view);
    const small = (m: number) => formatLength(m, { units: job.units, as: 'offset' });
    return [
      'Flange',
      width === null
        ? 'hardly anywhere are both edges seen; its width could not be measured'
        : `${small(width)} across, the job says ${small(job.member.flangeWidth)}`,
    ];
  }

  interface Way {
    readonly profile: ScanProfile;
    /** Keys of the set-up that say it. */
    readonly keys: Readonly<Record<string, unknown>>;
    readonly rows: FoundLine['rows'];
    readonly assumed: readonly string[];
  }

  const toward = (left: Vec3, side: 'left' | 'right') =>
    scale(left, side === 'left' ? 1 : -1).map((v) => Number(v.toFixed(6)) + 0);
  const inWords = (direction: readonly number[]) => `(${direction.map((v) => v.toFixed(3)).join(', ')})`;
  const readWords = (profile: ScanProfile) => {
    const u = medianU(profile);
    return `${profile.stations.length} stations read${u === null ? '' : `, median u ${formatUncertainty(u, job.units)}`}`;
  };

  /** Which edge of a flange, and which side is positive. */
  function sweepSide(best: { readonly left: Vec3 }, profiles: readonly ScanProfile[]): Way {
    const [left, right] = profiles as [ScanProfile, ScanProfile];
    // Both edges have the same shape but for what the flange turned, so either tells the side.
    const seenLeft = seenOf(left);
    const seenRight = seenOf(right);
    const sign = signOf(seenLeft >= seenRight ? left : right, picks.positive, earlier, PUSHED_TO);
    const given = 'edge' in picks.more ? picks.more.edge : undefined;
    const [onPositive, onNegative] = sign.side === 'left' ? [seenLeft, seenRight] : [seenRight, seenLeft];
    // The edge on the positive side, unless the other is clearly seen better.
    const edge = given ?? (onPositive >= 0.9 * onNegative ? 'positive' : 'negative');
    const [profile, other] = (edge === 'positive') === (sign.side === 'left') ? [left, right] : [right, left];
    const direction = toward(best.left, sign.side);
    return {
      profile,
      keys: { direction, edge },
      assumed: sign.basis === null ? [] : [sign.basis],
      rows: [
        [
          'Positive side',
          `${sign.side}, looking from the first pick to the second: ${inWords(direction)}${sign.why}`,
        ],
        [
          'Edge',
          `the one on the ${String(edge)} side${given === undefined ? '' : ', as asked for'}: ${readWords(profile)}; the other edge ${other.stations.length}`,
        ],
      ],
    };
  }

  /** Which way is positive of a line that is not a sweep. */
  function wayOf(best: { readonly axis: Vec3; readonly left: Vec3 }, profile: ScanProfile): Way {
    const read = ['Read', readWords(profile)] as const;
    if (line.kind === 'camber') {
      // The job says it in words, or with the line's string; up otherwise.
      const string = typeof line.string === 'object' ? line.string : null;
      const down = string === null ? /\bdown/i.test(line.positive) : string.positiveIs === 'down';
      const direction = scale(best.axis, down ? -1 : 1).map((v) => v + 0);
      const told = string !== null || /\b(up|down|high|low)/i.test(line.positive);
      return {
        profile,
        keys: { direction },
        assumed: told ? [] : ['positive is up'],
        rows: [['Positive', `${down ? 'down' : 'up'}: ${inWords(direction)}`], read],
      };
    }
    const words = line.kind === 'tilt' ? EDGE_UP : LEANS_TO;
    const sign = signOf(profile, picks.positive, earlier, words);
    const direction = toward(best.left, sign.side);
    return {
      profile,
      keys: line.kind === 'tilt' ? { across: direction } : { direction },
      assumed: sign.basis === null ? [] : [sign.basis],
      rows: [
        [
          'Positive',
          `${words.means(sign.side)}, looking from the first pick to the second: ${inWords(direction)}${sign.why}`,
        ],
        read,
      ],
    };
  }

  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      for (const each of tries) each.sink(x, y, z, count);
    },
    found,
    /** The line as it would likeliest lie, where it could not be followed: for showing why. */
    likeliest: (): Pick<FoundLine, 'units' | 'written'> => ({
      units,
      written: tries[0]!.written(line.kind === 'sweep' ? { edge: 'positive' } : {}),
    }),
  };
}

/** Stations less the chord through the ends of what was read. */
function lessChord(stations: ScanProfile['stations']): { station: number; offset: number }[] {
  const sorted = [...stations].sort((p, q) => p.station - q.station);
  const [a, b] = [sorted[0], sorted.at(-1)];
  if (a === undefined || b === undefined || a.station === b.station) return [];
  const chord = (x: number) => a.offset + ((x - a.station) / (b.station - a.station)) * (b.offset - a.offset);
  return sorted.map(({ station, offset }) => ({ station, offset: offset - chord(station) }));
}

/** The station farthest from the chord through the ends of what was read. */
function farthestOf(stations: ScanProfile['stations']): FoundLine['farthest'] {
  if (stations.length < 5) return null;
  return lessChord(stations).reduce((far, s) => (Math.abs(s.offset) > Math.abs(far.offset) ? s : far));
}

/** How much of a flange a track explains, over all its slices. */
function worthOf({ track }: FlangeView): number {
  return track.quality.reduce((sum, v) => sum + v, 0) / Math.max(1, track.quality.length);
}

function medianU(profile: ScanProfile): number | null {
  const us = profile.stations.map((s) => s.placeU);
  return us.length === 0 ? null : median(us);
}

/** Stations read, fewer where they are known worse. */
function seenOf(profile: ScanProfile): number {
  const u = medianU(profile);
  return u === null ? 0 : profile.stations.length / Math.max(0.0005, u) ** 0.5;
}

/** Median distance between the two edges where both are seen, m. */
function widthOf(view: FlangeView): number | null {
  const widths = view.measured.sections.flatMap(({ left, right }) =>
    left === null || right === null ? [] : [right.value - left.value],
  );
  return widths.length < 5 ? null : median(widths);
}

/** A shape must go this closely with what was read before to tell the side (correlation). */
const ALIKE = 0.7;
/** A flange pushed by less than this share of its length, or m, does not tell to which side. */
const PUSHED = 0.01;

/** How the positive side of a kind of line is said. */
interface SideWords {
  readonly means: (side: 'left' | 'right') => string;
  /** What is taken for positive where nothing tells, and where it lies too straight for that. */
  readonly taken: string;
  readonly straight: string;
}

const PUSHED_TO: SideWords = {
  means: (side) => side,
  taken: 'the side the flange is pushed to',
  straight: 'the flange is nearly straight',
};
const EDGE_UP: SideWords = {
  means: (side) => `the ${side} edge up`,
  taken: 'the way the flange is turned most',
  straight: 'the flange is hardly turned',
};
const LEANS_TO: SideWords = {
  means: (side) => `its top leaning to the ${side}`,
  taken: 'the way the web leans most',
  straight: 'the web is nearly plumb',
};

/** Which side is positive: as told, as the line was read before, or toward where the steel went. */
function signOf(
  profile: ScanProfile,
  told: 'left' | 'right' | null,
  earlier: readonly { readonly station: number; readonly offset: number }[],
  words: SideWords,
): { side: 'left' | 'right'; why: string; basis: string | null } {
  if (told !== null) return { side: told, why: ', as told', basis: null };
  const same = correlation(profile, earlier);
  if (same !== null && Math.abs(same) >= ALIKE)
    return {
      side: same > 0 ? 'left' : 'right',
      why: `; with it the shape goes with the readings this line has (correlation ${Math.abs(same).toFixed(2)})`,
      basis: null,
    };
  // A pick lies anywhere across the flange: how far an edge is from it says nothing of where the flange was pushed.
  const { stations } = profile;
  const offsets = (words === PUSHED_TO ? lessChord(stations) : stations).map((s) => s.offset);
  const most = Math.max(0, ...offsets);
  const least = Math.min(0, ...offsets);
  const clear = Math.abs(most + least) > PUSHED;
  return {
    side: most + least >= 0 ? 'left' : 'right',
    why: clear ? `; taken to be ${words.taken}` : `; ${words.straight}, so that nothing tells`,
    basis: clear
      ? `positive is ${words.taken} (no earlier readings tell; give --positive left or right if it is the other)`
      : 'which side is positive could not be told: give --positive left or right, looking from the first pick to the second',
  };
}

/** Correlation of a profile with earlier readings, each free of its own string; null where they cannot be compared. */
function correlation(
  profile: ScanProfile,
  earlier: readonly { readonly station: number; readonly offset: number }[],
): number | null {
  const sorted = [...profile.stations].sort((p, q) => p.station - q.station);
  const pairs = earlier.flatMap(({ station, offset }) => {
    const after = sorted.findIndex((s) => s.station >= station);
    if (after < 1) return [];
    const [p, q] = [sorted[after - 1]!, sorted[after]!];
    if (q.station - p.station > 1) return [];
    const t = (station - p.station) / (q.station - p.station || 1);
    return [{ x: station, a: p.offset + t * (q.offset - p.offset), b: offset }];
  });
  if (pairs.length < 5) return null;
  const flat = (of: (pair: (typeof pairs)[number]) => number): number[] => {
    const n = pairs.length;
    const mx = pairs.reduce((sum, p) => sum + p.x, 0) / n;
    const my = pairs.reduce((sum, p) => sum + of(p), 0) / n;
    const sxx = pairs.reduce((sum, p) => sum + (p.x - mx) ** 2, 0);
    const slope = sxx > 0 ? pairs.reduce((sum, p) => sum + (p.x - mx) * (of(p) - my), 0) / sxx : 0;
    return pairs.map((p) => of(p) - my - slope * (p.x - mx));
  };
  const [u, v] = [flat((p) => p.a), flat((p) => p.b)];
  const norm = (w: readonly number[]) => Math.sqrt(w.reduce((sum, e) => sum + e * e, 0));
  const size = norm(u) * norm(v);
  // Two lines that are straight to a millimetre are alike in nothing but noise.
  if (Math.min(norm(u), norm(v)) / Math.sqrt(pairs.length) < 0.002) return null;
  return u.reduce((sum, e, i) => sum + e * v[i]!, 0) / size;
}
