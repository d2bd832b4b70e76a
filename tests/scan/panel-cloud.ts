/** Points on a stiffened web panel with a bulge, in front of which things stand: truth for the bulge map. SI. */
import type { Random } from '../mechanics/random.ts';

export interface PanelTruth {
  readonly width: number;
  readonly height: number;
  /** Deviation at u, v. */
  readonly bulge: (u: number, v: number) => number;
}

/** Buckled shape of a panel held straight at its edges: half waves both ways. */
export function halfWaves(width: number, height: number, amplitude: number): PanelTruth {
  return {
    width,
    height,
    bulge: (u, v) => amplitude * Math.sin((Math.PI * u) / width) * Math.sin((Math.PI * v) / height),
  };
}

/** A local dent: smooth, of limited radius, flat elsewhere. */
export function dent(
  width: number,
  height: number,
  amplitude: number,
  at: readonly [number, number],
  radius: number,
): PanelTruth {
  return {
    width,
    height,
    bulge: (u, v) => {
      const r = Math.hypot(u - at[0], v - at[1]) / radius;
      return r < 1 ? amplitude * (0.5 + 0.5 * Math.cos(Math.PI * r)) : 0;
    },
  };
}

/**
 * A scanner 6 m off square to the panel and to one side: density falls and noise grows away from it; stiffeners
 * stand out along the edges; growth, a cable in front and a clamp plate over a patch.
 * The panel lies in the x-z plane, u = x, v = z, bulge toward +y; slightly turned as a whole by `lean`.
 */
export function panelPoints(
  truth: PanelTruth,
  random: Random,
  spacing: number,
  noise: number,
  lean = 0.02,
): Float64Array {
  const points: number[] = [];
  const put = (u: number, v: number, w: number) => points.push(u, w + lean * u - 0.5 * lean * v, v);
  for (let u = -0.05; u < truth.width + 0.05; u += spacing) {
    for (let v = -0.05; v < truth.height + 0.05; v += spacing) {
      const [pu, pv] = [u + 0.3 * spacing * random.normal(), v + 0.3 * spacing * random.normal()];
      const cosine = 6 / Math.hypot(6, pu - 0.2 * truth.width, pv + 1);
      if (random.uniform() > cosine) continue;
      const inPanel = pu > 0 && pu < truth.width && pv > 0 && pv < truth.height;
      const sd = noise / Math.sqrt(cosine);
      if (!inPanel) put(pu, pv, 0.1 + sd * random.normal());
      else if (Math.abs(pu - 0.3 * truth.width - 0.1 * pv) < 0.008) put(pu, pv, 0.12 + sd * random.normal());
      else if (
        pu > 0.75 * truth.width &&
        pu < 0.75 * truth.width + 0.09 &&
        pv > 0.2 * truth.height &&
        pv < 0.2 * truth.height + 0.12
      )
        put(pu, pv, truth.bulge(pu, pv) + 0.02 + sd * random.normal());
      else if (random.uniform() < 0.04) put(pu, pv, random.between(0.02, 0.3));
      else put(pu, pv, truth.bulge(pu, pv) + sd * random.normal());
    }
  }
  return Float64Array.from(points);
}
