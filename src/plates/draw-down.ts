/** Forces at one place that draw a plate down there, N. */
export interface DrawDown {
  /** With the plate free to turn on the places it rests on. */
  readonly least: number;
  /** With bolts on either side already tight, so that it cannot turn there. */
  readonly most: number;
}

/**
 * Force at one place that draws a plate down by `gap` there. The plate is a beam on the places it rests on (AISC Manual
 * Table 3-23, from memory of it). Free to turn on them: between two, F = 3·EI·L·δ/(a²·b²); beyond the last,
 * F = 3·EI·δ/(c²·(L + c)). Held from turning there: F = 3·EI·L³·δ/(a³·b³), and F = 3·EI·δ/c³.
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
): DrawDown | null {
  const rests = [...new Set(contacts)].sort((a, b) => a - b);
  if (rests.length < 2 || rests.includes(at)) return null;
  const left = rests.filter((x) => x < at).at(-1);
  const right = rests.find((x) => x > at);
  const ei = 3 * stiffness * gap;
  if (left !== undefined && right !== undefined) {
    const [a, b] = [at - left, right - at];
    return { least: (ei * (a + b)) / (a * a * b * b), most: (ei * (a + b) ** 3) / (a * b) ** 3 };
  }
  const [end, next] = left === undefined ? [rests[0]!, rests[1]!] : [rests.at(-1)!, rests.at(-2)!];
  const c = Math.abs(at - end);
  return { least: ei / (c * c * (Math.abs(end - next) + c)), most: ei / c ** 3 };
}
