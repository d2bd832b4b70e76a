import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { readCloud } from '../../src/cli/scan/read-cloud.ts';

/** LAS and LAZ written by LASzip, the reference library of the format; fixtures/make-laz.c and README.md say how. */
const FILES = [
  'laszip-las12-format0',
  'laszip-las12-format1',
  'laszip-las12-format2',
  'laszip-las13-format3',
  'laszip-las14-format1',
  'laszip-las14-format6',
  'laszip-las14-format7',
  'laszip-las14-format8',
];
const folder = fileURLToPath(new URL('fixtures', import.meta.url));
const given = JSON.parse(readFileSync(join(folder, 'laszip-points.json'), 'utf8')) as {
  scale: number;
  offset: [number, number, number];
  /** x, y, z in steps of the scale; class in formats 0-3; class in formats 6-8; withheld. */
  points: [number, number, number, number, number, number][];
};
const scratch = mkdtempSync(join(tmpdir(), 'sweepbook-laszip-'));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

/** What must come out: noise (class 7, and 18 where the format has it) and withheld points are left out. */
function expected(modern: boolean): { values: number[]; left: number } {
  const kept = given.points.filter(([, , , old, recent, withheld]) => {
    const kind = modern ? recent : old;
    return withheld === 0 && kind !== 7 && !(modern && kind === 18);
  });
  return {
    values: kept.flatMap(([x, y, z]) => [x, y, z].map((v, k) => v * given.scale + given.offset[k]!)),
    left: given.points.length - kept.length,
  };
}

async function read(path: string, staleBounds = false) {
  const values: number[] = [];
  const cloud = await readCloud(
    path,
    { columns: null, staleBounds },
    (x, y, z, n) => {
      for (let i = 0; i < n; i++) values.push(x[i]!, y[i]!, z[i]!);
    },
    () => {},
  );
  return { values, withheld: cloud.withheld, outside: cloud.outside };
}

describe('files of the LASzip library, point for point', () => {
  for (const name of FILES) {
    const want = expected(/format[678]/.test(name));
    it.each(['las', 'laz'])(`${name}.%s`, async (ending) => {
      const { values, withheld } = await read(join(folder, `${name}.${ending}`));
      expect(withheld).toBe(want.left);
      expect(values).toEqual(want.values);
    });
  }
});

describe('other chunks: of two points each, and of a number the table says', () => {
  it.each([
    'laszip-las12-format1-chunks-of-2',
    'laszip-las14-format7-chunks-of-2',
    'laszip-las12-format1-variable',
  ])('%s.laz', async (name) => {
    const want = expected(/format7/.test(name));
    const { values, withheld } = await read(join(folder, `${name}.laz`));
    expect(withheld).toBe(want.left);
    expect(values).toEqual(want.values);
  });
});

describe('the same files, damaged', () => {
  const damaged = (name: string, change: (bytes: Buffer) => Buffer): string => {
    const path = join(scratch, name);
    writeFileSync(path, change(readFileSync(join(folder, name))));
    return path;
  };
  for (const name of ['laszip-las13-format3', 'laszip-las14-format6']) {
    it(`${name}.laz cut short anywhere in its points is refused`, async () => {
      const size = readFileSync(join(folder, `${name}.laz`)).length;
      for (const share of [0.3, 0.5, 0.7, 0.9, 0.99]) {
        const path = damaged(`${name}.laz`, (bytes) => bytes.subarray(0, Math.floor(share * size)));
        await expect(read(path), `${share}`).rejects.toThrow('point cloud');
      }
    });
  }

  it('bounds that are not those of the points are refused', async () => {
    const path = damaged('laszip-las14-format7.laz', (bytes) => {
      bytes.writeDoubleLE(given.offset[2], 211);
      bytes.writeDoubleLE(given.offset[2], 219);
      return bytes;
    });
    await expect(read(path)).rejects.toThrow('point cloud');
    // Whoever knows that the header is stale gets the points, and is told how many lay outside.
    const taken = await read(path, true);
    expect(taken.values).toEqual(expected(true).values);
    expect(taken.outside).toBeGreaterThan(100);
  });

  it('points packed one after the other, as before 2011, are said to be that', async () => {
    const path = damaged('laszip-las12-format0.laz', (bytes) => {
      // The compressor field: first of the record "laszip encoded" 22204 behind its 54 bytes of header.
      bytes.writeUInt16LE(1, bytes.readUInt16LE(94) + 54);
      return bytes;
    });
    await expect(read(path)).rejects.toMatchObject({
      problems: [
        { found: expect.stringContaining('before 2011'), expected: expect.stringContaining('chunks') },
      ],
    });
  });

  // LAZ has no checksum: a damaged byte is noticed when its garbage leaves the bounds or the packing, else not.
  it('a flipped byte is refused, or hands out points inside the bounds of the header', async () => {
    let refused = 0;
    for (let at = 600; at < 1500; at += 100) {
      const path = damaged('laszip-las12-format0.laz', (bytes) => {
        bytes[at]! ^= 0x55;
        return bytes;
      });
      try {
        const { values } = await read(path);
        expect(values.every((v) => Number.isFinite(v))).toBe(true);
      } catch (error) {
        expect((error as Error).name).toBe('InputError');
        refused++;
      }
    }
    expect(refused).toBeGreaterThan(5);
  });

  it.each([
    ['laszip-las12-format0.laz', 107, 151],
    ['laszip-las12-format0.laz', 107, 100],
    ['laszip-las14-format6.laz', 247, 4000],
    ['laszip-las14-format6.laz', 247, 50],
  ])('%s whose header, byte %i, promises %i points is refused by that byte', async (name, at, count) => {
    const path = damaged(name, (bytes) => {
      bytes.writeUInt32LE(count, at);
      return bytes;
    });
    await expect(read(path)).rejects.toMatchObject({
      problems: [
        {
          column: `byte ${at}`,
          found: `${count} points`,
          expected: expect.stringContaining('3 chunks of 50'),
        },
      ],
    });
  });

  it('a LAZ file without the record that says how it is packed, or with a chunk table outside it, is refused', async () => {
    const without = damaged('laszip-las12-format0.laz', (bytes) => {
      bytes.writeUInt32LE(0, 100);
      return bytes;
    });
    await expect(read(without)).rejects.toMatchObject({ problems: [{ column: 'byte 227' }] });
    const table = damaged('laszip-las12-format0.laz', (bytes) => {
      bytes.writeBigInt64LE(BigInt(bytes.length), bytes.readUInt32LE(96));
      return bytes;
    });
    await expect(read(table)).rejects.toMatchObject({
      problems: [{ found: expect.stringContaining('chunk table') }],
    });
  });
});
