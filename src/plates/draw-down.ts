/**
 * Force at one place that draws a plate down by `gap` there, N. The plate is a beam on the places it rests on, free to
 * turn on them (AISC Manual Table 3-23, from memory of it): between two, F = 3·EI·L·δ/(a²·b²); beyond the last,
 * F = 3·EI·δ/(c²·(L + c)). Bolts already tight on either side hold it stiffer, so it is the least force.
 *
 * @param at station, m
 * @param contacts stations the plate rests on, m
 * @param stiffness EI of the plate, N·m²
 * @returns null where the plate rests at that very station, or on one station only
 */
export function drawDownForce(
  at: number,
  gap: number,
  contacts: readonly number[],
  stiffness: number,
): number | null {
  const rests = [...new Set(contacts)].sort((a, b) => a - b);
  if (rests.length < 2 || rests.includes(at)) return null;
  const left = rests.filter((x) => x < at).at(-1);
  const right = rests.find((x) => x > at);
  if (left !== undefined && right !== undefined) {
    const [a, b] = [at - left, right - at];
    return (3 * stiffness * (a + b) * gap) / (a * a * b * b);
  }
  const [end, next] = left === undefined ? [rests[0]!, rests[1]!] : [rests.at(-1)!, rests.at(-2)!];
  const c = Math.abs(at - end);
  return (3 * stiffness * gap) / (c * c * (Math.abs(end - next) + c));
}
