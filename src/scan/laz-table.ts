/**
 * The table behind the points of a LAZ file that says how long each chunk is, packed by an arithmetic coder (A. Said,
 * "Introduction to Arithmetic Coding - Theory and Practice", HPL-2004-76, the adaptive models with periodic updates of its
 * code) as differences of whole numbers. Source: "LASzip: lossless compression of LiDAR data" and LASzip's own source, from
 * memory; tested on tables LASzip wrote.
 */

/** Length of the interval the coder works in: it is widened, byte by byte, when it falls below. */
const NARROWEST = 2 ** 24;
/** Bits a probability has: of a symbol among many, and of one of two. */
const SYMBOL_BITS = 15;
const BIT_BITS = 13;
/** Bits of a difference that are modelled; those below are taken as they are. */
const MODELLED = 8;
/** Widest difference, bits. */
const WIDEST = 32;

type Symbols = ReturnType<typeof symbols>;
type Bit = ReturnType<typeof bitModel>;

/** How often each of some symbols was met, learnt on the way; `below` is the share of those before each. */
function symbols(count: number) {
  const met = new Uint32Array(count).fill(1);
  const below = new Uint32Array(count);
  let [all, cycle] = [0, count];
  learn();
  cycle = (count + 6) >> 1;
  let left = cycle;

  function learn(): void {
    all += cycle;
    if (all > 2 ** SYMBOL_BITS) {
      all = 0;
      for (let k = 0; k < count; k++) all += met[k] = (met[k]! + 1) >> 1;
    }
    const scale = Math.floor(2 ** 31 / all);
    for (let k = 0, sum = 0; k < count; k++) {
      below[k] = Math.floor((scale * sum) / 2 ** (31 - SYMBOL_BITS));
      sum += met[k]!;
    }
  }
  function meet(symbol: number): void {
    met[symbol]!++;
    if (--left > 0) return;
    learn();
    cycle = Math.min((5 * cycle) >> 2, (count + 6) << 3);
    left = cycle;
  }
  return { count, below, meet };
}

/** How often the first of two was met. */
function bitModel() {
  let [first, all, cycle, left] = [1, 2, 4, 4];
  let share = 2 ** (BIT_BITS - 1);
  function meet(one: boolean): void {
    if (!one) first++;
    if (--left > 0) return;
    all += cycle;
    if (all > 2 ** BIT_BITS) {
      all = (all + 1) >> 1;
      first = (first + 1) >> 1;
      if (first === all) all++;
    }
    share = Math.floor((first * Math.floor(2 ** 31 / all)) / 2 ** (31 - BIT_BITS));
    cycle = Math.min((5 * cycle) >> 2, 64);
    left = cycle;
  }
  return { share: () => share, meet };
}

/** Reads what the coder wrote. Bytes beyond the end are noughts: the sums of the table tell that it is cut short. */
function coder(bytes: Uint8Array) {
  let at = 0;
  let [value, length] = [0, 2 ** 32 - 1];
  const next = () => bytes[at++] ?? 0;
  for (let k = 0; k < 4; k++) value = value * 256 + next();

  function widen(): void {
    for (; length < NARROWEST; length *= 256) value = value * 256 + next();
  }
  function symbol(model: Symbols): number {
    const unit = Math.floor(length / 2 ** SYMBOL_BITS);
    let [low, high] = [0, model.count];
    let end = length;
    for (let k = high >> 1; k !== low; k = (low + high) >> 1) {
      const bound = unit * model.below[k]!;
      if (bound > value) [high, end] = [k, bound];
      else low = k;
    }
    const start = unit * model.below[low]!;
    value -= start;
    length = end - start;
    widen();
    model.meet(low);
    return low;
  }
  function bit(model: Bit): number {
    const bound = model.share() * Math.floor(length / 2 ** BIT_BITS);
    const one = value >= bound;
    if (one) {
      value -= bound;
      length -= bound;
    } else length = bound;
    widen();
    model.meet(one);
    return Number(one);
  }
  /** A number of so many bits, each as likely as another. */
  function plain(bits: number): number {
    if (bits > 19) {
      const low = plain(16);
      return plain(bits - 16) * 65_536 + low;
    }
    length = Math.floor(length / 2 ** bits);
    const found = Math.floor(value / length);
    value -= length * found;
    widen();
    return found;
  }
  return { symbol, bit, plain };
}

/** Differences of whole numbers: how many bits one has is told by the column, the bits themselves by their number. */
function differences(bytes: Uint8Array, columns: number) {
  const { symbol, bit, plain } = coder(bytes);
  const widths = Array.from({ length: columns }, () => symbols(WIDEST + 1));
  const sign = bitModel();
  const values = Array.from({ length: WIDEST + 1 }, (_, k) => symbols(2 ** Math.min(k, MODELLED)));
  return (column: number): number => {
    const bits = symbol(widths[column]!);
    if (bits === 0) return bit(sign);
    if (bits === WIDEST) return -(2 ** 31);
    let value = symbol(values[bits]!);
    if (bits > MODELLED) value = value * 2 ** (bits - MODELLED) + plain(bits - MODELLED);
    return value >= 2 ** (bits - 1) ? value + 1 : value - (2 ** bits - 1);
  };
}

/** A chunk of packed points. */
export interface LazChunk {
  readonly points: number;
  readonly bytes: number;
}

/**
 * The chunks of a table.
 * @param rows its packed rows, behind its version and count
 * @param size points of each chunk but the last; null where the table says how many each has
 * @param points of all chunks
 */
export function readChunkTable(
  rows: Uint8Array,
  count: number,
  size: number | null,
  points: number,
): LazChunk[] {
  const difference = differences(rows, 2);
  const chunks: LazChunk[] = [];
  let [own, bytes, left] = [0, 0, points];
  for (let i = 0; i < count; i++) {
    own = size === null ? (own + difference(0)) >>> 0 : Math.min(size, left);
    bytes = (bytes + difference(1)) >>> 0;
    left -= own;
    chunks.push({ points: own, bytes });
  }
  return chunks;
}
