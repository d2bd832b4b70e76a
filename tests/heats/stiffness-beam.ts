/**
 * A continuous beam by the displacement method (matrix stiffness, deflection and slope at every node): another road
 * than the product's three-moment equation, for checks against it. Plain Gauss elimination with row exchange.
 *
 * @param supports stiffness null: rigid
 * @returns moments at any station and the support forces, positive against the forces
 */
export function stiffnessBeam(
  supports: readonly { readonly x: number; readonly stiffness: number | null }[],
  forces: readonly { readonly x: number; readonly force: number }[],
  rigidity: number,
): { momentAt: (x: number) => number; reactions: number[] } {
  const xs = [...new Set([...supports.map((s) => s.x), ...forces.map((f) => f.x)])].sort((a, b) => a - b);
  const n = 2 * xs.length;
  const k = Array.from({ length: n }, () => new Array<number>(n).fill(0));
  const f = new Array<number>(n).fill(0);
  for (let i = 0; i + 1 < xs.length; i++) {
    const l = xs[i + 1]! - xs[i]!;
    const element = [
      [12, 6 * l, -12, 6 * l],
      [6 * l, 4 * l * l, -6 * l, 2 * l * l],
      [-12, -6 * l, 12, -6 * l],
      [6 * l, 2 * l * l, -6 * l, 4 * l * l],
    ];
    element.forEach((row, a) => {
      row.forEach((value, b) => {
        k[2 * i + a]![2 * i + b]! += (rigidity * value) / l ** 3;
      });
    });
  }
  for (const { x, force } of forces) f[2 * xs.indexOf(x)]! += force;
  const whole = k.map((row) => [...row]);
  for (const { x, stiffness } of supports) {
    const i = 2 * xs.indexOf(x);
    if (stiffness !== null) {
      k[i]![i]! += stiffness;
      continue;
    }
    for (let j = 0; j < n; j++) {
      k[i]![j] = 0;
      k[j]![i] = 0;
    }
    k[i]![i] = 1;
  }
  const held = new Set(supports.filter((s) => s.stiffness === null).map((s) => 2 * xs.indexOf(s.x)));
  const u = eliminate(
    k,
    f.map((value, i) => (held.has(i) ? 0 : value)),
  );
  const reactions = supports.map(({ x }) => {
    const i = 2 * xs.indexOf(x);
    return f[i]! - whole[i]!.reduce((sum, value, j) => sum + value * u[j]!, 0);
  });
  return {
    reactions,
    momentAt: (at) =>
      supports.reduce((m, s, i) => m + reactions[i]! * Math.max(0, at - s.x), 0) -
      forces.reduce((m, p) => m + p.force * Math.max(0, at - p.x), 0),
  };
}

function eliminate(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const m = matrix.map((row, i) => [...row, right[i]!]);
  const n = m.length;
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let i = c + 1; i < n; i++) if (Math.abs(m[i]![c]!) > Math.abs(m[pivot]![c]!)) pivot = i;
    [m[c], m[pivot]] = [m[pivot]!, m[c]!];
    for (let i = c + 1; i < n; i++) {
      const factor = m[i]![c]! / m[c]![c]!;
      for (let j = c; j <= n; j++) m[i]![j]! -= factor * m[c]![j]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let i = n - 1; i >= 0; i--) {
    let rest = m[i]![n]!;
    for (let j = i + 1; j < n; j++) rest -= m[i]![j]! * x[j]!;
    x[i] = rest / m[i]![i]!;
  }
  return x;
}
