import { describe, expect, it } from 'vitest';
import type { Io } from '../../src/cli/io.ts';
import { progressBar } from '../../src/cli/progress-bar.ts';

function watched(
  errIsTerminal: boolean,
  columns = 60,
): { io: Io; wrote: string[]; tick: (ms: number) => void } {
  const wrote: string[] = [];
  let time = 1_000_000;
  const io: Io = {
    out: () => expect.unreachable('a bar never goes to stdout'),
    err: (text) => void wrote.push(text),
    ...{ isTerminal: true, errIsTerminal, columns, colour: false, cwd: '/', setExit: () => {} },
    now: () => new Date(time),
  };
  return {
    io,
    wrote,
    tick: (ms) => {
      time += ms;
    },
  };
}

describe('the progress bar', () => {
  it('writes nothing where stderr is no terminal, and nothing for short work', () => {
    const piped = watched(false);
    const bar = progressBar(piped.io);
    piped.tick(5000);
    bar.show('x.csv', 1, 2);
    bar.clear();
    expect(piped.wrote).toEqual([]);
    const quick = watched(true);
    const short = progressBar(quick.io);
    short.show('x.csv', 1, 2);
    short.clear();
    expect(quick.wrote).toEqual([]);
  });

  it.each([0, 20, 60, 300])(
    'stays on one line of %d columns, at most ten a second, and clears it',
    (columns) => {
      const { io, wrote, tick } = watched(true, columns);
      const bar = progressBar(io);
      tick(500);
      for (let i = 0; i <= 1000; i++) {
        bar.show('a name that is rather long for a bar\u001b[2J.csv', i, 1000);
        tick(2);
      }
      bar.clear();
      expect(wrote.length).toBeGreaterThan(15);
      expect(wrote.length).toBeLessThanOrEqual(22);
      for (const text of wrote.slice(0, -1)) {
        expect(text).toMatch(/^\r[ -~]+ \[#*\.*\] {1,3}\d+ %$/);
        expect(text.length).toBeLessThanOrEqual(Math.max(20, columns));
      }
      expect(wrote.at(-1)).toMatch(/^\r +\r$/);
    },
  );

  it('bears a size of nothing', () => {
    const { io, wrote, tick } = watched(true);
    const bar = progressBar(io);
    tick(500);
    bar.show('empty.csv', 0, 0);
    expect(wrote[0]).toContain('100 %');
  });
});
