import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { runInProcess } from '../cli/in-process.ts';
import { repeatedSentences } from '../repeated-sentences.ts';

/** Both edges of one flange. Drawn by hand: 4 1/2 in at its crown at 30 ft, straight to 20 and 40 ft, read every 2 ft to 1/16 in. */
const crown = (x: number) => 4.5 * Math.max(0, 1 - Math.abs(x - 30) / 10);
const rows = (line: string, turn: number) =>
  Array.from(
    { length: 31 },
    (_, i) =>
      `0,${line},${2 * i},${(Math.round((4 + crown(2 * i)) * 16) + ((i * turn) % 3 === 1 ? 1 : 0)) / 16}`,
  );

let top = '';
let out = '';

beforeAll(async () => {
  top = mkdtempSync(join(tmpdir(), 'sweepbook-edges-'));
  const cli = (...args: string[]) =>
    runInProcess(args, COMMANDS, { cwd: top, now: () => new Date('2026-03-04T08:00:00Z') });
  const member = ['--span', '60 ft', '--flange-width', '14 in', '--flange-thickness', '1 in'];
  const lines = ['near', 'far'].flatMap((name) => ['--line', `${name}:sweep:0..60 ft:+north`]);
  await cli('new', 'job', ...member, '--diaphragms', '20 ft, 40 ft', ...lines);
  writeFileSync(
    join(top, 'c0.csv'),
    `cycle,line,station_ft,offset_in\n${[...rows('near', 2), ...rows('far', 4)].join('\n')}\n`,
  );
  expect(await cli('add', 'job', 'c0.csv')).toMatchObject({ status: 0 });
  out = (await cli('status', 'job')).out.replace(/\s+/g, ' ');
}, 60_000);

afterAll(() => rmSync(top, { recursive: true, force: true }));

describe('status of two lines with zones', () => {
  it('says what “Worth” is once', () => {
    expect(repeatedSentences(out)).toEqual([]);
    expect(out.split('“Worth”').length).toBe(2);
  });

  it('says how well edges are known, and never better than the stations stand', () => {
    const edges = [...out.matchAll(/Edges to about ± (\d+)/g)].map((match) => Number(match[1]));
    expect(edges).toHaveLength(2);
    for (const inches of edges) expect(inches).toBeGreaterThanOrEqual(24);
  });
});
