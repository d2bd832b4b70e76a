import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/input-error.ts';
import type { CloudReader, PointSink } from '../../src/scan/cloud.ts';
import { lasReader } from '../../src/scan/read-las.ts';
import { plyReader } from '../../src/scan/read-ply.ts';
import { ptsReader, xyzReader } from '../../src/scan/read-text.ts';
import { lasFile, type Point, plyFile } from './cloud-files.ts';

const POINTS: Point[] = Array.from({ length: 9000 }, (_, i) => [
  Math.fround(0.25 * i - 300),
  Math.fround(Math.sin(i)),
  Math.fround(1e3 / (i + 1)),
]);

function read(make: (sink: PointSink) => CloudReader, bytes: Uint8Array, chunk: number) {
  const points: Point[] = [];
  const reader = make((x, y, z, n) => {
    for (let i = 0; i < n; i++) points.push([x[i]!, y[i]!, z[i]!]);
  });
  for (let at = 0; at < bytes.length; at += chunk) reader.push(bytes.subarray(at, at + chunk));
  return { points, tally: reader.end() };
}

function fault(work: () => unknown): string {
  try {
    work();
  } catch (error) {
    expect(error).toBeInstanceOf(InputError);
    const [problem] = (error as InputError).problems;
    return `${problem!.column ?? `line ${problem!.row}`}: ${problem!.found} / ${problem!.expected}`;
  }
  throw new Error('was accepted');
}
const text = (s: string) => new TextEncoder().encode(s);

describe('PLY (layout from memory of G. Turk, The PLY Polygon File Format)', () => {
  for (const format of ['ascii', 'binary_little_endian', 'binary_big_endian'] as const) {
    for (const type of ['float', 'double'] as const) {
      for (const chunk of [1 << 20, 997, 13]) {
        it(`${format} ${type}, chunks of ${chunk}`, () => {
          const few = POINTS.slice(0, chunk === 13 ? 300 : 9000);
          const { points, tally } = read((s) => plyReader('a.ply', s), plyFile(few, format, type), chunk);
          expect(points).toEqual(few);
          expect(tally).toEqual({ points: few.length, notFinite: 0, withheld: 0, outside: 0 });
        });
      }
    }
  }
  it('reads CR LF headers, and skips fixed elements before the vertices and anything after', () => {
    expect(
      read((s) => plyReader('a', s), plyFile(POINTS.slice(0, 5), 'ascii', 'float', '\r\n'), 7).points,
    ).toEqual(POINTS.slice(0, 5));
    const mesh = text(
      'ply\nformat ascii 1.0\nelement camera 1\nproperty float f\nelement vertex 2\nproperty float x\nproperty float y\n' +
        'property float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n35\n1 2 3\n4 5 6\n2 0 1\n',
    );
    expect(read((s) => plyReader('a', s), mesh, 9).points).toEqual([
      [1, 2, 3],
      [4, 5, 6],
    ]);
  });
  it('counts points without a finite position instead of passing them on', () => {
    const bytes = plyFile(
      [
        [1, 2, 3],
        [Number.NaN, 0, 0],
        [4, 5, 6],
        [0, Number.POSITIVE_INFINITY, 0],
      ],
      'binary_little_endian',
    );
    const { points, tally } = read((s) => plyReader('a', s), bytes, 1000);
    expect(points).toEqual([
      [1, 2, 3],
      [4, 5, 6],
    ]);
    expect(tally).toEqual({ points: 2, notFinite: 2, withheld: 0, outside: 0 });
  });
  it('names byte or line when the header lies', () => {
    const good = plyFile(POINTS.slice(0, 10), 'binary_little_endian');
    const ply = (b: Uint8Array) => () => read((s) => plyReader('a', s), b, 64);
    expect(fault(ply(good.subarray(0, good.length - 1)))).toMatch(
      /^byte \d+: the end of the file after 9 vertices/,
    );
    expect(fault(ply(Uint8Array.from([...good, 1, 2])))).toMatch(/2 bytes after the last vertex/);
    expect(fault(ply(text('plx\n')))).toMatch(/^byte 0/);
    for (const name of ['__proto__', 'constructor', 'toString']) {
      const header = `ply\nformat ascii 1.0\nelement vertex 1\nproperty ${name} x\nend_header\n`;
      expect(fault(ply(text(header)))).toMatch(/property TYPE NAME with a PLY type/);
    }
    expect(fault(ply(text('ply\nformat ascii 1.0\n')))).toMatch(
      /^byte 21: the end of the file inside the header/,
    );
    const header = (s: string) => ply(text(`ply\nformat ascii 1.0\n${s}end_header\n`));
    expect(fault(header('element vertex 1e3\n'))).toMatch(/^line 3/);
    expect(fault(header('element vertex 3\nproperty float x\nproperty float y\n'))).toMatch(/without "z"/);
    expect(fault(header('element vertex 1\nproperty list uchar int q\n'))).toMatch(/list property/);
    expect(fault(header('element vertex 1\nproperty real x\n'))).toMatch(/^line 4/);
    expect(fault(ply(text('ply\nformat binary_middle_endian 1.0\nend_header\n')))).toMatch(/^line 2/);
    const ascii = new TextDecoder().decode(plyFile(POINTS.slice(0, 3), 'ascii'));
    expect(fault(ply(text(ascii.replace('vertex 3', 'vertex 4'))))).toMatch(
      /^line 13: the end of the file after 3/,
    );
    expect(fault(ply(text(ascii.replace('vertex 3', 'vertex 2'))))).toMatch(/^line 13: another row/);
    expect(fault(ply(text(`${ascii.trimEnd().replace(/-12$/, '')}\n`)))).toMatch(/^line 13: 4 values/);
  });
});

describe('LAS (layout: ASPRS LAS 1.4 R15 and 1.2, 1.3, from memory of the documents)', () => {
  const las = (b: Uint8Array, size = b.length, chunk = 4099) =>
    read((s) => lasReader('a.las', size, s), b, chunk);
  for (const [minor, format] of [
    [2, 0],
    [2, 1],
    [2, 2],
    [2, 3],
    [3, 1],
    [4, 0],
    [4, 6],
    [4, 7],
    [4, 8],
    [0, 1],
    [1, 0],
    [3, 4],
    [3, 5],
    [4, 9],
    [4, 10],
  ] as const) {
    it(`1.${minor} format ${format}, with extra bytes and a record before the points`, () => {
      const bytes = lasFile(POINTS, { minor, format, extraBytes: 3, gap: 54, offset: [10, -20, 30] });
      for (const chunk of [1 << 20, 101]) {
        const { points, tally } = las(bytes, bytes.length, chunk);
        expect(tally.points).toBe(POINTS.length);
        const errors = points.map((p, i) => Math.max(...p.map((v, axis) => Math.abs(v - POINTS[i]![axis]!))));
        expect(Math.max(...errors)).toBeLessThan(0.5001e-4);
      }
    });
  }
  it('scales as the specification says: raw 123456, scale 0.001, offset 1000 is 1123.456', () => {
    const bytes = lasFile([[1123.456, 1000, 1000]], { scale: 0.001, offset: [1000, 1000, 1000] });
    expect(new DataView(bytes.buffer).getInt32(227, true)).toBe(123456);
    expect(las(bytes).points[0]![0]).toBeCloseTo(1123.456, 9);
  });
  it('leaves out withheld points and noise classes', () => {
    const classOf = (i: number) => (i === 1 ? 7 : i === 2 ? 18 : i === 3 ? 0x81 : 1);
    expect(las(lasFile(POINTS.slice(0, 6), { classOf })).tally).toEqual({
      points: 4,
      notFinite: 0,
      withheld: 2,
      outside: 0,
    });
    // LAS 1.0 knows neither class 7 as noise nor the withheld bit: the byte is one number (from memory of the document).
    expect(las(lasFile(POINTS.slice(0, 6), { classOf, minor: 0, format: 1 })).tally.points).toBe(6);
    expect(las(lasFile(POINTS.slice(0, 6), { classOf, minor: 4, format: 6 })).tally.withheld).toBe(2);
  });
  it('names the byte when the header lies', () => {
    const good = lasFile(POINTS.slice(0, 50), { minor: 4, format: 6 });
    const change = (edit: (view: DataView) => void, from = good) => {
      const copy = Uint8Array.from(from);
      edit(new DataView(copy.buffer));
      return () => las(copy);
    };
    expect(fault(change((v) => v.setUint8(0, 65)))).toMatch(/^byte 0/);
    expect(fault(change((v) => v.setUint8(25, 7)))).toMatch(/^byte 24: LAS version 1.7/);
    expect(fault(change((v) => v.setUint16(94, 100, true)))).toMatch(/^byte 94/);
    expect(fault(change((v) => v.setUint32(96, 1e9, true)))).toMatch(/^byte 96/);
    expect(fault(change((v) => v.setUint8(104, 11)))).toMatch(/^byte 104: point format 11/);
    // Record lengths of formats with waveforms: 57, 63, 59, 67 bytes (LAS 1.4, from memory).
    expect(fault(change((v) => v.setUint8(104, 5)))).toMatch(/at least 63 for point format 5/);
    expect(fault(change((v) => v.setUint8(104, 0x80 | 4)))).toMatch(/at least 57|packed points of format 4/);
    expect(fault(change((v) => v.setUint8(104, 0x86)))).toMatch(/compressed points/);
    expect(fault(change((v) => v.setUint16(105, 20, true)))).toMatch(/^byte 105/);
    expect(fault(change((v) => v.setBigUint64(247, 51n, true)))).toMatch(
      /^byte 247: 51 points .* at most 50/,
    );
    expect(fault(change((v) => v.setBigUint64(247, 49n, true)))).toMatch(/^byte 247: 49 points/);
    expect(fault(change((v) => v.setBigUint64(247, 2n ** 63n, true)))).toMatch(/^byte 247/);
    expect(fault(change((v) => v.setUint32(107, 7, true)))).toMatch(/^byte 247.*7$/);
    expect(fault(change((v) => v.setFloat64(139, 0, true)))).toMatch(/^byte 139: a scale factor of 0/);
    expect(fault(change((v) => v.setFloat64(163, Number.NaN, true)))).toMatch(/^byte 163/);
    expect(fault(change((v) => v.setFloat64(187, Number.NaN, true)))).toMatch(/^byte 179/);
    // Point 11 put outside the bounds: record at 375 + 10 x 30.
    expect(fault(change((v) => v.setInt32(675, 2 ** 30, true)))).toMatch(/^byte 675: point 11 at/);
    expect(fault(() => las(good.subarray(0, 100)))).toMatch(/inside the header/);
    // Truncated while being read: the size said more.
    expect(fault(() => las(good.subarray(0, good.length - 7), good.length))).toMatch(
      /^byte \d+: the end of the file after 49/,
    );
  });
});

describe('XYZ and PTS text', () => {
  const xyz = (s: string, columns: readonly string[] | null, chunk = 5) =>
    read((sink) => xyzReader('a.xyz', columns, sink), text(s), chunk);
  it('reads the separators in use, comments, blank lines, CR LF, exponents and a last line without an end', () => {
    const body = '# scan\r\n1 2 3\r\n\r\n4,5,6,99\r\n-7;\t8.25 ;+9e-1\r\n// x\r\n  .5 1. -0.000125';
    expect(xyz(body, ['x', 'y', 'z']).points).toEqual([
      [1, 2, 3],
      [4, 5, 6],
      [-7, 8.25, 0.9],
      [0.5, 1, -0.000125],
    ]);
  });
  it('takes the column order from --columns or a heading, never from habit', () => {
    expect(xyz('id,Y,X,Z\n1,2,3,4\n', null).points).toEqual([[3, 2, 4]]);
    expect(xyz('1 2 3 4\n', ['i', 'z', 'y', 'x']).points).toEqual([[4, 3, 2]]);
    // A byte order mark, headings in comments, and commas that are decimal points.
    expect(xyz('\ufeff1 2 3\n', ['x', 'y', 'z']).points).toEqual([[1, 2, 3]]);
    expect(xyz('\ufeffx y z\n1 2 3\n', null).points).toEqual([[1, 2, 3]]);
    expect(xyz('//X Z Y Intensity\n1 2 3 9\n', null).points).toEqual([[1, 3, 2]]);
    expect(xyz('Point,Northing,Easting,Elevation\n7,2,1,3\n', null).points).toEqual([[1, 2, 3]]);
    expect(xyz('height,x,y,z\n9,1,2,3\n', null).points).toEqual([[1, 2, 3]]);
    expect(fault(() => xyz('Easting,Northing,Elevation,Height\n1,2,3,4\n', null))).toMatch(
      /^line 1: the heading "Easting,Northing,Elevation,Height".*--columns/,
    );
    expect(fault(() => xyz('X(m),Y(m),Z(m)\n1,2,3\n', null))).toMatch(
      /^line 1: the heading "X\(m\),Y\(m\),Z\(m\)".*--columns/,
    );
    expect(xyz('X(m),Y(m),Z(m)\n1,2,3\n', ['x', 'y', 'z']).points).toEqual([[1, 2, 3]]);
    expect(fault(() => xyz('# axes x y z are local\n1 2 3\n', null))).toMatch(/columns without a heading/);
    expect(fault(() => xyz('1,5 2,25 3,125\n', ['x', 'y', 'z']))).toMatch(/^line 1: commas inside numbers/);
    expect(fault(() => xyz('1,5;2,25;3,125\n', ['x', 'y', 'z']))).toMatch(/^line 1: commas inside numbers/);
    expect(fault(() => xyz('1 2 3\n', null))).toMatch(
      /^line 1: 3 columns without a heading.*--columns x,y,z$/,
    );
    expect(fault(() => xyz('1 2 3 9 8 7\n', null))).toMatch(/--columns x,y,z,red,green,blue$/);
    expect(fault(() => xyz('LASF\0\0\u0001\n', null))).toMatch(/^line 1: bytes that are no text/);
    expect(fault(() => xyz('1 2 3\n', ['x', 'y', 'h']))).toMatch(/x, y and z/);
  });
  it('names the line of what is not a number, is short, or is empty', () => {
    const columns = ['x', 'y', 'z'];
    expect(fault(() => xyz('1 2 3\n4 5 six\n', columns))).toMatch(/^line 2: "six"/);
    expect(fault(() => xyz('1 2 3\n4 5\n', columns))).toMatch(/^line 2: 2 values/);
    expect(fault(() => xyz('# nothing\n', columns))).toMatch(/without a point/);
    expect(fault(() => xyz('1 2 -\n', columns))).toMatch(/^line 1: "-"/);
    expect(fault(() => xyz('1 2 1.2.3\n', columns))).toMatch(/^line 1/);
    expect(fault(() => xyz(`${'9'.repeat(9000)}\n`, columns, 4096))).toMatch(/^line 1: a line of more than/);
  });
  it('decimal commas between columns that commas separate are refused, not read as two numbers each', () => {
    expect(fault(() => xyz('x,y,z\n583,426,889,472,42,051\n', null))).toMatch(
      /^line 2: 6 values between commas for 3 columns.*decimal points/,
    );
    expect(fault(() => xyz('583,426,889,472,42,051\n', ['x', 'y', 'z']))).toMatch(/^line 1: 6 values/);
    expect(xyz('x,y,z,i\n1,2,3,4\n', null).points).toEqual([[1, 2, 3]]);
    // Columns beyond those named, with blanks between: nothing falls apart there.
    expect(xyz('1 2 3 9 8 7\n', ['x', 'y', 'z']).points).toEqual([[1, 2, 3]]);
    const pts = (line: string) => () => read((sink) => ptsReader('a.pts', sink), text(`1\n${line}\n`), 6);
    expect(fault(pts('583,426,889,472,42,051'))).toMatch(/^line 2: commas between digits/);
  });
  it('an empty cell does not shift columns: the point has no position', () => {
    const { points, tally } = xyz('1,2,3\n1,,3\n4,nan,6\n', ['x', 'y', 'z']);
    expect(points).toEqual([[1, 2, 3]]);
    expect(tally.notFinite).toBe(2);
  });
  it('reads every number that Number() reads, to the last bit or one beside it', () => {
    fc.assert(
      fc.property(
        fc.double({ noNaN: true, noDefaultInfinity: true }),
        fc.integer({ min: 0, max: 12 }),
        (value, digits) => {
          const shown = Math.abs(value) < 1e21 ? value.toFixed(digits) : String(value);
          const [[x, y]] = xyz(`${shown} ${value} 0\n`, ['x', 'y', 'z']).points as [Point];
          expect(x).toBe(Number(shown));
          // Not `value` itself: minus nought is written as plain 0.
          expect(y).toBe(Number(String(value)));
        },
      ),
    );
  });
  it('checks every count of a PTS file', () => {
    const pts = (s: string) => read((sink) => ptsReader('a.pts', sink), text(s), 6);
    expect(pts('2\n1 2 3 -200\n4 5 6 10 255 0 0\n1\n7 8 9\n').points).toEqual([
      [1, 2, 3],
      [4, 5, 6],
      [7, 8, 9],
    ]);
    expect(fault(() => pts('3\n1 2 3\n4 5 6\n'))).toMatch(/2 points \/ 3, as line 1 says/);
    expect(fault(() => pts('1\n1 2 3\n4 5 6\n'))).toMatch(/^line 3: more points/);
    // Some writers leave the count out.
    expect(pts('1 2 3 -200\n4 5 6 10\n').points).toEqual([
      [1, 2, 3],
      [4, 5, 6],
    ]);
    expect(fault(() => pts('1 2\n'))).toMatch(/^line 1: 2 values/);
    expect(fault(() => pts('2.5\n'))).toMatch(/^line 1: 2.5/);
  });
});
