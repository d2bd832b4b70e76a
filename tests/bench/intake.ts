/**
 * Reading a large CSV of readings against papaparse alone on the same file in the same run, and peak memory.
 *
 *   npm run bench:intake [rows, default 1000000]
 *
 * Each way runs in a process of its own, three times in turn; the least processor time (user and system) counts, which
 * other work on the machine changes less than time by the clock. Papaparse alone only cuts the
 * text into cells (its own Node stream mode, no header, delimiter pinned); ours also reads every length, date and state.
 */
import { execFileSync } from 'node:child_process';
import { createReadStream, createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readingsReader } from '../../src/read/readings-csv.ts';
import { createRandom } from '../mechanics/random.ts';

const WAYS = ['papaparse', 'readings'] as const;
const SHEETS = ['decimal', 'trade'] as const;

async function main(): Promise<void> {
  const [way, path] = process.argv.slice(2);
  if ((WAYS as readonly string[]).includes(way ?? '')) return runOne(way as (typeof WAYS)[number], path!);
  const rows = Number.parseInt(way ?? '1000000', 10);
  const folder = mkdtempSync(join(tmpdir(), 'intake-'));
  try {
    for (const sheet of SHEETS) {
      const file = join(folder, `${sheet}.csv`);
      await write(file, rows, sheet);
      const megabytes = statSync(file).size / 1e6;
      const best: Record<string, { ms: number; mib: number; count: number }> = {};
      for (let round = 0; round < 3; round++) {
        for (const each of WAYS) {
          const result = spawn(each, file);
          if (best[each] === undefined || result.ms < best[each].ms) best[each] = result;
        }
      }
      console.log(`${sheet}: ${rows} rows, ${megabytes.toFixed(1)} MB`);
      for (const each of WAYS) {
        const { ms, mib, count } = best[each]!;
        console.log(
          `  ${each.padEnd(10)} ${ms.toFixed(0).padStart(6)} ms  ${(megabytes / (ms / 1000)).toFixed(1).padStart(6)} MB/s  peak ${mib.toFixed(0)} MiB  ${count} rows`,
        );
      }
      console.log(`  ratio      ${(best.readings!.ms / best.papaparse!.ms).toFixed(2)} (target 2.5)`);
    }
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function spawn(way: string, file: string): { ms: number; mib: number; count: number } {
  const out = execFileSync(process.execPath, ['--import', 'tsx', fileURLToPath(import.meta.url), way, file], {
    encoding: 'utf8',
  });
  return JSON.parse(out);
}

async function runOne(way: (typeof WAYS)[number], path: string): Promise<void> {
  const start = process.cpuUsage();
  let count = 0;
  if (way === 'papaparse') {
    const { default: Papa } = (await import('papaparse')) as unknown as {
      default: { parse: (input: NodeJS.ReadableStream, config: Record<string, unknown>) => void };
    };
    await new Promise<void>((resolve, reject) => {
      Papa.parse(createReadStream(path, { encoding: 'utf8' }), {
        header: false,
        delimiter: ',',
        newline: '\n',
        chunk: (result: { data: string[][] }) => {
          count += result.data.length;
        },
        complete: () => resolve(),
        error: reject,
      });
    });
  } else {
    let sum = 0;
    const reader = readingsReader(
      { file: path, units: 'us', lines: [{ name: 'bottom-flange', kind: 'sweep', from: -1, to: 40 }] },
      (reading) => {
        sum += reading.offset;
      },
    );
    for await (const chunk of createReadStream(path, { encoding: 'utf8' })) reader.push(chunk as string);
    const summary = reader.end();
    if (summary.problemCount > 0 || !Number.isFinite(sum)) throw new Error('the bench file must be clean');
    count = summary.count;
  }
  const used = process.cpuUsage(start);
  const ms = (used.user + used.system) / 1000;
  console.log(JSON.stringify({ ms, mib: process.resourceUsage().maxRSS / 1024, count }));
}

/**
 * Rows as a crew with a scanner's patience would keep them: 20 cycles, each read along the member at every hundredth of
 * a foot. `trade`: stations in feet and inches, offsets in sixteenths; `decimal`: both as decimals.
 */
async function write(path: string, rows: number, sheet: (typeof SHEETS)[number]): Promise<void> {
  const random = createRandom('intake bench');
  const out = createWriteStream(path);
  out.write('cycle,line,station,offset,date,state\n');
  let block = '';
  for (let i = 0; i < rows; i++) {
    const cycle = Math.floor((i * 20) / rows);
    const hundredths = i % 6200;
    const ticks = random.integer(-40, 120);
    const over = Math.abs(ticks) % 16;
    const station =
      sheet === 'decimal'
        ? (hundredths / 100).toFixed(2)
        : `${Math.floor(hundredths / 100)}'-${hundredths % 12}"`;
    const offset =
      sheet === 'decimal'
        ? (ticks / 16 + random.integer(0, 99) / 10000).toFixed(4)
        : `${ticks < 0 ? '-' : ''}${Math.floor(Math.abs(ticks) / 16)}${over === 0 ? '' : ` ${over}/16`}`;
    const state = cycle % 9 === 4 ? 'restrained' : 'released';
    block += `${cycle},bottom-flange,${station},${offset},2026-03-${String(1 + cycle).padStart(2, '0')},${state}\n`;
    if (block.length > 1 << 18) {
      if (!out.write(block)) await new Promise<void>((resolve) => out.once('drain', () => resolve()));
      block = '';
    }
  }
  await new Promise<void>((resolve, reject) => {
    out.on('error', reject);
    out.end(block, () => resolve());
  });
}

await main();
