import { describe, expect, it } from 'vitest';
import { crackStanding } from '../../src/checks/crack-check.ts';
import { readCrackChecks } from '../../src/checks/crack-checks-csv.ts';

const read = (text: string) => readCrackChecks(text, 'us', 'checks.csv');
const HEAD = 'date,cycle,when,method,where,by,result,note\n';
const BEFORE = '2026-03-01,0,before,MT,impact and both diaphragms,R. Solveig,no crack,\n';

describe('the log of crack checks', () => {
  it('reads the trade’s short names of the methods and keeps the row', () => {
    const { checks, problems } = read(
      `${HEAD}${BEFORE}2026-03-09,6,after heating,dye,zone B,T. Aru,crack,12 mm\n`,
    );
    expect(problems).toEqual([]);
    expect(checks.map(({ method, when, result, row }) => [method, when, result, row])).toEqual([
      ['magnetic particle', 'before heating', 'no crack', 2],
      ['dye', 'after heating', 'crack', 3],
    ]);
  });

  it('refuses a check without a place, a name, a known method or a known result, with row and column', () => {
    const { checks, problems } = read(`${HEAD}2026-03-09,6,after,x-ray,,,fine,\n`);
    expect(checks).toEqual([]);
    expect(problems.map(({ row, column }) => [row, column])).toEqual([
      [2, 'method'],
      [2, 'where'],
      [2, 'by'],
      [2, 'result'],
    ]);
  });

  const last = { cycle: 6, date: '2026-03-08' };
  it('says that the check after the last heat is not recorded: before heating, or after an earlier cycle, is none', () => {
    for (const rows of ['', BEFORE, '2026-03-04,3,after,visual,zone B,T. Aru,no crack,\n']) {
      const standing = crackStanding(read(HEAD + rows).checks, last);
      expect(standing.lacking).toBe(true);
      expect(standing.sentences[0]).toMatch(
        /^Not recorded: a check for cracks after the last heat \(cycle 6\)/,
      );
    }
  });

  it('takes a check after the last heat by its cycle, or by its date where it names none, and tells an earlier crack', () => {
    for (const row of ['2026-03-09,6', '2026-03-09,']) {
      const early = '2026-03-02,1,after,visual,diaphragm 2,T. Aru,crack,\n';
      const { checks } = read(`${HEAD}${early}${row},after,UT,zone B,T. Aru,no crack,\n`);
      const standing = crackStanding(checks, last);
      expect(standing.lacking).toBe(false);
      expect(standing.sentences[0]).toMatch(/^Found: crack at diaphragm 2, 2026-03-02/);
      expect(standing.sentences[1]).toMatch(/ultrasonic, zone B.*no crack/);
    }
    // However much was looked at before, the newest crack is what a cut summary still shows.
    const clear = '2026-03-09,6,after,UT,zone B,T. Aru,no crack,\n'.repeat(40);
    const many = crackStanding(
      read(`${HEAD}${clear}2026-03-10,6,after,MT,zone C,T. Aru,crack,\n`).checks,
      last,
    );
    expect(many.sentences[0]!.slice(0, 40)).toMatch(/^Found: crack at zone C/);
    const undated = { cycle: 6, date: null };
    expect(
      crackStanding(read(`${HEAD}2026-03-09,,after,UT,zone B,T. Aru,no crack,\n`).checks, undated).lacking,
    ).toBe(true);
  });
});
