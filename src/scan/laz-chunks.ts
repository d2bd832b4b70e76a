import { cloudError } from './cloud.ts';
import { type LazChunk, readChunkTable } from './laz-table.ts';
import type { LasHeader } from './read-las.ts';

/** Bytes of a variable length record before its content. */
const RECORD_HEADER = 54;
const COMPRESSION_RECORD = 22204;
/** Chunk size of a file whose chunks differ in length. */
const VARIABLE = 0xffffffff;
/** The ways of packing: point formats 0 to 3 point by point, 6 to 10 every part of a point in a layer of its own. */
const CHUNKED = 2;
const LAYERED = 3;
/** Bytes of a row of the chunk table at the most, and bytes of records before the points. */
const MOST_A_ROW = 16;
const MOST_BEFORE = 2 ** 28;

/**
 * Points a chunk may have: the usual number is 50,000, and an unpacker takes memory for a whole chunk. Common practice, no
 * source.
 */
const MOST_IN_CHUNK = 10_000_000;
/**
 * Bits the packing of a point takes at the least. An arithmetic coder of this kind spends about 0.001 bit on a symbol it
 * is sure of and codes a handful a point, so 800 points a byte is more than any steel scanned; a count beyond is a lie
 * that would keep the unpacker making points up for hours. From memory of the method.
 */
const MOST_A_BYTE = 800;

/** Gives `count` bytes of the file from byte `from` on; fewer only where the file ends. */
export type BytesAt = (from: number, count: number) => Uint8Array;

/** Where the packed points are. */
export interface LazPlan {
  /** One behind the other from byte `at` on. */
  readonly chunks: readonly LazChunk[];
  readonly at: number;
  /** Layers every chunk is packed in; 0 where whole points are packed. */
  readonly layers: number;
}

/**
 * Finds the chunks of a LAZ file, and holds the point count of its header against the table behind the points, which says
 * how many chunks of how many points were packed: an unpacker would make up points for a count too high, and leave out steel
 * for one too low. Where chunks are of one size, a count off by less than the last of them cannot be told this way.
 * Source: "LASzip: lossless compression of LiDAR data" and the LASzip specification (from memory of the documents).
 * @param size bytes of the whole file
 */
export function planLaz(bytesAt: BytesAt, header: LasHeader, file: string, size: number): LazPlan {
  if (header.dataAt > MOST_BEFORE) {
    throw cloudError(
      file,
      { byte: 96 },
      `points starting at byte ${header.dataAt}`,
      `at most ${MOST_BEFORE} bytes of records before them; save it again, or as LAS`,
    );
  }
  const view = viewOf(bytesAt(0, header.dataAt + 8));
  const record = compressionRecord(view);
  if (record === null) {
    throw cloudError(
      file,
      { byte: view.getUint16(94, true) },
      'no record that says how the points are packed',
      `a record "laszip encoded" ${COMPRESSION_RECORD} before the points`,
    );
  }
  const [compressor, chunkSize] = [view.getUint16(record, true), view.getUint32(record + 12, true)];
  const countAt = header.version === '1.4' ? 247 : 107;
  const most = Math.max(0, size - header.dataAt) * MOST_A_BYTE;
  if (header.points > most) {
    throw cloudError(
      file,
      { byte: countAt },
      `${header.points} points in ${size - header.dataAt} packed bytes`,
      `at most ${most}, which is more than so few bytes can hold`,
    );
  }
  const tooLarge = (points: number) =>
    cloudError(
      file,
      { byte: record + 12 },
      `chunks of ${points} points`,
      `chunks of ${points === 0 ? 'at least 1' : `at most ${MOST_IN_CHUNK}`}; save it again, or as LAS`,
    );
  if (chunkSize !== VARIABLE && chunkSize > MOST_IN_CHUNK) throw tooLarge(chunkSize);
  if (compressor === 1) {
    throw cloudError(
      file,
      { byte: record },
      'points packed one after the other, the first way of LASzip (before 2011)',
      'points packed in chunks; any LASzip of today reads this file and writes it again so, or as LAS',
    );
  }
  const items = packedItems(view, record);
  const length = items.reduce((sum, { size }) => sum + size, 0);
  if (length !== header.recordLength) {
    throw cloudError(
      file,
      { byte: 105 },
      `points of ${header.recordLength} bytes`,
      `what the compression record says: ${length} bytes`,
    );
  }
  const layered = header.format >= 6;
  const parts = items.flatMap(({ type }) => (EXTRA.has(type) ? [] : [type])).join();
  if (compressor !== (layered ? LAYERED : CHUNKED) || parts !== PARTS[header.format]!.join()) {
    throw cloudError(
      file,
      { byte: record },
      `points of format ${header.format} packed in the way ${compressor}, in parts ${parts}`,
      `the way ${layered ? LAYERED : CHUNKED}, in parts ${PARTS[header.format]!.join()}; save it again, or as LAS`,
    );
  }
  const at = header.dataAt + 8;
  const layers = layered ? items.reduce((sum, { type, size }) => sum + (LAYERS[type] ?? size), 0) : 0;
  if (header.points === 0) return { chunks: [], at, layers };
  if (chunkSize === 0) throw tooLarge(0);
  if (at > size) {
    throw cloudError(file, { byte: size }, 'the end of the file', 'packed points');
  }
  const stated = view.getBigInt64(header.dataAt, true);
  // A writer that could not go back leaves -1 here and puts the place at the very end.
  const table = Number(stated === -1n ? viewOf(bytesAt(size - 8, 8)).getBigInt64(0, true) : stated);
  if (!(table >= at && table + 8 <= size)) {
    throw cloudError(
      file,
      { byte: header.dataAt },
      `a chunk table at byte ${table}`,
      `a byte between the points (${at}) and the end of the file (${size}); it may be cut short`,
    );
  }
  const count = viewOf(bytesAt(table, 8)).getUint32(4, true);
  const fixed = chunkSize !== VARIABLE;
  if (fixed && (header.points > count * chunkSize || header.points <= (count - 1) * chunkSize)) {
    throw cloudError(
      file,
      { byte: countAt },
      `${header.points} points`,
      `${(count - 1) * chunkSize + 1} to ${count * chunkSize}: the file holds ${count} chunks of ${chunkSize}`,
    );
  }
  const room = table - at;
  const damaged = (found: string, expected: string) => cloudError(file, { byte: table }, found, expected);
  // Each begins with a point as it is.
  if (count * header.recordLength > room)
    throw damaged(
      `a table of ${count} chunks`,
      `at most ${Math.floor(room / header.recordLength)}, which is what has room before it`,
    );
  const rows = bytesAt(table + 8, MOST_A_ROW * (count + 1));
  const chunks = readChunkTable(rows, count, fixed ? chunkSize : null, header.points);
  const bytes = chunks.reduce((sum, each) => sum + each.bytes, 0);
  if (bytes !== room)
    throw damaged(`chunks of ${bytes} bytes together`, `${room}, which is what lies before the table`);
  const points = chunks.reduce((sum, each) => sum + each.points, 0);
  if (points !== header.points)
    throw cloudError(
      file,
      { byte: countAt },
      `${header.points} points`,
      `what the chunk table says: ${points}`,
    );
  for (const each of chunks) {
    if (each.points > MOST_IN_CHUNK) throw tooLarge(each.points);
    if (each.points > 0 && each.bytes < header.recordLength)
      throw damaged(
        `a chunk of ${each.bytes} bytes`,
        `at least ${header.recordLength}, which is its first point`,
      );
  }
  return { chunks, at, layers };
}

const viewOf = (bytes: Uint8Array) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

/** A part of a point as it is packed. */
interface PackedItem {
  readonly type: number;
  /** bytes */
  readonly size: number;
}

/** The parts of a point, by the compression record; what lies beyond the file is left out. */
function packedItems(view: DataView, record: number): PackedItem[] {
  const items: PackedItem[] = [];
  if (record + 34 > view.byteLength) return items;
  for (let n = view.getUint16(record + 32, true), at = record + 34; n > 0; n--, at += 6) {
    if (at + 6 > view.byteLength) break;
    items.push({ type: view.getUint16(at, true), size: view.getUint16(at + 2, true) });
  }
  return items;
}

/** Kinds of parts the points of a format are packed in, and those of extra bytes, of any format. LASzip's own source, from memory. */
const PARTS: Readonly<Record<number, readonly number[]>> = {
  0: [6],
  1: [6, 7],
  2: [6, 8],
  3: [6, 7, 8],
  6: [10],
  7: [10, 11],
  8: [10, 12],
};
const EXTRA: ReadonlySet<number> = new Set([0, 14]);

/** Layers that each part of a point of format 6 to 10 is packed in; extra bytes have one each. LASzip's own source, from memory. */
const LAYERS: Readonly<Record<number, number>> = { 10: 9, 11: 1, 12: 2, 13: 1 };
/** Of the layers of a point the first four: returns and x and y, z, class, marks. Nothing in them depends on the others. */
const WANTED_LAYERS = 4;

/**
 * What of a layered chunk is unpacked: its first point, the lengths of its layers, and the layers that are read. An unpacker
 * takes a layer of no length for one in which nothing changes, so the lengths of the others are to be zeroed.
 * @param at byte of the file the chunk begins at, for messages
 * @returns bytes from the beginning of the chunk on that are wanted, and the stretch of them to fill with zeros
 * @throws InputError where the layers, of which an unpacker takes memory as long as they say, do not fill the chunk
 */
export function wantedLayers(
  chunk: Uint8Array,
  header: LasHeader,
  layers: number,
  file: string,
  at: number,
): { readonly bytes: number; readonly zeros: readonly [from: number, to: number] } {
  // The first point as it is and the number of points come before the lengths.
  const lead = header.recordLength + 4;
  const end = lead + 4 * layers;
  const view = viewOf(chunk);
  let [all, wanted] = [0, 0];
  for (let k = 0; k < layers && lead + 4 * k + 4 <= chunk.length; k++) {
    const length = view.getUint32(lead + 4 * k, true);
    all += length;
    if (k < WANTED_LAYERS) wanted += length;
  }
  if (end + all !== chunk.length) {
    throw cloudError(
      file,
      { byte: at + lead },
      `layers of ${all} bytes in a chunk of packed points`,
      `${Math.max(0, chunk.length - end)}, which is what is left of the chunk`,
    );
  }
  return { bytes: end + wanted, zeros: [lead + 4 * WANTED_LAYERS, end] };
}

/** Byte of the content of the compression record among the records before the points; null where there is none. */
function compressionRecord(view: DataView): number | null {
  let at = view.getUint16(94, true);
  for (let left = view.getUint32(100, true); left > 0 && at + RECORD_HEADER <= view.byteLength; left--) {
    const length = view.getUint16(at + 20, true);
    if (view.getUint16(at + 18, true) === COMPRESSION_RECORD && at + RECORD_HEADER + 16 <= view.byteLength)
      return at + RECORD_HEADER;
    at += RECORD_HEADER + length;
  }
  return null;
}
