import { cos, log, sin } from './portable.ts';
/**
 * A repeatable stream of uniform numbers in (0, 1): mulberry32 (public domain, Tommy Ettinger).
 * The same seed gives the same forecast on every machine; nothing here reads a clock.
 */
export function seededUniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
}

/** Standard normal numbers from a uniform stream (Box–Muller). */
export function seededNormal(uniform: () => number): () => number {
  let spare: number | null = null;
  return () => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    const radius = Math.sqrt(-2 * log(uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = radius * sin(angle);
    return radius * cos(angle);
  };
}
