import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { keptLines, keptText } from '../../src/answer/kept-lines.ts';
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
