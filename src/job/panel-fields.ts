import * as z from 'zod';
import { cited } from './cited.ts';
import type { FieldKinds } from './heating-fields.ts';
import type { CutOut, JobUnits, PanelPush } from './job.ts';
import { fillersOf } from './stock.ts';

/** Fields of a panel in job.json about pushing it back, cutting it out and plating it over. */

export function pushSchema(of: FieldKinds) {
  return z.strictObject({
    share: z
      .number()
      .gt(0)
      .lte(1)
      .describe('Share of the cold yield-line load that a force on the bulge may use, with shareSource.'),
    shareSource: of.words.describe('Document and clause of the share; there is no built-in one.'),
    edges: z
      .enum(['clamped', 'supported'])
      .optional()
      .describe(
        'How the held edges hold the plate. Default "supported" (free to turn, the lower load); "clamped" needs edgesSource.',
      ),
    edgesSource: of.words.optional().describe('What says that the held edges cannot turn.'),
    jack: of.words.optional().describe('Jack of this job that pushes, by name, for the gauge pressure.'),
  });
}

const MOST_CORNERS = 40;
const MOST_OBSTACLES = 60;

export function cutOutSchema(of: FieldKinds) {
  const pair = <T>(item: z.ZodType<T>) => z.tuple([item, item]);
  return z.strictObject({
    stations: pair(of.station).optional().describe('Of a rectangle: its two ends.'),
    heights: pair(of.small).optional().describe('Of a rectangle: its lower and upper edge.'),
    corners: z
      .array(z.tuple([of.station, of.small]))
      .min(3)
      .max(MOST_CORNERS)
      .optional()
      .describe(
        'Of a polygon: station and height of its corners in order, in place of stations and heights.',
      ),
    radius: of.small.optional().describe('Of its corners. Default 0.'),
    plate: z
      .strictObject({
        sides: z.enum(['positive', 'negative', 'both']).describe('Which faces of the panel it lies on.'),
        thickness: of.small,
        boltDiameter: of.small,
        rows: z.number().int().min(1).max(6).describe('Rows of bolts around the opening.'),
        pitch: of.small.describe('Most distance between bolts of a row.'),
        gauge: of.small.optional().describe('Distance between rows; needed with two rows or more.'),
        fromOpening: of.small.describe('From the edge of the opening to the first row.'),
        edgeDistance: of.small.describe('From the last row to the edge of the plate.'),
        leastEdge: of.small
          .optional()
          .describe('Least edge distance the specification allows, with leastEdgeSource.'),
        leastEdgeSource: of.words.optional(),
        gapLimit: of.small
          .optional()
          .describe('Largest gap left under a bolt after filling, with gapLimitSource.'),
        gapLimitSource: of.words.optional(),
        fillers: z.array(of.small).min(1).max(30).optional().describe('Stock thicknesses.'),
        maxPlies: z.number().int().min(1).max(4).optional(),
        fillet: of.small
          .optional()
          .describe('Height of the fillet or weld beside held edges that the plate must stay clear of.'),
        obstacles: z
          .array(
            z.strictObject({
              what: of.words,
              stations: pair(of.station),
              heights: pair(of.small).optional(),
            }),
          )
          .max(MOST_OBSTACLES)
          .optional()
          .describe('Stiffeners and whatever else stands on the panel.'),
      })
      .optional(),
  });
}

type PushFile = z.output<ReturnType<typeof pushSchema>>;
type CutOutFile = z.output<ReturnType<typeof cutOutSchema>>;
type AddProblem = (column: string, found: string, expected: string) => void;

export function pushOf(entry: PushFile, path: string, jacks: readonly string[], add: AddProblem): PanelPush {
  const clamped = entry.edges === 'clamped';
  if (clamped !== (entry.edgesSource !== undefined))
    add(
      `${path}.edgesSource`,
      clamped ? 'nothing, for "clamped"' : 'a source without "edges": "clamped"',
      'what says that the held edges cannot turn, exactly where edges is "clamped"',
    );
  if (entry.jack !== undefined && !jacks.includes(entry.jack))
    add(
      `${path}.jack`,
      `"${entry.jack}"`,
      jacks.length === 0 ? 'a jack listed under "jacks"' : `a jack of this job (${jacks.join(', ')})`,
    );
  return {
    share: { value: entry.share, source: entry.shareSource },
    edges: entry.edges ?? 'supported',
    edgesSource: entry.edgesSource ?? null,
    jack: entry.jack ?? null,
  };
}

export function cutOutOf(entry: CutOutFile, units: JobUnits, path: string, add: AddProblem): CutOut | null {
  const rectangle = entry.stations !== undefined && entry.heights !== undefined;
  const half = (entry.stations === undefined) !== (entry.heights === undefined);
  if (half || rectangle === (entry.corners !== undefined)) {
    add(
      path,
      half
        ? 'only one of stations and heights'
        : rectangle
          ? 'a rectangle and corners'
          : 'neither a rectangle nor corners',
      '"stations" and "heights" of a rectangle, or "corners" of a polygon',
    );
    return null;
  }
  const corners = rectangle
    ? rectangleCorners(entry.stations!, entry.heights!)
    : entry.corners!.map(([station, height]) => ({ station, height }));
  if (
    Math.abs(signedArea(corners)) < 1e-6 ||
    (rectangle && (entry.stations![0] >= entry.stations![1] || entry.heights![0] >= entry.heights![1]))
  )
    add(
      path,
      'an opening without an area',
      'the nearer station and the lower height first, and corners in order around it',
    );
  else if (!roomForRadius(corners, entry.radius ?? 0))
    add(
      `${path}.radius`,
      'a radius that does not fit between two corners',
      rectangle ? 'at most half the shorter side' : 'less of a radius, or corners further apart',
    );
  const { plate } = entry;
  if (plate !== undefined && plate.rows > 1 && plate.gauge === undefined)
    add(`${path}.plate.gauge`, `nothing, for ${plate.rows} rows`, 'the distance between rows of bolts');
  return {
    corners,
    radius: entry.radius ?? 0,
    plate:
      plate === undefined
        ? null
        : {
            sides: plate.sides,
            thickness: plate.thickness,
            boltDiameter: plate.boltDiameter,
            rows: plate.rows,
            pitch: plate.pitch,
            gauge: plate.gauge ?? 0,
            fromOpening: plate.fromOpening,
            edgeDistance: plate.edgeDistance,
            leastEdge: cited(plate.leastEdge, plate.leastEdgeSource, `${path}.plate.leastEdge`, add),
            gapLimit: cited(plate.gapLimit, plate.gapLimitSource, `${path}.plate.gapLimit`, add),
            fillers: fillersOf(plate.fillers, units, `${path}.plate`, add),
            maxPlies: plate.maxPlies ?? 3,
            fillet: plate.fillet ?? 0,
            obstacles: (plate.obstacles ?? []).map((each) => ({
              what: each.what,
              stations: each.stations,
              heights: each.heights ?? null,
            })),
          },
  };
}

function rectangleCorners([from, to]: readonly [number, number], [low, high]: readonly [number, number]) {
  return [
    { station: from, height: low },
    { station: to, height: low },
    { station: to, height: high },
    { station: from, height: high },
  ];
}

type Corner = CutOut['corners'][number];

/** tan(β/2), β the turn of an outline at b, positive to the left: sin β / (1 + cos β). */
export function tanOfHalfTurn(a: Corner, b: Corner, c: Corner): number {
  const [ax, ay] = [b.station - a.station, b.height - a.height];
  const [bx, by] = [c.station - b.station, c.height - b.height];
  return (ax * by - ay * bx) / (Math.sqrt((ax * ax + ay * ay) * (bx * bx + by * by)) + ax * bx + ay * by);
}

/** Whether every side is as long as the two arcs at its ends take of it: r·tan(β/2) each, β the turn there. */
function roomForRadius(corners: readonly Corner[], radius: number): boolean {
  const n = corners.length;
  const takes = corners.map(
    (b, i) => radius * Math.abs(tanOfHalfTurn(corners[(i + n - 1) % n]!, b, corners[(i + 1) % n]!)),
  );
  return corners.every((a, i) => {
    const b = corners[(i + 1) % n]!;
    return (
      takes[i]! + takes[(i + 1) % n]! <=
      Math.sqrt((b.station - a.station) ** 2 + (b.height - a.height) ** 2) + 1e-6
    );
  });
}

/** Shoelace; positive counter-clockwise, m². */
function signedArea(corners: readonly { readonly station: number; readonly height: number }[]): number {
  return (
    corners.reduce((sum, a, i) => {
      const b = corners[(i + 1) % corners.length]!;
      return sum + a.station * b.height - b.station * a.height;
    }, 0) / 2
  );
}
