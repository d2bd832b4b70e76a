/**
 * One measurement of `bench:scan` in a process of its own: `floor` (bare read and crop), `read` (reader alone), `line`
 * (reader, the flange and its four lines) or `hash`. Of `line` it also says how much reading and cropping took by itself.
 */
import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { waitToCompile } from '../../src/cli/compiled.ts';
import type { PointSink } from '../../src/scan/cloud.ts';
import { extractFlange } from '../../src/scan/extract-flange.ts';
import { lasReader } from '../../src/scan/read-las.ts';
import { plyReader } from '../../src/scan/read-ply.ts';
import { FLANGE, LINES } from './scan-line.ts';

// As the program does.
waitToCompile();
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

/** The floor: the same chunks, x, y and z of every record in metres, those in the box around the line kept in one buffer. */
function floor(): { points: number; sum: number } {
  let [points, kept, carried] = [0, 0, 0];
  let start = true;
  const stride = las ? 28 : 15;
  const carry = new Uint8Array(2 * stride);
  const buffer = new Float64Array(3 * 65_536);
  const loop = (view: DataView, from: number, to: number): number => {
    let p = from;
    for (; p + stride <= to; p += stride) {
      const x = las ? view.getInt32(p, true) * 1e-4 : view.getFloat32(p, true);
      const y = las ? view.getInt32(p + 4, true) * 1e-4 : view.getFloat32(p + 4, true);
      const z = las ? view.getInt32(p + 8, true) * 1e-4 : view.getFloat32(p + 8, true);
      points++;
      if (x < -0.1 || x > 19 || y < -1.2 || y > 1.1 || z < -0.5 || z > 0.5) continue;
      const at = 3 * (kept++ & 65_535);
      buffer[at] = x;
      buffer[at + 1] = y;
      buffer[at + 2] = z;
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
  return { points, sum: kept };
}

function read(sink: PointSink): number {
  const reader = las ? lasReader('bench', size, sink) : plyReader('bench', sink);
  stream((chunk) => reader.push(chunk));
  return reader.end().points;
}

const begun = process.cpuUsage();
let points = 0;
let answer = 0;
/** Processor time when the file was read and cropped, before the fit. */
let taken: NodeJS.CpuUsage | null = null;
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
  const flange = extractFlange(LINES, 1, FLANGE);
  points = read(flange.sink);
  taken = process.cpuUsage(begun);
  answer = flange.profiles().reduce((sum, profile) => sum + profile.stations.length, 0);
}
// Processor time, user and system: the measure does not move when another program wants the machine too.
const inSeconds = ({ user, system }: NodeJS.CpuUsage) => (user + system) / 1e6;
const seconds = inSeconds(process.cpuUsage(begun));
const reading = taken === null ? seconds : inSeconds(taken);
closeSync(handle);
process.stdout.write(
  JSON.stringify({ points, seconds, reading, peak: process.resourceUsage().maxRSS * 1024, answer }),
);
