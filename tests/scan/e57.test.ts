import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { addScan } from '../../src/cli/commands/scan.ts';
import { readCloud } from '../../src/cli/scan/read-cloud.ts';
import { InputError } from '../../src/input-error.ts';
import { parseXml } from '../../src/scan/e57-xml.ts';
import { crc32c } from '../../src/scan/read-e57.ts';
import { runInProcess } from '../cli/in-process.ts';
import { e57File } from './e57-file.ts';
import { POINTS, SCANS } from './fixtures/e57-scans.ts';

const folder = join(import.meta.dirname, 'fixtures');
const scratch = mkdtempSync(join(tmpdir(), 'sweepbook-e57-'));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

async function read(path: string) {
  const points: number[][] = [];
  const cloud = await readCloud(
    path,
    { columns: null, staleBounds: false },
    (x, y, z, n) => {
      for (let i = 0; i < n; i++) points.push([x[i]!, y[i]!, z[i]!]);
    },
    () => {},
  );
  return { points, cloud };
}
const written = (name: string, bytes: Uint8Array): string => {
  const path = join(scratch, `${name}.e57`);
  writeFileSync(path, bytes);
  return path;
};
async function fault(bytes: Uint8Array): Promise<string> {
  try {
    await read(written('faulty', bytes));
  } catch (error) {
    if (error instanceof InputError)
      return error.problems.map((p) => `${p.column}: ${p.found}; ${p.expected}`).join();
    throw error;
  }
  return 'nothing';
}
/** Changes text of the XML part to text of the same length, and makes the checksums anew by the writer's own rule. */
function edited(bytes: Uint8Array, from: string, to: string): Uint8Array {
  expect(to.length).toBe(from.length);
  const copy = Uint8Array.from(bytes);
  const at = Buffer.from(copy).lastIndexOf(from);
  expect(at).toBeGreaterThan(0);
  copy.set(new TextEncoder().encode(to), at);
  return resealed(copy);
}
function resealed(bytes: Uint8Array): Uint8Array {
  for (let page = 0; page < bytes.length; page += 1024)
    new DataView(bytes.buffer).setUint32(page + 1020, crc32c(bytes, page, page + 1020), false);
  return bytes;
}

describe('E57 (ASTM E2807)', () => {
  it('is in metres: a set-up in feet is refused', async () => {
    writeFileSync(
      join(scratch, 'job.json'),
      JSON.stringify({
        job: 'Reed Lane',
        units: 'us',
        member: { span: '60 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
        lines: { flange: { kind: 'sweep', bearings: ['0 ft', '60 ft'], positive: 'north' } },
      }),
    );
    const line = { from: [0, 0, 0], to: [60, 0, 0], direction: [0, 1, 0] };
    writeFileSync(join(scratch, 'scan.json'), JSON.stringify({ units: 'ft', lines: { flange: line } }));
    const cloud = join(folder, 'e57-double.e57');
    const run = (...more: string[]) =>
      runInProcess(['scan', cloud, '--job', '.', '--cycle', '0', ...more], [addScan], {
        cwd: scratch,
        now: () => new Date(0),
      });
    expect((await run()).err).toMatch(/units: found "ft", expected "m": E57 is in metres/);
    expect((await run('--units', 'ft')).status).toBe(2);
  });

  it.each(Object.keys(SCANS))('%s is read as another reader reads it', async (name) => {
    const { points, cloud } = await read(join(folder, `${name}.e57`));
    const theirs = readFileSync(join(folder, `${name}.xyz`), 'utf8')
      .trim()
      .split('\n')
      .map((row) => row.split(' ').map(Number));
    expect(points.length).toBe(theirs.length);
    points.forEach((p, i) => {
      p.forEach((v, k) => {
        expect(v).toBeCloseTo(theirs[i]![k]!, 11);
      });
    });
    const given = SCANS[name]!.reduce((sum, scan) => sum + scan.points.length, 0);
    expect(cloud.points + cloud.withheld).toBe(given);
  });

  it('a pose turns and shifts: by hand, 90 degrees about z takes x, y to -y, x', async () => {
    const { points } = await read(join(folder, 'e57-single-posed.e57'));
    const [x, y, z] = POINTS[0]!;
    expect(points[0]![0]).toBeCloseTo(-y + 10, 6);
    expect(points[0]![1]).toBeCloseTo(x - 20, 6);
    expect(points[0]![2]).toBeCloseTo(z + 5, 6);
    // The second scan of the file has no pose.
    expect(points[150]![0]).toBeCloseTo(x, 9);
  });

  it('numbers that run on from packet to packet inside a byte come out whole', async () => {
    const bytes = e57File([{ points: POINTS, kind: 'scaled', packet: 7 }]);
    const { points } = await read(written('packets', bytes));
    points.forEach((p, i) => {
      p.forEach((v, k) => {
        expect(v).toBeCloseTo(POINTS[i]![k]!, 9);
      });
    });
  });

  it('the checksum is CRC-32C: of "123456789" it is E3069283 (RFC 3720, check value)', () => {
    const bytes = new TextEncoder().encode('123456789');
    expect(crc32c(bytes, 0, 9).toString(16)).toBe('e3069283');
  });

  it('refuses what is damaged, cut short or lies, and says where', async () => {
    const good = readFileSync(join(folder, 'e57-double.e57'));
    const flipped = Uint8Array.from(good);
    flipped[2100]! ^= 1;
    expect(await fault(flipped)).toMatch(/byte 2048: a page whose checksum does not agree/);
    expect(await fault(Uint8Array.from(good.subarray(0, good.length - 1024)))).toMatch(
      /byte 16: a length of \d+/,
    );
    expect(await fault(edited(good, 'recordCount="150"', 'recordCount="350"'))).toMatch(
      /packet of kind|end of the file|350 points/,
    );
    expect(await fault(edited(good, '<cartesianY ', '<cartesianQ '))).toMatch(
      /fields cartesianX, cartesianQ/,
    );
    expect(await fault(edited(good, '</e57Root>', '</e57Rood>'))).toMatch(/not well formed/);
    expect(
      await fault(
        edited(
          good,
          '<codecs type="Vector" allowHeterogeneousChildren="1"/>',
          '<codecs><vectorChild><own/></vectorChild></codecs>'.padEnd(54),
        ),
      ),
    ).toMatch(/packed in a way of their own/);
    expect(await fault(new TextEncoder().encode('ply\nformat'))).toMatch(/byte 0/);
  });

  it('XML: entities, CDATA and comments are read; what is not well formed, or has a document type, is not', () => {
    expect(
      parseXml('<?xml version="1.0"?><a b="1 &amp; 2"><!-- <c> --><c><![CDATA[<x>]]>&#65;</c></a>'),
    ).toMatchObject({
      children: [{ name: 'c', text: '<x>A' }],
    });
    for (const bad of [
      '<a><b></a></b>',
      '<a',
      '<a></a><b/>',
      'text<a/>',
      '<!DOCTYPE a [<!ENTITY e "x">]><a>&e;</a>',
      '',
    ])
      expect(parseXml(bad), bad).toBeNull();
  });
});
