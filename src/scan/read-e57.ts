import { BATCH, batcher, type CloudTally, cloudError, emptyTally, type PointSink } from './cloud.ts';
import { child, parseXml, type XmlElement } from './e57-xml.ts';

/**
 * Reader of E57 (ASTM E2807): the scans of a file one after the other, cartesian or spherical, brought into the file's
 * frame by their poses, in metres as the standard has it. Numbers as 32- or 64-bit floats, integers or scaled integers
 * packed to bits. Every page is held against its checksum. Images and other data are passed over.
 * Source: ASTM E2807-11, from memory of the document.
 */
export interface E57Scan {
  readonly name: string;
  readonly points: number;
  /** Physical byte of the section with the points. */
  readonly at: number;
  /** Rotation by rows, and shift, m. */
  readonly rotation: readonly (readonly [number, number, number])[];
  readonly shift: readonly [number, number, number];
  readonly spherical: boolean;
  readonly fields: readonly Field[];
}

/** One number of every point, in the order of the file. */
interface Field {
  readonly name: string;
  /** Bits a value takes; 0: it is always `least`. */
  readonly bits: number;
  readonly kind: 'float' | 'integer';
  readonly least: number;
  readonly scale: number;
  readonly offset: number;
}

/** Bytes of the file from a place on, `length` of them or fewer at its end. The bytes may be reused by the next call. */
export type ReadAt = (at: number, length: number) => Uint8Array;

export interface E57File {
  readonly pageSize: number;
  readonly scans: readonly E57Scan[];
}

const HEADER = 48;
const CHECKSUM = 4;
const LARGEST_XML = 64 << 20;
const CARTESIAN = ['cartesianX', 'cartesianY', 'cartesianZ'];
const SPHERICAL = ['sphericalRange', 'sphericalAzimuth', 'sphericalElevation'];

/**
 * Reads and checks the header and the XML part.
 * @param utf8 decodes text; neither Node nor a browser is known here
 */
export function openE57(
  file: string,
  size: number,
  read: ReadAt,
  utf8: (bytes: Uint8Array) => string,
): E57File {
  const start = read(0, HEADER);
  if (start.length < HEADER || String.fromCharCode(...start.subarray(0, 8)) !== 'ASTM-E57')
    throw cloudError(file, { byte: 0 }, 'a file that does not begin with "ASTM-E57"', 'an E57 file');
  const view = new DataView(start.buffer, start.byteOffset, HEADER);
  const [major, minor] = [view.getUint32(8, true), view.getUint32(12, true)];
  if (major !== 1) throw cloudError(file, { byte: 8 }, `E57 version ${major}.${minor}`, 'version 1');
  const whole = u64(view, 16);
  const [xmlAt, xmlLength, pageSize] = [u64(view, 24), u64(view, 32), u64(view, 40)];
  if (whole !== size)
    throw cloudError(
      file,
      { byte: 16 },
      `a length of ${whole}`,
      `${size} bytes, the length of the file (it may be cut short)`,
    );
  if (!(pageSize >= 64 && pageSize <= 1 << 20 && size % pageSize === 0))
    throw cloudError(
      file,
      { byte: 40 },
      `pages of ${pageSize} bytes`,
      'a size the file is a whole number of',
    );
  if (!(xmlAt >= HEADER && xmlAt < size && xmlLength > 0 && xmlLength <= Math.min(size, LARGEST_XML)))
    throw cloudError(
      file,
      { byte: 24 },
      `an XML part of ${xmlLength} bytes at byte ${xmlAt}`,
      'a place inside the file',
    );
  const text = utf8(pagesReader(file, size, pageSize, read, xmlAt).take(xmlLength));
  const root = parseXml(text);
  if (root === null || root.name !== 'e57Root')
    throw cloudError(file, { byte: xmlAt }, 'an XML part that is not well formed', 'an element e57Root');
  const scans = (child(root, 'data3D')?.children ?? []).map((each, i) => scanOf(each, i, file, size));
  if (scans.length === 0) throw cloudError(file, {}, 'no scan (data3D) in the file', 'at least one');
  return { pageSize, scans };
}

function u64(view: DataView, at: number): number {
  const value = view.getBigUint64(at, true);
  return value > BigInt(Number.MAX_SAFE_INTEGER) ? Number.NaN : Number(value);
}

const numberIn = (element: XmlElement | undefined, otherwise: number): number => {
  const text = element?.text.trim() ?? '';
  return text === '' ? otherwise : Number(text);
};

function scanOf(element: XmlElement, i: number, file: string, size: number): E57Scan {
  const name = child(element, 'name')?.text.trim() || `scan ${i + 1}`;
  const wrong = (found: string, expected: string) => cloudError(file, {}, `${found} in "${name}"`, expected);
  const points = child(element, 'points');
  const count = Number(points?.attributes.get('recordCount') ?? Number.NaN);
  const at = Number(points?.attributes.get('fileOffset') ?? Number.NaN);
  if (!Number.isSafeInteger(count) || count < 0) throw wrong('no number of points', 'recordCount of points');
  if (!Number.isSafeInteger(at) || at < HEADER || at >= size)
    throw wrong(`points at byte ${at}`, 'a byte inside the file');
  const codecs = child(points, 'codecs')?.children ?? [];
  if (
    codecs.some((codec) =>
      codec.children.some((each) => each.name !== 'inputs' && each.name !== 'bitPackCodec'),
    )
  )
    throw wrong(
      'points packed in a way of their own',
      'the bit packing of the standard; export without it, or as LAS',
    );
  const fields = (child(points, 'prototype')?.children ?? []).map((each) => fieldOf(each, wrong));
  const has = (names: readonly string[]) =>
    names.every((each) => fields.some((field) => field.name === each));
  if (!has(CARTESIAN) && !has(SPHERICAL))
    throw wrong(
      `fields ${fields.map((f) => f.name).join(', ') || '(none)'}`,
      `${CARTESIAN.join(', ')}, or ${SPHERICAL.join(', ')}`,
    );
  const pose = child(element, 'pose');
  const [q, t] = [child(pose, 'rotation'), child(pose, 'translation')];
  const [w, x, y, z] = [
    numberIn(child(q, 'w'), 1),
    numberIn(child(q, 'x'), 0),
    numberIn(child(q, 'y'), 0),
    numberIn(child(q, 'z'), 0),
  ];
  const norm = Math.hypot(w, x, y, z);
  if (!(Math.abs(norm - 1) < 1e-3)) throw wrong(`a rotation of length ${norm}`, 'a unit quaternion');
  const shift = [0, 1, 2].map((k) => numberIn(child(t, 'xyz'[k]!), 0)) as [number, number, number];
  if (!shift.every(Number.isFinite)) throw wrong('a translation that is not a number', 'three numbers');
  return {
    name,
    points: count,
    at,
    rotation: rotationOf(w / norm, x / norm, y / norm, z / norm),
    shift,
    spherical: !has(CARTESIAN),
    fields,
  };
}

/** Rotation of a unit quaternion, by rows (Hamilton). */
function rotationOf(w: number, x: number, y: number, z: number): [number, number, number][] {
  return [
    [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
    [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
    [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
  ];
}

const INT64: readonly [bigint, bigint] = [-(2n ** 63n), 2n ** 63n - 1n];

function fieldOf(element: XmlElement, wrong: (found: string, expected: string) => Error): Field {
  const { name, attributes } = element;
  const type = attributes.get('type');
  if (type === 'Float') {
    const bits = attributes.get('precision') === 'single' ? 32 : 64;
    return { name, kind: 'float', bits, least: 0, scale: 1, offset: 0 };
  }
  if (type !== 'Integer' && type !== 'ScaledInteger')
    throw wrong(`a field ${name} of type ${type ?? 'none'}`, 'Float, Integer or ScaledInteger');
  const whole = (key: string, otherwise: bigint): bigint => {
    const text = attributes.get(key);
    if (text === undefined) return otherwise;
    if (!/^-?\d{1,20}$/.test(text.trim())) throw wrong(`${key}="${text}" of ${name}`, 'a whole number');
    return BigInt(text.trim());
  };
  const [least, most] = [whole('minimum', INT64[0]), whole('maximum', INT64[1])];
  if (most < least) throw wrong(`${name} from ${least} to ${most}`, 'a minimum not above the maximum');
  const scale = Number(attributes.get('scale') ?? 1);
  const offset = Number(attributes.get('offset') ?? 0);
  if (!Number.isFinite(scale) || !Number.isFinite(offset))
    throw wrong(`scale or offset of ${name}`, 'numbers');
  const scaled = type === 'ScaledInteger';
  return {
    name,
    kind: 'integer',
    bits: (most - least).toString(2).length * Number(most > least),
    least: Number(least),
    scale: scaled ? scale : 1,
    offset: scaled ? offset : 0,
  };
}

const BLOCK_PAGES = 512;

/** The logical bytes of a file from a physical place on: pages held against their checksums, and those taken out. */
function pagesReader(file: string, size: number, pageSize: number, read: ReadAt, from: number) {
  const payload = pageSize - CHECKSUM;
  let page = Math.floor(from / pageSize);
  let buffer = new Uint8Array(0);
  let at = 0;
  let skip = from % pageSize;
  if (skip > payload)
    throw cloudError(file, { byte: from }, 'a section that begins in a checksum', 'a place in a page');

  function more(): void {
    const wanted = Math.min(BLOCK_PAGES, size / pageSize - page);
    if (wanted <= 0) throw cloudError(file, { byte: size }, 'the end of the file', 'more of a section');
    const bytes = read(page * pageSize, wanted * pageSize);
    const pages = Math.floor(bytes.length / pageSize);
    if (pages === 0) throw cloudError(file, { byte: page * pageSize }, 'the end of the file', 'a whole page');
    const joined = new Uint8Array(buffer.length - at + pages * payload);
    joined.set(buffer.subarray(at));
    let to = buffer.length - at;
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    for (let k = 0; k < pages; k++) {
      const start = k * pageSize;
      if (view.getUint32(start + payload, false) !== crc32c(bytes, start, start + payload))
        throw cloudError(
          file,
          { byte: (page + k) * pageSize },
          'a page whose checksum does not agree',
          'an undamaged page',
        );
      joined.set(bytes.subarray(start, start + payload), to);
      to += payload;
    }
    page += pages;
    buffer = joined;
    at = 0;
    if (skip > 0) {
      at = skip;
      skip = 0;
    }
  }
  return {
    /** The next bytes; valid until the next call. */
    take(length: number): Uint8Array {
      while (buffer.length - at < length) more();
      at += length;
      return buffer.subarray(at - length, at);
    },
  };
}

/** CRC-32C (Castagnoli 1993), reflected, as RFC 3720 has it; eight bytes at a time (Intel's slicing-by-8). */
const CRC_TABLES = (() => {
  const tables = Array.from({ length: 8 }, () => new Uint32Array(256));
  for (let n = 0; n < 256; n++) {
    let c = n;
    for (let k = 0; k < 8; k++) c = c & 1 ? (c >>> 1) ^ 0x82f63b78 : c >>> 1;
    tables[0]![n] = c;
  }
  for (let n = 0; n < 256; n++)
    for (let t = 1; t < 8; t++)
      tables[t]![n] = (tables[t - 1]![n]! >>> 8) ^ tables[0]![tables[t - 1]![n]! & 255]!;
  return tables as [
    Uint32Array,
    Uint32Array,
    Uint32Array,
    Uint32Array,
    Uint32Array,
    Uint32Array,
    Uint32Array,
    Uint32Array,
  ];
})();

export function crc32c(bytes: Uint8Array, from: number, to: number): number {
  const [t0, t1, t2, t3, t4, t5, t6, t7] = CRC_TABLES;
  let c = 0xffffffff;
  let i = from;
  for (; i + 8 <= to; i += 8) {
    c ^= bytes[i]! | (bytes[i + 1]! << 8) | (bytes[i + 2]! << 16) | (bytes[i + 3]! << 24);
    c =
      t7[c & 255]! ^
      t6[(c >>> 8) & 255]! ^
      t5[(c >>> 16) & 255]! ^
      t4[c >>> 24]! ^
      t3[bytes[i + 4]!]! ^
      t2[bytes[i + 5]!]! ^
      t1[bytes[i + 6]!]! ^
      t0[bytes[i + 7]!]!;
  }
  for (; i < to; i++) c = (c >>> 8) ^ t0[(c ^ bytes[i]!) & 255]!;
  return (c ^ 0xffffffff) >>> 0;
}

/** Values of one field as they come out of the packets. */
interface Stream {
  readonly field: Field;
  /** Bytes not used up yet, and the bit of the first that is next. */
  bytes: Uint8Array;
  bit: number;
  values: Float64Array;
  count: number;
}

/** Reads the points of every scan; `onProgress` is told points done of all. */
export function readE57(
  file: string,
  size: number,
  opened: E57File,
  read: ReadAt,
  sink: PointSink,
  onProgress: (done: number, total: number) => void,
): CloudTally {
  const tally = emptyTally();
  const batch = batcher(sink, tally);
  const total = opened.scans.reduce((sum, scan) => sum + scan.points, 0);
  let before = 0;
  for (const scan of opened.scans) {
    if (scan.points > 0) readScan(scan);
    before += scan.points;
  }
  return tally;

  function readScan(scan: E57Scan): void {
    const wrong = (found: string, expected: string) =>
      cloudError(file, { byte: scan.at }, `${found} in "${scan.name}"`, expected);
    const head = pagesReader(file, size, opened.pageSize, read, scan.at).take(32);
    const view = new DataView(head.buffer, head.byteOffset, 32);
    const data = u64(view, 16);
    if (head[0] !== 1) throw wrong(`a section of kind ${head[0]}`, 'a section of points (kind 1)');
    if (!(data > scan.at && data < size)) throw wrong(`points at byte ${data}`, 'a byte inside the file');
    const logical = pagesReader(file, size, opened.pageSize, read, data);
    const wanted = scan.spherical ? SPHERICAL : CARTESIAN;
    const invalid = scan.spherical ? 'sphericalInvalidState' : 'cartesianInvalidState';
    const streams = scan.fields.map((field): Stream | null =>
      wanted.includes(field.name) || field.name === invalid
        ? { field, bytes: new Uint8Array(0), bit: 0, values: new Float64Array(2 * BATCH), count: 0 }
        : null,
    );
    const [first, second, third] = wanted.map((name) => streams.find((s) => s?.field.name === name)!) as [
      Stream,
      Stream,
      Stream,
    ];
    const state = streams.find((s) => s?.field.name === invalid) ?? null;
    const used = [first, second, third, ...(state === null ? [] : [state])];
    let done = 0;
    while (done < scan.points) {
      const ready = () =>
        Math.min(scan.points - done, ...used.map((s) => (s.field.bits === 0 ? scan.points : s.count)));
      while (ready() === 0) packet();
      emit(ready());
    }

    function packet(): void {
      const start = logical.take(4);
      const [kind, length] = [start[0]!, (start[2]! | (start[3]! << 8)) + 1];
      if (length < 4 || kind > 2)
        throw wrong(`a packet of kind ${kind}`, `data for ${scan.points} points (${done} read)`);
      if (kind !== 1) {
        logical.take(length - 4);
        return;
      }
      const rest = logical.take(length - 4);
      const many = rest[0]! | (rest[1]! << 8);
      if (many !== streams.length)
        throw wrong(`a packet of ${many} streams`, `${streams.length}, one for each field`);
      let at = 2 + 2 * many;
      for (let k = 0; k < many; k++) {
        const size = rest[2 + 2 * k]! | (rest[3 + 2 * k]! << 8);
        if (at + size > rest.length) throw wrong('a stream longer than its packet', 'streams that fit');
        const stream = streams[k];
        if (stream != null && size > 0) unpack(stream, rest.subarray(at, at + size));
        at += size;
      }
    }

    function emit(many: number): void {
      let at = 0;
      while (at < many) {
        let kept = 0;
        const end = Math.min(many, at + BATCH);
        for (; at < end; at++) {
          if (state !== null && valueAt(state, at) !== 0) {
            tally.withheld++;
            continue;
          }
          let [x, y, z] = [valueAt(first, at), valueAt(second, at), valueAt(third, at)];
          if (scan.spherical) {
            const flat = x * Math.cos(z);
            [x, y, z] = [flat * Math.cos(y), flat * Math.sin(y), x * Math.sin(z)];
          }
          const [a, b, c] = scan.rotation as [
            [number, number, number],
            [number, number, number],
            [number, number, number],
          ];
          batch.x[kept] = a[0] * x + a[1] * y + a[2] * z + scan.shift[0];
          batch.y[kept] = b[0] * x + b[1] * y + b[2] * z + scan.shift[1];
          batch.z[kept] = c[0] * x + c[1] * y + c[2] * z + scan.shift[2];
          kept++;
        }
        batch.handOver(kept);
      }
      for (const stream of used) {
        if (stream.field.bits === 0) continue;
        stream.values.copyWithin(0, many, stream.count);
        stream.count -= many;
      }
      done += many;
      onProgress(before + done, total);
    }
  }
}

function valueAt({ field, values }: Stream, i: number): number {
  return field.bits === 0 ? field.least * field.scale + field.offset : values[i]!;
}

/** Adds the values that bytes of a packet complete to a stream; what is left over waits for the next packet. */
function unpack(stream: Stream, fresh: Uint8Array): void {
  const { field } = stream;
  if (field.bits === 0) return;
  const bytes = new Uint8Array(stream.bytes.length + fresh.length);
  bytes.set(stream.bytes);
  bytes.set(fresh, stream.bytes.length);
  const many = Math.floor((8 * bytes.length - stream.bit) / field.bits);
  if (stream.count + many > stream.values.length) {
    const grown = new Float64Array(2 * (stream.count + many));
    grown.set(stream.values.subarray(0, stream.count));
    stream.values = grown;
  }
  const { values } = stream;
  let bit = stream.bit;
  if (field.kind === 'float') {
    const view = new DataView(bytes.buffer);
    for (let i = 0; i < many; i++, bit += field.bits)
      values[stream.count + i] =
        field.bits === 32 ? view.getFloat32(bit >> 3, true) : view.getFloat64(bit >> 3, true);
  } else {
    const { bits, least, scale, offset } = field;
    for (let i = 0; i < many; i++, bit += bits) {
      // Least significant bits first, byte after byte; exact to 53 bits, the rest of a double's care.
      let raw = 0;
      let place = 1;
      for (let left = bits, at = bit; left > 0; ) {
        const inByte = at & 7;
        const n = Math.min(8 - inByte, left);
        raw += place * ((bytes[at >> 3]! >> inByte) & ((1 << n) - 1));
        place *= 2 ** n;
        at += n;
        left -= n;
      }
      values[stream.count + i] = (least + raw) * scale + offset;
    }
  }
  stream.count += many;
  stream.bytes = bytes.slice(bit >> 3);
  stream.bit = bit & 7;
}
