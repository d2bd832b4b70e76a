import { createHash } from 'node:crypto';
import { closeSync, mkdtempSync, openSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readLaz } from '../../src/cli/scan/read-laz.ts';
import { createRandom } from '../mechanics/random.ts';
import { type LazPoint, lazFile } from './laz-writer.ts';

/** Packed by the tests (see laz-writer.ts), unpacked by laz-perf: a valid file of several chunks must come out whole. */
const SCALE = 0.0005;
const OFFSET = [500_000, 4_200_000, 90] as const;
const random = createRandom('laz');
const points = Array.from({ length: 2345 }, (_, i): LazPoint => {
  const far = i % 97 === 0 ? 40_000 : 1;
  return {
    steps: [
      16 * i + random.integer(-9, 9) * far,
      random.integer(-800, 800) * far,
      random.integer(-30, 30) + (i % 50 === 0 ? -1_000_000 : 0),
    ],
    intensity: i % 3 === 0 ? random.integer(0, 65_535) : 700,
    kind: i % 20 === 0 ? 7 : i % 8 === 0 ? 2 : 1,
  };
});

async function read(bytes: Uint8Array) {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-laz-'));
  const path = join(folder, 'cloud.laz');
  writeFileSync(path, bytes);
  const handle = openSync(path, 'r');
  const values: number[] = [];
  try {
    const sink = (x: Float64Array, y: Float64Array, z: Float64Array, n: number) => {
      for (let i = 0; i < n; i++) values.push(x[i]!, y[i]!, z[i]!);
    };
    const tally = await readLaz(handle, bytes.length, 'cloud.laz', sink, () => {});
    return { values, tally };
  } finally {
    closeSync(handle);
    rmSync(folder, { recursive: true, force: true });
  }
}

describe('LAZ as laz-perf unpacks it', () => {
  it.each([50_000, 500])('every point comes out where it was put, in chunks of %i', async (size) => {
    const bytes = lazFile(points, SCALE, OFFSET, size);
    const { values, tally } = await read(bytes);
    const kept = points.filter((p) => p.kind !== 7);
    expect(tally.points).toBe(kept.length);
    expect(tally.withheld).toBe(points.length - kept.length);
    expect(tally.sha256).toBe(createHash('sha256').update(bytes).digest('hex'));
    expect(values).toEqual(kept.flatMap((p) => p.steps.map((step, axis) => step * SCALE + OFFSET[axis]!)));
    expect(bytes.length).toBeLessThan(0.8 * 20 * points.length);
  });

  it('a flipped byte whose garbage leaves the bounds is refused, not read as steel', async () => {
    const bytes = lazFile(points, SCALE, OFFSET, 500);
    bytes[Math.floor(bytes.length / 2)]! ^= 0x55;
    await expect(read(bytes)).rejects.toThrow('point cloud');
  });

  it('a file cut short is refused', async () => {
    const bytes = lazFile(points, SCALE, OFFSET, 500);
    await expect(read(bytes.subarray(0, bytes.length - 3000))).rejects.toThrow('point cloud');
  });

  it('bounds that are not those of the points are refused', async () => {
    const bytes = lazFile(points, SCALE, OFFSET, 500);
    bytes.writeDoubleLE(OFFSET[2], 211);
    bytes.writeDoubleLE(OFFSET[2], 219);
    await expect(read(bytes)).rejects.toThrow('point cloud');
  });
});
