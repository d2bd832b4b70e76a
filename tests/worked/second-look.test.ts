import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { judgeAcceptance } from '../../src/acceptance/acceptance.ts';
import { conformanceProbability, decideBy } from '../../src/acceptance/guarded.ts';
import { heatLimits, heatLimitsOf } from '../../src/heats/heat-limits.ts';
import { hotStress } from '../../src/heats/hot-stress.ts';
import { jackingFindings } from '../../src/heats/jacking-findings.ts';
import { jobFactor } from '../../src/heats/job-factor.ts';
import { limitFindings } from '../../src/heats/limit-findings.ts';
import { plannedVee } from '../../src/heats/planned-vee.ts';
import { restraintOfJob } from '../../src/heats/restraint-of-job.ts';
import type { ZoneHeats } from '../../src/heats/zone-heats.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { jobWith } from '../heats/fixtures.ts';
import { celsius, FOOT, INCH, KSI, PSI } from '../heats/units.ts';
import { fitOf, LINE, MEMBER, rule } from '../line-fit-builder.ts';

/** Inches, kips, ksi, °F, feet for stations. Made by make_second_look.py, nothing of ours; it names what each is held to. */
const LOOK = JSON.parse(readFileSync(new URL('second-look.json', import.meta.url), 'utf8')) as {
  readonly decisions: readonly {
    readonly limit: number;
    readonly u: number;
    readonly measured: number;
    readonly guarded: string;
    readonly simple: string;
    readonly inside: number;
  }[];
  readonly edges: readonly {
    readonly limit: number;
    readonly read: readonly number[];
    readonly u: number;
    readonly measured: number;
    readonly at: number;
    readonly result: string;
  }[];
  readonly factors: readonly {
    readonly steps: readonly {
      readonly expected: number;
      readonly observed: number;
      readonly vees: number;
    }[];
    readonly value: number;
    readonly low: number;
    readonly high: number;
    readonly vees: number;
  }[];
  readonly hot: readonly {
    readonly b: number;
    readonly t: number;
    readonly fy: number;
    readonly span: number;
    readonly at: number;
    readonly area: number;
    readonly fraction: number;
    readonly dead: number;
    readonly temperature: number;
    readonly psi: number;
    readonly jacking: number;
    readonly total: number;
    readonly hotYield: number;
    readonly modulus: number;
    readonly yieldsAt: number | null;
    readonly past: boolean;
  }[];
  readonly agency: {
    readonly file: object;
    readonly limits: readonly number[];
    readonly chord: number;
    readonly alone: AgencyLimits;
    readonly withSpd: AgencyLimits;
  };
};
interface AgencyLimits {
  readonly maxTemperature: number;
  readonly minTemperature: number;
  readonly coolBelow: number;
  readonly veeAngle: readonly [number, number];
  readonly veeDepth: readonly [number, number];
  readonly openWidth: readonly [number, number];
  readonly spacing: number;
  readonly repairs: number;
}

it('decides and gives the chance of being inside as scipy does, guarded and simple (JCGM 106)', () => {
  expect(LOOK.decisions.length).toBeGreaterThan(20);
  for (const { limit, u, measured, guarded, simple, inside } of LOOK.decisions) {
    expect(decideBy('guarded', measured, u, limit)).toBe(guarded);
    expect(decideBy('simple', measured, u, limit)).toBe(simple);
    expect(conformanceProbability(measured, u, limit)).toBeCloseTo(inside, 9);
  }
});

it('holds a limit at the edges from the web against half of edge to edge, and half its u', () => {
  const tilt = { ...LINE, kind: 'tilt', baseline: { method: 'absolute', against: 'level' } } as const;
  expect(new Set(LOOK.edges.map((w) => w.result)).size).toBeGreaterThan(1);
  for (const { limit, read, u, measured, at, result } of LOOK.edges) {
    const shape = (feet: number) => read[feet / 2] ?? 0;
    const fit = fitOf([{ cycle: 0, shape, u }]);
    const own = { ...rule(limit), kind: 'tilt' as const, edgesFromWeb: true };
    const [found] = judgeAcceptance(tilt, MEMBER, fit, [own]);
    expect(found!.measured! / INCH).toBeCloseTo(measured, 9);
    expect(found!.u! / INCH).toBeCloseTo(u / 2, 9);
    expect(found!.at!.station / FOOT).toBeCloseTo(at, 9);
    expect(found!.result).toBe(result);
  }
});

it('corrects what a vee is expected to do by what heats here have done, with its 80 % interval', () => {
  for (const { steps, value, low, high, vees } of LOOK.factors) {
    const zone = { steps: steps.map((step) => ({ ...step, fromCycle: 0 })), sinceCycle: null };
    const found = jobFactor([zone as unknown as ZoneHeats])!;
    expect(found.value).toBeCloseTo(value, 9);
    expect(found.low).toBeCloseTo(low, 6);
    expect(found.high).toBeCloseTo(high, 6);
    expect(found.vees).toBe(vees);
  }
});

it('holds dead load and jacks against the yield of the hot steel', () => {
  expect(new Set(LOOK.hot.map((w) => w.past)).size).toBe(2);
  for (const w of LOOK.hot) {
    const job = jobWith({
      member: {
        span: '62 ft',
        yieldStress: `${w.fy} ksi`,
        flangeWidth: `${w.b} in`,
        flangeThickness: `${w.t} in`,
        yieldSource: 'worked case',
        steel: 'A36',
      },
      restraint: {
        setUp: 'simple',
        supports: ['11 ft', `${11 + w.span} ft`],
        importance: 'primary',
        fraction: w.fraction,
        fractionSource: 'worked case',
        gaugeDivision: '1 psi',
        deadLoad: { stress: `${w.dead} ksi`, composite: false, source: 'worked case' },
      },
      jacks: [{ name: 'a', station: `${11 + w.at} ft`, ramArea: `${w.area} in2` }],
      heating: { temperature: `${w.temperature} F` },
    });
    const restraint = restraintOfJob(job)!;
    const hot = hotStress(job, heatLimits('A36', job.member.flangeWidth, null), restraint)!;
    expect(restraint.ceiling!.pressure / PSI).toBeCloseTo(w.psi, 3);
    expect(hot.jacking / KSI).toBeCloseTo(w.jacking, 5);
    expect(hot.total / KSI).toBeCloseTo(w.total, 5);
    expect(hot.hotYield / KSI).toBeCloseTo(w.hotYield, 6);
    expect(hot.modulusRatio).toBeCloseTo(w.modulus, 9);
    if (w.yieldsAt === null) expect(hot.yieldsAt).toBeNull();
    else expect(hot.yieldsAt).toBeCloseTo(celsius(w.yieldsAt), 4);
    expect(jackingFindings(job, restraint, hot).some(({ code }) => code === 'stress-past-hot-yield')).toBe(
      w.past,
    );
  }
});

describe('an agency’s own set with odd limits', () => {
  const { file, limits, chord, alone, withSpd } = LOOK.agency;
  const of = (acceptance: object[], more: object = {}) =>
    parseJob(
      JSON.stringify({
        job: 'Heron Lane, girder 5 (invented)',
        units: 'us',
        member: {
          span: '61.7 ft',
          yieldStress: '36 ksi',
          flangeWidth: '13.1 in',
          flangeThickness: '1 in',
          steel: 'A36',
          element: 'welded girder',
        },
        lines: {
          flange: { kind: 'sweep', bearings: ['0 ft', '61.7 ft'], positive: 'north', impact: '23.9 ft' },
          tips: { kind: 'tilt', bearings: ['0 ft', '61.7 ft'], positive: 'up', baseline: 'level' },
        },
        acceptance,
        ...more,
      }),
      { readText: (path) => (path === 'heron.json' ? JSON.stringify(file) : null) },
    );
  const own = { presetFile: 'heron.json' };
  const hold = (job: ReturnType<typeof of>, wanted: AgencyLimits) => {
    const found = heatLimitsOf(job);
    const range = ({ low, high }: { low: number; high: number }, unit: number) => [low / unit, high / unit];
    const near = (pair: readonly number[]) => pair.map((v) => expect.closeTo(v, 9) as unknown);
    expect(found.maxTemperature!.value).toBeCloseTo(wanted.maxTemperature, 9);
    expect(found.minTemperature.value).toBeCloseTo(wanted.minTemperature, 9);
    expect(found.coolBelow.value).toBeCloseTo(wanted.coolBelow, 9);
    expect(range(found.veeAngle, Math.PI / 180)).toEqual(near(wanted.veeAngle));
    expect(range(found.veeDepth, 1)).toEqual(near(wanted.veeDepth));
    expect(range(found.openWidth, INCH)).toEqual(near(wanted.openWidth));
    expect(found.spacing.value / INCH).toBeCloseTo(wanted.spacing, 9);
    expect(found.repairs.value).toBe(wanted.repairs);
  };

  it('gives its limits line by line with clause and edition, and its heat limits alone', () => {
    const job = of([own]);
    expect(job.acceptance.map(({ limit }) => limit / INCH)).toEqual(
      limits.map((v) => expect.closeTo(v, 9) as unknown),
    );
    expect(job.acceptance.map(({ source }) => source)).toEqual(
      ['4.2', '4.3', '4.4', '5.1'].map((clause) => `Heron district manual, edition 3, clause ${clause}`),
    );
    expect(job.acceptance[1]!.over).toEqual({ kind: 'chord', length: expect.closeTo(chord * FOOT, 9) });
    expect(job.acceptance[3]!.edgesFromWeb).toBe(true);
    hold(job, alone);
  });

  it('beside SPD 4-100 the stricter of each pair is in force, and a looser limit of the job is a stop', () => {
    const job = of([own, { preset: 'straightened-spd-4-100' }]);
    hold(job, withSpd);
    const looser = of([own], {
      heating: { limits: { maxTemperature: '1150 F', source: 'crew note 3' } },
    });
    const limitsNow = heatLimitsOf(looser);
    expect(limitsNow.maxTemperature!.value).toBeCloseTo(celsius(1131), 9);
    const found = limitFindings(looser, limitsNow, plannedVee(looser, limitsNow));
    expect(found.filter(({ severity }) => severity === 'stop').map(({ code }) => code)).toEqual([
      'heat-limits-conflict',
    ]);
  });
});
