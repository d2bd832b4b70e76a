import { cloudError } from './cloud.ts';
import type { LasHeader } from './read-las.ts';

/** Bytes of a variable length record before its content. */
const RECORD_HEADER = 54;
const COMPRESSION_RECORD = 22204;
/** Chunk size of a file whose chunks differ in length. */
const VARIABLE = 0xffffffff;
/** The way of packing of point formats 6 to 10: every part of a point in a layer of its own. */
const LAYERED = 3;

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

/**
 * Holds the point count of a LAZ header against the chunk table behind the points, which says how many chunks of a
 * fixed number of points were packed: an unpacker would make up points for a count too high, and leave out steel for
 * one too low. A count that is off by less than the last chunk cannot be told this way.
 * Source: "LASzip: lossless compression of LiDAR data" and the LASzip specification (from memory of the documents).
 * @param bytes the whole file
 */
export function checkLazChunks(bytes: Uint8Array, header: LasHeader, file: string): void {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
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
  const most = Math.max(0, bytes.length - header.dataAt) * MOST_A_BYTE;
  if (header.points > most) {
    throw cloudError(
      file,
      { byte: countAt },
      `${header.points} points in ${bytes.length - header.dataAt} packed bytes`,
      `at most ${most}, which is more than so few bytes can hold`,
    );
  }
  if (chunkSize !== VARIABLE && chunkSize > MOST_IN_CHUNK) {
    throw cloudError(
      file,
      { byte: record + 12 },
      `chunks of ${chunkSize} points`,
      `chunks of at most ${MOST_IN_CHUNK}; save it again, or as LAS`,
    );
  }
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
  if (chunkSize === 0 || header.points === 0) return;
  if (header.dataAt + 8 > bytes.length) {
    throw cloudError(file, { byte: bytes.length }, 'the end of the file', 'packed points');
  }
  const stated = view.getBigInt64(header.dataAt, true);
  // A writer that could not go back leaves -1 here and puts the place at the very end.
  const table = Number(stated === -1n ? view.getBigInt64(bytes.length - 8, true) : stated);
  if (!(table >= header.dataAt + 8 && table + 8 <= bytes.length)) {
    throw cloudError(
      file,
      { byte: header.dataAt },
      `a chunk table at byte ${table}`,
      `a byte between the points (${header.dataAt + 8}) and the end of the file (${bytes.length}); it may be cut short`,
    );
  }
  if (compressor === LAYERED) checkLayers(view, header, items, table, file);
  if (chunkSize === VARIABLE) return;
  const chunks = view.getUint32(table + 4, true);
  if (header.points > chunks * chunkSize || header.points <= (chunks - 1) * chunkSize) {
    throw cloudError(
      file,
      { byte: countAt },
      `${header.points} points`,
      `${(chunks - 1) * chunkSize + 1} to ${chunks * chunkSize}: the file holds ${chunks} chunks of ${chunkSize}`,
    );
  }
}

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

/** Layers that each part of a point of format 6 to 10 is packed in; extra bytes have one each. LASzip's own source, from memory. */
const LAYERS: Readonly<Record<number, number>> = { 10: 9, 11: 1, 12: 2, 13: 1 };

/**
 * Every chunk of a layered file says how long its layers are, and an unpacker takes that much memory before it reads
 * them: one after the other they must end where the chunk table begins.
 */
function checkLayers(
  view: DataView,
  header: LasHeader,
  items: readonly PackedItem[],
  table: number,
  file: string,
): void {
  const count = items.reduce((sum, { type, size }) => sum + (LAYERS[type] ?? size), 0);
  // The first point as it is and the number of points come before the lengths.
  const lead = header.recordLength + 4;
  for (let at = header.dataAt + 8; at !== table; ) {
    const end = at + lead + 4 * count;
    let bytes = 0;
    for (let layer = at + lead; layer < end && layer + 4 <= table; layer += 4)
      bytes += view.getUint32(layer, true);
    if (end + bytes > table) {
      throw cloudError(
        file,
        { byte: at + lead },
        `layers of ${bytes} bytes in a chunk of packed points`,
        `at most ${Math.max(0, table - end)}, which is what is left before the chunk table`,
      );
    }
    at = end + bytes;
  }
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
