/** A span written as several, which members of more than one span have. */
export const SEVERAL_SPANS =
  'the one span that was struck, bearing to bearing, such as "84 ft" (the spans beside it are not reckoned with)';

/** Whether a text holds more than one length with a unit, with commas, semicolons or plus signs between. */
export function isSeveralSpans(text: string): boolean {
  const parts = text.slice(0, 200).split(/[,;+]/);
  return parts.length > 1 && parts.every((part) => /\d\s*(?:ft|'|m|mm|in|")\s*$/.test(part));
}
