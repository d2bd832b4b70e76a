import * as z from 'zod';
import type { JobUnits } from '../job/job.ts';
import { type LengthUnit, parseLength } from '../units/parse-length.ts';
import { CLOUD_UNITS, type CloudUnit } from './units.ts';

/**
 * The form of a scan set-up, scan.json. Coordinates and plain numbers are in the cloud's unit; lengths may carry their
 * own; stations are as in job.json.
 */
export function scanFileSchema(unit: CloudUnit, units: JobUnits) {
  const length = (text: string) =>
    z
      .union([z.number(), z.string()])
      .transform((value, context) => {
        if (typeof value === 'number') return value * CLOUD_UNITS[unit];
        const parsed = parseLength(value, { unit: unit === 'us-ft' ? 'ft' : (unit as LengthUnit) });
        if (parsed.ok) return parsed.metres;
        context.addIssue({ code: 'custom', message: `a length: ${parsed.expected}`, input: value });
        return z.NEVER;
      })
      .describe(`${text} Length: "12 in", "0.3 m", or a plain number in the unit of the cloud.`);
  const station = z.union([z.number(), z.string()]).transform((value, context) => {
    const parsed = parseLength(String(value), { unit: units === 'us' ? 'ft' : 'm', station: true });
    if (parsed.ok) return parsed.metres;
    context.addIssue({ code: 'custom', message: `a station: ${parsed.expected}`, input: value });
    return z.NEVER;
  });
  const point = (text: string) =>
    z.tuple([z.number(), z.number(), z.number()], 'three numbers [x, y, z]').describe(text);

  const line = z.strictObject({
    from: point('Point picked on the steel at the first station; a few centimetres off does no harm.'),
    to: point('Point picked on the steel at the second station.'),
    direction: point('Toward the positive side of the line; need not be square to it.'),
    stations: z
      .tuple([station, station])
      .describe('Stations of the two picked points (default: the bearings of the line in job.json).')
      .optional(),
    feature: z
      .enum(['edge', 'face'])
      .describe(
        'What is measured: where the steel ends, or its surface (default: edge for sweep lines, face for others).',
      )
      .optional(),
    edge: z
      .enum(['positive', 'negative'])
      .describe('Which flange edge (default: the one on the positive side). The same one in every cycle.')
      .optional(),
    across: point(
      'Tilt and plumb lines: across the flange, or up the web; a slope leaning toward "direction" along it is positive.',
    ).optional(),
    reach: length(
      'How far from the line between the picks the steel is searched, along "direction" and against it. Default: 0.9 m for sweep lines, 0.5 m for others.',
    ).optional(),
    band: z
      .tuple([
        length('First limit, across line and direction.'),
        length('Second limit, across line and direction.'),
      ])
      .describe(
        'Range searched across line and direction. Default: 0.5 m to both sides for sweep lines, 0.9 m for camber and tilt, the web clear of its flanges for plumb.',
      )
      .optional(),
    spacing: length('Distance between stations. Default: 1 ft, or 0.25 m in a metric job.').optional(),
    slice: length('Length of steel averaged for a station. Default: 150 mm, at most the spacing.').optional(),
    extent: length(
      'Tilt and plumb lines: the width over which the slope is expressed as an offset. Default: member.flangeWidth; for plumb member.depth less both flanges.',
    ).optional(),
  });
  const panel = z.strictObject({
    corners: z
      .tuple([point('Corner 1.'), point('Corner 2.'), point('Corner 3.'), point('Corner 4.')])
      .describe('Corners in order around the panel.'),
    positive: point('Out of the panel, toward the side to which a positive bulge goes.'),
    held: z
      .array(z.enum(['1-2', '2-3', '3-4', '4-1']))
      .min(2)
      .describe('Edges held by a flange or stiffener, on which the plane rests. Default: all four.')
      .optional(),
    margin: length(
      'Strip along the edges that is left out of the map (welds, fillets). Default: 20 mm.',
    ).optional(),
    reach: length('How far from the plane of the corners steel is searched. Default: 150 mm.').optional(),
    cell: length('Side of a cell of the map. Default: 25 mm.').optional(),
  });
  const patch = z.strictObject({
    at: point('Middle of the patch.'),
    radius: length('Points this near to the middle are used.'),
  });
  return z.strictObject({
    $schema: z.string().describe('JSON Schema of this file, for editors.').optional(),
    units: z
      .enum(Object.keys(CLOUD_UNITS) as [CloudUnit, ...CloudUnit[]])
      .describe("Unit of the cloud's coordinates and of plain numbers here; a cloud does not say."),
    columns: z
      .array(z.string().min(1))
      .min(3)
      .max(100)
      .describe('Columns of a text cloud without a heading, for example ["x", "y", "z", "intensity"].')
      .optional(),
    leastSd: length('Uncertainty that no count of points removes (range bias). Default: 0.3 mm.').optional(),
    registration: length(
      'Standard deviation between scans taken from different places. Left out: found where they see the same steel.',
    ).optional(),
    lines: z.record(z.string(), line).describe('Lines of the job by name, for `scan`.').default({}),
    panels: z.record(z.string(), panel).describe('Panels by name, for `bulge`.').default({}),
    targets: z
      .record(z.string(), point('Where the target is in the coordinates of this set-up.'))
      .describe('Targets or points that are told again in every scan, by name, for --targets.')
      .default({}),
    targetSd: length(
      'Standard deviation of one coordinate of a target as it is picked. Default: 3 mm.',
    ).optional(),
    patches: z
      .record(z.string(), patch)
      .describe(
        'Undamaged surfaces by name that face different ways (piers, seats, stiffeners), for --align-to.',
      )
      .default({}),
  });
}

/** A set-up as read: every length in m. */
export type ScanFile = z.output<ReturnType<typeof scanFileSchema>>;

/** JSON Schema of scan.json, for editors and other programs; shapes and names only, the reader also checks the values. */
export function scanJsonSchema(): Record<string, unknown> {
  return {
    ...z.toJSONSchema(scanFileSchema('m', 'us'), { io: 'input', target: 'draft-2020-12' }),
    $id: 'scan.schema.json',
    title: 'Sweepbook scan.json',
  };
}
