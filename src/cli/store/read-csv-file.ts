import { createHash } from 'node:crypto';
import { StringDecoder } from 'node:string_decoder';
import type { SurveyCount } from '../../ledger/record.ts';
import type { ReadOptions } from '../../read/read-options.ts';
import { type ReadSummary, streamReadings } from '../../read/readings-csv.ts';
import type { Reading } from '../../survey/survey.ts';
import { streamInput } from './open-input.ts';

/** Problems kept of one file; more than this and it is not a file of readings with a few bad rows. */
export const MOST_PROBLEMS = 10_000;

export interface ReadFile extends ReadSummary {
  /** Of exactly the bytes that were read. */
  readonly sha256: string;
  readonly bytes: number;
  /** Readings by line, cycle and state, in that order. */
  readonly surveys: readonly SurveyCount[];
}

/**
 * Reads one CSV of readings a block at a time, hashing the same bytes on the way; memory does not grow with the file
 * (unless `onReading` keeps what it is given). Faults in the text are in `problems`, never thrown.
 *
 * @param onProgress called with the bytes read so far and the size of the file
 * @throws InputError when it is not a regular file; the file system's error when it cannot be read
 */
export async function readCsvFile(
  path: string,
  options: ReadOptions,
  onReading: (reading: Reading) => void,
  onProgress?: (bytes: number, size: number) => void,
): Promise<ReadFile> {
  const { size, blocks } = streamInput(path, 'readings', 1 << 17);
  const hash = createHash('sha256');
  let bytes = 0;

  async function* chunks(): AsyncGenerator<string> {
    const decoder = new StringDecoder('utf8');
    for await (const block of blocks) {
      hash.update(block);
      bytes += block.length;
      onProgress?.(bytes, size);
      yield decoder.write(block);
    }
    yield decoder.end();
  }

  const tally = new SurveyTally();
  const summary = await streamReadings(chunks(), { mostProblems: MOST_PROBLEMS, ...options }, (reading) => {
    tally.add(reading);
    onReading(reading);
  });
  return { ...summary, sha256: hash.digest('hex'), bytes, surveys: tally.counts() };
}

/** Counts readings by survey. Readings of one survey mostly follow each other, so the last one is tried first. */
class SurveyTally {
  private readonly found = new Map<
    string,
    { line: string; cycle: number; state: Reading['state']; readings: number }
  >();
  private last: { line: string; cycle: number; state: Reading['state']; readings: number } | null = null;

  add({ line, cycle, state }: Reading): void {
    const { last } = this;
    if (last !== null && last.cycle === cycle && last.state === state && last.line === line) {
      last.readings++;
      return;
    }
    const key = `${cycle}\n${state}\n${line}`;
    const known = this.found.get(key) ?? { line, cycle, state, readings: 0 };
    known.readings++;
    this.found.set(key, known);
    this.last = known;
  }

  counts(): SurveyCount[] {
    return [...this.found.values()].sort(
      (a, b) =>
        (a.line < b.line ? -1 : a.line > b.line ? 1 : 0) || a.cycle - b.cycle || (a.state < b.state ? 1 : -1),
    );
  }
}
