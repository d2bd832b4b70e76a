import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { contradictions, screensOf } from './contradictions.ts';
import { randomJob } from './random-job.ts';

// The same rules on the same jobs as in no-contradiction.test.ts, which takes the first 60.
const [FIRST, LAST, PARTS] = [61, 240, 6];
const part = (LAST - FIRST + 1) / PARTS;

describe('the first screen contradicts neither itself nor the readings', () => {
  it.each(Array.from({ length: PARTS }, (_, k) => [FIRST + k * part, FIRST + (k + 1) * part - 1] as const))(
    'on random jobs %i to %i',
    { timeout: 240_000 },
    (from, to) => {
      const broken: string[] = [];
      for (let seed = from; seed <= to; seed++) {
        const { job, readings, marks } = randomJob(seed);
        for (const each of contradictions(screensOf(analyse(job, readings, marks))))
          broken.push(`job ${seed}: ${each}`);
      }
      expect(broken).toEqual([]);
    },
  );
});
