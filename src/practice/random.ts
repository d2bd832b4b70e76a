/**
 * The one random generator of the tests, benches and samples: seeded, so that every run gives the same girders.
 * sfc32 (Chris Doty-Humphrey's PractRand family) for uniforms, Marsaglia's polar method for normals.
 */
export interface Random {
  /** Uniform on [0, 1). */
  uniform(): number;
  /** Standard normal. */
  normal(): number;
  between(low: number, high: number): number;
  /** Whole number in [low, high], both ends included. */
  integer(low: number, high: number): number;
  pick<T>(items: readonly T[]): T;
  /** Independent generator for a named part, so that adding draws to one part leaves the others alone. */
  fork(label: string): Random;
}

export function createRandom(seed: number | string): Random {
  const text = String(seed);
  let [a, b, c, d] = [hash(text, 1), hash(text, 2), hash(text, 3), 1];

  function next(): number {
    const t = (((a + b) | 0) + d) | 0;
    d = (d + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (c << 21) | (c >>> 11);
    c = (c + t) | 0;
    return t >>> 0;
  }
  for (let i = 0; i < 15; i++) next();

  const uniform = () => next() / 4294967296;
  let spare: number | null = null;
  function normal(): number {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    for (;;) {
      const u = 2 * uniform() - 1;
      const v = 2 * uniform() - 1;
      const s = u * u + v * v;
      if (s === 0 || s >= 1) continue;
      const scale = Math.sqrt((-2 * Math.log(s)) / s);
      spare = v * scale;
      return u * scale;
    }
  }
  const integer = (low: number, high: number) => low + Math.floor(uniform() * (high - low + 1));
  return {
    uniform,
    normal,
    between: (low, high) => low + (high - low) * uniform(),
    integer,
    pick: (items) => {
      if (items.length === 0) throw new RangeError('pick requires at least 1 item');
      return items[integer(0, items.length - 1)]!;
    },
    fork: (label) => createRandom(`${text}/${label}`),
  };
}

/** FNV-1a, salted. */
function hash(text: string, salt: number): number {
  let h = 2166136261 ^ Math.imul(salt, 0x9e3779b9);
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 16777619);
  h ^= h >>> 16;
  h = Math.imul(h, 0x85ebca6b);
  return (h ^ (h >>> 13)) | 0;
}
