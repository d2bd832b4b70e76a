import { createHash } from 'node:crypto';
import { StringDecoder } from 'node:string_decoder';
import { SurveyTally } from '../../folder/survey-tally.ts';
import { MOST_PROBLEMS } from '../../ledger/import-facts.ts';
import type { SurveyCount } from '../../ledger/record.ts';
import type { ReadOptions } from '../../read/read-options.ts';
import { type ReadSummary, streamReadings } from '../../read/readings-csv.ts';
import type { Reading } from '../../survey/survey.ts';
import { streamInput } from './open-input.ts';

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
