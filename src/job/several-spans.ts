import { type LengthUnit, parseLength } from '../units/parse-length.ts';

/** Most spans of one member. */
export const MOST_SPANS = 20;

/** Whether a text holds more than one length with a unit, with commas, semicolons or plus signs between. */
export function isSeveralSpans(text: string): boolean {
  const parts = partsOf(text);
  return parts.length > 1 && parts.every((part) => /\d\s*(?:ft|'|m|mm|in|")\s*$/.test(part));
}

/** Spans written one after the other ("58 ft, 84 ft, 58 ft"), m; or what one of them should have been. */
export function severalSpans(
  text: string,
  unit: LengthUnit,
  dashed: 'eighths' | 'sixteenths' | null,
): readonly number[] | { readonly expected: string } {
  const parts = partsOf(text);
  if (parts.length > MOST_SPANS) return { expected: `at most ${MOST_SPANS} spans` };
  const spans: number[] = [];
  for (const part of parts) {
    const parsed = parseLength(part, { unit, dashed });
    if (!parsed.ok) return { expected: parsed.expected };
    if (!(parsed.metres > 0)) return { expected: 'spans longer than nothing' };
    spans.push(parsed.metres);
  }
  return spans;
}

function partsOf(text: string): string[] {
  return text
    .slice(0, 600)
    .split(/[,;+]/)
    .map((part) => part.trim());
}

/** Stations of the bearings of spans one after the other, m, the first at `from`. */
export function bearingsAfter(spans: readonly number[], from: number): number[] {
  const bearings = [from];
  for (const span of spans) bearings.push(bearings.at(-1)! + span);
  return bearings;
}
