import { describe, expect, it } from 'vitest';
import type { LineInputs } from '../../src/analyse-line.ts';
import type { LineAnalysis } from '../../src/analysis.ts';
import { lineKeyText, remembering } from '../../src/answer/line-key.ts';

/** As much of a line's inputs as the key is asked about. */
const inputs = (name: string, offset: number): LineInputs =>
  ({
    job: { units: 'us', usefulGain: 0.0008 },
    line: { name },
    readings: [{ station: 1, offset }],
    marks: [],
  }) as unknown as LineInputs;

describe('what an answer is tied to', () => {
  it('is every input to the last digit, and the core', () => {
    const one = lineKeyText('core', inputs('a', 0.1));
    expect(lineKeyText('core', inputs('a', 0.1))).toBe(one);
    expect(lineKeyText('core', inputs('a', 0.1 + Number.EPSILON / 8))).not.toBe(one);
    expect(lineKeyText('core', inputs('b', 0.1))).not.toBe(one);
    expect(lineKeyText('another core', inputs('a', 0.1))).not.toBe(one);
  });
});

describe('remembering', () => {
  it('works out only the lines that changed, and forgets what the last job no longer had', () => {
    const done: string[] = [];
    const linesOf = remembering(({ line, readings }) => {
      done.push(`${line.name} ${readings[0]!.offset}`);
      return { line } as unknown as LineAnalysis;
    });
    linesOf([inputs('a', 1), inputs('b', 1)]);
    const [a, b] = linesOf([inputs('a', 1), inputs('b', 2)]);
    expect([a!.line.name, b!.line.name]).toEqual(['a', 'b']);
    expect(done).toEqual(['a 1', 'b 1', 'b 2']);
    linesOf([inputs('a', 1), inputs('b', 1)]);
    expect(done).toEqual(['a 1', 'b 1', 'b 2', 'b 1']);
  });
});
