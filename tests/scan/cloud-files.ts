/** Writes small cloud files for tests, byte by byte from the published layouts (not with the project's own code). */
export type Point = readonly [number, number, number];

export function plyFile(
  points: readonly Point[],
  format: 'ascii' | 'binary_little_endian' | 'binary_big_endian',
  type: 'float' | 'double' = 'float',
  newline = '\n',
): Uint8Array {
  const header = [
    'ply',
    `format ${format} 1.0`,
    'comment made for a test',
    `element vertex ${points.length}`,
    'property uchar red',
    `property ${type} y`,
    `property ${type} x`,
    `property ${type} z`,
    'property short intensity',
    'end_header',
    '',
  ].join(newline);
  if (format === 'ascii') {
    return new TextEncoder().encode(
      header + points.map(([x, y, z]) => `7 ${y} ${x} ${z} -12${newline}`).join(''),
    );
  }
  const size = type === 'float' ? 4 : 8;
  const stride = 1 + 3 * size + 2;
  const little = format === 'binary_little_endian';
  const start = new TextEncoder().encode(header);
  const bytes = new Uint8Array(start.length + points.length * stride);
  bytes.set(start);
  const view = new DataView(bytes.buffer);
  points.forEach(([x, y, z], i) => {
    let at = start.length + i * stride;
    view.setUint8(at++, 7);
    for (const value of [y, x, z]) {
      if (type === 'float') view.setFloat32(at, value, little);
      else view.setFloat64(at, value, little);
      at += size;
    }
    view.setInt16(at, -12, little);
  });
  return bytes;
}

export interface LasChoices {
  readonly minor?: 0 | 1 | 2 | 3 | 4;
  readonly format?: number;
  readonly scale?: number;
  readonly offset?: Point;
  readonly extraBytes?: number;
  /** Bytes of a made-up record between header and points. */
  readonly gap?: number;
  /** Class code of point i. */
  readonly classOf?: (i: number) => number;
}

const SIZE: Record<number, number> = {
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

/** ASPRS LAS, layout as in the specification (header 227, 235 or 375 bytes). */
export function lasFile(points: readonly Point[], choices: LasChoices = {}): Uint8Array {
  const { minor = 2, format = 0, scale = 0.0001, offset = [0, 0, 0], extraBytes = 0, gap = 0 } = choices;
  const headerSize = { 0: 227, 1: 227, 2: 227, 3: 235, 4: 375 }[minor];
  const stride = SIZE[format]! + extraBytes;
  const bytes = new Uint8Array(headerSize + gap + points.length * stride);
  const view = new DataView(bytes.buffer);
  bytes.set(new TextEncoder().encode('LASF'));
  view.setUint8(24, 1);
  view.setUint8(25, minor);
  view.setUint16(94, headerSize, true);
  view.setUint32(96, headerSize + gap, true);
  view.setUint8(104, format);
  view.setUint16(105, stride, true);
  view.setUint32(107, format >= 6 ? 0 : points.length, true);
  if (minor === 4) view.setBigUint64(247, BigInt(points.length), true);
  const raw = points.map((p) => p.map((v, axis) => Math.round((v - offset[axis]!) / scale)));
  for (const axis of [0, 1, 2]) {
    view.setFloat64(131 + 8 * axis, scale, true);
    view.setFloat64(155 + 8 * axis, offset[axis]!, true);
    const values = raw.map((r) => r[axis]! * scale + offset[axis]!);
    view.setFloat64(
      179 + 16 * axis,
      values.reduce((a, b) => Math.max(a, b)),
      true,
    );
    view.setFloat64(
      187 + 16 * axis,
      values.reduce((a, b) => Math.min(a, b)),
      true,
    );
  }
  raw.forEach((r, i) => {
    const at = headerSize + gap + i * stride;
    r.forEach((v, axis) => {
      view.setInt32(at + 4 * axis, v, true);
    });
    view.setUint8(at + (format >= 6 ? 16 : 15), choices.classOf?.(i) ?? 1);
  });
  return bytes;
}
