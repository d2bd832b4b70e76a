import { describe, expect, it } from 'vitest';
import { damageKinds, shownCategories } from '../../src/member/damage-kinds.ts';
import { triangle } from '../line-fit-builder.ts';
import { analysedLine, CAMBER, memberJob, PLUMB, SWEEP, TOP } from './placed-lines.ts';

const JOB = memberJob({ depth: '36 in' });
const as = (shape: (feet: number) => number) => [{ cycle: 0, shape }];
const kinds = (...lines: Parameters<typeof damageKinds>[0][number][]) => damageKinds(lines, JOB);
const states = (...lines: Parameters<typeof damageKinds>[0][number][]) =>
  Object.fromEntries(kinds(...lines).map(({ category, state }) => [category, state]));
const bulge = (name: string, inches: number) => analysedLine({ name, kind: 'bulge' }, as(triangle(inches)));

// Categories as the guide defines them (1.2.1 S, 1.2.3 T and 1.2.4 L seen; W from memory); cases by hand.
describe('kinds of damage by the published categories', () => {
  it('a girder struck under its deck: the bottom flange swings, the top stays: T, not W', () => {
    const found = states(analysedLine(SWEEP, as(triangle(4))), analysedLine(PLUMB, as(triangle(4))));
    expect(found).toEqual({ W: 'not-shown', T: 'shown', S: 'open', 'L/U': 'open', 'L/S': 'open' });
  });

  it('both flanges over alike: W, not T', () => {
    const sweep = analysedLine(SWEEP, as(triangle(4)));
    expect(
      states(
        sweep,
        analysedLine(
          PLUMB,
          as(() => 0),
        ),
      ),
    ).toMatchObject({ W: 'shown', T: 'not-shown' });
    expect(states(sweep, analysedLine(TOP, as(triangle(4))))).toMatchObject({ W: 'shown', T: 'not-shown' });
  });

  it('the top flange went part of the way: W and T', () => {
    const found = kinds(analysedLine(SWEEP, as(triangle(6))), analysedLine(TOP, as(triangle(2.5))));
    expect(shownCategories(found)).toBe('W + T');
    expect(found[1]!.why).toMatch(/leans \+3 1\/2 in ± 0\.\d+ in over its depth at 30'-0"/);
  });

  it('with a sweep alone neither can be told, and it says what would', () => {
    const found = kinds(analysedLine(SWEEP, as(triangle(4))));
    expect(found.slice(0, 2).map(({ state }) => state)).toEqual(['open', 'open']);
    expect(found[0]!.why).toMatch(
      /T where the top flange stayed, W where it went along.*plumb of the web there/,
    );
  });

  it('takes the lift of the lean off the camber before it speaks of S', () => {
    const known = { method: 'reference', file: 'c.csv', profile: [] } as const;
    const camber = (shape: (feet: number) => number, baseline: object = known) => {
      const line = analysedLine({ ...CAMBER, ...{ baseline: known } }, as(shape));
      return {
        ...line,
        fit: { ...line.fit, baseline: { ...line.fit.baseline, method: 'reference' as const, ...baseline } },
      };
    };
    // 12 in of lean over 36 in lifts 36 − √(36² − 12²) = 2.0589 in.
    const swing = analysedLine(PLUMB, as(triangle(12)));
    const lift = (feet: number) => 36 - Math.sqrt(36 ** 2 - triangle(12)(feet) ** 2);
    expect(states(swing, camber(lift)).S).toBe('not-shown');
    expect(
      states(
        swing,
        camber((feet) => lift(feet) + triangle(2)(feet)),
      ).S,
    ).toBe('shown');
    // Over a chord the camber it was built with is in the reading.
    expect(
      states(
        swing,
        camber((feet) => lift(feet) + triangle(2)(feet), { method: 'bearings' }),
      ).S,
    ).toBe('open');
    expect(kinds(swing, camber(lift)).find(({ category }) => category === 'S')!.why).toContain(
      'the lift of the lean (+2 1/16 in) taken off',
    );
  });

  it('tells a bulge of the web from one of a flange, and from what plates are rolled with', () => {
    expect(states(bulge('web-panel', 1), bulge('flange-bulge', 0.2))).toMatchObject({
      'L/S': 'shown',
      'L/U': 'not-shown',
    });
    expect(states(bulge('flange-bulge', 1))).toMatchObject({ 'L/U': 'shown', 'L/S': 'open' });
  });

  it('calls nothing damage that members are made with', () => {
    const found = kinds(analysedLine(SWEEP, as(triangle(0.5))), analysedLine(PLUMB, as(triangle(0.3))));
    expect(shownCategories(found)).toBeNull();
    // And says by whose measure.
    const measured = found.filter(({ why }) => /(?:made|built) with/.test(why));
    expect(measured.length).toBeGreaterThan(0);
    for (const { why } of measured) expect(why).toMatch(/ASTM A6, from memory|common practice/);
  });
});
