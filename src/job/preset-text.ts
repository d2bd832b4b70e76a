import { formatLimit } from '../units/format-length.ts';
import { formatAngle, formatTemperature } from '../units/format-quantity.ts';
import { HOW_KNOWN, type Preset } from './presets.ts';

const MEMBER_WORDS = {
  'whole-line': 'over the whole line',
  chord: 'over a chord of 20 ft',
  impact: 'at the point of impact',
} as const;

/** A set in a line, or in full. Limits that depend on the member are named by the note. */
export function presetText(preset: Preset, full: boolean): string {
  const source = HOW_KNOWN[preset.confidence](preset.source);
  if (!full) return `${preset.key}\n    ${preset.title}; ${source}\n`;
  const kinds = preset.rules.map(
    (rule) =>
      `${rule.kind} ${MEMBER_WORDS[rule.over.kind]}${rule.edgesFromWeb === true ? ', at the edges from the web' : ''}`,
  );
  return [
    preset.key,
    `  ${preset.title}`,
    `  Source: ${source}`,
    `  Limits: ${kinds.join('; ')}`,
    ...heatLines(preset).map((text) => `  ${text}`),
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
    source: HOW_KNOWN[preset.confidence](preset.source),
    confidence: preset.confidence,
    note: preset.note,
    elements: preset.elements ?? null,
    rules: preset.rules.map(({ kind, over, edgesFromWeb }) => ({
      kind,
      over,
      edgesFromWeb: edgesFromWeb === true,
    })),
    heat: preset.heat ?? null,
  };
}

function heatLines({ heat }: Preset): string[] {
  if (heat === undefined) return [];
  const range = ([low, high]: readonly [number, number], say: (value: number) => string) =>
    low <= 0 ? `at most ${say(high)}` : `${say(low)} to ${say(high)}`;
  const parts = [
    heat.maxTemperature === null ? null : `steel at most ${formatTemperature(heat.maxTemperature, 'us')}`,
    heat.coolBelow === null ? null : `cool below ${formatTemperature(heat.coolBelow, 'us')}`,
    heat.veeAngle === null ? null : `vee angle ${range(heat.veeAngle, (value) => formatAngle(value, 0))}`,
    heat.veeDepth === null
      ? null
      : `vee depth ${range(heat.veeDepth, (value) => `${Number((100 * value).toFixed(1))} %`)} of the flange width`,
    heat.openWidth === null ? null : `open end ${range(heat.openWidth, (value) => formatLimit(value, 'us'))}`,
    heat.spacing === null ? null : `vees ${formatLimit(heat.spacing, 'us')} apart or more`,
  ].filter((part) => part !== null);
  return [`Heats: ${parts.join('; ')}`];
}
