import type { Dice } from './dice.ts';
import { CELLS, HOSTILE } from './hostile-texts.ts';

const NUMBERS = [
  '0',
  '-1',
  '1e308',
  '-1e999',
  '4294967295',
  '99999999999999999999',
  '0.0000000001',
  'NaN',
  '',
];
const WORDS: readonly number[] = [0, 1, 0x7f, 0x80, 0xff, 0x0a, 0x22, 0x2c];

/** Bytes with one to three things done to them that damage, transport or ill will do. */
export function damaged(whole: Buffer, dice: Dice, others: readonly Buffer[] = []): Buffer {
  let bytes = whole;
  for (let n = 1 + dice.below(3); n > 0; n--) bytes = once(bytes, dice, others);
  return bytes;
}

function once(bytes: Buffer, dice: Dice, others: readonly Buffer[]): Buffer {
  const at = dice.below(bytes.length + 1);
  const to = at + dice.below(Math.min(200, bytes.length - at + 1));
  const put = (from: number, until: number, what: Buffer) =>
    Buffer.concat([bytes.subarray(0, from), what, bytes.subarray(until)]);
  switch (dice.below(10)) {
    case 0: {
      const changed = Buffer.from(bytes);
      for (let k = 1 + dice.below(4); k > 0 && changed.length > 0; k--)
        changed[dice.below(changed.length)] = dice.below(256);
      return changed;
    }
    case 1:
      return bytes.subarray(0, at);
    case 2:
      return put(at, to, Buffer.alloc(0));
    case 3:
      return put(at, at, bytes.subarray(at, to));
    case 4:
      return put(at, at, Buffer.alloc(dice.pick([1, 3, 500, 5000, 100_000]), dice.pick(WORDS)));
    case 5:
      return put(at, to, Buffer.from(dice.pick([...HOSTILE, ...CELLS])));
    case 6: {
      // A number of the text becomes another one.
      const text = bytes.toString('latin1');
      const numbers = [...text.matchAll(/-?\d+(?:\.\d+)?/g)];
      if (numbers.length === 0) return bytes;
      const one = dice.pick(numbers);
      return put(one.index, one.index + one[0].length, Buffer.from(dice.pick(NUMBERS)));
    }
    case 7:
      return others.length === 0 ? bytes : dice.pick(others);
    case 8:
      return others.length === 0 ? bytes : put(at, to, dice.pick(others).subarray(0, 2000));
    default:
      return Buffer.from(Array.from({ length: dice.below(300) }, () => dice.below(256)));
  }
}

/** A JSON value with one to four of its parts replaced, dropped, renamed, doubled or nested; another shape in short. */
export function reshaped(value: unknown, dice: Dice): unknown {
  let raw = structuredClone(value);
  // One part in thousands or thousands deep, not a product of them: the size of a file has a limit of its own.
  let large = true;
  const size = (modest: readonly number[], most: number) => {
    const drawn = dice.pick([...modest, most]);
    if (drawn < most) return drawn;
    if (!large) return modest[0]!;
    large = false;
    return most;
  };
  for (let n = 1 + dice.below(4); n > 0; n--) {
    const paths = pathsOf(raw);
    const path = dice.pick(paths);
    if (path.length === 0) {
      if (dice.chance(0.1)) raw = anything(dice);
      continue;
    }
    let holder = raw as Record<string | number, unknown>;
    for (const step of path.slice(0, -1)) holder = holder[step] as Record<string | number, unknown>;
    change(holder, path.at(-1)!, dice, size);
  }
  return raw;
}

function change(
  holder: Record<string | number, unknown>,
  key: string | number,
  dice: Dice,
  size: (modest: readonly number[], most: number) => number,
): void {
  const own = holder[key];
  const put = (name: string | number, what: unknown) =>
    Object.defineProperty(holder, name, {
      value: what,
      enumerable: true,
      configurable: true,
      writable: true,
    });
  switch (dice.below(6)) {
    case 0:
      if (Array.isArray(holder)) holder.splice(Number(key), 1);
      else delete holder[key];
      return;
    case 1:
      if (Array.isArray(holder)) holder.push(own);
      else {
        put(dice.pick([...HOSTILE, 'file', 'id', 'line', 'cycle']).slice(0, 60), own);
        delete holder[key];
      }
      return;
    case 2:
      if (Array.isArray(own)) {
        const times = size([0, 2, 40], 3000);
        put(
          key,
          Array.from({ length: times }, (_, i) => own[i % Math.max(1, own.length)]),
        );
      } else put(key, [own]);
      return;
    case 3: {
      let nested: unknown = own;
      for (let depth = size([1, 10, 70], 2000); depth > 0; depth--)
        nested = dice.chance(0.5) ? [nested] : { a: nested };
      put(key, nested);
      return;
    }
    default:
      put(key, anything(dice));
  }
}

function anything(dice: Dice): unknown {
  return dice.pick<unknown>([
    ...[null, true, [], {}, '', 0, -1, 1.5, 1e308, -1e-308, 2 ** 53, 4294967296],
    ...[dice.pick(HOSTILE), dice.pick(CELLS), dice.share() * 100, String(dice.below(5000))],
  ]);
}

function pathsOf(value: unknown, path: readonly (string | number)[] = []): (readonly (string | number)[])[] {
  if (typeof value !== 'object' || value === null || path.length > 12) return [path];
  const entries = Array.isArray(value)
    ? value.slice(0, 40).map((each, i) => [i, each] as const)
    : Object.entries(value).slice(0, 60);
  return [path, ...entries.flatMap(([key, child]) => pathsOf(child, [...path, key]))];
}

/** JSON of any value as this engine writes it; a value nested too deep for that is written by hand. */
export function jsonText(value: unknown): string {
  try {
    return JSON.stringify(value) ?? 'null';
  } catch {
    return `{"a":${'['.repeat(5000)}${']'.repeat(5000)}}`;
  }
}
