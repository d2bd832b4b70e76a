/** Writes small E57 files for tests from the layout of ASTM E2807 (from memory), not with the project's own code. */
import type { Point } from './cloud-files.ts';

export interface E57Scan {
  readonly points: readonly Point[];
  readonly kind: 'double' | 'single' | 'scaled' | 'spherical';
  /** w, x, y, z and shift. */
  readonly pose?: { readonly rotation: readonly number[]; readonly shift: Point };
  /** Points without a position. */
  readonly invalid?: (i: number) => boolean;
  /** Points a packet. */
  readonly packet?: number;
}

const PAGE = 1024;
const PAYLOAD = PAGE - 4;
const SCALE = 0.0001;

/** CRC-32C bit by bit (RFC 3720, appendix B.4, polynomial 1EDC6F41 reflected). */
function crc(bytes: Uint8Array): number {
  let c = 0xffffffff;
  for (const b of bytes) {
    c ^= b;
    for (let k = 0; k < 8; k++) c = c & 1 ? (c >>> 1) ^ 0x82f63b78 : c >>> 1;
  }
  return (c ^ 0xffffffff) >>> 0;
}

/** Bits written least significant first; what is left of a byte waits. */
function bitWriter() {
  let [held, bits] = [0n, 0];
  return {
    put(value: bigint, width: number): void {
      held |= value << BigInt(bits);
      bits += width;
    },
    /** Whole bytes, or all with the last one filled up. */
    take(all: boolean): number[] {
      const out: number[] = [];
      while (bits >= 8 || (all && bits > 0)) {
        out.push(Number(held & 255n));
        held >>= 8n;
        bits = Math.max(0, bits - 8);
      }
      return out;
    },
  };
}

export function e57File(scans: readonly E57Scan[]): Uint8Array {
  /** Logical bytes: the header, sections, XML. */
  const logical: number[] = new Array(48).fill(0);
  const physical = (at: number) => Math.floor(at / PAYLOAD) * PAGE + (at % PAYLOAD);
  const u16 = (v: number) => [v & 255, v >> 8];
  const u64 = (v: number) => Array.from({ length: 8 }, (_, k) => Math.floor(v / 2 ** (8 * k)) % 256);
  const xml: string[] = [];
  scans.forEach((scan, n) => {
    const { points, kind, invalid, packet = 60 } = scan;
    const raw = points.map((p) => p.map((v) => Math.round(v / SCALE)));
    const spherical = points.map(([x, y, z]) => [
      Math.hypot(x, y, z),
      Math.atan2(y, x),
      Math.atan2(z, Math.hypot(x, y)),
    ]);
    const low = [0, 1, 2].map((k) => Math.min(...raw.map((r) => r[k]!)));
    const high = [0, 1, 2].map((k) => Math.max(...raw.map((r) => r[k]!)));
    const names =
      kind === 'spherical'
        ? ['sphericalRange', 'sphericalAzimuth', 'sphericalElevation']
        : ['cartesianX', 'cartesianY', 'cartesianZ'];
    const prototype = names.map((name, k) =>
      kind === 'scaled'
        ? `<${name} type="ScaledInteger" minimum="${low[k]}" maximum="${high[k]}" scale="${SCALE}" offset="0"/>`
        : `<${name} type="Float"${kind === 'single' ? ' precision="single"' : ''}/>`,
    );
    // A column that is passed over, and one that takes no bits.
    prototype.push(
      '<intensity type="Integer" minimum="0" maximum="1000"/>',
      '<rowIndex type="Integer" minimum="5" maximum="5"/>',
    );
    const state = kind === 'spherical' ? 'sphericalInvalidState' : 'cartesianInvalidState';
    if (invalid !== undefined) prototype.push(`<${state} type="Integer" minimum="0" maximum="2"/>`);
    const at = logical.length;
    const section: number[] = [];
    const writers = Array.from({ length: invalid === undefined ? 4 : 5 }, bitWriter);
    const double = (v: number) => [...new Uint8Array(new Float64Array([v]).buffer)];
    const single = (v: number) => [...new Uint8Array(new Float32Array([v]).buffer)];
    for (let from = 0; from < points.length; from += packet) {
      const end = Math.min(points.length, from + packet);
      const last = end === points.length;
      const streams: number[][] = [[], [], []];
      for (let i = from; i < end; i++) {
        for (let k = 0; k < 3; k++) {
          if (kind === 'scaled')
            writers[k]!.put(BigInt(raw[i]![k]! - low[k]!), (high[k]! - low[k]!).toString(2).length);
          else
            streams[k]!.push(
              ...(kind === 'single' ? single : double)((kind === 'spherical' ? spherical : points)[i]![k]!),
            );
        }
        writers[3]!.put(BigInt((i * 37) % 1001), 10);
        if (invalid !== undefined) writers[4]!.put(invalid(i) ? 2n : 0n, 2);
      }
      if (kind === 'scaled') for (let k = 0; k < 3; k++) streams[k] = writers[k]!.take(last);
      const all = [
        ...streams,
        writers[3]!.take(last),
        [],
        ...(invalid === undefined ? [] : [writers[4]!.take(last)]),
      ];
      const body = [...u16(all.length), ...all.flatMap((s) => u16(s.length)), ...all.flat()];
      while ((body.length + 4) % 4 !== 0) body.push(0);
      section.push(1, 0, ...u16(body.length + 3), ...body);
    }
    const data = at + 32;
    logical.push(
      1,
      0,
      0,
      0,
      0,
      0,
      0,
      0,
      ...u64(32 + section.length),
      ...u64(physical(data)),
      ...u64(0),
      ...section,
    );
    const pose = scan.pose;
    const part = (tag: string, keys: string, values: readonly number[]) =>
      `<${tag} type="Structure">${[...keys].map((key, k) => `<${key} type="Float">${values[k]}</${key}>`).join('')}</${tag}>`;
    xml.push(
      `<vectorChild type="Structure"><guid type="String"><![CDATA[{scan-${n}}]]></guid><name type="String"><![CDATA[stand ${n + 1}]]></name>${pose === undefined ? '' : `<pose type="Structure">${part('rotation', 'wxyz', pose.rotation)}${part('translation', 'xyz', pose.shift)}</pose>`}<points type="CompressedVector" fileOffset="${physical(at)}" recordCount="${points.length}"><prototype type="Structure">${prototype.join('')}</prototype><codecs type="Vector" allowHeterogeneousChildren="1"/></points></vectorChild>`,
    );
  });
  const text = new TextEncoder().encode(
    `<?xml version="1.0" encoding="UTF-8"?>\n<e57Root type="Structure" xmlns="http://www.astm.org/COMMIT/E57/2010-e57-v1.0"><formatName type="String"><![CDATA[ASTM E57 3D Imaging Data File]]></formatName><guid type="String"><![CDATA[{file}]]></guid><versionMajor type="Integer">1</versionMajor><versionMinor type="Integer"/><!-- made for a test --><data3D type="Vector" allowHeterogeneousChildren="1">${xml.join('')}</data3D><images2D type="Vector" allowHeterogeneousChildren="1"/></e57Root>`,
  );
  const xmlAt = physical(logical.length);
  logical.push(...text);
  const pages = Math.ceil(logical.length / PAYLOAD);
  const head = [
    ...new TextEncoder().encode('ASTM-E57'),
    1,
    0,
    0,
    0,
    0,
    0,
    0,
    0,
    ...u64(pages * PAGE),
    ...u64(xmlAt),
    ...u64(text.length),
    ...u64(PAGE),
  ];
  head.forEach((v, i) => {
    logical[i] = v;
  });
  const out = new Uint8Array(pages * PAGE);
  for (let k = 0; k < pages; k++) {
    const page = Uint8Array.from({ length: PAYLOAD }, (_, i) => logical[k * PAYLOAD + i] ?? 0);
    out.set(page, k * PAGE);
    new DataView(out.buffer).setUint32(k * PAGE + PAYLOAD, crc(page), false);
  }
  return out;
}
