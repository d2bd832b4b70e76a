import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { heldBy } from '../../src/heats/held.ts';
import { bendingOf } from '../../src/heats/moment-set-up.ts';
import { restraintOfJob } from '../../src/heats/restraint-of-job.ts';
import { fitLine } from '../../src/zones/fit-line.ts';
import { createCase } from '../bench/zones-cases.ts';
import { fitWith, jobWith } from './fixtures.ts';
import { stiffnessBeam } from './stiffness-beam.ts';
import { FOOT, INCH, KIP, PSI } from './units.ts';

/** Inches, kips, ksi. Made by worked/make_springs.py: matrix stiffness, statics and a fine grid, nothing of ours. */
interface SpringCase {
  readonly stations: readonly number[];
  readonly b: number;
  readonly t: number;
  readonly fy: number;
  readonly fraction: number;
  readonly push: 1 | -1;
  readonly shown: boolean;
  readonly springs: readonly { readonly x: number; readonly compliance: number; readonly logU: number }[];
  readonly jacks: readonly { readonly x: number; readonly area: number }[];
  readonly kinks: readonly { readonly x: number; readonly coefficient: number }[];
  readonly psi: number;
  readonly governs: string;
  readonly governsAt: number;
  readonly reactions: readonly number[];
  readonly diagram: readonly { readonly x: number; readonly rigid: number; readonly soft: number }[];
}
const CASES = JSON.parse(
  readFileSync(new URL('worked/springs.json', import.meta.url), 'utf8'),
) as readonly SpringCase[];

function jobOf(w: SpringCase, restraint: object = {}) {
  const inches = (x: number) => `${x} in`;
  return jobWith({
    member: {
      span: inches(w.stations.at(-1)!),
      yieldStress: `${w.fy} ksi`,
      flangeWidth: inches(w.b),
      flangeThickness: inches(w.t),
      diaphragms: w.stations.slice(1, -1).map(inches),
    },
    lines: { flange: { kind: 'sweep', bearings: ['0 in', inches(w.stations.at(-1)!)], positive: 'north' } },
    restraint: {
      importance: 'primary',
      fraction: w.fraction,
      fractionSource: 'worked case',
      gaugeDivision: '1 psi',
      ...restraint,
    },
    jacks: w.jacks.map((jack, k) => ({
      name: `jack ${k + 1}`,
      station: inches(jack.x),
      ramArea: `${jack.area} in2`,
      push: w.push > 0 ? 'positive' : 'negative',
    })),
  });
}

function restraintOf(w: SpringCase, restraint: object = {}) {
  const job = jobOf(w, restraint);
  const line = job.lines[0]!;
  // Stations are the job's own, turned to metres as the job turns them.
  const elastic = job.member.diaphragms!.map((station, k) => ({
    station,
    coefficient: (w.kinks[k]?.coefficient ?? 0) / INCH ** 2,
    u: 0,
    covariance: job.member.diaphragms!.map(() => 0),
    spring: w.shown ? { compliance: w.springs[k]!.compliance * INCH ** 3, logU: w.springs[k]!.logU } : null,
  }));
  return restraintOfJob(job, [{ line, fit: { ...fitWith([], []), elastic } }])!;
}

describe('fourteen worked jobs on diaphragms that give (numpy, displacement method)', () => {
  it('are fourteen, some with springs not shown, some with moments locked in, one governed between the ends', () => {
    expect(CASES).toHaveLength(14);
    expect(CASES.filter((w) => !w.shown)).toHaveLength(3);
    expect(CASES.filter((w) => w.kinks.length > 0)).toHaveLength(7);
    expect(CASES.filter((w) => w.governs === 'likely')).toHaveLength(1);
  });

  for (const [i, w] of CASES.entries()) {
    it(`job ${i + 1}: ${w.stations.length - 1} bays, ${w.governs} governs`, () => {
      const restraint = restraintOf(w);
      const ceiling = restraint.ceiling!;
      expect(Math.abs(ceiling.exactPressure / PSI / w.psi - 1)).toBeLessThan(2e-6);
      expect(restraint.governs).toBe(w.governs);
      expect(ceiling.governsAt / INCH).toBeCloseTo(w.governsAt, 2);
      const size = Math.max(...w.reactions.map(Math.abs));
      w.reactions.forEach((kips, k) => {
        expect(Math.abs(restraint.reactions[k]!.force / KIP - kips)).toBeLessThan(1e-4 * size);
      });
      for (const { x, rigid, soft } of w.diagram) {
        const point = restraint.diagram.find((each) => Math.abs(each.station / INCH - x) < 1e-6)!;
        const most = Math.max(Math.abs(rigid), Math.abs(soft));
        expect(Math.abs(point.ends!.rigid / KIP / INCH - rigid)).toBeLessThan(1e-4 * most);
        expect(Math.abs(point.ends!.soft / KIP / INCH - soft)).toBeLessThan(1e-4 * most);
      }
      // The share never passes what is allowed, in any of the ways.
      for (const point of restraint.diagram) expect(point.share).toBeLessThan(w.fraction * (1 + 1e-6));
    });
  }
});

describe('how the diaphragms give', () => {
  const [first] = CASES as [SpringCase];

  it('moments and support forces are those of the matrix-stiffness solver of the tests, whichever way they give', () => {
    const { held, part } = restraintOf(first);
    const EI = part.inertia! * 29_000;
    const jack = 0.37 * first.stations.at(-1)! * INCH;
    for (const geometry of [held.likely, held.ends!.rigid, held.ends!.soft]) {
      if (geometry.kind !== 'continuous') throw new Error('expected a continuous set-up');
      const other = stiffnessBeam(
        geometry.supports.map((s) => ({
          x: s.station,
          stiffness: s.compliance === 0 ? null : EI / s.compliance,
        })),
        [{ x: jack, force: 1 }],
        EI,
      );
      const own = bendingOf(geometry, [{ station: jack, force: 1 }]);
      for (const x of [0.1, 0.37, 0.5, 0.81].map((share) => share * geometry.to))
        expect(own.momentAt(x)).toBeCloseTo(other.momentAt(x), 6);
      own.reactions.forEach((r, k) => {
        expect(r.force).toBeCloseTo(other.reactions[k]!, 6);
      });
    }
  });

  it('rigid only where the engineer cites it, and then the ceiling is that of rigid supports', () => {
    const rigid = restraintOf(first, { setUp: 'continuous-rigid', setUpSource: 'calculation sheet 7' });
    expect(rigid.held).toMatchObject({ ends: null, springs: [] });
    expect(rigid.governs).toBeNull();
    expect(rigid.ceiling!.exactPressure).toBeGreaterThan(restraintOf(first).ceiling!.exactPressure);
    const uncited = () => jobOf(first, { setUp: 'continuous-rigid' });
    expect(uncited).toThrow();
  });

  it('a support that is no diaphragm does not give', () => {
    const job = jobOf(first, { supports: ['0 in', '77 in', `${first.stations.at(-1)!} in`] });
    const { ends, springs } = heldBy(job, job.restraint!, []);
    expect([ends, springs]).toEqual([null, []]);
  });

  it('no diaphragms: nothing gives', () => {
    const job = jobWith({
      member: {
        span: '62 ft',
        yieldStress: '36 ksi',
        flangeWidth: '12 in',
        flangeThickness: '1 in',
        diaphragms: [],
      },
      restraint: { importance: 'primary' },
      jacks: [{ name: 'a', station: '30 ft', ramArea: '5.16 in2' }],
    });
    const restraint = restraintOfJob(job)!;
    expect(restraint.governs).toBeNull();
    expect(restraint.diagram.every((point) => point.ends === null)).toBe(true);
    expect(restraint.setUp.from).toBe(0);
    expect(restraint.setUp.to).toBeCloseTo(62 * FOOT, 9);
  });
});

describe('simulated girders struck against diaphragms of known stiffness (tests/mechanics)', () => {
  // Seeds picked because rigid diaphragms would hide most of the moment there: 0.25 and 0.36 of the true one.
  it.each([5, 12])(
    'girder %i: the springs found cover the true ones, and the worst of three ways the true moment',
    (i) => {
      const one = createCase(`springs/${i}`, true);
      const line = one.job.lines[0]!;
      const fit = fitLine(line, one.job.member, one.surveys, [], one.readingSd, 'us');
      const { flangeWidth, flangeThickness, diaphragms, impacts } = one.truth.options;
      const EI = (one.job.member.elasticModulus * flangeThickness * flangeWidth ** 3) / 12;
      const jacks = [{ station: impacts[0]!.station, force: 1 }];
      const most = (compliance: (k: number) => number) => {
        const inner = diaphragms.map(({ station }, k) => ({ station, compliance: compliance(k) }));
        const [from, to] = line.bearings;
        const ends = [from, to].map((station) => ({ station, compliance: 0 }));
        const supports = [ends[0]!, ...inner, ends[1]!];
        const { momentAt } = bendingOf({ kind: 'continuous', from, to, supports }, jacks);
        return Math.max(...[...supports, ...jacks].map(({ station }) => Math.abs(momentAt(station))));
      };
      const springs = fit.elastic.map((each) => each.spring!);
      diaphragms.forEach(({ stiffness }, k) => {
        const off = Math.log(springs[k]!.compliance / (EI / stiffness));
        expect(Math.abs(off)).toBeLessThan(2 * springs[k]!.logU);
      });
      const truth = most((k) => EI / diaphragms[k]!.stiffness);
      expect(most(() => 0)).toBeLessThan(0.7 * truth);
      const soft = most((k) => springs[k]!.compliance * Math.exp(2 * springs[k]!.logU));
      expect(
        Math.max(
          most(() => 0),
          soft,
        ),
      ).toBeGreaterThan(truth);
    },
  );
});
