/**
 * How far a tight string hangs below the straight line between its ends, m: the parabola w·s·(L − s)/(2T), w·L²/(8T)
 * at mid-length (the sag of the tape corrections in any surveying text, from memory). 0 beyond its ends.
 */
export function stringSag(
  string: { readonly weight: number; readonly tension: number },
  ends: readonly [number, number],
  station: number,
): number {
  if (station <= ends[0] || station >= ends[1]) return 0;
  return (string.weight * (station - ends[0]) * (ends[1] - station)) / (2 * string.tension);
}
