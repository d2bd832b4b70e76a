/**
 * `npm run bench:scan [-- millions…]` (default 5 10 20): reads clouds of that many points, binary PLY (x y z float and
 * colour, 15 bytes) and LAS 1.2 format 1 (28 bytes), and takes a flange's four lines from them. Each measurement runs in a
 * process of its own; the floor is a bare read and crop of the same chunks. Of the lines' time the part that grows with the
 * cloud, reading and cropping, is told from the fit of what was kept, which does not. `--las` leaves PLY out. Files are made
 * in a temporary folder.
 */
import { spawnSync } from 'node:child_process';
import { closeSync, mkdtempSync, openSync, rmSync, statSync, writeSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { buildSync } from 'esbuild';
import { createRandom } from '../mechanics/random.ts';

const MILLIONS = process.argv
  .slice(2)
  .map(Number)
  .filter((n) => n > 0);
if (MILLIONS.length === 0) MILLIONS.push(5, 10, 20);
const RUNS = 2;
const folder = mkdtempSync(join(tmpdir(), 'sweepbook-scan-'));
const child = join(folder, 'child.mjs');

try {
  buildSync({
    entryPoints: [new URL('scan-child.ts', import.meta.url).pathname],
    outfile: child,
    bundle: true,
    format: 'esm',
    platform: 'node',
    target: 'node20',
    banner: {
      js: "import { createRequire as __c } from 'node:module';\nconst require = __c(import.meta.url);",
    },
  });
  console.log(
    `Node ${process.version}, ${cpus()[0]?.model ?? '?'}; best of ${RUNS} runs; files in the page cache`,
  );
  for (const format of process.argv.includes('--las') ? (['las'] as const) : (['ply', 'las'] as const)) {
    for (const million of MILLIONS) {
      const path = join(folder, `cloud.${format}`);
      writeCloud(path, format, million * 1e6);
      const [floor, read, line, hash] = best(['floor', 'read', 'line', 'hash'], path) as [
        Measured,
        Measured,
        Measured,
        Measured,
      ];
      const rate = (m: Measured) => `${(m.points / m.seconds / 1e6).toFixed(1)} M points/s`;
      console.log(
        `${format.toUpperCase()} ${million} M points, ${(statSync(path).size / 1e6).toFixed(0)} MB: floor ${rate(floor)}; ` +
          `reader ${rate(read)} (${(read.seconds / floor.seconds).toFixed(2)} x floor); ` +
          `read and cropped for four lines ${(line.reading / floor.seconds).toFixed(2)} x floor, their fit ` +
          `${(line.seconds - line.reading).toFixed(2)} s more (${(line.seconds / floor.seconds).toFixed(2)} x floor in all; ` +
          `peak ${(line.peak / 2 ** 20).toFixed(0)} MiB, ${line.answer} stations); SHA-256 of the file ${hash.seconds.toFixed(2)} s more`,
      );
      rmSync(path);
    }
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}

interface Measured {
  readonly points: number;
  readonly seconds: number;
  /** Of these, until the file was read and cropped. */
  readonly reading: number;
  readonly peak: number;
  readonly answer: number;
}

/** Best of some runs of each mode; the modes take turns, so that a busy spell of the machine does not fall on one alone. */
function best(modes: readonly string[], path: string): Measured[] {
  const least: (Measured | null)[] = modes.map(() => null);
  for (let run = 0; run < RUNS; run++) {
    modes.forEach((mode, i) => {
      const result = spawnSync(process.execPath, [child, mode, path], { encoding: 'utf8' });
      if (result.status !== 0) throw new Error(result.stderr);
      const measured = JSON.parse(result.stdout) as Measured;
      if (least[i] == null || measured.seconds < least[i].seconds) least[i] = measured;
    });
  }
  return least as Measured[];
}

/** One point in five near the flange (underside, edge face, mixed pixels), the rest ground, deck and trees around. */
function writeCloud(path: string, format: 'ply' | 'las', points: number): void {
  const random = createRandom('bench');
  const stride = format === 'ply' ? 15 : 28;
  const handle = openSync(path, 'w');
  const header =
    format === 'ply'
      ? Buffer.from(
          `ply\nformat binary_little_endian 1.0\nelement vertex ${points}\nproperty float x\nproperty float y\nproperty float z\n` +
            'property uchar red\nproperty uchar green\nproperty uchar blue\nend_header\n',
        )
      : lasHeader(points);
  writeSync(handle, header);
  // A block of points is made once and written with small changes: making 20 M normals would take longer than the bench.
  const many = 200_000;
  const block = Buffer.alloc(many * stride);
  for (let i = 0; i < many; i++) {
    const near = random.uniform() < 0.2;
    const x = near ? 19.3 * random.uniform() - 0.2 : 40 * random.uniform() - 10;
    let y = 30 * random.uniform() - 15;
    let z = 8 * random.uniform() - 6;
    if (near) {
      const edge = 0.15 + 0.03 * Math.exp(-(((x - 9) / 3) ** 2));
      const kind = random.uniform();
      if (kind < 0.7) {
        y = edge - 0.3 * random.uniform() + 0.001 * random.normal();
        z = 0.002 * random.normal();
      } else if (kind < 0.95) {
        y = edge + 0.002 * random.normal();
        z = 0.024 * random.uniform();
      } else {
        y = edge - 0.01 * Math.log(random.uniform());
        z = 0.03 * random.uniform();
      }
    }
    if (format === 'ply') {
      block.writeFloatLE(x, i * stride);
      block.writeFloatLE(y, i * stride + 4);
      block.writeFloatLE(z, i * stride + 8);
    } else {
      block.writeInt32LE(Math.round(x / 1e-4), i * stride);
      block.writeInt32LE(Math.round(y / 1e-4), i * stride + 4);
      block.writeInt32LE(Math.round(z / 1e-4), i * stride + 8);
      block[i * stride + 15] = 1;
    }
  }
  const base = Buffer.from(block);
  const noise = Float64Array.from({ length: 4096 }, () => random.normal());
  for (let left = points; left > 0; left -= many) {
    const shift = random.integer(0, 4095);
    for (let i = 0; i < many; i++) {
      // A little elsewhere in every block: a millimetre across, some centimetres along.
      const [dx, dy] = [0.02 * noise[(i + shift) & 4095]!, 0.001 * noise[(i * 7 + shift) & 4095]!];
      if (format === 'ply') {
        block.writeFloatLE(base.readFloatLE(i * stride) + dx, i * stride);
        block.writeFloatLE(base.readFloatLE(i * stride + 4) + dy, i * stride + 4);
      } else {
        block.writeInt32LE(base.readInt32LE(i * stride) + Math.round(dx / 1e-4), i * stride);
        block.writeInt32LE(base.readInt32LE(i * stride + 4) + Math.round(dy / 1e-4), i * stride + 4);
      }
    }
    writeSync(handle, block, 0, Math.min(left, many) * stride);
  }
  closeSync(handle);
}

function lasHeader(points: number): Buffer {
  const header = Buffer.alloc(227);
  header.write('LASF');
  header[24] = 1;
  header[25] = 2;
  header.writeUInt16LE(227, 94);
  header.writeUInt32LE(227, 96);
  header[104] = 1;
  header.writeUInt16LE(28, 105);
  header.writeUInt32LE(points, 107);
  for (const at of [131, 139, 147]) header.writeDoubleLE(1e-4, at);
  [40, -20, 20, -20, 3, -7].forEach((bound, i) => {
    header.writeDoubleLE(bound, 179 + 8 * i);
  });
  return header;
}
