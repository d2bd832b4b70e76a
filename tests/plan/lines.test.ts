import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { Analysis, LineAnalysis, Progress } from '../../src/analysis.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { heatsOfJob } from '../../src/heats/heats-of-job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { FIXED_WORK } from '../../src/past/quantities.ts';
import { closeBulge, workOff } from '../../src/plan/forward.ts';
import { type Plan, planJob } from '../../src/plan/plan.ts';
import { workOfJob } from '../../src/plan/work.ts';
import { createRandom } from '../../src/practice/random.ts';
import type { Reading } from '../../src/survey/survey.ts';

/** A job of several lines, all of one bend drawn by hand (two straight lines meeting at midspan), as found. */
const INCH = 0.0254;
const FOOT = 0.3048;
const LINES = {
  'bottom-flange': { kind: 'sweep', part: 'bottom-flange', crest: 3 },
  'far-edge': { kind: 'sweep', part: 'bottom-flange', crest: 2.5 },
  'top-flange': { kind: 'sweep', part: 'top-flange', crest: 2 },
  'bottom-tilt': { kind: 'tilt', part: 'bottom-flange', crest: 1.2 },
  'web-bulge': { kind: 'bulge', part: 'web', crest: 1.5 },
} as const;
type Name = keyof typeof LINES;

function found(names: readonly Name[], unlimited: readonly Name[] = []): Analysis {
  const job = parseJob(
    JSON.stringify({
      ...{ job: 'Ropewalk over the mill race', units: 'us' },
      member: {
        ...{ span: '40 ft', yieldStress: '36 ksi', steel: 'A36', diaphragms: ['12 ft', '28 ft'] },
        ...{ flangeWidth: '12 in', flangeThickness: '3/4 in' },
      },
      lines: Object.fromEntries(
        names.map((name) => {
          const { kind, part } = LINES[name];
          return [name, { kind, part, bearings: ['0 ft', '40 ft'], positive: 'north' }];
        }),
      ),
      acceptance: names
        .filter((name) => !unlimited.includes(name))
        .map((line) => ({ line, limit: '1/2 in', over: 'whole line' })),
      heating: { temperature: '1150 F' },
    }),
  );
  const readings = names.flatMap((line) =>
    Array.from({ length: 11 }, (_, i): Reading => {
      const offset = LINES[line].crest * INCH * (1 - Math.abs(i - 5) / 5);
      return {
        ...{ cycle: 0, line, station: 4 * i * FOOT, offset, state: 'released', sd: null },
        ...{ temperature: null, date: null, time: null, note: null },
        ...{ file: `readings/${line}.csv`, row: i + 2 },
      };
    }),
  );
  return analyse(job, readings, []);
}

const whole = found(['bottom-flange', 'far-edge', 'top-flange', 'bottom-tilt', 'web-bulge']);

/** The same job with only these lines, and progress put in by hand. */
function withLines(states: Partial<Record<Name, Partial<Progress>>>): Analysis {
  const names = Object.keys(states) as Name[];
  return {
    ...whole,
    lines: names.map((name): LineAnalysis => {
      const entry = whole.lines.find(({ line }) => line.name === name)!;
      return { ...entry, progress: { ...entry.progress, ...states[name] } };
    }),
  };
}

const result = (analysis: Analysis) =>
  planJob({
    analysis,
    heats: heatsOfJob(analysis, { heats: [], gasUnit: null, currency: null }),
    past: [],
  });
const planOf = (analysis: Analysis): Plan => {
  const { plan, reason } = result(analysis);
  expect(reason).toBeNull();
  return plan!;
};
const basesOf = (plan: Plan) => Object.fromEntries(plan.lines.map((each) => [each.line, each.basis]));

/** A line read `cycles` times after as found, whose readings forecast so many more cycles. */
function read(crest: number, cycles: number, left: readonly [number, number, number]): Partial<Progress> {
  return {
    verdict: 'progressing',
    series: Array.from({ length: cycles + 1 }, (_, cycle) => ({
      cycle,
      value: crest * INCH * (1 - (0.5 * cycle) / cycles),
      u: INCH / 32,
    })),
    cyclesLeft: { low: left[0], expected: left[1], high: left[2] },
    probabilityWithin: 1,
  };
}

describe('vees of one crew on two lines', () => {
  const uniform = seededUniform(1);
  const normal = seededNormal(uniform);
  const line = (rotation: number) => ({
    zones: [{ station: 6, rotation, rotationU: 0, expectedVee: 0.002 }],
    bearings: [0, 12] as const,
    aim: 0.01201,
  });
  const sure = { ratio: 1, deadShare: 0, veesPerCycle: 2, scatter: 0 };

  it('by hand: each is done at 4 mrad, so 36 and 16 mrad at 2 mrad a vee are 18 and 8 vees, 26 together', () => {
    expect(workOff([line(0.04)], sure, uniform, normal)).toEqual({ cycles: 9, vees: 18 });
    expect(workOff([line(0.02)], sure, uniform, normal)).toEqual({ cycles: 4, vees: 8 });
    expect(workOff([line(0.04), line(0.02)], sure, uniform, normal)).toEqual({ cycles: 13, vees: 26 });
    // A line inside its aim takes none.
    expect(workOff([line(0.04), line(0.003)], sure, uniform, normal)).toEqual({ cycles: 9, vees: 18 });
  });

  it('by hand: a bulge of 40 mm to 10 mm at an eighth of what it was a cycle is six cycles, from 25 mm three', () => {
    const draw = { share: 1 / 8, deadShare: 0, scatter: 0 };
    expect(closeBulge({ now: 0.04, found: 0.04 }, 0.01, draw, uniform, normal)).toBe(6);
    expect(closeBulge({ now: 0.025, found: 0.04 }, 0.01, draw, uniform, normal)).toBe(3);
    expect(closeBulge({ now: 0.01, found: 0.04 }, 0.01, draw, uniform, normal)).toBe(0);
    expect(closeBulge({ now: 0.04, found: 0.04 }, 0.01, { ...draw, deadShare: 1 }, uniform, normal)).toBe(
      Number.POSITIVE_INFINITY,
    );
  });
});

describe('a plan of several lines', () => {
  it('as found: two edges and the tilt of one flange share heats, another flange and a bulge add theirs', () => {
    const one = planOf(withLines({ 'bottom-flange': {} }));
    const shared = planOf(withLines({ 'bottom-flange': {}, 'far-edge': {}, 'bottom-tilt': {} }));
    expect(basesOf(shared)).toEqual({ 'bottom-flange': 'vees', 'far-edge': 'along', 'bottom-tilt': 'along' });
    expect(shared.vees).toEqual(one.vees);
    expect(shared.cycles).toEqual(one.cycles);
    expect(shared.assumptions.join(' ')).toContain(
      'far-edge and bottom-tilt are taken to come in with the heats of bottom-flange',
    );
    const flanges = planOf(withLines({ 'bottom-flange': {}, 'top-flange': {} }));
    expect(basesOf(flanges)).toEqual({ 'bottom-flange': 'vees', 'top-flange': 'vees' });
    // 3 in and 2 in to 1/2 in less what measurement leaves: 2.5 + 1.5 parts of vees instead of 2.5.
    const more = flanges.vees!.median / one.vees!.median;
    expect(more).toBeGreaterThan(1.4);
    expect(more).toBeLessThan(1.8);
    const bulged = planOf(withLines({ 'bottom-flange': {}, 'web-bulge': {} }));
    // An eighth a cycle from 1.5 in to 1/2 in is some six cycles more, a dead one among them.
    const added = bulged.cycles!.median - one.cycles!.median;
    expect(added).toBeGreaterThanOrEqual(4);
    expect(added).toBeLessThanOrEqual(8);
    expect(bulged.assumptions.join(' ')).toContain('No published formula says what a heat takes off a bulge');
  });

  it('once read: lines that move come in together, what nothing acts on yet comes after', () => {
    const bottom = read(3, 4, [3, 4, 6]);
    const tilt = read(1.2, 4, [6.6, 7.6, 8.6]);
    const both = planOf(withLines({ 'bottom-flange': bottom, 'bottom-tilt': tilt }));
    // One flange: as early or late as each other, so the longest of each is the longest of all.
    expect(both.basis).toBe('readings');
    expect(both.cycles).toEqual({ low: 7, median: 8, high: 9 });
    const still: Partial<Progress> = {
      ...read(2, 4, [0, 0, 0]),
      ...{ verdict: 'stalled', untouched: true, cyclesLeft: null, probabilityWithin: null },
    };
    const after = planOf(withLines({ 'bottom-flange': bottom, 'top-flange': still }));
    expect(after.basis).toBe('mixed');
    const alone = planOf(withLines({ 'top-flange': {} }));
    const sum = 4 + alone.cycles!.median;
    expect(Math.abs(after.cycles!.median - sum)).toBeLessThanOrEqual(1);
    expect(after.assumptions.join(' ')).toContain('after bottom-flange');
    // A lean on which nothing acts cannot be counted in vees: said, not passed over.
    const lean = planOf(
      withLines({
        'bottom-flange': bottom,
        'bottom-tilt': {
          ...still,
          ...read(1.2, 4, [1, 1, 1]),
          verdict: 'stalled',
          untouched: true,
          cyclesLeft: null,
        },
      }),
    );
    expect(lean.cycles!.median).toBe(4);
    expect(lean.assumptions[0]).toContain('bottom-tilt is outside its limit and no heat so far acts on it');
  });

  it('days of heating are those the status gives, by the dates of the readings', () => {
    const dated = { ...read(3, 4, [3, 4, 6]), daysLeft: { low: 6.3, expected: 8.4, high: 12.6 } };
    const plan = planOf(withLines({ 'bottom-flange': dated }));
    // 2.1 working days a cycle: 3, 4 and 6 cycles.
    expect(Math.abs(plan.heatingDays!.median - 8.4)).toBeLessThanOrEqual(1);
    expect(Math.abs(plan.heatingDays!.low - 6.3)).toBeLessThanOrEqual(2.1);
    expect(Math.abs(plan.heatingDays!.high! - 12.6)).toBeLessThanOrEqual(2.1);
    expect(plan.learnt.find(({ name }) => name === 'daysPerCycle')!.source).toContain(
      'dates of the readings',
    );
    // Set-up and paint are behind, so the rest of the work comes on top.
    expect(plan.days!.median).toBeGreaterThan(plan.heatingDays!.median);
  });

  it('dates count from the day after the last reading or logged work, by hand', () => {
    // Five cycles of a day each and no other work left; read on Thursday 5 March 2026.
    const progress = { ...read(3, 4, [5, 5, 5]), daysLeft: { low: 5, expected: 5, high: 5 } };
    const plan = (more: { start?: string; date?: string | null; lastDay?: string; holidays?: string[] }) => {
      const { start = '2026-03-02', date = '2026-03-05', lastDay = null, holidays = [] } = more;
      const analysis = withLines({ 'bottom-flange': progress });
      const dated = {
        ...analysis,
        job: { ...analysis.job, plan: { ...analysis.job.plan, start, holidays } },
        lines: analysis.lines.map((entry) => ({
          ...entry,
          fit: { ...entry.fit, surveys: entry.fit.surveys.map((each) => ({ ...each, cycle: 4, date })) },
        })),
      };
      const daysDone = Object.fromEntries(FIXED_WORK.map((kind) => [kind, 1]));
      const heats = heatsOfJob(dated, { heats: [], gasUnit: null, currency: null });
      return planJob({ analysis: dated, heats, past: [], daysDone, lastDay }).plan!;
    };
    const median = (more: Parameters<typeof plan>[0]) => plan(more).finish?.median ?? null;
    // Friday, then Monday to Thursday; with Tuesday closed to work to Friday.
    expect(median({})).toBe('2026-03-12');
    expect(median({ holidays: ['2026-03-10'] })).toBe('2026-03-13');
    // The logs go on to Tuesday the 10th: Wednesday to Friday, Monday and Tuesday.
    expect(median({ lastDay: '2026-03-10' })).toBe('2026-03-17');
    // A start that is still ahead holds.
    expect(median({ start: '2026-03-16' })).toBe('2026-03-20');
    expect(plan({}).from).toBe('2026-03-06');
    expect(plan({}).assumptions.join(' ')).toContain('Dates count from 2026-03-06, the day after the last');
    expect(plan({ holidays: ['2026-03-04', '2026-03-10'] }).assumptions.join(' ')).toContain(
      'The work ahead begins on 2026-03-06; the crew works Monday, Tuesday, Wednesday, Thursday and Friday; not on 2026-03-10; no day is lost to weather',
    );
    // Nobody knows on which day an undated reading was taken.
    expect(median({ date: null })).toBeNull();
    expect(plan({ date: null }).assumptions.join(' ')).toContain('No dates: heats were made');
  });

  it('goes on telling vees and gas once the readings forecast: what the crew makes in a cycle, by hand', () => {
    const analysis = withLines({ 'bottom-flange': read(3, 4, [4, 4, 4]) });
    const rows = [1, 2, 3, 4].flatMap((cycle) => Array(4).fill(`${cycle},bottom-flange,20,vee,1.5`));
    const log = readHeatLog(
      ['cycle,line,station (ft),pattern,gas (lb)', ...rows].join('\n'),
      analysis.job,
      'heats.csv',
    ).log!;
    const { plan } = planJob({ analysis, heats: heatsOfJob(analysis, log), past: [] });
    // Four cycles of four vees of a pound and a half each; without a log what crews make, and no gas.
    expect(plan!.cycles!.median).toBe(4);
    expect(Math.abs(plan!.vees!.median - 16)).toBeLessThanOrEqual(2);
    expect(Math.abs(plan!.gas!.median - 24)).toBeLessThanOrEqual(3);
    expect(plan!.vees!.low).toBeLessThan(14);
    const unlogged = planOf(analysis);
    expect(unlogged.vees!.high).toBeGreaterThan(plan!.vees!.high!);
    expect(unlogged.gas).toBeNull();
    // A panel takes heats of other kinds.
    expect(planOf(withLines({ 'web-bulge': read(1.5, 4, [3, 4, 6]) })).vees).toBeNull();
  });

  it('is refused beside any line that opens, is past straight or has stalled, and leaves none out silently', () => {
    const bottom = read(3, 4, [3, 4, 6]);
    for (const verdict of ['regressing', 'overcorrected', 'stalled'] as const) {
      const { plan, reason } = result(
        withLines({ 'bottom-flange': bottom, 'top-flange': { ...read(1, 4, [1, 1, 1]), verdict } }),
      );
      expect(plan).toBeNull();
      expect(reason).toContain(`top-flange say "${verdict}"`);
    }
    const open = planOf({
      ...withLines({ 'bottom-flange': {} }),
      lines: [
        ...withLines({ 'bottom-flange': {} }).lines,
        { ...whole.lines.find(({ line }) => line.name === 'top-flange')!, acceptance: [] },
      ],
    });
    expect(open.assumptions[0]).toBe('No limit is set on top-flange: what it needs is not in it.');
    expect(result(withLines({ 'bottom-tilt': {} })).reason).toContain(
      'what one heat turns cannot be said for bottom-tilt',
    );
    expect(planOf(withLines({ 'web-bulge': {} })).lines).toMatchObject([{ basis: 'bulge' }]);
  });

  it('never says fewer cycles than the status of any of its lines, on random jobs', () => {
    const random = createRandom('several');
    const names = Object.keys(LINES) as Name[];
    const met = new Set<string>();
    for (let i = 0; i < 24; i++) {
      const states: Partial<Record<Name, Partial<Progress>>> = {};
      for (const name of names) {
        if (name !== 'bottom-flange' && random.uniform() < 0.4) continue;
        const low = random.integer(1, 9) - 0.3;
        const expected = low + random.integer(0, 4);
        const moving = read(LINES[name].crest, random.integer(2, 6), [
          low,
          expected,
          expected + random.integer(0, 9),
        ]);
        states[name] = random.pick([
          moving,
          moving,
          {},
          { ...moving, verdict: 'within-tolerance', cyclesLeft: { low: 0, expected: 0, high: 0 } },
        ]);
      }
      const analysis = withLines(states);
      const { lines } = workOfJob(
        analysis,
        heatsOfJob(analysis, { heats: [], gasUnit: null, currency: null }),
      ) as {
        lines: readonly { basis: string; entry: LineAnalysis }[];
      };
      if (lines === undefined) continue;
      const plan = planOf(analysis);
      met.add(plan.basis);
      // Every line with a limit is in the plan, once.
      expect(plan.lines.map(({ line }) => line).sort()).toEqual(Object.keys(states).sort());
      for (const { basis, entry } of lines) {
        const { cyclesLeft, verdict } = entry.progress;
        if (verdict === 'within-tolerance') expect(basis).toBe('done');
        if (basis !== 'readings') continue;
        for (const [of, at] of [
          ['low', 'low'],
          ['median', 'expected'],
          ['high', 'high'],
        ] as const) {
          expect(plan.cycles![of]!, `${i} ${entry.line.name} ${of}`).toBeGreaterThanOrEqual(
            cyclesLeft![at]! - 1,
          );
        }
        expect(plan.cycles!.median).toBeGreaterThanOrEqual(cyclesLeft!.expected);
      }
      const forecast = lines.filter(({ basis }) => basis === 'readings');
      if (plan.basis === 'readings' && forecast.length === 1) {
        const { low, expected, high } = forecast[0]!.entry.progress.cyclesLeft!;
        // Cycles are whole in a plan, and ends are counted from two thousand futures.
        expect(Math.abs(plan.cycles!.low - Math.ceil(low))).toBeLessThanOrEqual(1);
        expect(Math.abs(plan.cycles!.median - Math.ceil(expected))).toBeLessThanOrEqual(1);
        expect(Math.abs(plan.cycles!.high! - Math.ceil(high!))).toBeLessThanOrEqual(1);
      }
    }
    expect([...met].sort()).toEqual(['as-found', 'done', 'mixed', 'readings']);
  });
});

describe('a restraining force', () => {
  const withLoad = (plannedLoadRatio: number) => {
    const heats = heatsOfJob(whole, { heats: [], gasUnit: null, currency: null });
    const zones = heats.zones.map((zone) => ({ ...zone, plannedLoadRatio }));
    return planJob({ analysis: whole, heats: { ...heats, zones }, past: [] }).plan!;
  };

  it('that the job does not give is said, with what one would do by F_l = 0.6 + 2·Mj/Mp (FHWA-IF-08-999, from memory)', () => {
    const plan = withLoad(0);
    expect(plan.unforced).toBe(true);
    // 0.6 + 2/4 = 1.1, over 0.6.
    expect(plan.assumptions.join(' ')).toMatch(/without a restraining force.* turns each 1\.8 times as far/);
    expect(withLoad(0.25).unforced).toBe(false);
    expect(withLoad(0.25).assumptions.join(' ')).not.toMatch(/restraining force/);
  });

  it('is no question where the readings say the pace', () => {
    expect(planOf(withLines({ 'bottom-flange': read(3, 4, [2, 3, 4]) })).unforced).toBe(false);
  });
});
