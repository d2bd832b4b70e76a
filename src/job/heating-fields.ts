import * as z from 'zod';
import { MEGAPASCAL, PSI } from '../units/factors.ts';
import { cited } from './cited.ts';
import type { Heating, JobUnits, Line, Member, PlateSpec, Restraint, StatedHeatLimits } from './job.ts';
import { fillersOf } from './stock.ts';
import { supportsOfLine } from './supports.ts';

/** Fields of job.json about jacking, heating and plates: their form, their defaults, and what must go together. */

export interface FieldKinds {
  readonly station: z.ZodType<number>;
  readonly small: z.ZodType<number>;
  readonly pressure: z.ZodType<number>;
  readonly stress: z.ZodType<number>;
  readonly force: z.ZodType<number>;
  readonly modulus: z.ZodType<number>;
  readonly temperature: z.ZodType<number>;
  readonly angle: z.ZodType<number>;
  readonly words: z.ZodType<string>;
}

const share = z.number().gt(0).lte(1);
const shareOrNone = z.number().gte(0).lte(1);

export function restraintSchema(of: FieldKinds) {
  return z.strictObject({
    setUp: z
      .enum(['continuous', 'continuous-rigid', 'simple', 'fixed', 'cantilever'])
      .optional()
      .describe(
        'How the pushed part is held. Default "continuous": over bearings, and diaphragms that give. "continuous-rigid" (no diaphragm gives) and "fixed" need setUpSource.',
      ),
    setUpSource: of.words
      .optional()
      .describe(
        'What says that the ends cannot turn ("fixed") or the diaphragms do not give ("continuous-rigid").',
      ),
    line: of.words.optional().describe('Line the jacks push along. Default: the first sweep line.'),
    supports: z
      .array(of.station)
      .min(2)
      .max(60)
      .optional()
      .describe(
        'Stations of the supports (cantilever: the held end, then the free end). Default for "continuous": bearings and diaphragms.',
      ),
    part: z
      .enum(['flange', 'flange-with-web', 'member-sideways', 'member-upright'])
      .optional()
      .describe('What bends. Default "flange".'),
    webPart: of.small.optional().describe('Height of web that bends with the flange.'),
    plasticModulus: of.modulus.optional().describe('From a table, where the dimensions are not enough.'),
    plasticModulusSource: of.words.optional(),
    importance: z
      .enum(['primary', 'secondary', 'fracture-critical', 'unknown-load'])
      .describe('Only "primary" has a built-in share of the plastic moment.'),
    fraction: share.optional().describe('Jacking moment over plastic moment, with fractionSource.'),
    fractionSource: of.words.optional(),
    gaugeDivision: of.pressure.optional().describe('Smallest mark of the gauge. Default 50 psi or 0.5 MPa.'),
    pumpRating: of.pressure.optional().describe('Rated pressure of pump and hoses.'),
    deadLoad: z
      .strictObject({
        stress: of.stress.describe('Along the heated part, tension positive.'),
        composite: z.boolean().describe('Whether the deck takes part in carrying it.'),
        source: of.words.describe('Document or calculation it comes from.'),
      })
      .optional()
      .describe('Stress that dead load leaves in the heated part, to be checked with that of the jacks.'),
  });
}

export function heatingSchema(of: FieldKinds) {
  return z.strictObject({
    temperature: of.temperature
      .optional()
      .describe('Planned steel temperature. Default: the limit in force.'),
    veeAngle: of.angle.optional(),
    veeDepth: of.small.optional(),
    shapeFactor: z
      .number()
      .gt(0)
      .lte(5)
      .optional()
      .describe('Of the expected rotation, with shapeFactorSource.'),
    shapeFactorSource: of.words.optional(),
    axialFactor: z.number().gt(0).lte(5).optional(),
    axialFactorSource: of.words.optional(),
    limits: z.strictObject(heatLimitFields(of)).optional(),
  });
}

/** Limits of heating as the job or an agency's set states them. */
export function heatLimitFields(of: FieldKinds) {
  const range = <T>(item: z.ZodType<T>) => z.tuple([item, item]);
  return {
    maxTemperature: of.temperature.optional(),
    minTemperature: of.temperature.optional().describe('Below it a heat does nothing.'),
    coolBelow: of.temperature.optional(),
    veeAngle: range(of.angle).optional(),
    veeDepth: z
      .tuple([shareOrNone, share])
      .optional()
      .describe('Depth over the width of the heated element, least and most.'),
    openWidth: range(of.small).optional(),
    spacing: of.small.optional().describe('Between vees heated at the same time.'),
    spotDiameter: range(of.small).optional().describe('Of spot heats on a bulge, least and most.'),
    spotSpacing: of.small.optional().describe('Between the centres of spot heats on a bulge.'),
    spotsPerCycle: z
      .number()
      .int()
      .min(0)
      .max(200)
      .optional()
      .describe('Most spot heats on one panel a cycle.'),
    lineSpacing: of.small.optional().describe('Between line heats on a bulge.'),
    linesPerCycle: z
      .number()
      .int()
      .min(0)
      .max(50)
      .optional()
      .describe('Most line heats on one panel a cycle.'),
    repairs: z.number().int().min(1).max(10).optional().describe('Repairs one place may have.'),
    source: of.words.describe('Specification and clause of these limits.'),
  };
}

/** Added to each entry of `plates`. */
export function plateFields(of: FieldKinds) {
  return {
    side: z.enum(['positive', 'negative']).optional().describe('Side of the line the plate lies on.'),
    width: of.small.optional().describe('Across the steel. Default: the flange width.'),
    tilt: of.words.optional().describe('Line of kind tilt that says how the steel slopes across.'),
    across: z
      .array(z.strictObject({ line: of.words, at: of.small }))
      .max(50)
      .optional(),
    fillers: z.array(of.small).min(1).max(30).optional().describe('Stock thicknesses.'),
    maxPlies: z.number().int().min(1).max(4).optional(),
    gapLimit: of.small.optional().describe('Largest gap left between faying surfaces, with gapLimitSource.'),
    gapLimitSource: of.words.optional(),
    pullIn: of.force
      .optional()
      .describe('Force that draws the plate onto the steel at one place, with pullInSource.'),
    pullInSource: of.words.optional(),
  };
}

type RestraintFile = z.output<ReturnType<typeof restraintSchema>>;
type HeatingFile = z.output<ReturnType<typeof heatingSchema>>;
type PlateFile = z.output<z.ZodObject<ReturnType<typeof plateFields>>>;

type AddProblem = (column: string, found: string, expected: string) => void;

export function restraintOf(
  entry: RestraintFile | undefined,
  units: JobUnits,
  lines: readonly Line[],
  member: Member,
  add: AddProblem,
): Restraint | null {
  if (entry === undefined) return null;
  const part = entry.part ?? 'flange';
  const stated = entry.setUp ?? 'continuous';
  const setUp = stated === 'continuous-rigid' ? 'continuous' : stated;
  if ((entry.setUpSource !== undefined) !== (stated === 'fixed' || stated === 'continuous-rigid')) {
    add(
      'restraint.setUpSource',
      entry.setUpSource === undefined
        ? `nothing, for set-up "${stated}"`
        : `a source, for set-up "${stated}"`,
      'what says that the ends cannot turn or the diaphragms do not give, exactly where setUp is "fixed" or "continuous-rigid" (left out, the flange runs on over its bearings and diaphragms, which give)',
    );
  }
  const line = pushedLine(entry, part, lines, add);
  const supports = entry.supports ?? (setUp === 'continuous' ? supportsOf(line, part, member) : []);
  if (entry.supports === undefined && setUp !== 'continuous')
    add('restraint.supports', 'nothing', 'the stations of the two supports');
  if (setUp !== 'continuous' && supports.length > 2)
    add('restraint.supports', `${supports.length} stations`, `two stations for set-up "${setUp}"`);
  if ((entry.webPart !== undefined) !== (part === 'flange-with-web')) {
    add(
      'restraint.webPart',
      entry.webPart === undefined ? 'nothing' : `a height, for part "${part}"`,
      'a height of web exactly where part is "flange-with-web"',
    );
  }
  if (supports.some((station, i) => i > 0 && station === supports[i - 1]))
    add('restraint.supports', 'the same station twice', 'two different stations');
  else if (setUp !== 'cantilever' && supports.some((station, i) => i > 0 && station < supports[i - 1]!)) {
    add('restraint.supports', 'stations in decreasing order', 'stations in increasing order');
  }
  const fraction = cited(entry.fraction, entry.fractionSource, 'restraint.fraction', add);
  if (fraction === null && entry.importance !== 'primary') {
    add(
      'restraint.fraction',
      `nothing, for importance "${entry.importance}"`,
      'a share of the plastic moment and "fractionSource" (only "primary" has a built-in share)',
    );
  }
  return {
    setUp,
    setUpSource: entry.setUpSource ?? null,
    line: line?.name ?? '',
    supports,
    part,
    webPart: entry.webPart ?? 0,
    plasticModulus: cited(entry.plasticModulus, entry.plasticModulusSource, 'restraint.plasticModulus', add),
    importance: entry.importance,
    fraction,
    gaugeDivision: entry.gaugeDivision ?? (units === 'us' ? 50 * PSI : 0.5 * MEGAPASCAL),
    pumpRating: entry.pumpRating ?? null,
    deadLoad: entry.deadLoad ?? null,
  };
}

/** The line the jacks push along: as named, else the first of the kind that the part bends in, else the first. */
function pushedLine(
  entry: RestraintFile,
  part: Restraint['part'],
  lines: readonly Line[],
  add: AddProblem,
): Line | null {
  const kind = part === 'member-upright' ? 'camber' : 'sweep';
  if (entry.line === undefined) return lines.find((line) => line.kind === kind) ?? lines[0] ?? null;
  const named = lines.find((line) => line.name === entry.line);
  if (named === undefined)
    add('restraint.line', `"${entry.line}"`, `a line of this job (${lines.map((l) => l.name).join(', ')})`);
  return named ?? null;
}

/**
 * All bearings and the diaphragms between them that hold the part the line reads; a member bent upright runs on over its
 * bearings only.
 */
function supportsOf(line: Line | null, part: Restraint['part'], member: Member): readonly number[] {
  if (line === null) return [];
  const { from, to, piers, diaphragms } = supportsOfLine(line, member);
  const between = part === 'member-upright' ? piers : [...piers, ...(diaphragms ?? [])];
  return [from, ...[...between].sort((a, b) => a - b), to];
}

export function heatingOf(entry: HeatingFile | undefined, add: AddProblem): Heating {
  return {
    temperature: entry?.temperature ?? null,
    veeAngle: entry?.veeAngle ?? null,
    veeDepth: entry?.veeDepth ?? null,
    shapeFactor: cited(entry?.shapeFactor, entry?.shapeFactorSource, 'heating.shapeFactor', add),
    axialFactor: cited(entry?.axialFactor, entry?.axialFactorSource, 'heating.axialFactor', add),
    limits: entry?.limits === undefined ? null : statedLimitsOf(entry.limits, 'heating.limits', add),
  };
}

type LimitsFile = z.output<z.ZodObject<ReturnType<typeof heatLimitFields>>>;

/** The limits with what is not said as null; a range the wrong way round is a problem at `path`. */
export function statedLimitsOf(limits: LimitsFile, path: string, add: AddProblem): StatedHeatLimits {
  for (const name of ['veeAngle', 'veeDepth', 'openWidth', 'spotDiameter'] as const) {
    const pair = limits[name];
    if (pair !== undefined && pair[0] > pair[1])
      add(`${path}.${name}`, 'the larger value first', 'the least, then the most');
  }
  return {
    maxTemperature: limits.maxTemperature ?? null,
    minTemperature: limits.minTemperature ?? null,
    coolBelow: limits.coolBelow ?? null,
    veeAngle: limits.veeAngle ?? null,
    veeDepth: limits.veeDepth ?? null,
    openWidth: limits.openWidth ?? null,
    spacing: limits.spacing ?? null,
    spotDiameter: limits.spotDiameter ?? null,
    spotSpacing: limits.spotSpacing ?? null,
    spotsPerCycle: limits.spotsPerCycle ?? null,
    lineSpacing: limits.lineSpacing ?? null,
    linesPerCycle: limits.linesPerCycle ?? null,
    repairs: limits.repairs ?? null,
    source: limits.source,
  };
}

export function plateFieldsOf(
  entry: PlateFile,
  units: JobUnits,
  path: string,
  add: AddProblem,
): Pick<PlateSpec, 'side' | 'width' | 'tilt' | 'across' | 'fillers' | 'maxPlies' | 'gapLimit' | 'pullIn'> {
  return {
    side: entry.side ?? 'positive',
    width: entry.width ?? null,
    tilt: entry.tilt ?? null,
    across: entry.across ?? [],
    fillers: fillersOf(entry.fillers, units, path, add),
    maxPlies: entry.maxPlies ?? 3,
    gapLimit: cited(entry.gapLimit, entry.gapLimitSource, `${path}.gapLimit`, add),
    pullIn: cited(entry.pullIn, entry.pullInSource, `${path}.pullIn`, add),
  };
}
