/** One measurement of `bench:scan` in a process of its own: `floor`, `read` (reader alone), `line` (reader and one line) or `hash`. */
import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import type { PointSink } from '../../src/scan/cloud.ts';
import { extractLine } from '../../src/scan/extract-line.ts';
import { lasReader } from '../../src/scan/read-las.ts';
import { plyReader } from '../../src/scan/read-ply.ts';
import { LINE } from './scan-line.ts';

const [mode, path] = process.argv.slice(2) as [string, string];
const las = path.endsWith('.las');
const handle = openSync(path, 'r');
const size = fstatSync(handle).size;
const block = Buffer.allocUnsafeSlow(1 << 20);

function stream(push: (chunk: Uint8Array) => void): void {
  for (;;) {
    const count = readSync(handle, block, 0, block.length, null);
    if (count === 0) break;
    push(block.subarray(0, count));
  }
}

/** The floor: the same chunks, reading only x, y and z of every record. */
function floor(): { points: number; sum: number } {
  let [points, sum, carried] = [0, 0, 0];
  let start = true;
  const stride = las ? 28 : 15;
  const carry = new Uint8Array(2 * stride);
  const loop = (view: DataView, from: number, to: number): number => {
    let p = from;
    if (las) {
      for (; p + stride <= to; p += stride) {
        sum += view.getInt32(p, true) + view.getInt32(p + 4, true) + view.getInt32(p + 8, true);
        points++;
      }
    } else {
      for (; p + stride <= to; p += stride) {
        sum += view.getFloat32(p, true) + view.getFloat32(p + 4, true) + view.getFloat32(p + 8, true);
        points++;
      }
    }
    return p;
  };
  stream((chunk) => {
    let at = 0;
    if (start) {
      at = las ? 227 : Buffer.from(chunk.subarray(0, 400)).indexOf('end_header\n') + 11;
      start = false;
    }
    if (carried > 0) {
      const take = stride - carried;
      carry.set(chunk.subarray(at, at + take), carried);
      loop(new DataView(carry.buffer), 0, stride);
      at += take;
      carried = 0;
    }
    const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.byteLength);
    const end = loop(view, at, chunk.length);
    carried = chunk.length - end;
    carry.set(chunk.subarray(end), 0);
  });
  return { points, sum };
}

function read(sink: PointSink): number {
  const reader = las ? lasReader('bench', size, sink) : plyReader('bench', sink);
  stream((chunk) => reader.push(chunk));
  return reader.end().points;
}

const begun = process.cpuUsage();
let points = 0;
let answer = 0;
if (mode === 'floor') {
  const result = floor();
  points = result.points;
  answer = result.sum;
} else if (mode === 'read') {
  points = read((x, y, z, n) => {
    for (let i = 0; i < n; i++) answer += x[i]! + y[i]! + z[i]!;
  });
} else if (mode === 'hash') {
  const hash = createHash('sha256');
  stream((chunk) => hash.update(chunk));
  answer = hash.digest()[0]!;
} else {
  const line = extractLine(LINE, 1, { flangeThickness: 0.024, leastU: 0.0005 });
  points = read(line.sink);
  const profile = line.profile();
  answer = profile.stations.length;
}
// Processor time, user and system: the measure does not move when another program wants the machine too.
const spent = process.cpuUsage(begun);
const seconds = (spent.user + spent.system) / 1e6;
closeSync(handle);
process.stdout.write(
  JSON.stringify({ points, seconds, peak: process.resourceUsage().maxRSS * 1024, answer }),
);
