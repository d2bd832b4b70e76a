import { describe, expect, it } from 'vitest';
import type { Member } from '../../src/job/job.ts';
import { crossChecks } from '../../src/member/cross-checks.ts';
import { damageKinds } from '../../src/member/damage-kinds.ts';
import { memberFindings } from '../../src/member/findings.ts';
import { linesOfSection } from '../../src/member/lines-of-section.ts';
import { FOOT } from '../../src/units/factors.ts';
import { MEMBER, triangle } from '../line-fit-builder.ts';
import { campaign } from './campaigns.ts';
import { analysedLine, memberJob, PLUMB, SWEEP, TILT } from './placed-lines.ts';

const flange = (inches: number) => [{ cycle: 0, shape: triangle(inches) }];
const codes = (lines: Parameters<typeof memberFindings>[0], member: Partial<Member>) =>
  memberFindings(lines, { member: { ...MEMBER, ...member }, units: 'us' }).map(({ code }) => code);
const job = (member: object, more: object = {}) =>
  memberJob({ depth: '36 in', webThickness: '3/8 in', ...member }, more);

// Simple statics: a flange nothing holds may go where it likes, one cast into a deck may not. Shapes by hand.
describe('the deck', () => {
  const lines = [analysedLine(SWEEP, flange(3)), analysedLine(PLUMB, flange(1))];

  it('not said, or composite: a lean smaller than the sweep is a contradiction; with the deck, of the plumb', () => {
    expect(codes(lines, {})).toEqual(['lines-disagree-top-flange']);
    const [found] = memberFindings(lines, { member: { ...MEMBER, deck: 'composite' }, units: 'us' });
    expect(found!.message).toMatch(
      /the job says a deck holds the top flange.*over what height the web was read/s,
    );
  });

  it('without one the top flange may have gone along, so that is none', () => {
    expect(codes(lines, { deck: 'none' })).toEqual([]);
  });

  it('without one a plumb misread at one place is still found', () => {
    const named = Array.from({ length: 20 }, (_, seed) => campaign(seed, 'plumb-misread')).filter(
      ({ lines: read, cycle, at }) =>
        crossChecks(linesOfSection(read), { member: { ...MEMBER, deck: 'none' } }).some(
          (one) => one.cause === 'misread' && one.cycle === cycle && Math.abs(one.station - at * FOOT) < 1e-6,
        ),
    );
    expect(named.length).toBeGreaterThanOrEqual(18);
  });

  it('tells T from W where only the bottom flange is read', () => {
    const states = (deck: object) =>
      damageKinds([analysedLine(SWEEP, flange(4))], job(deck))
        .slice(0, 2)
        .map(({ state }) => state);
    expect(states({})).toEqual(['open', 'open']);
    expect(states({ deck: 'composite' })).toEqual(['not-shown', 'shown']);
  });
});

describe('stiffeners', () => {
  const panel = {
    panels: {
      web: {
        stations: ['20 ft', '28 ft'],
        heights: ['1 in', '35 in'],
        positive: 'north',
        held: ['bottom', 'top', 'from', 'to'],
      },
    },
  };
  const of = (stiffeners: readonly (string | object)[]) => {
    const read = job({ stiffeners }, panel);
    const web = read.lines.find(({ name }) => name === 'web')!;
    return memberFindings([{ ...analysedLine(SWEEP, flange(3)), line: web }], read).map(({ code }) => code);
  };

  it('at both edges of a panel say nothing', () => {
    expect(of(['20 ft', '28 ft'])).toEqual([]);
  });

  it('through a panel, or missing at an edge said to be held, are said', () => {
    expect(of(['20 ft', '24 ft', '28 ft'])).toEqual(['panel-runs-over-stiffener']);
    expect(of(['20 ft', '30 ft'])).toEqual(['panel-edge-not-held']);
  });

  it('give the clear distance of the rule for web flatness where that is not said', () => {
    expect(job({ stiffeners: ['10 ft', '16 ft', '20 ft'] }).member.stiffenerSpacing).toBeCloseTo(4 * FOOT, 9);
    expect(
      job({ stiffeners: ['10 ft', '16 ft'], stiffenerSpacing: '5 ft' }).member.stiffenerSpacing,
    ).toBeCloseTo(5 * FOOT, 9);
    const wrong = () => job({ stiffeners: ['16 ft', '10 ft'] });
    expect(wrong).toThrow(
      expect.objectContaining({
        problems: [expect.objectContaining({ column: 'member.stiffeners[1]' })],
      }),
    );
  });

  it('fitted to the flange keep it square to the web: a flange level there is turned by itself', () => {
    // 6 in over 36 in of depth is 2 in over 12 in of flange; where a fold may be, level (0) is no contradiction by itself.
    const lines = [
      analysedLine(PLUMB, flange(6)),
      analysedLine(TILT, [{ cycle: 0, shape: (x) => (Math.abs(x - 30) < 1 ? 0.3 : triangle(6)(x) / 3) }]),
    ];
    const stiffener = [{ station: 30 * FOOT, holds: 'bottom-flange' as const }];
    const found = memberFindings(lines, { member: { ...MEMBER, stiffeners: stiffener }, units: 'us' });
    expect(found.map(({ code }) => code)).toEqual(['lines-disagree-misread']);
    expect(found[0]!.station).toBeCloseTo(30 * FOOT, 6);
    const sizes = (member: Member) =>
      crossChecks(linesOfSection(lines), { member }).map(({ size, u }) => Math.abs(size) / u);
    expect(sizes({ ...MEMBER, stiffeners: stiffener })[0]).toBeGreaterThan(2 * (sizes(MEMBER)[0] ?? 0));
  });
});
