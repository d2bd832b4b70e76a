import { describe, expect, it } from 'vitest';
import { crossChecks } from '../../src/member/cross-checks.ts';
import { memberFindings } from '../../src/member/findings.ts';
import { linesOfSection } from '../../src/member/lines-of-section.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { MEMBER, triangle } from '../line-fit-builder.ts';
import { campaign, type Slip } from './campaigns.ts';
import { analysedLine, CAMBER, PLUMB, SWEEP, TILT, TOP } from './placed-lines.ts';

const check = (lines: Parameters<typeof linesOfSection>[0]) =>
  crossChecks(linesOfSection(lines), { member: MEMBER });

describe('lines that check each other, on campaigns made another way', () => {
  // The promise is at most 1 % of jobs without a fault; 3000 of them (`bench:lines`) gave 1.
  it('say nothing on 200 jobs without a fault', () => {
    const wrong = Array.from({ length: 200 }, (_, seed) => seed).filter(
      (seed) => check(campaign(seed, 'none').lines).length > 0,
    );
    expect(wrong).toEqual([]);
  });

  it.each([
    ['string-end', 'sweep-plumb', 'string-end', 36],
    ['plumb-misread', 'sweep-plumb', 'misread', 38],
    ['level-misread', 'tilt-plumb', 'misread', 30],
    ['level-zero', 'tilt-plumb', 'zero', 38],
    ['top-flange', 'sweep-plumb', 'top-flange', 38],
    ['flange-twisted', 'tilt-plumb', 'other-side', 38],
    ['plumb-side', 'sweep-plumb', 'other-side', 36],
    ['camber-low', 'camber-lift', 'below-lift', 38],
  ] as const)(
    'find a %s of 1 in with its cause, in its cycle and place',
    (slip: Slip, pair, cause, least) => {
      let named = 0;
      for (let seed = 0; seed < 40; seed++) {
        const { lines, cycle, at } = campaign(seed, slip);
        const found = check(lines).filter((one) => one.check === pair && one.cause === cause);
        const oneCycle = slip === 'string-end' || slip.endsWith('misread');
        const right = found.filter(
          (one) =>
            (!oneCycle || one.cycle === cycle) &&
            (!slip.endsWith('misread') || Math.abs(one.station - at * FOOT) < 1e-6) &&
            (slip !== 'string-end' || one.station > 50 * FOOT),
        );
        if (right.length > 0) named++;
        if (right.length > 0 && slip.endsWith('misread'))
          expect(Math.abs(Math.abs(right[0]!.size) / INCH - 1), `seed ${seed}`).toBeLessThan(
            5 * (right[0]!.u / INCH),
          );
      }
      expect(named).toBeGreaterThanOrEqual(least);
    },
  );
});

describe('what a disagreement says', () => {
  const flange = (inches: number, cycle = 0) => ({ cycle, shape: triangle(inches) });
  const findings = (lines: Parameters<typeof linesOfSection>[0]) =>
    memberFindings(lines, { member: MEMBER, units: 'us' });

  it('names the lines, the numbers, k and the likely cause', () => {
    const [one, ...more] = findings([analysedLine(SWEEP, [flange(3)]), analysedLine(PLUMB, [flange(1)])]);
    expect(more).toEqual([]);
    expect(one).toMatchObject({ severity: 'caution', code: 'lines-disagree-top-flange', cycle: 0 });
    expect(one!.message).toMatch(
      /^Cycle 0: bottom-flange and web do not describe one section at 30'-0": likely the top flange moved too.*Run a line along the top flange.*There the bottom flange is \+3 in out, and by the lean of the web it would be \+1 in: \+\d.* in ± 0\.\d+ in of it is more than doubt \(k = [345]\.\d\)\.$/i,
    );
  });

  it('is silent once the top flange is read: then the three agree', () => {
    expect(
      findings([
        analysedLine(SWEEP, [flange(3)]),
        analysedLine(PLUMB, [flange(1)]),
        analysedLine(TOP, [flange(2)]),
      ]),
    ).toEqual([]);
  });

  it('calls a place that stays odd in several cycles steel rather than a slip, in one finding', () => {
    const odd = (inches: number) => (feet: number) => triangle(inches)(feet) / 3 + (feet === 20 ? 1.2 : 0);
    const lines = [
      analysedLine(PLUMB, [flange(3, 0), flange(2, 1)], 4),
      analysedLine(
        TILT,
        [
          { cycle: 0, shape: odd(3) },
          { cycle: 1, shape: odd(2) },
        ],
        4,
      ),
    ];
    const found = findings(lines);
    expect(found).toHaveLength(1);
    expect(found[0]!.message).toMatch(
      /^Cycle 1: tilt and web.*: the same place in more than one cycle is seldom a slip\..*So it was in cycle 0\.$/,
    );
  });

  it('holds nothing against a member bent upright, nor against a flange that stays level on a folding web', () => {
    expect(
      check([
        analysedLine(PLUMB, [flange(3)]),
        analysedLine(CAMBER, [{ cycle: 0, shape: triangle(1.5) }]),
        analysedLine(TILT, [{ cycle: 0, shape: () => 0 }]),
      ]),
    ).toEqual([]);
  });

  it('says a positive side that is the wrong way about once, not against every line', () => {
    const found = findings([
      analysedLine(SWEEP, [flange(3)]),
      analysedLine(PLUMB, [flange(-3)]),
      analysedLine(TILT, [flange(1)]),
    ]);
    expect(found.map(({ code }) => code)).toEqual(['lines-disagree-other-side']);
  });

  it('compares only what was read in the same cycle', () => {
    expect(check([analysedLine(SWEEP, [flange(3, 0)]), analysedLine(PLUMB, [flange(0, 1)])])).toEqual([]);
  });
});

// Worked on paper: a web 36 in deep swings by p at its foot, lifts it by 36 − √(36² − p²) and turns a 12 in flange by 12·p/36.
describe('sections worked by hand', () => {
  const p = triangle(6);
  const tilt = (share: number) => analysedLine(TILT, [{ cycle: 0, shape: (x) => (share * p(x)) / 3 }], 6);
  const lifted = (less: number) =>
    analysedLine(
      CAMBER,
      [{ cycle: 0, shape: (x) => 36 - Math.sqrt(36 ** 2 - p(x) ** 2) - less * triangle(1)(x) ** 2 }],
      6,
    );
  const sweep = analysedLine(SWEEP, [{ cycle: 0, shape: p }]);
  const plumb = analysedLine(PLUMB, [{ cycle: 0, shape: p }], 6);
  const underDeck = (...lines: Parameters<typeof linesOfSection>[0]) =>
    crossChecks(linesOfSection(lines), { member: { ...MEMBER, deck: 'composite' } });

  it('6 in of sweep, 6 in of lean, 2 in of tilt, 1/2 in of lift: one section, with the plumb and without', () => {
    expect(check([sweep, plumb, tilt(1), lifted(0)])).toEqual([]);
    expect(underDeck(sweep, tilt(1), lifted(0))).toEqual([]);
  });

  it.each([
    ['the plumb', (...more: (typeof sweep)[]) => check([sweep, plumb, ...more])],
    [
      'the sweep under a deck, where no plumb is read',
      (...more: (typeof sweep)[]) => underDeck(sweep, ...more),
    ],
  ])('the flange level side down, or the foot 1 in lower than its lift, is found by %s', (_, found) => {
    const [turned, ...none] = found(tilt(-1), lifted(0));
    expect(none).toEqual([]);
    expect(turned).toMatchObject({ check: 'tilt-plumb', cause: 'other-side' });
    expect(turned!.says / INCH).toBeCloseTo(-2, 6);
    expect(turned!.expected / INCH).toBeCloseTo(2, 6);
    const [low] = found(tilt(1), lifted(1));
    expect(low).toMatchObject({ check: 'camber-lift', cause: 'below-lift' });
    expect(low!.says / INCH).toBeCloseTo(0.5036 - 1, 3);
    expect(low!.expected / INCH).toBeCloseTo(0.5036, 3);
  });

  it('without the plumb and without a word of a deck, a sweep alone says nothing of tilt or lift', () => {
    expect(check([sweep, tilt(-1), lifted(1)])).toEqual([]);
  });

  it('without the plumb, under a deck, says nothing on 100 campaigns without a fault', () => {
    const wrong = Array.from({ length: 100 }, (_, seed) => seed).filter(
      (seed) =>
        underDeck(...campaign(seed, 'none').lines.filter(({ line }) => line.kind !== 'plumb')).length > 0,
    );
    expect(wrong).toEqual([]);
  });
});
