import * as z from 'zod';
import { type LengthUnit, parseLength } from '../units/parse-length.ts';
import { parseQuantity, type QuantityKind } from '../units/parse-quantity.ts';
import { CURRENCY, claimSchema, LOCALE } from './claim-fields.ts';
import { heatingSchema, plateFields, restraintSchema } from './heating-fields.ts';
import { DIAPHRAGM_HOLDS, type JobUnits, LINE_EDGES, LINE_PARTS, PANEL_SIDES } from './job.ts';
import { cutOutSchema, pushSchema } from './panel-fields.ts';
import { planSchema } from './plan-fields.ts';
import { isSeveralSpans, MOST_SPANS, severalSpans } from './several-spans.ts';

type Dashed = 'eighths' | 'sixteenths' | null;

/** Letters, digits, space and - _ . inside: a line name is shown everywhere and written into CSV cells. */
export const LINE_NAME = /^[\p{L}\p{N}](?:[\p{L}\p{N} ._-]{0,58}[\p{L}\p{N}.])?$/u;

/** The most entries of each list in job.json: far above any girder, far below what would take minutes to answer. */
const MOST = {
  diaphragms: 200,
  stiffeners: 400,
  lines: 50,
  panels: 30,
  acceptance: 200,
  reaches: 50,
  edgeSteps: 100,
  repairs: 200,
  jacks: 100,
  plates: 200,
} as const;

/**
 * The text form of job.json for a job in these units. Parsing converts every quantity to SI as it goes, so that a
 * wrong length is reported with its path beside every other fault. Unknown keys are errors.
 *
 * Plain numbers: stations and span in feet or metres; offsets, limits and section sizes in inches or
 * millimetres; stress in ksi or MPa; areas in in² or mm².
 */
export function jobFileSchema(units: JobUnits, dashed: Dashed = null) {
  const us = units === 'us';
  const fields = schemaFields(units, dashed);
  const { station, run, small, stress, words } = fields;
  const area = quantity('area', us ? 'in2' : 'mm2');
  const pair = (of: typeof station) => z.tuple([of, of]);
  /** A station, or one with what stands there holds. */
  const holding = (holds: string) =>
    z.union([station, z.strictObject({ station, holds: z.enum(DIAPHRAGM_HOLDS).describe(holds) })]);

  const baseline = z.union([
    z.enum(['auto', 'vertical', 'level', 'square to the web']),
    z.strictObject({ method: z.literal('auto') }),
    z.strictObject({
      method: z.literal('as-built'),
      offset: small.describe('Tilt or lean the member was built with.'),
      source: words.describe('The document that says so.'),
    }),
    z.strictObject({ method: z.literal('bearings') }),
    z.strictObject({
      method: z.literal('undamaged'),
      reaches: z
        .array(pair(station))
        .min(1)
        .max(MOST.reaches)
        .optional()
        .describe('Undamaged reaches, each from and to; found from the readings when left out.'),
      degree: z
        .union([z.literal(0), z.literal(1), z.literal(2)])
        .optional()
        .describe('Degree of the curve through them. Default 1.'),
    }),
    z.strictObject({
      method: z.literal('reference'),
      file: z
        .string()
        .min(1)
        .max(300)
        .describe('CSV with columns station and offset, relative to the job folder.'),
    }),
  ]);

  const line = z.strictObject({
    kind: z
      .enum(['sweep', 'camber', 'tilt', 'plumb', 'bulge'])
      .describe('What is measured, and in which direction.'),
    bearings: pair(station).describe('Stations of the two bearings (or of the feet of the straight-edge).'),
    positive: words.describe('What a positive offset means, for example "toward the north shoulder".'),
    baseline: baseline
      .optional()
      .describe(
        'The shape the member would have undamaged. Default "auto". Tilt: "level" or "square to the web", as it is read. Plumb: "vertical".',
      ),
    standoff: small.optional().describe('Height of the blocks that hold the string clear. Default 0.'),
    readingSd: small
      .optional()
      .describe('Standard deviation of one reading. Default 1/16 in, until repeats say better.'),
    comment: words.optional().describe('A note for people; nothing is worked out from it.'),
    impact: station.optional().describe('Station of the blow.'),
    part: z
      .enum(LINE_PARTS)
      .optional()
      .describe('Which part of the section it reads: "bottom-flange", "top-flange" or "web".'),
    edge: z
      .enum(LINE_EDGES)
      .optional()
      .describe('Of a flange: "near" is the edge on the side the blow came from, "far" the other.'),
    height: small
      .optional()
      .describe('Of a web: height of the reading above the underside of the bottom flange.'),
    edgeSteps: z
      .array(z.strictObject({ station, step: small }))
      .max(MOST.edgeSteps)
      .optional()
      .describe('Known steps of the measured edge, where the flange width changes or a cover plate starts.'),
    string: z
      .union([
        z.literal('none'),
        z.strictObject({
          weight: quantity('weight-per-length', us ? 'lb/ft' : 'g/m'),
          tension: quantity('force', us ? 'lb' : 'N'),
          positiveIs: z
            .enum(['up', 'down'])
            .describe(
              'Which way a positive offset points. The string hangs low, so the steel reads too high by its sag.',
            ),
          ends: pair(station).optional().describe('Stations of its two ends. Default: the bearings.'),
        }),
      ])
      .optional()
      .describe('Camber lines only: the string whose sag is taken off, or "none" (a level, laser or scan).'),
  });

  const panel = z.strictObject({
    element: z
      .enum(['web', 'bottom flange', 'top flange'])
      .optional()
      .describe('Default "web". Of a flange, heights are distances across it.'),
    stations: pair(station).describe('Stations of its two ends.'),
    heights: pair(small).describe(
      'Heights of its lower and upper edge, from the mark the crew measures from.',
    ),
    held: z
      .array(z.enum(PANEL_SIDES))
      .min(2)
      .max(PANEL_SIDES.length)
      .describe(
        'Edges held by flanges or stiffeners, at least two: "bottom" and "top" by height, "from" and "to" by station.',
      ),
    positive: words.describe('What a positive offset means, for example "toward the north shoulder".'),
    thickness: small.optional().describe('Default: that of the web or flange.'),
    standoff: small.optional().describe('Height of the blocks under the straight-edge. Default 0.'),
    readingSd: small
      .optional()
      .describe('Standard deviation of one reading. Default 1/16 in, until repeats say better.'),
    push: pushSchema(fields).optional().describe('What a force on the bulge may be.'),
    cutOut: cutOutSchema(fields)
      .optional()
      .describe('The opening cut into the panel, and the plate over it.'),
    comment: words.optional().describe('A note for people; nothing is worked out from it.'),
  });

  const acceptance = z.union([
    z.strictObject({
      preset: words.describe('Key of a published rule set.'),
      line: words.optional().describe('Judge it on this line only.'),
    }),
    z.strictObject({
      presetFile: z
        .string()
        .min(1)
        .max(300)
        .describe('An agency’s own rule set (JSON), relative to the job folder.'),
      line: words.optional().describe('Judge it on this line only.'),
    }),
    z.strictObject({
      line: words,
      limit: small,
      over: z
        .union([z.literal('whole line'), run])
        .optional()
        .describe('"whole line", or the length of a chord slid along the line, such as "20 ft".'),
      at: z.literal('impact').optional().describe('Judge it at the point of impact.'),
      edges: z
        .literal('from the web')
        .optional()
        .describe('Tilt only: the limit is for each edge from the web, half of the edge-to-edge reading.'),
      label: words.optional(),
      source: words.optional().describe('Specification and clause.'),
    }),
  ]);

  return z.strictObject({
    $schema: z.string().max(500).optional(),
    id: z
      .string()
      .regex(/^[0-9a-zA-Z-]{8,64}$/)
      .optional()
      .describe(
        'Tells this job from every other, whatever their names; `sweepbook new` makes it. Leave it as it is.',
      ),
    job: words.describe('What the job is called.'),
    units: z.enum(['us', 'si']).describe('us: feet and inches. si: metres and millimetres.'),
    dashedLengths: z
      .enum(['feet-inches-eighths', 'feet-inches-sixteenths'])
      .optional()
      .describe('What 5-3-8 means. Left out: such lengths are refused.'),
    member: z.strictObject({
      span: fields.spans.describe(
        'The struck span, bearing to bearing, such as "62 ft"; of a member that runs on over piers all of them in order, such as "58 ft, 84 ft, 58 ft".',
      ),
      bearings: z
        .array(station)
        .min(2)
        .max(MOST_SPANS + 1)
        .optional()
        .describe('Stations of all bearings, in order. Default: 0 and on from there by the spans.'),
      struck: pair(station)
        .optional()
        .describe(
          'The struck reach, from and to, where the marks of the blow are: says which of several spans was hit, and where blows are looked for first.',
        ),
      deck: z
        .enum(['composite', 'not composite', 'none'])
        .optional()
        .describe(
          'Whether a deck holds the top flange sideways along its length ("composite") or not. Left out: taken as held where lines check each other.',
        ),
      yieldStress: stress,
      elasticModulus: stress.optional().describe('Default 29000 ksi.'),
      flangeWidth: small,
      flangeThickness: small,
      webThickness: small.optional(),
      depth: small.optional(),
      steel: words.optional().describe('Grade, for example "A36".'),
      yieldSource: words
        .optional()
        .describe('Where a yield stress other than the grade’s comes from, such as a test of coupons.'),
      element: z
        .enum(['rolled beam', 'welded girder', 'column', 'truss member'])
        .optional()
        .describe('What it is, for rule sets written for one kind.'),
      webStiffeners: z
        .enum(['none', 'one side', 'both sides'])
        .optional()
        .describe('Intermediate stiffeners, for web flatness.'),
      stiffenerSpacing: small.optional().describe('Clear distance between intermediate stiffeners.'),
      stiffeners: z
        .array(
          holding(
            'Which flanges it is welded or fitted to, so that they stay square to the web there; "web" (default): neither.',
          ),
        )
        .max(MOST.stiffeners)
        .optional()
        .describe(
          'Stations of the intermediate stiffeners; of one that is fitted to a flange, station and what it holds.',
        ),
      diaphragms: z
        .array(
          holding('What it holds sideways: "both-flanges", one of them, or "web" where it reaches neither.'),
        )
        .max(MOST.diaphragms)
        .optional()
        .describe(
          'Stations of the diaphragms; of one that does not hold both flanges, station and what it holds. An empty list: there are none. Strongly advised; of several spans those of all.',
        ),
    }),
    lines: z
      .record(z.string(), line)
      .refine(
        (lines) => Object.keys(lines).length <= MOST.lines,
        `at most ${MOST.lines} lines in one job; start another job for the rest`,
      )
      .optional()
      .describe(
        'One entry a string or straight-edge set-up, by name. May be left out where there are panels.',
      ),
    panels: z
      .record(z.string(), panel)
      .refine(
        (panels) => Object.keys(panels).length <= MOST.panels,
        `at most ${MOST.panels} panels in one job`,
      )
      .optional()
      .describe('One entry a bulged panel of a web or flange that is read as a grid, by name.'),
    decisionRule: z
      .enum(['guarded', 'simple'])
      .optional()
      .describe(
        'guarded (default): inside with twice the uncertainty to spare. simple: the reading itself decides (JCGM 106, 8.2).',
      ),
    usefulGain: small.optional().describe('Movement a cycle that is worth another cycle. Default 1/32 in.'),
    acceptance: z.array(acceptance).max(MOST.acceptance).optional(),
    repairs: z
      .array(
        z.strictObject({
          date: z.string().max(10).optional(),
          from: station,
          to: station,
          note: z.string().max(2000).optional(),
        }),
      )
      .max(MOST.repairs)
      .optional()
      .describe('Earlier damage or repairs of the same location.'),
    jacks: z
      .array(
        z.strictObject({
          name: words,
          station: station.optional(),
          ramArea: area.describe('Effective ram area.'),
          capacity: fields.force.optional().describe('Rated force.'),
          push: z
            .enum(['positive', 'negative'])
            .optional()
            .describe(
              'Side of the line it pushes toward. Default: as straightens the largest bend it reaches.',
            ),
        }),
      )
      .max(MOST.jacks)
      .optional(),
    plates: z
      .array(
        z.strictObject({
          name: words,
          line: words,
          from: station,
          to: station,
          thickness: small,
          boltHead: small.optional().describe('Height of bolt heads below the plate.'),
          clearance: small.optional().describe('Vertical clearance under low steel before damage.'),
          ...plateFields(fields),
        }),
      )
      .max(MOST.plates)
      .optional(),
    restraint: restraintSchema(fields)
      .optional()
      .describe('How the member is held and pushed while it is heated.'),
    heating: heatingSchema(fields)
      .optional()
      .describe('What is planned for each heat, and the limits the job states for itself.'),
    claim: claimSchema(words)
      .optional()
      .describe('What the claim for the cost of the repair is filed under.'),
    plan: planSchema.optional().describe('What a plan of days, closures and cost reckons with.'),
    currency: z
      .string()
      .refine((code) => CURRENCY.test(code), 'a currency as three letters, such as USD')
      .optional()
      .describe('Currency of costs.csv (ISO 4217), for example "USD".'),
    locale: z
      .string()
      .refine((tag) => LOCALE.test(tag), 'a language tag such as en-US')
      .optional()
      .describe('How reports write money and dates. Default en-US for us jobs, en-GB for si jobs.'),
  });
}

export type SchemaFields = ReturnType<typeof schemaFields>;

/** The forms of a quantity in this job's units. */
export function schemaFields(units: JobUnits, dashed: Dashed = null) {
  const us = units === 'us';
  const station = length(
    us ? 'ft' : 'm',
    dashed,
    true,
    us ? '12 ft 6 in, 12+06.5 or 12.5' : '9.45 m, 1+234.5 or 9.45',
  );
  const run = length(us ? 'ft' : 'm', dashed, false, us ? '62 ft' : '18.9 m');
  const small = length(us ? 'in' : 'mm', dashed, false, us ? '1/2 in' : '12 mm');
  const spans = z.union([z.string(), z.number()]).transform((value, context): readonly number[] => {
    const text = typeof value === 'number' ? plainText(value) : value;
    if (isSeveralSpans(text)) {
      const several = severalSpans(text, us ? 'ft' : 'm', dashed);
      if (!('expected' in several)) return several;
      context.addIssue({ code: 'custom', message: several.expected, input: value });
      return z.NEVER;
    }
    const one = run.safeParse(value);
    if (one.success) return [one.data];
    const severally = us ? '"58 ft, 84 ft, 58 ft"' : '"18 m, 25 m, 18 m"';
    // A near miss of one length (58  84 for "58, , 84") would lead away from what was meant.
    const [expected] = one.error.issues[0]!.message.split(SUGGESTS);
    const message = `${expected}; several spans with their units and commas between: ${severally}`;
    context.addIssue({ code: 'custom', message, input: value });
    return z.NEVER;
  });
  const stress = quantity('stress', us ? 'ksi' : 'MPa');
  const words = z.string().min(1).max(300);
  return {
    station,
    run,
    spans,
    small,
    words,
    pressure: quantity('stress', us ? 'psi' : 'MPa'),
    stress,
    force: quantity('force', us ? 'kip' : 'kN'),
    modulus: quantity('section-modulus', us ? 'in3' : 'cm3'),
    temperature: quantity('temperature', us ? 'F' : 'C'),
    angle: quantity('angle', 'deg'),
  };
}

export type JobFile = z.output<ReturnType<typeof jobFileSchema>>;

const UNIT_WORDS: Readonly<Record<LengthUnit, string>> = {
  ft: 'feet',
  in: 'inches',
  m: 'metres',
  cm: 'centimetres',
  mm: 'millimetres',
};

function length(unit: LengthUnit, dashed: Dashed, station: boolean, example: string) {
  return z
    .union([z.string(), z.number()])
    .transform((value, context): number => {
      // A JSON number is already a number; its text form is parsed like any other so that one rule holds.
      const parsed = parseLength(typeof value === 'number' ? plainText(value) : value, {
        unit,
        dashed,
        station,
      });
      if (parsed.ok) return parsed.metres;
      const hint = parsed.suggestion === undefined ? '' : SUGGESTS + parsed.suggestion;
      context.addIssue({ code: 'custom', message: parsed.expected + hint, input: value });
      return z.NEVER;
    })
    .describe(`Length, for example ${example} (a plain number is in ${UNIT_WORDS[unit]}).`);
}

function quantity(kind: QuantityKind, unit: string) {
  return z
    .union([z.string(), z.number()])
    .transform((value, context): number => {
      const parsed = parseQuantity(typeof value === 'number' ? plainText(value) : value, kind, unit);
      if (parsed.ok) return parsed.value;
      context.addIssue({ code: 'custom', message: parsed.expected, input: value });
      return z.NEVER;
    })
    .describe(`A plain number is in ${unit}.`);
}

/** Parts a message from its suggestion on the way through zod. */
export const SUGGESTS = '\u0001';

/** A number as plain decimal digits (JSON may carry 1e-3). */
function plainText(value: number): string {
  const text = String(value);
  return /e/i.test(text) ? value.toFixed(9) : text;
}

/** JSON Schema of job.json, for editors and other programs; shapes and names only, the reader also checks the values. */
export function jobJsonSchema(): Record<string, unknown> {
  return {
    ...z.toJSONSchema(jobFileSchema('us'), { io: 'input', target: 'draft-2020-12' }),
    $id: 'job.schema.json',
    title: 'Sweepbook job.json',
  };
}
