import {
  BATCH,
  batcher,
  type CloudReader,
  type CloudTally,
  cloudError,
  emptyTally,
  type PointSink,
} from './cloud.ts';
import { splitRecords } from './records.ts';
import { textRows } from './text-rows.ts';

/**
 * Reader of PLY (the Stanford polygon file format, version 1.0): ascii, binary little and big endian.
 * Vertices may have any properties in any order; only x, y and z are read. Elements that come before the
 * vertices are skipped when their size is fixed; elements after them are not looked at.
 * Source: G. Turk, "The PLY Polygon File Format" (from memory of the document).
 */

type Scalar = 'char' | 'uchar' | 'short' | 'ushort' | 'int' | 'uint' | 'float' | 'double';

const SCALARS: Record<string, Scalar> = {
  char: 'char',
  int8: 'char',
  uchar: 'uchar',
  uint8: 'uchar',
  short: 'short',
  int16: 'short',
  ushort: 'ushort',
  uint16: 'ushort',
  int: 'int',
  int32: 'int',
  uint: 'uint',
  uint32: 'uint',
  float: 'float',
  float32: 'float',
  double: 'double',
  float64: 'double',
};
const SIZES: Record<Scalar, number> = {
  char: 1,
  uchar: 1,
  short: 2,
  ushort: 2,
  int: 4,
  uint: 4,
  float: 4,
  double: 8,
};

interface Property {
  readonly name: string;
  readonly type: Scalar;
  readonly offset: number;
}
interface Element {
  readonly name: string;
  readonly count: number;
  readonly line: number;
  readonly properties: Property[];
  hasList: boolean;
  size: number;
}
interface PlyHeader {
  readonly format: 'ascii' | 'binary_little_endian' | 'binary_big_endian';
  readonly vertices: number;
  /** Elements in declared order. */
  readonly elements: readonly Element[];
  /** Bytes and text lines up to and including `end_header`. */
  readonly bytes: number;
  readonly lines: number;
}

/** Longest header accepted; real ones are a few hundred bytes. */
const HEADER_LIMIT = 65536;

/** Parses the header, given as the first bytes of the file; null when `end_header` has not come yet. */
function parsePlyHeader(start: Uint8Array, file: string): PlyHeader | null {
  if (start.length >= 3 && !(start[0] === 0x70 && start[1] === 0x6c && start[2] === 0x79)) {
    throw cloudError(file, { byte: 0 }, 'a file that does not begin with "ply"', 'the first line "ply"');
  }
  let text = '';
  const bytes = Math.min(start.length, HEADER_LIMIT);
  for (let i = 0; i < bytes; i++) text += String.fromCharCode(start[i]!);
  // CR alone is the line ending of some old writers; CR LF of others.
  const match = /(?:^|[\r\n])end_header[ \t]*(\r\n|\r|\n)/.exec(text);
  if (match === null || (match[1] === '\r' && match.index + match[0].length === text.length)) {
    if (start.length < HEADER_LIMIT) return null;
    throw cloudError(
      file,
      { byte: HEADER_LIMIT },
      'no "end_header" so far',
      'a PLY header that ends with "end_header"',
    );
  }
  const end = match.index + match[0].length;
  const lines = text.slice(0, end).split(/\r\n|\r|\n/);
  let format: PlyHeader['format'] | null = null;
  const elements: Element[] = [];
  lines.forEach((raw, i) => {
    const line = i + 1;
    const words = raw.trim().split(/\s+/);
    if (words[0] === 'format') {
      if (!/^(ascii|binary_little_endian|binary_big_endian)$/.test(words[1] ?? '') || words[2] !== '1.0') {
        throw cloudError(
          file,
          { line },
          `"${raw}"`,
          'format ascii, binary_little_endian or binary_big_endian, version 1.0',
        );
      }
      format = words[1] as PlyHeader['format'];
    } else if (words[0] === 'element') {
      const count = Number(words[2]);
      if (words.length !== 3 || !/^\d+$/.test(words[2] ?? '') || !Number.isSafeInteger(count)) {
        throw cloudError(file, { line }, `"${raw}"`, 'element NAME COUNT, with a whole number');
      }
      elements.push({ name: words[1]!, count, line, properties: [], hasList: false, size: 0 });
    } else if (words[0] === 'property') {
      const element = elements.at(-1);
      if (element === undefined)
        throw cloudError(file, { line }, `"${raw}"`, 'an element before its properties');
      if (words[1] === 'list') {
        element.hasList = true;
        return;
      }
      // Names such as __proto__ are not types, whatever an object answers to them.
      const name = words[1] ?? '';
      const type = Object.hasOwn(SCALARS, name) ? SCALARS[name] : undefined;
      if (type === undefined || words.length !== 3) {
        throw cloudError(
          file,
          { line },
          `"${raw}"`,
          'property TYPE NAME with a PLY type such as float or double',
        );
      }
      element.properties.push({ name: words[2]!, type, offset: element.size });
      element.size += SIZES[type];
    }
  });
  if (format === null)
    throw cloudError(file, { line: 2 }, 'no "format" line', 'format ascii or binary, version 1.0');
  const vertex = elements.find((e) => e.name === 'vertex');
  if (vertex === undefined)
    throw cloudError(file, { line: lines.length }, 'no vertex element', 'element vertex COUNT');
  if (vertex.hasList) {
    throw cloudError(
      file,
      { line: vertex.line },
      'vertices with a list property',
      'vertices of fixed size (re-export without lists)',
    );
  }
  for (const axis of ['x', 'y', 'z']) {
    if (!vertex.properties.some((p) => p.name === axis)) {
      throw cloudError(file, { line: vertex.line }, `vertices without "${axis}"`, 'properties x, y and z');
    }
  }
  const list = elements.slice(0, elements.indexOf(vertex)).find((e) => e.hasList);
  if (list !== undefined) {
    throw cloudError(
      file,
      { line: list.line },
      `a list element "${list.name}" before the vertices`,
      'the vertices first',
    );
  }
  return { format, vertices: vertex.count, elements, bytes: end, lines: lines.length - 1 };
}

/** A reader of PLY files; `file` is used in messages only. */
export function plyReader(file: string, sink: PointSink): CloudReader {
  const tally = emptyTally();
  let start: Uint8Array | null = new Uint8Array(0);
  let body: { push(chunk: Uint8Array): void; end(): void } | null = null;

  return {
    push(chunk) {
      if (body !== null) {
        body.push(chunk);
        return;
      }
      const joined = new Uint8Array(start!.length + chunk.length);
      joined.set(start!, 0);
      joined.set(chunk, start!.length);
      const header = parsePlyHeader(joined, file);
      if (header === null) {
        start = joined;
        return;
      }
      start = null;
      body =
        header.format === 'ascii'
          ? asciiBody(header, file, sink, tally)
          : binaryBody(header, file, sink, tally);
      body.push(joined.subarray(header.bytes));
    },
    end() {
      if (body === null) {
        throw cloudError(
          file,
          { byte: start!.length },
          'the end of the file inside the header',
          '"end_header"',
        );
      }
      body.end();
      return tally;
    },
  };
}

type Getter = (view: DataView, at: number, little: boolean) => number;
const GETTERS: Record<Scalar, Getter> = {
  char: (v, at) => v.getInt8(at),
  uchar: (v, at) => v.getUint8(at),
  short: (v, at, le) => v.getInt16(at, le),
  ushort: (v, at, le) => v.getUint16(at, le),
  int: (v, at, le) => v.getInt32(at, le),
  uint: (v, at, le) => v.getUint32(at, le),
  float: (v, at, le) => v.getFloat32(at, le),
  double: (v, at, le) => v.getFloat64(at, le),
};

function binaryBody(header: PlyHeader, file: string, sink: PointSink, tally: CloudTally) {
  const little = header.format === 'binary_little_endian';
  const at = header.elements.findIndex((e) => e.name === 'vertex');
  const vertex = header.elements[at]!;
  let skip = header.elements.slice(0, at).reduce((sum, e) => sum + e.count * e.size, 0);
  const first = header.bytes + skip;
  const isLast = at === header.elements.length - 1;
  const [px, py, pz] = ['x', 'y', 'z'].map((n) => vertex.properties.find((p) => p.name === n)!);
  const stride = vertex.size;
  const batch = batcher(sink, tally);
  const { x, y, z } = batch;
  const [ox, oy, oz] = [px!.offset, py!.offset, pz!.offset];
  const sameType = px!.type === py!.type && py!.type === pz!.type ? px!.type : null;
  const [gx, gy, gz] = [GETTERS[px!.type], GETTERS[py!.type], GETTERS[pz!.type]];

  const records = splitRecords(stride, header.vertices, (view, offset, count) => {
    let p = offset;
    for (let left = count; left > 0; ) {
      const n = Math.min(left, BATCH);
      if (sameType === 'float' && little) {
        // The usual case, with the byte order fixed in the code: somewhat faster than asking for each number.
        for (let i = 0; i < n; i++, p += stride) {
          x[i] = view.getFloat32(p + ox, true);
          y[i] = view.getFloat32(p + oy, true);
          z[i] = view.getFloat32(p + oz, true);
        }
      } else if (sameType === 'float') {
        for (let i = 0; i < n; i++, p += stride) {
          x[i] = view.getFloat32(p + ox, little);
          y[i] = view.getFloat32(p + oy, little);
          z[i] = view.getFloat32(p + oz, little);
        }
      } else if (sameType === 'double') {
        for (let i = 0; i < n; i++, p += stride) {
          x[i] = view.getFloat64(p + ox, little);
          y[i] = view.getFloat64(p + oy, little);
          z[i] = view.getFloat64(p + oz, little);
        }
      } else {
        for (let i = 0; i < n; i++, p += stride) {
          x[i] = gx(view, p + ox, little);
          y[i] = gy(view, p + oy, little);
          z[i] = gz(view, p + oz, little);
        }
      }
      batch.handOver(n);
      left -= n;
    }
  });

  return {
    push(chunk: Uint8Array): void {
      let from = 0;
      if (skip > 0) {
        from = Math.min(skip, chunk.length);
        skip -= from;
      }
      records.push(from === 0 ? chunk : chunk.subarray(from));
    },
    end(): void {
      const { done, carried, surplus } = records.state();
      if (done < header.vertices) {
        throw cloudError(
          file,
          { byte: first + done * stride + carried },
          `the end of the file after ${done} vertices`,
          `${header.vertices} vertices of ${stride} bytes, as the header says`,
        );
      }
      if (isLast && surplus > 0) {
        throw cloudError(
          file,
          { byte: first + done * stride },
          `${surplus} bytes after the last vertex`,
          `the end of the file after ${header.vertices} vertices of ${stride} bytes, as the header says`,
        );
      }
    },
  };
}

function asciiBody(header: PlyHeader, file: string, sink: PointSink, tally: CloudTally) {
  const at = header.elements.findIndex((e) => e.name === 'vertex');
  const vertex = header.elements[at]!;
  let skip = header.elements.slice(0, at).reduce((sum, e) => sum + e.count, 0);
  const isLast = at === header.elements.length - 1;
  const columns = ['x', 'y', 'z'].map((n) => vertex.properties.findIndex((p) => p.name === n));
  const [cx, cy, cz] = columns as [number, number, number];
  const batch = batcher(sink, tally);
  let filled = 0;
  let done = 0;
  const rows = textRows(
    (values, count, line) => {
      if (count === 0) return;
      if (skip > 0) {
        skip--;
        return;
      }
      if (done >= header.vertices) {
        if (!isLast) return;
        throw cloudError(
          file,
          { line },
          'another row after the last vertex',
          `${header.vertices} vertices, as the header says`,
        );
      }
      if (count < vertex.properties.length) {
        throw cloudError(
          file,
          { line },
          `${count} values`,
          `${vertex.properties.length} values, as the header says`,
        );
      }
      batch.x[filled] = values[cx]!;
      batch.y[filled] = values[cy]!;
      batch.z[filled] = values[cz]!;
      filled++;
      done++;
      if (filled === BATCH) {
        batch.handOver(filled);
        filled = 0;
      }
    },
    file,
    header.lines,
  );
  return {
    push: rows.push,
    end(): void {
      rows.end();
      batch.handOver(filled);
      if (done < header.vertices) {
        throw cloudError(
          file,
          { line: rows.line() },
          `the end of the file after ${done} vertices`,
          `${header.vertices} vertices, as the header says`,
        );
      }
    },
  };
}
