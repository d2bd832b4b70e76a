import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { CloudReader, PointSink } from '../../src/scan/cloud.ts';
import { lasReader } from '../../src/scan/read-las.ts';
import { plyReader } from '../../src/scan/read-ply.ts';

/** Files written by, or read by, general-purpose tools of others; see fixtures/README.md. */
const fixture = (name: string) => readFileSync(new URL(`fixtures/${name}`, import.meta.url));
const numbers = (name: string) => JSON.parse(fixture(name).toString()) as number[];

function read(make: (sink: PointSink) => CloudReader, bytes: Uint8Array): number[] {
  const values: number[] = [];
  const reader = make((x, y, z, n) => {
    for (let i = 0; i < n; i++) values.push(x[i]!, y[i]!, z[i]!);
  });
  reader.push(bytes);
  reader.end();
  return values;
}

describe('PLY written by three.js', () => {
  const given = numbers('three-points.json');
  it.each(['three-little.ply', 'three-big.ply', 'three-ascii.ply'])('%s', (name) => {
    const found = read((sink) => plyReader(name, sink), fixture(name));
    expect(found.length).toBe(180);
    expect(Math.max(...found.map((v, i) => Math.abs(v - given[i]!)))).toBeLessThan(
      name.includes('ascii') ? 1e-4 : 1e-12,
    );
  });
});

describe('LAS as another reader sees it (@loaders.gl/las)', () => {
  it.each(['las12-format1', 'las12-format2', 'las13-format3'])('%s', (name) => {
    const bytes = fixture(`${name}.las`);
    const found = read((sink) => lasReader(name, bytes.length, sink), bytes);
    const other = numbers(`${name}-read.json`);
    expect(found.length).toBe(180);
    expect(Math.max(...found.map((v, i) => Math.abs(v - other[i]!)))).toBeLessThan(1e-9);
  });
});
