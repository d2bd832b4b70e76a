import { FOOT, INCH } from '../units/factors.ts';
import { formatLimit } from '../units/format-length.ts';
import { formatAngle, formatTemperature } from '../units/format-quantity.ts';
import type { JobUnits, Member } from './job.ts';
import { type Preset, type PresetRule, sourceWords } from './presets.ts';
import { ruleLabel } from './rules.ts';

/** A set in a line, or in full, in the units asked for; a note keeps those of its document. Limits that depend on the member are named by the note. */
export function presetText(preset: Preset, full: boolean, units: JobUnits = 'us'): string {
  const source = sourceWords(preset.source, preset);
  if (!full) return `${preset.key}\n    ${preset.title}; ${source}\n`;
  const kinds = preset.rules.map((rule) => ruleText(rule, units));
  return [
    preset.key,
    `  ${preset.title}`,
    `  Source: ${source}`,
    `  Limits: ${kinds.join('; ')}`,
    ...heatLines(preset, units).map((text) => `  ${text}`),
    `  Note: ${preset.note}`,
    ...(preset.elements === undefined ? [] : [`  For: ${preset.elements.join(', ')} (member.element)`]),
    '',
  ].join('\n');
}

/** The same as plain data, SI. */
export function presetDocument(preset: Preset): Record<string, unknown> {
  return {
    key: preset.key,
    title: preset.title,
    source: sourceWords(preset.source, preset),
    confidence: preset.confidence,
    note: preset.note,
    elements: preset.elements ?? null,
    rules: preset.rules.map((rule) => ({
      kind: rule.kind,
      over: rule.over,
      edgesFromWeb: rule.edgesFromWeb === true,
      /** m; null: it depends on the member, by the note. */
      limit: fixedLimit(rule),
    })),
    heat: preset.heat ?? null,
  };
}

function heatLines({ heat }: Preset, units: JobUnits): string[] {
  if (heat === undefined) return [];
  const range = ([low, high]: readonly [number, number], say: (value: number) => string) =>
    low <= 0 ? `at most ${say(high)}` : `${say(low)} to ${say(high)}`;
  const parts = [
    heat.maxTemperature === null ? null : `steel at most ${formatTemperature(heat.maxTemperature, units)}`,
    heat.coolBelow === null ? null : `cool below ${formatTemperature(heat.coolBelow, units)}`,
    heat.veeAngle === null ? null : `vee angle ${range(heat.veeAngle, (value) => formatAngle(value, 0))}`,
    heat.veeDepth === null
      ? null
      : `vee depth ${range(heat.veeDepth, (value) => `${Number((100 * value).toFixed(1))} %`)} of the flange width`,
    heat.openWidth === null
      ? null
      : `open end ${range(heat.openWidth, (value) => formatLimit(value, units))}`,
    heat.spacing === null ? null : `vees ${formatLimit(heat.spacing, units)} apart or more`,
  ].filter((part) => part !== null);
  return [`Heats: ${parts.join('; ')}`];
}

/** Two members that differ in every size: a limit that is the same for both depends on neither. */
const PROBES: readonly Member[] = [1, 3].map((scale) => ({
  span: 10 * scale * FOOT,
  yieldStress: 1,
  elasticModulus: 1,
  flangeWidth: 20 * scale * INCH,
  flangeThickness: scale * INCH,
  webThickness: null,
  depth: 8 * scale * INCH,
  steel: null,
  diaphragms: null,
}));

/** `sweep 1/2 in over the whole line`, or the same with "by the note" where the limit depends on the member. */
function ruleText(rule: PresetRule, units: JobUnits): string {
  const limit = fixedLimit(rule);
  const label = ruleLabel(rule, limit ?? 0, rule.over, units, rule.edgesFromWeb === true);
  if (limit !== null) return label;
  return label.replace(/^(\w+) [^a-z]* (?:in|mm) /, '$1 (limit by the note) ');
}

/** The limit where it is the same for every member, m; else null. */
function fixedLimit(rule: PresetRule): number | null {
  const [a, b] = PROBES.map((member) => rule.limit(member.span, member));
  return typeof a === 'number' && a === b ? a : null;
}
