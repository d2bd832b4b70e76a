/**
 * Source: made by hand. Field sheets as a crew might bring them, in inches read to the sixteenth over bends drawn with a ruler; what is
 * expected of the first screen is what anybody would say who knows what the steel did.
 */
import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { Analysis } from '../../src/analysis.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { readOptions } from '../../src/job/read-options.ts';
import { readReadings } from '../../src/read/readings-csv.ts';
import { headline } from '../../src/status/crew-words.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { contradictions, screensOf } from './contradictions.ts';

const JOB = parseJob(
  JSON.stringify({
    job: 'Tannery lane, girder 2',
    units: 'us',
    member: {
      ...{ span: '60 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '7/8 in' },
      diaphragms: ['15 ft', '30 ft', '45 ft'],
    },
    lines: { flange: { kind: 'sweep', bearings: ['0 ft', '60 ft'], positive: 'toward the river' } },
    acceptance: [{ line: 'flange', limit: '1/2 in', over: 'whole line' }],
  }),
);

function day(sheet: string, change: (reading: Reading) => Reading = (reading) => reading): Analysis {
  const { readings } = readReadings(sheet, readOptions(JOB, 'readings/sheet.csv'));
  return analyse(JOB, readings.map(change));
}

const said = (analysis: Analysis): string => headline(analysis).sentences.join(' ');
const codes = (analysis: Analysis): string[] => analysis.findings.map(({ code }) => code);

/** 5, 4.4, 3.8 and 3.3 in out; the sheet of cycle 2 with its signs turned round. */
const TURNED = `station,cycle 0,cycle 1,cycle 2,cycle 3
0 ft,3/16,-1/8,1/4,-1/8
4 ft,15/16,9/16,-3/8,7/16
8 ft,1 3/4,1 5/16,-1,7/8
12 ft,2 9/16,2,-1 1/2,1 7/16
16 ft,3 5/16,2 5/8,-2 1/8,1 15/16
20 ft,4,3 5/16,-2 3/4,2 1/2
24 ft,4 13/16,4,-3 5/16,3
28 ft,5,4 1/16,-3 7/16,3 1/16
32 ft,4 1/4,3 9/16,-2 15/16,2 5/8
36 ft,3 13/16,3,-2 1/2,2 5/16
40 ft,3 3/16,2 9/16,-2 1/16,1 15/16
44 ft,2 9/16,2,-1 5/8,1 7/16
48 ft,2,1 7/16,-1 3/16,1 1/8
52 ft,1 3/8,7/8,-3/4,3/4
56 ft,3/4,7/16,-5/16,3/8
60 ft,1/4,-1/8,3/16,-1/16`;

/** 3, 2, 1 and 0.2 in out, then 0.7 in to the other side. */
const PAST = `station,cycle 0,cycle 1,cycle 2,cycle 3,cycle 4
0 ft,1/4,1/8,1/16,1/4,5/16
4 ft,5/8,7/16,1/4,5/16,3/16
8 ft,1 1/8,3/4,3/8,1/4,1/16
12 ft,1 5/8,1,1/2,1/4,-1/16
16 ft,2 1/16,1 3/8,11/16,3/16,-3/16
20 ft,2 3/8,1 5/8,13/16,3/8,-5/16
24 ft,2 13/16,1 15/16,7/8,3/8,-7/16
28 ft,2 7/8,1 15/16,15/16,5/16,-7/16
32 ft,2 3/8,1 11/16,13/16,5/16,-7/16
36 ft,2 3/16,1 1/2,3/4,1/4,-3/8
40 ft,1 3/4,1 1/8,1/2,3/16,-1/4
44 ft,1 3/8,1,3/8,1/8,-3/16
48 ft,1,11/16,5/16,1/8,-1/8
52 ft,9/16,7/16,1/4,0,0
56 ft,1/4,3/16,1/16,-1/16,1/16
60 ft,-1/8,-1/16,-1/8,0,1/8`;

/** 8, 7 and 5.9 in out at 27 ft, then 5, and nothing moves for two days: 4.95, 5.06. */
const TWO_DEAD = `station,cycle 0,cycle 1,cycle 2,cycle 3,cycle 4,cycle 5
0 ft,0,-5/16,1/16,0,-1/16,0
4 ft,1 1/2,15/16,1 1/8,3/4,13/16,13/16
8 ft,2 7/8,2 3/16,2 3/16,1 3/4,1 11/16,1 11/16
12 ft,4 5/16,3 7/16,3 3/16,2 9/16,2 5/8,2 11/16
16 ft,5 7/8,4 3/4,4 3/16,3 1/2,3 9/16,3 9/16
20 ft,6 7/8,5 11/16,5,4 1/8,4 3/16,4 3/16
24 ft,7 9/16,6 3/8,5 1/2,4 5/8,4 3/4,4 9/16
28 ft,7 11/16,6 3/8,5 9/16,4 9/16,4 11/16,4 11/16
32 ft,6 3/16,5 1/16,4 3/8,3 11/16,3 11/16,3 11/16
36 ft,4 9/16,3 5/8,3 1/4,2 11/16,2 7/8,2 11/16
40 ft,3 1/8,2 3/8,2 1/16,1 13/16,2,1 11/16
44 ft,2 3/8,1 3/4,1 9/16,1 3/16,1 5/8,1 5/16
48 ft,1 7/8,1 5/16,1 3/16,1,1 1/4,1
52 ft,1 5/16,15/16,11/16,5/8,15/16,5/8
56 ft,3/4,5/16,7/16,1/4,11/16,1/4
60 ft,3/16,0,-3/16,-1/16,3/8,-1/16`;

/** 3 in out, and so it stays. */
const NEVER = `station,cycle 0,cycle 1,cycle 2,cycle 3,cycle 4,cycle 5
0 ft,1/8,1/4,-1/16,-1/16,0,-1/16
4 ft,11/16,5/8,3/8,7/16,3/8,7/16
8 ft,1,1 1/16,7/8,7/8,13/16,7/8
12 ft,1 1/2,1 1/2,1 5/16,1 3/8,1 5/16,1 5/16
16 ft,2,1 15/16,1 3/4,1 7/8,1 13/16,1 3/4
20 ft,2 7/16,2 5/16,2 1/4,2 1/4,2 1/4,2 1/8
24 ft,2 7/8,2 3/4,2 9/16,2 11/16,2 11/16,2 3/4
28 ft,2 7/8,2 13/16,2 3/4,2 11/16,2 3/4,2 7/8
32 ft,2 5/8,2 7/16,2 5/16,2 5/16,2 1/2,2 3/8
36 ft,2 3/16,2,2,2 1/16,2 1/16,2 1/16
40 ft,1 7/8,1 5/8,1 1/2,1 3/4,1 9/16,1 13/16
44 ft,1 1/2,1 1/4,1 1/4,1 5/16,1 1/4,1 3/8
48 ft,1 1/8,13/16,13/16,15/16,15/16,1 1/16
52 ft,3/4,9/16,1/2,5/8,9/16,11/16
56 ft,1/2,1/8,1/8,5/16,5/16,3/8
60 ft,1/16,-1/4,-1/4,0,-1/8,0`;

/** 7, 6.2, 5.6, 5.2 in out; the last day read only as far as 20 ft. */
const HALF = `station,cycle 0,cycle 1,cycle 2,cycle 3,cycle 4
0 ft,1/8,-3/8,1/4,0,-1/8
4 ft,1 1/4,5/8,1 1/8,13/16,1/2
8 ft,2 5/16,1 5/8,1 7/8,1 3/4,1 3/8
12 ft,3 7/16,2 3/4,2 11/16,2 1/2,2 1/8
16 ft,4 1/2,3 11/16,3 5/8,3 3/16,2 3/4
20 ft,5 5/8,4 5/8,4 3/8,4 1/16,3 1/2
24 ft,6 11/16,5 9/16,5 3/16,4 7/8,
28 ft,6 13/16,5 13/16,5 7/16,5,
32 ft,6,5 1/16,4 11/16,4 3/8,
36 ft,5 5/16,4 7/16,4 1/16,3 3/4,
40 ft,4 1/2,3 5/8,3 3/8,3 1/8,
44 ft,3 3/4,3,2 11/16,2 9/16,
48 ft,2 15/16,2 3/8,1 15/16,1 7/8,
52 ft,2 1/8,1 9/16,1 3/16,1 3/8,
56 ft,1 5/16,15/16,5/8,3/4,
60 ft,1/2,1/4,-1/8,1/16,`;

describe('sheets made by hand, on the first screen', () => {
  it('a sheet with its signs turned round is named, and what is known without it still said', () => {
    const analysis = day(TURNED);
    const turned = analysis.findings.filter(({ code }) => code === 'survey-turned-round');
    expect(turned.map(({ cycle, severity }) => [cycle, severity])).toEqual([[2, 'caution']]);
    expect(contradictions(screensOf(analysis))).toEqual([]);
  });

  it('a turned sheet that is the last is named too, not only called overcorrected', () => {
    const upTo = analyse(
      JOB,
      day(TURNED).readings.filter(({ cycle }) => cycle <= 2),
    );
    expect(codes(upTo)).toContain('survey-turned-round');
  });

  it('steel that was pushed past straight is not taken for a turned sheet, and its side is said', () => {
    const analysis = day(PAST);
    expect(codes(analysis)).not.toContain('survey-turned-round');
    expect(analysis.member.verdict).toBe('overcorrected');
    expect(said(analysis)).toMatch(/^flange is (11\/16|3\/4) in ± \S+ in past straight, on the other side, /);
    expect(contradictions(screensOf(analysis))).toEqual([]);
  });

  it('while the line has stood still for two days, no movement is claimed and no zone is said to close', () => {
    const analysis = day(TWO_DEAD);
    expect(said(analysis)).toMatch(
      /It has stood still for 2 cycles, since cycle 3; on days it moved before, /,
    );
    expect(said(analysis)).not.toMatch(/(closer|further out) in cycle 5\./);
    expect(analysis.lines[0]!.progress.zones.map(({ verdict }) => verdict)).not.toContain('progressing');
    expect(contradictions(screensOf(analysis))).toEqual([]);
  });

  it('before a last day that moved, the same zones are said to close', () => {
    const { readings } = day(TWO_DEAD);
    const moved = analyse(
      JOB,
      readings.filter(({ cycle }) => cycle <= 3),
    );
    expect(moved.lines[0]!.progress.zones.map(({ verdict }) => verdict)).toContain('progressing');
  });

  it('of steel that never moved, no pace of before is told', () => {
    const analysis = day(NEVER);
    expect(analysis.member.verdict).toBe('stalled');
    expect(analysis.member.reason).toContain('has not moved since it was found');
    expect(said(analysis)).not.toContain('moved before');
    expect(contradictions(screensOf(analysis))).toEqual([]);
  });

  it('a sheet read half way says what the last whole one had, and asks for the rest', () => {
    const analysis = day(HALF);
    expect(said(analysis)).toMatch(/cannot be told from cycle 4; by cycle 3 it was (5|4 15\/16) in\./);
    expect(headline(analysis).next).toContain('read the remaining stations');
    expect(contradictions(screensOf(analysis))).toEqual([]);
  });

  it('a last sheet read on steel still warm is to be read again before any heat goes by it', () => {
    const { readings } = day(HALF, (reading) => ({ ...reading, temperature: reading.cycle === 3 ? 85 : 20 }));
    const warm = analyse(
      JOB,
      readings.filter(({ cycle }) => cycle <= 3),
    );
    expect(codes(warm)).toContain('steel-warmer-than-before');
    expect(headline(warm).next).toBe(
      'Read flange again when the steel is as cool as the air, before going by today’s numbers.',
    );
  });
});
