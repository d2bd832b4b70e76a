import * as z from 'zod';
import type { LineKind } from '../survey/survey.ts';
import { heatLimitFields, statedLimitsOf } from './heating-fields.ts';
import type { ElementKind, RuleExtent } from './job.ts';
import type { SchemaFields } from './job-schema.ts';
import type { Preset, PresetRule } from './presets.ts';

/**
 * The text form of an agency's own set of rules, used like a built-in one. Every rule carries its source line; units
 * are those of the job where a plain number stands.
 */
export function presetFileSchema({ run, ...of }: SchemaFields) {
  const { small, words } = of;
  return z.strictObject({
    schema: z.literal('sweepbook/preset/1'),
    key: z
      .string()
      .regex(/^[a-z0-9][a-z0-9.-]{1,59}$/)
      .describe('Short name in small letters, digits, dots and dashes.'),
    title: words,
    source: words.describe('Document, with its edition.'),
    note: z.string().max(1000).optional().describe('What the document says about measuring.'),
    elements: z
      .array(z.enum(['rolled beam', 'welded girder', 'column', 'truss member']))
      .min(1)
      .optional(),
    rules: z
      .array(
        z.strictObject({
          kind: z.enum(['sweep', 'camber', 'tilt', 'plumb', 'bulge']),
          limit: small,
          over: z.union([z.literal('whole line'), run]).optional(),
          at: z.literal('impact').optional(),
          edges: z.literal('from the web').optional(),
          source: words.describe('Clause of this rule.'),
        }),
      )
      .max(100),
    heat: z.strictObject(heatLimitFields(of)).optional(),
  });
}

export type PresetFile = z.output<ReturnType<typeof presetFileSchema>>;

/** The set as the built-in ones are held, or what is wrong with it beyond its form. */
export function presetOfFile(
  file: PresetFile,
  add: (column: string, found: string, expected: string) => void,
): Preset {
  const heat = file.heat === undefined ? null : statedLimitsOf(file.heat, 'heat', add);
  return {
    key: file.key,
    title: file.title,
    source: file.source,
    confidence: 'read',
    note: file.note ?? '',
    ...(file.elements === undefined ? {} : { elements: file.elements as ElementKind[] }),
    ...(heat === null ? {} : { heat, heatSource: `${file.source}, ${heat.source}` }),
    rules: file.rules.map((entry, i): PresetRule => {
      const column = `rules[${i}]`;
      if ((entry.over === undefined) === (entry.at === undefined))
        add(
          column,
          entry.over === undefined ? 'neither "over" nor "at"' : 'both "over" and "at"',
          '"over": "whole line", "over": "20 ft" or "at": "impact"',
        );
      if (!(entry.limit > 0)) add(`${column}.limit`, 'zero or less', 'a limit above zero');
      if (entry.edges !== undefined && entry.kind !== 'tilt')
        add(`${column}.edges`, `"${entry.edges}" on a ${entry.kind} rule`, 'it on tilt rules only');
      const over: RuleExtent =
        entry.at === 'impact'
          ? { kind: 'impact' }
          : typeof entry.over === 'number'
            ? { kind: 'chord', length: entry.over }
            : { kind: 'whole-line' };
      return {
        kind: entry.kind as LineKind,
        over,
        limit: () => entry.limit,
        ...(entry.edges === undefined ? {} : { edgesFromWeb: true }),
        source: `${file.source}, ${entry.source}`,
      };
    }),
  };
}
