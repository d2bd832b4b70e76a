/**
 * A LAZ file for tests, compressed here because no general-purpose writer of LAZ was to be had: point format 0, one
 * return a pulse, chunks of fixed size. The unpacker that reads it (laz-perf) is the independent party.
 * Sources: Isenburg, "LASzip: lossless compression of LiDAR data", PE&RS 79(2), 2013 (prediction, contexts, chunks);
 * the LASzip specification (record 22204, item POINT10 version 2, chunk table); Said, "Introduction to Arithmetic
 * Coding", HPL-2004-76 (coder and adaptive models); all from memory of the documents.
 */
export interface LazPoint {
  /** Coordinates in steps of the file's scale. */
  readonly steps: readonly [number, number, number];
  readonly intensity: number;
  /** ASPRS class code. */
  readonly kind: number;
}

interface Model {
  readonly counts: number[];
  readonly starts: number[];
  total: number;
  cycle: number;
  left: number;
}

interface BitModel {
  zeros: number;
  total: number;
  share: number;
  cycle: number;
  left: number;
}

function updateModel(model: Model): void {
  model.total += model.cycle;
  if (model.total > 1 << 15) {
    model.total = 0;
    model.counts.forEach((count, i) => {
      model.counts[i] = (count + 1) >> 1;
      model.total += model.counts[i]!;
    });
  }
  const scale = Math.floor(0x80000000 / model.total);
  let sum = 0;
  model.counts.forEach((count, i) => {
    model.starts[i] = Math.floor((scale * sum) / 65536);
    sum += count;
  });
  model.cycle = Math.min((5 * model.cycle) >> 2, (model.counts.length + 6) << 3);
  model.left = model.cycle;
}

function newModel(symbols: number): Model {
  const model: Model = {
    counts: new Array<number>(symbols).fill(1),
    starts: new Array<number>(symbols).fill(0),
    total: 0,
    cycle: symbols,
    left: 0,
  };
  updateModel(model);
  model.cycle = (symbols + 6) >> 1;
  model.left = model.cycle;
  return model;
}

const newBitModel = (): BitModel => ({ zeros: 1, total: 2, share: 1 << 12, cycle: 4, left: 4 });

function arithmeticCoder() {
  const bytes: number[] = [];
  let base = 0;
  let length = 0xffffffff;
  const shiftBase = (by: number): void => {
    base += by;
    if (base <= 0xffffffff) return;
    base -= 2 ** 32;
    let i = bytes.length - 1;
    for (; bytes[i] === 255; i--) bytes[i] = 0;
    bytes[i]!++;
  };
  const renormalise = (): void => {
    while (length < 0x01000000) {
      bytes.push(base >>> 24);
      base = (base << 8) >>> 0;
      length *= 256;
    }
  };
  return {
    symbol(model: Model, symbol: number): void {
      const unit = length >>> 15;
      const from = model.starts[symbol]! * unit;
      length = symbol === model.counts.length - 1 ? length - from : model.starts[symbol + 1]! * unit - from;
      shiftBase(from);
      renormalise();
      model.counts[symbol]!++;
      if (--model.left === 0) updateModel(model);
    },
    bit(model: BitModel, bit: number): void {
      const split = model.share * (length >>> 13);
      if (bit === 0) {
        length = split;
        model.zeros++;
      } else {
        shiftBase(split);
        length -= split;
      }
      renormalise();
      if (--model.left > 0) return;
      model.total += model.cycle;
      if (model.total > 1 << 13) {
        model.total = (model.total + 1) >> 1;
        model.zeros = (model.zeros + 1) >> 1;
        if (model.zeros === model.total) model.total++;
      }
      model.share = Math.floor((model.zeros * Math.floor(0x80000000 / model.total)) / 2 ** 18);
      model.cycle = Math.min(64, (5 * model.cycle) >> 2);
      model.left = model.cycle;
    },
    raw(bits: number, value: number): void {
      let [many, rest] = [bits, value];
      if (many > 19) {
        length >>>= 16;
        shiftBase((rest & 0xffff) * length);
        renormalise();
        rest >>>= 16;
        many -= 16;
      }
      length >>>= many;
      shiftBase(rest * length);
      renormalise();
    },
    finish(): number[] {
      const another = length > 2 * 0x01000000;
      shiftBase(another ? 0x01000000 : 0x00800000);
      length = another ? 0x00800000 : 0x00008000;
      renormalise();
      bytes.push(0, 0);
      if (another) bytes.push(0);
      return bytes;
    },
  };
}
type Coder = ReturnType<typeof arithmeticCoder>;

/** Codes the difference between an integer and its prediction: first its length in bits, then its value. */
function integerCoder(coder: Coder, bits: number, contexts: number) {
  const HIGH = 8;
  const lengths = Array.from({ length: contexts }, () => newModel(bits + 1));
  const values = Array.from({ length: bits + 1 }, (_, i) => newModel(1 << Math.min(Math.max(i, 1), HIGH)));
  const zeroOrOne = newBitModel();
  let k = 0;
  return {
    k: () => k,
    code(predicted: number, real: number, context: number): void {
      let c = (real - predicted) | 0;
      if (bits < 32) {
        const range = 1 << bits;
        if (c < -range / 2) c += range;
        else if (c > range / 2 - 1) c -= range;
      }
      const size = c <= 0 ? -c : c - 1;
      k = size === 0 ? 0 : 32 - Math.clz32(size);
      coder.symbol(lengths[context]!, k);
      if (k === 0) {
        coder.bit(zeroOrOne, c);
        return;
      }
      if (k === 32) return;
      c = c < 0 ? c + 2 ** k - 1 : c - 1;
      if (k <= HIGH) {
        coder.symbol(values[k]!, c);
        return;
      }
      const low = k - HIGH;
      coder.symbol(values[k]!, c >>> low);
      coder.raw(low, c & (2 ** low - 1));
    },
  };
}

/** Median of the last differences, kept as the format prescribes (five values, the ends dropped in turn). */
function runningMedian() {
  const v = [0, 0, 0, 0, 0];
  let high = true;
  return {
    get: () => v[2]!,
    add(d: number): void {
      // Drops the greatest, or the least, and puts the new one in its place in order.
      const goesHigh = high ? d >= v[2]! : !(v[2]! < d);
      v.splice(high ? 4 : 0, 1);
      const at = high ? v.findIndex((each) => d < each) : v.findIndex((each) => d <= each);
      v.splice(at < 0 ? 4 : at, 0, d);
      if (goesHigh) high = !high;
    },
  };
}

function rawPoint(point: LazPoint): number[] {
  const bytes = Buffer.alloc(20);
  point.steps.forEach((step, i) => {
    bytes.writeInt32LE(step, 4 * i);
  });
  bytes.writeUInt16LE(point.intensity, 12);
  bytes[14] = 0x09; // return 1 of 1
  bytes[15] = point.kind;
  return [...bytes];
}

function chunk(points: readonly LazPoint[]): number[] {
  const coder = arithmeticCoder();
  const changes = newModel(64);
  const intensity = integerCoder(coder, 16, 4);
  const kinds = new Map<number, Model>();
  const dx = integerCoder(coder, 32, 2);
  const dy = integerCoder(coder, 32, 22);
  const z = integerCoder(coder, 32, 20);
  const medianX = runningMedian();
  const medianY = runningMedian();
  let lastIntensity = 0;
  let lastZ = 0;
  let last = points[0]!;
  for (const point of points.slice(1)) {
    const brighter = point.intensity !== lastIntensity;
    const other = point.kind !== last.kind;
    coder.symbol(changes, (brighter ? 16 : 0) + (other ? 8 : 0));
    if (brighter) intensity.code(lastIntensity, point.intensity, 0);
    lastIntensity = point.intensity;
    if (other) {
      if (!kinds.has(last.kind)) kinds.set(last.kind, newModel(256));
      coder.symbol(kinds.get(last.kind)!, point.kind);
    }
    const [alongX, alongY] = [point.steps[0] - last.steps[0], point.steps[1] - last.steps[1]];
    dx.code(medianX.get(), alongX, 1);
    medianX.add(alongX);
    dy.code(medianY.get(), alongY, 1 + (dx.k() < 20 ? dx.k() & ~1 : 20));
    medianY.add(alongY);
    const both = (dx.k() + dy.k()) >> 1;
    z.code(lastZ, point.steps[2], 1 + (both < 18 ? both & ~1 : 18));
    lastZ = point.steps[2];
    last = point;
  }
  return [...rawPoint(points[0]!), ...coder.finish()];
}

/** @param size points a chunk */
export function lazFile(
  points: readonly LazPoint[],
  scale: number,
  offset: readonly [number, number, number],
  size: number,
): Buffer {
  const header = Buffer.alloc(227 + 54 + 40);
  header.write('LASF');
  header[24] = 1;
  header[25] = 2;
  header.writeUInt16LE(227, 94);
  header.writeUInt32LE(header.length, 96);
  header.writeUInt32LE(1, 100);
  header[104] = 0x80;
  header.writeUInt16LE(20, 105);
  header.writeUInt32LE(points.length, 107);
  header.writeUInt32LE(points.length, 111);
  for (const axis of [0, 1, 2]) {
    const values = points.map((p) => p.steps[axis]! * scale + offset[axis]!);
    header.writeDoubleLE(scale, 131 + 8 * axis);
    header.writeDoubleLE(offset[axis]!, 155 + 8 * axis);
    header.writeDoubleLE(
      values.reduce((a, b) => Math.max(a, b)),
      179 + 16 * axis,
    );
    header.writeDoubleLE(
      values.reduce((a, b) => Math.min(a, b)),
      187 + 16 * axis,
    );
  }
  header.write('laszip encoded', 229);
  header.writeUInt16LE(22204, 245);
  header.writeUInt16LE(40, 247);
  const record = 281;
  header.writeUInt16LE(2, record); // in chunks
  header[record + 4] = 2;
  header[record + 5] = 2;
  header.writeUInt32LE(size, record + 12);
  header.fill(0xff, record + 16, record + 32);
  header.writeUInt16LE(1, record + 32);
  header.writeUInt16LE(6, record + 34); // POINT10, 20 bytes, version 2
  header.writeUInt16LE(20, record + 36);
  header.writeUInt16LE(2, record + 38);

  const chunks: number[][] = [];
  for (let i = 0; i < points.length; i += size) chunks.push(chunk(points.slice(i, i + size)));
  const tableAt = Buffer.alloc(8);
  tableAt.writeBigInt64LE(BigInt(header.length + 8 + chunks.reduce((sum, each) => sum + each.length, 0)));
  const tableStart = Buffer.alloc(8);
  tableStart.writeUInt32LE(chunks.length, 4);
  const coder = arithmeticCoder();
  const lengths = integerCoder(coder, 32, 2);
  chunks.forEach((each, i) => {
    lengths.code(i === 0 ? 0 : chunks[i - 1]!.length, each.length, 1);
  });
  return Buffer.concat([
    header,
    tableAt,
    ...chunks.map((each) => Buffer.from(each)),
    tableStart,
    Buffer.from(coder.finish()),
  ]);
}
