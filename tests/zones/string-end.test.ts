import { expect, it } from 'vitest';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { fitLine } from '../../src/zones/fit-line.ts';
import { DEFAULT_SD } from '../bench/zones-cases.ts';
import { LINE, MEMBER, triangle } from '../line-fit-builder.ts';
import { createRandom } from '../mechanics/random.ts';

const FOOT = 0.3048;
const INCH = 0.0254;
type Slip = (feet: number) => number;

/** A line of our own making, drawn by hand: a kink at mid-length, a string on blocks of another height in every cycle, read to 1/16 in. */
function said(slip: Slip, cycles: number, seed: string, when = cycles - 1): string[] {
  const random = createRandom(seed);
  const readings = Array.from({ length: cycles }, (_, cycle) => {
    const blocks = random.between(-1, 1);
    return Array.from({ length: 31 }, (_, i): Reading => {
      const feet = 2 * i;
      const inches =
        triangle(3 - 0.3 * cycle)(feet) + blocks + (cycle === when ? slip(feet) : 0) + random.normal() / 20;
      return {
        cycle,
        line: LINE.name,
        station: feet * FOOT,
        offset: (Math.round(16 * inches) / 16) * INCH,
        state: 'released',
        sd: null,
        temperature: null,
        date: null,
        time: null,
        note: null,
        file: `readings/${cycle}.csv`,
        row: i + 2,
      };
    });
  }).flat();
  const line = { ...LINE, impact: 30 * FOOT };
  return fitLine(line, MEMBER, assembleSurveys(readings, line), [], DEFAULT_SD, 'us')
    .findings.filter(({ code, cycle }) => code === 'reading-set-aside' && cycle === when)
    .map(({ message }) => message);
}

// The block at 60 ft slips by 1 1/4 in after the reading there, before all others: each then reads its share of it.
const moved: Slip = (feet) => (feet === 60 ? 0 : (1.25 * feet) / 60);
const slipOfTape: Slip = (feet) => (feet === 60 ? 1.25 : 0);

it.each([1, 3])('names a string whose end moved while it was read, in the last of %i cycles', (cycles) => {
  const [one, ...more] = said(moved, cycles, 'moved');
  expect(more).toEqual([]);
  expect(one).toMatch(
    /60'-0".*Likely the end of the string moved while the line was read.*both ends before/s,
  );
});

it.each([1, 3])('calls a slip of the tape at that end what it is, in the last of %i cycles', (cycles) => {
  const [one, ...more] = said(slipOfTape, cycles, 'tape');
  expect(more).toEqual([]);
  expect(one).toMatch(/The end of the string is not what moved.*this one alone is off/);
});

it('says neither of a reading in the middle, nor of a cycle that can no longer be read again', () => {
  const middle = said((feet) => (feet === 20 ? 1.25 : 0), 1, 'middle');
  expect(middle).toHaveLength(1);
  expect(middle[0]).not.toMatch(/end of the string/);
  expect(said(moved, 2, 'earlier', 0).join()).not.toMatch(/end of the string/);
});
