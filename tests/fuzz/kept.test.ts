import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { keptLines, keptText } from '../../src/answer/kept-lines.ts';
import type { JobFiles } from '../../src/folder/job-files.ts';
import { saidAlike, watchFiles } from '../../src/folder/watch-files.ts';
import { filesInMemory } from '../../src/page/papers/files-in-memory.ts';
import { sha256Hex } from '../../src/sha256.ts';

/** Seeded, so that a failure can be had again; FUZZ_CASES raises the count. */
const CASES = Number(process.env.FUZZ_CASES ?? 2000);
const seal = (text: string): string => sha256Hex(`the secret of one user ${text}`);

const lines = fc.array(
  fc.record({
    key: fc.string({ unit: fc.constantFrom(...'0123456789abcdef'), minLength: 64, maxLength: 64 }),
    text: fc.json(),
  }),
  { maxLength: 4 },
);

describe('a file of kept answers', () => {
  it('gives back what was kept', () => {
    fc.assert(
      fc.property(lines, (kept) => {
        expect([...keptLines(keptText(kept, seal), seal)]).toEqual([
          ...new Map(kept.map(({ key, text }) => [key, text])),
        ]);
      }),
      { seed: 20310504, numRuns: CASES },
    );
  });

  it('changed, cut, put together from two or made under another secret gives nothing', () => {
    const other = (text: string): string => sha256Hex(`the secret of another ${text}`);
    fc.assert(
      fc.property(
        lines,
        lines,
        fc.nat(),
        fc.nat(),
        fc.string({ maxLength: 3 }),
        (one, two, at, much, put) => {
          const sound = keptText(one, seal);
          const second = keptText(two, seal);
          const from = at % (sound.length + 1);
          const changed = [
            sound.slice(0, from) + put + sound.slice(from + (much % 5)),
            sound.slice(0, from),
            sound.slice(0, from) + second.slice(from),
            keptText(one, other),
          ];
          for (const text of changed) {
            if (text === sound || text === second) continue;
            expect(keptLines(text, seal).size).toBe(0);
          }
        },
      ),
      { seed: 20310505, numRuns: CASES },
    );
  });

  it('of any text is read without a crash', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 300 }), (text) => {
        expect(keptLines(text, seal).size).toBe(0);
        expect(keptLines(`sweepbook kept answers 1 ${text}`, seal).size).toBe(0);
      }),
      { seed: 20310506, numRuns: CASES },
    );
  });
});

const NAMES = ['job.json', 'ledger.jsonl', 'readings/a.csv', 'readings/b.csv', 'panels/a.csv', 'heats.csv'];
const folders = fc.dictionary(fc.constantFrom(...NAMES), fc.constantFrom('', '1,x,2,3\n', '1,x,2,4\n'));
const questions = fc.array(
  fc.record({
    what: fc.constantFrom('names', 'isFolder', 'isFile', 'bytes', 'digest', 'readings', 'has', 'csv'),
    of: fc.constantFrom(...NAMES, '', 'readings', 'panels'),
  }),
  { maxLength: 12 },
);

/** What a question is answered, as text. */
async function answered(files: JobFiles, { what, of }: { what: string; of: string }): Promise<string> {
  const rows: unknown[] = [];
  const read = { file: of, units: 'si', lines: null, line: 'x' } as const;
  const answers: Record<string, () => unknown> = {
    names: () => [...files.names(of)].sort(),
    isFolder: () => files.isFolder(of),
    isFile: () => files.isFile(of),
    bytes: () => [...(files.bytes(of, 'job') ?? ['gone'])],
    digest: () => files.digest(of),
    readings: () => files.digestOfReadings(of, null),
    has: () => files.hasReadings(of, ''),
    csv: () =>
      files.readCsv(
        of,
        null,
        read,
        () => {},
        (row) => rows.push(row),
      ),
  };
  return JSON.stringify([await answers[what]!(), rows]);
}

describe('what a paper was made of', () => {
  it('is told to be the same exactly where every question it asked is answered the same', async () => {
    const memory = (held: Record<string, string>) =>
      filesInMemory('job', new Map(Object.entries(held).map(([k, v]) => [k, Buffer.from(v)])), []);
    const seen = { alike: 0, other: 0 };
    await fc.assert(
      fc.asyncProperty(folders, folders, questions, async (before, after, asking) => {
        const { files, asked } = watchFiles(memory(before), sha256Hex);
        const then: string[] = [];
        for (const each of asking) then.push(await answered(files, each));
        const now: string[] = [];
        for (const each of asking) now.push(await answered(memory(after), each));
        const alike = JSON.stringify(then) === JSON.stringify(now);
        seen[alike ? 'alike' : 'other']++;
        // Kept as text between two runs.
        const kept = JSON.parse(JSON.stringify(asked()));
        expect(await saidAlike(memory(after), kept, sha256Hex)).toBe(alike);
      }),
      { seed: 20310507, numRuns: CASES },
    );
    expect(Math.min(seen.alike, seen.other)).toBeGreaterThan(CASES / 20);
  });
});
