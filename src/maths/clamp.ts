/** The value within ±limit. */
export function clamp(value: number, limit: number): number {
  return Math.max(-limit, Math.min(limit, value));
}
