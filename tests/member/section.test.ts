import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { linesOfSection, placeOf, valueAt } from '../../src/member/lines-of-section.ts';
import { chosenStations, missingParts, sectionAt } from '../../src/member/section.ts';
import { sameSide, upward } from '../../src/member/sides.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitOf, MEMBER, triangle } from '../line-fit-builder.ts';
import { analysedLine, CAMBER, PLUMB, SWEEP, TILT, TOP } from './placed-lines.ts';

// Points of rigid plates moved and then read as a crew would (tests/member/worked/sections.py, numpy).
const worked = JSON.parse(
  readFileSync(new URL('worked/sections.json', import.meta.url).pathname, 'utf8'),
) as Record<
  'swung' | 'over' | 'turned' | 'lifted',
  Record<'bottomSweep' | 'topSweep' | 'plumb' | 'tiltLevel' | 'tiltSquare' | 'camber', number>
>;
const flat = (inches: number) => [{ cycle: 0, shape: () => inches, u: 1 / 32 }];
const U = (1.4 / 32) * INCH;

describe('a section from its lines', () => {
  it.each(Object.entries(worked))(
    '%s: bottom and plumb give the top, tilts read either way agree',
    (_, at) => {
      const level = sectionAt(
        linesOfSection([
          analysedLine(SWEEP, flat(at.bottomSweep)),
          analysedLine(PLUMB, flat(at.plumb)),
          analysedLine(TILT, flat(at.tiltLevel)),
          analysedLine(CAMBER, flat(at.camber)),
        ]),
        MEMBER,
        30 * FOOT,
        'found',
      )!;
      expect(level.top.across.value / INCH).toBeCloseTo(at.topSweep, 9);
      expect(level.top.across.u! / U).toBeCloseTo(Math.SQRT2, 9);
      expect(level.rise.value / INCH).toBeCloseTo(at.camber, 9);
      expect(level.bottom.turn.value).toBeCloseTo(at.tiltLevel / 12, 9);
      const square = sectionAt(
        linesOfSection([
          analysedLine(TOP, flat(at.topSweep)),
          analysedLine(PLUMB, flat(at.plumb)),
          analysedLine(
            { ...TILT, baseline: { method: 'absolute', against: 'square-to-web' } },
            flat(at.tiltSquare),
          ),
        ]),
        MEMBER,
        30 * FOOT,
        'found',
      )!;
      expect(square.bottom.across.value / INCH).toBeCloseTo(at.bottomSweep, 9);
      expect(square.bottom.across.how).toBe('worked-out');
      // Small angles: a level reads the sine and a square the sine of the difference; third order in 0.1 rad.
      expect(square.bottom.turn.value).toBeCloseTo(level.bottom.turn.value, 3);
    },
  );

  it('marks as assumed what nothing reads, and says what reading it would settle', () => {
    const lines = linesOfSection([analysedLine(SWEEP, flat(2))]);
    const section = sectionAt(lines, MEMBER, 30 * FOOT, 'now')!;
    expect(section.bottom.across.how).toBe('read');
    expect([section.top.across.how, section.lean.how, section.bottom.turn.how, section.rise.how]).toEqual(
      Array(4).fill('assumed'),
    );
    expect(section.top.across.u).toBeNull();
    const missing = missingParts(lines, MEMBER).map(({ what }) => what);
    expect(missing).toHaveLength(4);
    expect(missing.join()).toMatch(/plumb of the web.*tilt.*camber.*thickness of the web/);
    // A plumb alone says how the section stands, not where.
    const leaning = sectionAt(linesOfSection([analysedLine(PLUMB, flat(2))]), MEMBER, 30 * FOOT, 'now')!;
    expect(leaning.lean.how).toBe('read');
    expect(leaning.bottom.across).toMatchObject({ how: 'assumed', value: 2 * INCH, u: null });
  });

  it('shows each line by its own last survey and says which cycle that is', () => {
    const lines = linesOfSection([
      analysedLine(SWEEP, [
        { cycle: 0, shape: triangle(3) },
        { cycle: 4, shape: triangle(1) },
      ]),
      analysedLine(PLUMB, [
        { cycle: 0, shape: triangle(3) },
        { cycle: 2, shape: triangle(2) },
      ]),
    ]);
    const now = sectionAt(lines, MEMBER, 30 * FOOT, 'now')!;
    expect([now.bottom.across.cycle, now.lean.cycle, now.top.across.cycle]).toEqual([4, 2, 2]);
    expect(sectionAt(lines, MEMBER, 30 * FOOT, 'found')!.lean.value).toBeCloseTo(3 * INCH, 12);
    expect(sectionAt(lines, MEMBER, 61 * FOOT, 'now')).toBeNull();
  });

  it('takes a plumb read at a height on the web on to the bottom', () => {
    const lines = linesOfSection([analysedLine({ ...PLUMB, part: 'web', height: 9 * INCH }, flat(1.5))]);
    expect(sectionAt(lines, MEMBER, 30 * FOOT, 'now')!.lean.value / INCH).toBeCloseTo(2, 12);
  });

  it('reads between stations with more doubt than at them, and nothing beyond the ends', () => {
    const survey = fitOf([{ cycle: 0, shape: (feet) => feet / 10, u: 1 / 32 }], 4).surveys[0]!;
    expect(valueAt(survey, 8 * FOOT)).toMatchObject({ value: 0.8 * INCH, u: U, read: true });
    const between = valueAt(survey, 10 * FOOT)!;
    expect(between.value).toBeCloseTo(1 * INCH, 12);
    // Half-way: two readings averaged, and a bow of up to half the difference of 0.4 in.
    expect(between.u).toBeCloseTo(Math.sqrt(U ** 2 / 2 + (0.4 * INCH) ** 2 / 12), 12);
    expect(valueAt(survey, -1)).toBeNull();
  });

  it('draws the crest, the bends and the bearings, in the order of the member, none twice', () => {
    const zones = [{ zone: 'A', rotation: 0.05, u: 0.001 }];
    const lines = linesOfSection([analysedLine(SWEEP, [{ cycle: 0, shape: triangle(3), zones }])]);
    const chosen = chosenStations(lines, 6);
    expect(chosen.map(({ why }) => why)).toEqual(['bearing', 'bend A', 'furthest out', 'bearing']);
    expect(chosenStations(lines, 2).map(({ why }) => why)).toEqual(['bend A', 'furthest out']);
  });
});

describe('sides', () => {
  const of = (kind: 'sweep' | 'plumb' | 'tilt', positive: string) => ({ kind, positive });
  it.each([
    ['toward the north shoulder', 'tilt', 'north tip high', 1],
    ['toward the north shoulder', 'tilt', 'north tip low', -1],
    ['toward the north shoulder', 'tilt', 'south edge high', -1],
    ['toward the north shoulder', 'plumb', 'bottom of the web toward the south shoulder', -1],
    ['toward the north shoulder', 'plumb', 'top toward the north', -1],
    ['away from traffic', 'plumb', 'bottom toward traffic', -1],
    ['downstream', 'tilt', 'downstream edge high', 1],
    ['east', 'plumb', 'west', -1],
    ['away from the string', 'tilt', 'far edge high', null],
    ['toward the north shoulder', 'plumb', 'bottom of the web away from the plumb line', null],
  ] as const)('"%s" against a %s "%s": %s', (sweep, kind, positive, expected) => {
    expect(sameSide(of('sweep', sweep), of(kind, positive))).toBe(expected);
  });

  it('takes a side the words leave open from the readings, and says so', () => {
    const lines = linesOfSection([
      analysedLine(SWEEP, [{ cycle: 0, shape: triangle(3) }]),
      analysedLine({ ...PLUMB, positive: 'away from the plumb line' }, [{ cycle: 0, shape: triangle(-3) }]),
    ]);
    expect(lines.placed.plumb).toMatchObject({ sign: -1, signFrom: 'readings' });
    expect(sectionAt(lines, MEMBER, 30 * FOOT, 'now')!.top.across.value).toBeCloseTo(0, 12);
  });

  it('puts a line where the job says, else where its name or kind says', () => {
    const place = (over: Parameters<typeof analysedLine>[0]) => placeOf(analysedLine(over, flat(0)));
    expect(place(SWEEP)).toBe('bottomSweep');
    expect(place(TOP)).toBe('topSweep');
    expect(place({ ...TOP, part: 'bottom-flange' })).toBe('bottomSweep');
    expect(place({ ...SWEEP, part: 'top-flange' })).toBe('topSweep');
    expect(place({ ...SWEEP, part: 'web' })).toBeNull();
    expect(upward({ positive: 'down' })).toBe(-1);
    expect(
      upward({ positive: 'down', string: { weight: 1, tension: 1, positiveIs: 'up', ends: null } }),
    ).toBe(1);
  });
});
