import { BATCH, batcher, type CloudReader, cloudError, emptyTally, type PointSink } from './cloud.ts';
import { splitRecords } from './records.ts';

/**
 * Reader of ASPRS LAS 1.0 to 1.4, point formats 0-10, uncompressed. Only coordinates and the
 * withheld and noise marks are read. The unit is not in the header (only, sometimes, in a coordinate
 * system record), so it is asked for elsewhere.
 * Source: ASPRS, "LAS Specification 1.4 - R15" and its predecessors 1.2 and 1.3 (from memory of the documents).
 */
export interface LasHeader {
  readonly version: string;
  /** Point data record format without the compression bit. */
  readonly format: number;
  readonly compressed: boolean;
  readonly recordLength: number;
  readonly points: number;
  /** Byte of the first point. */
  readonly dataAt: number;
  readonly scale: readonly [number, number, number];
  readonly offset: readonly [number, number, number];
  /** [min x, max x, min y, max y, min z, max z]; null where the writer left them all zero. */
  readonly bounds: readonly [number, number, number, number, number, number] | null;
  /** Byte of the first extended record after the points, 0 where there is none. */
  readonly extendedAt: number;
}

/** Bytes of one point by format, before extra bytes. */
const POINT_SIZE: Record<number, number> = {
  0: 20,
  1: 28,
  2: 26,
  3: 34,
  4: 57,
  5: 63,
  6: 30,
  7: 36,
  8: 38,
  9: 59,
  10: 67,
};
/** Formats with waveforms: read where they are not packed. */
const WAVEFORM = new Set([4, 5, 9, 10]);
const HEADER_SIZE: Record<number, number> = { 0: 227, 1: 227, 2: 227, 3: 235, 4: 375 };

/**
 * Parses and checks the public header; null when `start` is still too short.
 * @param fileSize bytes of the whole file, against which offsets and counts are checked
 */
export function parseLasHeader(start: Uint8Array, file: string, fileSize: number): LasHeader | null {
  if (start.length >= 4 && String.fromCharCode(...start.subarray(0, 4)) !== 'LASF') {
    throw cloudError(file, { byte: 0 }, 'a file that does not begin with "LASF"', 'a LAS file');
  }
  if (start.length < Math.min(375, fileSize)) return null;
  if (start.length < 227) {
    throw cloudError(
      file,
      { byte: start.length },
      'the end of the file inside the header',
      'a header of at least 227 bytes',
    );
  }
  const view = new DataView(start.buffer, start.byteOffset, start.byteLength);
  const [major, minor] = [view.getUint8(24), view.getUint8(25)];
  const least = HEADER_SIZE[minor];
  if (major !== 1 || least === undefined) {
    throw cloudError(file, { byte: 24 }, `LAS version ${major}.${minor}`, 'version 1.0 to 1.4');
  }
  const headerSize = view.getUint16(94, true);
  if (headerSize < least || headerSize > fileSize) {
    throw cloudError(
      file,
      { byte: 94 },
      `a header size of ${headerSize}`,
      `at least ${least} for LAS 1.${minor}, inside the file`,
    );
  }
  const dataAt = view.getUint32(96, true);
  if (dataAt < headerSize || dataAt > fileSize) {
    throw cloudError(
      file,
      { byte: 96 },
      `points starting at byte ${dataAt}`,
      `a byte between the end of the header (${headerSize}) and the end of the file (${fileSize})`,
    );
  }
  const rawFormat = view.getUint8(104);
  const compressed = (rawFormat & 0x80) !== 0;
  const format = rawFormat & 0x3f;
  const size = POINT_SIZE[format];
  if (size === undefined)
    throw cloudError(file, { byte: 104 }, `point format ${format}`, 'point format 0-10');
  if (compressed && WAVEFORM.has(format)) {
    throw cloudError(
      file,
      { byte: 104 },
      `packed points of format ${format} (with waveforms)`,
      'packed points of format 0-3 or 6-8; export as LAS, or without waveforms',
    );
  }
  const recordLength = view.getUint16(105, true);
  if (recordLength < size) {
    throw cloudError(
      file,
      { byte: 105 },
      `points of ${recordLength} bytes`,
      `at least ${size} for point format ${format}`,
    );
  }
  const legacy = view.getUint32(107, true);
  let points = legacy;
  let extendedAt = 0;
  if (minor === 4) {
    points = safeCount(view, 247, file);
    extendedAt = safeCount(view, 235, file);
    // The old field holds the same count, or 0 where it cannot (formats 6 and up, or too many points).
    if (legacy !== 0 && legacy !== points) {
      throw cloudError(
        file,
        { byte: 247 },
        `${points} points`,
        `the same as the old count field (byte 107), ${legacy}`,
      );
    }
  }
  const triple = (at: number) =>
    [view.getFloat64(at, true), view.getFloat64(at + 8, true), view.getFloat64(at + 16, true)] as const;
  const scale = triple(131);
  const offset = triple(155);
  scale.forEach((s, i) => {
    if (!Number.isFinite(s) || s === 0) {
      throw cloudError(file, { byte: 131 + 8 * i }, `a scale factor of ${s}`, 'a finite number other than 0');
    }
  });
  offset.forEach((o, i) => {
    if (!Number.isFinite(o))
      throw cloudError(file, { byte: 155 + 8 * i }, `an offset of ${o}`, 'a finite number');
  });
  const stored = [179, 187, 195, 203, 211, 219].map((at) => view.getFloat64(at, true));
  const bounds: [number, number, number, number, number, number] = [
    stored[1]!,
    stored[0]!,
    stored[3]!,
    stored[2]!,
    stored[5]!,
    stored[4]!,
  ];
  for (const axis of [0, 1, 2]) {
    const [low, high] = [bounds[2 * axis]!, bounds[2 * axis + 1]!];
    if (!(low <= high) || !Number.isFinite(low) || !Number.isFinite(high)) {
      throw cloudError(
        file,
        { byte: 179 + 16 * axis },
        `bounds of ${'xyz'[axis]} from ${low} to ${high}`,
        'finite numbers, the least not above the greatest',
      );
    }
  }
  if (!compressed) {
    const room = Math.floor((fileSize - dataAt) / recordLength);
    if (points > room) {
      throw cloudError(
        file,
        { byte: minor === 4 ? 247 : 107 },
        `${points} points of ${recordLength} bytes`,
        `at most ${room}, which is what fits between byte ${dataAt} and the end of the file (${fileSize})`,
      );
    }
    const end = dataAt + points * recordLength;
    if (extendedAt > 0 && (extendedAt < end || extendedAt > fileSize)) {
      throw cloudError(
        file,
        { byte: 235 },
        `extended records at byte ${extendedAt}`,
        `a byte from ${end} to ${fileSize}`,
      );
    }
    // Waveform packets (1.3) and extended records (1.4) may follow; otherwise nothing does.
    const waveform = minor >= 3 ? safeCount(view, 227, file) : 0;
    if (extendedAt === 0 && waveform === 0 && fileSize - end >= recordLength) {
      throw cloudError(
        file,
        { byte: minor === 4 ? 247 : 107 },
        `${points} points of ${recordLength} bytes`,
        `${room}: the file goes on for ${fileSize - end} bytes after the last point`,
      );
    }
  }
  const empty = bounds.every((b) => b === 0);
  return {
    version: `1.${minor}`,
    format,
    compressed,
    recordLength,
    points,
    dataAt,
    scale,
    offset,
    bounds: empty ? null : bounds,
    extendedAt,
  };
}

function safeCount(view: DataView, at: number, file: string): number {
  const value = view.getBigUint64(at, true);
  if (value > BigInt(Number.MAX_SAFE_INTEGER)) {
    throw cloudError(file, { byte: at }, `${value}`, 'a count or byte that fits the file');
  }
  return Number(value);
}

/**
 * Turns LAS point records (raw or unpacked from LAZ) into points: scaled, marked ones left out, every
 * point checked against the bounds of the header.
 * @param staleBounds count points outside the bounds instead
 * @param byteOf byte of the file a record starts at, for messages (null where it was compressed)
 */
export function lasDecoder(
  header: LasHeader,
  file: string,
  sink: PointSink,
  byteOf: ((record: number) => number) | null,
  staleBounds = false,
) {
  const tally = emptyTally();
  const batch = batcher(sink, tally);
  const { x, y, z } = batch;
  const [sx, sy, sz] = header.scale;
  const [ox, oy, oz] = header.offset;
  const stride = header.recordLength;
  const modern = header.format >= 6;
  // The first version had neither the withheld bit nor the noise class: its byte is one number.
  const marked = header.version !== '1.0';
  const markAt = 15;
  const classAt = modern ? 16 : 15;
  // One scale step of slack: writers round the bounds as they round the points.
  const [ax, ay, az] = [Math.abs(sx), Math.abs(sy), Math.abs(sz)];
  const b = header.bounds;
  const low = b === null ? null : ([b[0] - ax, b[2] - ay, b[4] - az] as const);
  const high = b === null ? null : ([b[1] + ax, b[3] + ay, b[5] + az] as const);
  let before = 0;

  function outside(record: number, px: number, py: number, pz: number): never {
    const at = byteOf === null ? {} : { byte: byteOf(record) };
    throw cloudError(
      file,
      at,
      `point ${record + 1} at ${px}, ${py}, ${pz}`,
      `a point inside the header's bounds, x ${b![0]} to ${b![1]}, y ${b![2]} to ${b![3]}, z ${b![4]} to ${b![5]}` +
        ' (the file is damaged, or its header is that of a larger or smaller cloud: where that is known, --stale-bounds takes the points)',
    );
  }

  function decode(view: DataView, offset: number, count: number): void {
    let p = offset;
    for (let left = count; left > 0; ) {
      const n = Math.min(left, BATCH);
      let kept = 0;
      for (let i = 0; i < n; i++, p += stride) {
        const px = view.getInt32(p, true) * sx + ox;
        const py = view.getInt32(p + 4, true) * sy + oy;
        const pz = view.getInt32(p + 8, true) * sz + oz;
        if (
          low !== null &&
          !(
            px >= low[0] &&
            px <= high![0] &&
            py >= low[1] &&
            py <= high![1] &&
            pz >= low[2] &&
            pz <= high![2]
          )
        ) {
          if (!staleBounds) outside(before + i, px, py, pz);
          tally.outside++;
        }
        const mark = view.getUint8(p + markAt);
        const kind = modern ? view.getUint8(p + classAt) : mark & 0x1f;
        const withheld = modern ? (mark & 4) !== 0 : (mark & 0x80) !== 0;
        if (marked && (withheld || kind === 7 || (modern && kind === 18))) {
          tally.withheld++;
          continue;
        }
        x[kept] = px;
        y[kept] = py;
        z[kept] = pz;
        kept++;
      }
      before += n;
      batch.handOver(kept);
      left -= n;
    }
  }
  /** What is decoded next begins with this record of the file; the tally begins anew. */
  function startAt(record: number): void {
    before = record;
    Object.assign(tally, emptyTally());
  }
  return { decode, tally, startAt, decoded: () => before };
}

/** A reader of uncompressed LAS; `fileSize` in bytes, `file` for messages. */
export function lasReader(file: string, fileSize: number, sink: PointSink, staleBounds = false): CloudReader {
  let start = new Uint8Array(0);
  let skip = 0;
  let header: LasHeader | null = null;
  let records: ReturnType<typeof splitRecords> | null = null;
  let decoder: ReturnType<typeof lasDecoder> | null = null;

  return {
    push(chunk) {
      let data = chunk;
      if (header === null) {
        const joined = new Uint8Array(start.length + chunk.length);
        joined.set(start, 0);
        joined.set(chunk, start.length);
        start = joined;
        header = parseLasHeader(joined, file, fileSize);
        if (header === null) return;
        if (header.compressed) {
          throw cloudError(
            file,
            { byte: 104 },
            'compressed points (LAZ)',
            'uncompressed points in a file named .las; name it .laz',
          );
        }
        const known = header;
        decoder = lasDecoder(
          known,
          file,
          sink,
          (record) => known.dataAt + record * known.recordLength,
          staleBounds,
        );
        records = splitRecords(known.recordLength, known.points, decoder.decode);
        skip = known.dataAt;
        data = joined;
      }
      const from = Math.min(skip, data.length);
      skip -= from;
      records!.push(from === 0 ? data : data.subarray(from));
    },
    end() {
      if (header === null) {
        throw cloudError(
          file,
          { byte: start.length },
          'the end of the file inside the header',
          'a header of at least 227 bytes',
        );
      }
      const { done, carried } = records!.state();
      if (done < header.points) {
        throw cloudError(
          file,
          { byte: header.dataAt + done * header.recordLength + carried },
          `the end of the file after ${done} points`,
          `${header.points} points, as the header says`,
        );
      }
      return decoder!.tally;
    },
  };
}
