import { describe, expect, it } from 'vitest';
import type { LineFit } from '../../src/analysis.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { drawDownForce } from '../../src/plates/draw-down.ts';
import { fitPlate } from '../../src/plates/plate-fit.ts';
import { platesText } from '../../src/plates/plates-text.ts';
import { fitOfDeviations } from '../heats/fixtures.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const U = 0.0005;

function jobOf(plate: Record<string, unknown>) {
  return parseJob(
    JSON.stringify({
      job: 'Saltmarsh Road over the drain, girder 2',
      units: 'us',
      member: { span: '60 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
      lines: {
        soffit: { kind: 'camber', bearings: ['0 ft', '60 ft'], positive: 'down' },
        tilt: { kind: 'tilt', bearings: ['0 ft', '60 ft'], positive: 'north tip low' },
        edge: { kind: 'sweep', bearings: ['0 ft', '60 ft'], positive: 'north' },
      },
      plates: [{ name: 'cover', line: 'soffit', from: '20 ft', to: '28 ft', thickness: '1/2 in', ...plate }],
    }),
  );
}

const stations = Array.from({ length: 31 }, (_, i) => 2 * i * FOOT);
const line = (shape: (feet: number) => number, u = U): LineFit =>
  fitOfDeviations(
    stations.map((s) => [s, shape(s / FOOT) * INCH] as const),
    u,
  );

function fit(plate: Record<string, unknown>, fits: Record<string, LineFit>) {
  const job = jobOf(plate);
  return { job, result: fitPlate(job, job.plates[0]!, (name) => fits[name] ?? null) };
}

// Mid-ordinate 1/2 in over the 8 ft plate, hollow toward it; ordinate at the quarter point is three quarters
// of the middle one (circle geometry of any field book), to within the parabola.
const hollow = (feet: number) => 0.5 * ((feet - 24) / 4) ** 2;

describe('gap under a rigid plate', () => {
  it('over a hollow: rests on its ends, 1/2 in at the middle, 3/8 in at the quarter points', () => {
    const { result } = fit({}, { soffit: line(hollow) });
    const gaps = result.gaps!;
    expect(gaps.map((g) => g.contact)).toEqual([true, false, false, false, true]);
    expect(gaps.map((g) => g.gap / INCH)).toEqual([0, 0.375, 0.5, 0.375, 0].map((g) => expect.closeTo(g, 9)));
    // GUM 5.1.2: the chord's own readings and the reading below it, all independent.
    expect(gaps[2]!.u).toBeCloseTo(U * Math.sqrt(1 + 0.5), 9);
    expect(gaps[1]!.u).toBeCloseTo(U * Math.sqrt(1 + 0.75 ** 2 + 0.25 ** 2), 9);
    expect(gaps.map((g) => g.fill.plies.map((p) => p / INCH))).toEqual(
      [[], [0.375], [0.5], [0.375], []].map((f) => f.map((p) => expect.closeTo(p, 9))),
    );
  });

  it('does not change with the string: offset and tilt of the set-up drop out', () => {
    const a = fit({}, { soffit: line(hollow) }).result.gaps!;
    const b = fit({}, { soffit: line((x) => hollow(x) + 0.7 - 0.013 * x) }).result.gaps!;
    b.forEach((g, i) => {
      expect(g.gap).toBeCloseTo(a[i]!.gap, 9);
      expect(g.u ?? 0).toBeCloseTo(a[i]!.u ?? 0, 9);
    });
  });

  it('the other side of the same steel is a crown: the plate rests on the middle and can rock', () => {
    const { result } = fit({ side: 'negative' }, { soffit: line(hollow) });
    expect(result.gaps![2]!.contact).toBe(true);
    expect(result.findings.map((f) => f.code)).toContain('plate-can-rock');
  });

  it('the baseline’s own curve counts: a plate meets the steel, not the deviation', () => {
    const curved = fitOfDeviations(
      stations.map((s) => [s, 0] as const),
      U,
      { about: 24 * FOOT, coefficients: [0, 0, (0.5 * INCH) / (4 * FOOT) ** 2] },
    );
    expect(fit({}, { soffit: curved }).result.gaps![2]!.gap / INCH).toBeCloseTo(0.5, 9);
  });

  it('plate ends between readings are interpolated and marked', () => {
    const { result } = fit({ from: '21 ft', to: '27 ft' }, { soffit: line(hollow) });
    const gaps = result.gaps!;
    expect(gaps.map((g) => g.interpolated)).toEqual([true, false, false, false, true]);
    // At 21 ft the chord of the readings stands at (0.5 + 0.125)/2 = 0.3125 in; the middle is 0.
    expect(gaps[2]!.gap / INCH).toBeCloseTo(0.3125, 9);
  });

  it('across: a twist (tilt growing along the plate) lifts opposite corners', () => {
    const tilt = line((feet) => (feet - 24) / 8); // 1/2 in edge to edge at each end, opposite ways
    const { result } = fit({ tilt: 'tilt' }, { soffit: line(() => 0), tilt });
    const gaps = result.gaps!;
    expect(gaps).toHaveLength(10);
    expect(new Set(gaps.map((g) => Math.round((g.across / INCH) * 1000) / 1000))).toEqual(new Set([6, -6]));
    // The high corners stand 1/4 in above the middle on both diagonals' ends: a plate drawn on at its middle rests
    // there, and the low corners are 1/2 in below it.
    const at = (feet: number, across: number) =>
      gaps.find((g) => Math.abs(g.station - feet * FOOT) < 1e-9 && Math.sign(g.across) === across)!;
    expect(at(28, 1).gap + at(20, -1).gap).toBeCloseTo(0, 9);
    expect((at(28, -1).gap + at(20, 1).gap) / INCH).toBeCloseTo(1, 9);
  });

  it('a uniform tilt is no gap: the plate tilts with the flange', () => {
    const { result } = fit({ tilt: 'tilt' }, { soffit: line(() => 0), tilt: line(() => 0.25) });
    for (const g of result.gaps!) expect(g.gap).toBeCloseTo(0, 9);
    expect(result.slope!.across).toBeCloseTo(0.25 / 12, 9);
  });

  it('says why where there are no readings to rest on', () => {
    expect(fit({}, {}).result).toMatchObject({ gaps: null });
    expect(fit({}, {}).result.reason).toContain('no judged survey');
    const short = fitOfDeviations(
      [
        [20 * FOOT, 0],
        [21 * FOOT, 0],
        [22 * FOOT, 0],
      ],
      U,
    );
    expect(fit({}, { soffit: short }).result.gaps).toBeNull();
  });
});

describe('faying limit', () => {
  it('by the units of the job: 1/16 in as burrs may stay (RCSC 3.4, quoted by aisc.org FAQ 2.4.3), 1 mm by EN 1090-2 8.1 (from memory); the job’s own stands before it', () => {
    expect(fit({}, { soffit: line(hollow) }).result.gapLimit.value).toBe(INCH / 16);
    const job = jobOf({});
    const metric = fitPlate({ ...job, units: 'si' }, job.plates[0]!, () => line(hollow));
    expect(metric.gapLimit.value).toBe(0.001);
    const own = fit(
      { gapLimit: '1/16 in', gapLimitSource: 'special provision 4.2' },
      { soffit: line(hollow) },
    );
    expect(own.result.gapLimit.value).toBeCloseTo(INCH / 16, 12);
    expect(platesText(own.job, [own.result], 100)).toContain('special provision 4.2');
  });

  it('is guarded by the uncertainty of the gap (JCGM 106: within only with 2 u to spare)', () => {
    const limit = { gapLimit: '1/16 in', gapLimitSource: 'special provision 4.2' };
    const at = (u: number) => fit(limit, { soffit: line(hollow, u) }).result.gaps![2]!.result;
    expect(at(INCH / 64)).toBe('within'); // 2 u = 0.038 in
    expect(at(INCH / 16)).toBe('undetermined');
    const stock = { ...limit, fillers: ['3/8 in'] };
    expect(fit(stock, { soffit: line(hollow, INCH / 100) }).result.gaps![2]!.result).toBe('outside'); // 1/8 in left
  });
});

describe('vertical clearance', () => {
  const clearance = { clearance: '14 ft 3 in', boltHead: '5/8 in' };

  it('before, as left, and with a plate that bridges a hollow in the soffit', () => {
    // Soffit down 1/2 in at the plate's ends, 0 at its middle: the plate hangs at 1/2 in all along.
    const { result, job } = fit(clearance, { soffit: line(hollow) });
    const c = result.clearance;
    expect(c.before! / INCH).toBeCloseTo(171, 9);
    expect(c.asLeft! / INCH).toBeCloseTo(170.5, 9);
    expect(c.withPlate! / INCH).toBeCloseTo(170.5 - 0.5 - 0.625, 9);
    expect(platesText(job, [result], 200)).toContain(`14'-3" before damage, 14'-2 1/2"`);
  });

  it('over a crown the plate leans and its low end counts', () => {
    const ridge = (feet: number) => 0.5 - 0.25 * Math.abs(feet - 24.5);
    const { result } = fit(clearance, { soffit: line(ridge) });
    expect(result.clearance.withPlate!).toBeLessThan(result.clearance.asLeft! - 1.125 * INCH + 1e-9);
  });

  it('a sweep line says nothing of height: with a camber line in the job that one is used, without one it says so', () => {
    const sweep = { ...clearance, line: 'edge' };
    const both = fit(sweep, { edge: line(hollow), soffit: line(() => 0.25) }).result.clearance;
    expect(both.asLeft! / INCH).toBeCloseTo(170.75, 9);
    const job = jobOf(sweep);
    const alone = { ...job, lines: job.lines.filter((l) => l.kind !== 'camber') };
    const c = fitPlate(alone, job.plates[0]!, (name) => (name === 'edge' ? line(hollow) : null)).clearance;
    expect(c.asLeft).toBeNull();
    expect(c.withPlate! / INCH).toBeCloseTo(171 - 1.125, 9);
    expect(c.reason).toContain('no camber line');
  });
});

/** The line with the reading at one station left out of the fit, as a rule or the hand does it. */
function withoutReadingAt(fit: LineFit, feet: number): LineFit {
  const survey = fit.surveys[0]!;
  const aside = {
    file: 'readings/cycle-3.csv',
    row: 17,
    station: feet * FOOT,
    offset: 0,
    reason: 'far from the shape of the others',
    by: 'rule' as const,
  };
  return {
    ...fit,
    surveys: [
      {
        ...survey,
        setAside: [aside],
        stations: survey.stations.map((s) =>
          Math.abs(s.station - feet * FOOT) < 1e-9 ? { ...s, setAside: true } : s,
        ),
      },
    ],
  };
}

describe('readings left out under a plate', () => {
  // Flat but for 3/4 in of drop read at 22 ft, which the fit leaves out.
  const dented = withoutReadingAt(
    line((feet) => (feet === 22 ? 0.75 : 0)),
    22,
  );

  it('are listed with their rows, and nothing is called within', () => {
    const { result } = fit({ clearance: '15 ft' }, { soffit: dented });
    expect(result.leftOut.map((out) => [Math.round(out.station / FOOT), out.rows])).toEqual([
      [22, ['readings/cycle-3.csv:17']],
    ]);
    expect(result.gaps!.map((g) => g.result)).not.toContain('within');
    const said = result.findings.find((f) => f.code === 'reading-set-aside-under-plate')!;
    expect(said.message).toContain('readings/cycle-3.csv:17');
    // Positive is down and the plate lies underneath: it would rest at 22 and 28 ft and gape 0.75·8/6 in at 20 ft.
    expect(result.largestAsRead! / INCH).toBeCloseTo(1, 9);
  });

  it('clearance takes the lowest that was read: 15 ft less 3/4 in, and the plate hangs 1 in low at 20 ft', () => {
    const { result } = fit({ clearance: '15 ft' }, { soffit: dented });
    expect((15 * FOOT - result.clearance.asLeft!) / INCH).toBeCloseTo(0.75, 9);
    expect((15 * FOOT - result.clearance.withPlate!) / INCH).toBeCloseTo(1 + 0.5, 9);
    expect(result.clearance.reason).toContain('leaves out');
  });

  it('without any, all is as before', () => {
    const { result } = fit({}, { soffit: line(() => 0) });
    expect(result.leftOut).toEqual([]);
    expect(result.gaps!.every((g) => g.result === 'within' || g.contact)).toBe(true);
  });
});

describe('drawing the plate down', () => {
  // Plate 12 × 1/2 in, 29000 ksi: EI = 29000·12·0.125/12 = 3625 k-in².
  const EI = 3625;

  it('at midspan 48·EI·δ/L³, at any place 3·EI·L·δ/(a²b²), beyond the last contact 3·EI·δ/(c²(L + c)) (AISC Table 3-23)', () => {
    const { result } = fit({ fillers: ['1 in'] }, { soffit: line(hollow) });
    const force = result.gaps!.map((g) => (g.drawDown ?? 0) / 4448.2216152605);
    expect(force[2]).toBeCloseTo((48 * EI * 0.5) / 96 ** 3, 9);
    expect(force[1]).toBeCloseTo((3 * EI * 96 * 0.375) / (24 ** 2 * 72 ** 2), 9);
    expect(result.gaps![0]!.drawDown).toBeNull();
    expect(drawDownForce(10, 0.5, [0, 6], 100)!.least).toBeCloseTo((3 * 100 * 0.5) / (16 * 10), 12);
    expect(drawDownForce(-4, 0.5, [0, 6], 100)!.least).toBeCloseTo((3 * 100 * 0.5) / (16 * 10), 12);
  });

  it('a gap that the stated pull-in closes is told from one it does not', () => {
    const plate = { fillers: ['1 in'], pullInSource: 'engineer, letter of 3 May' };
    const fits = { soffit: line(hollow) };
    const strong = fit({ ...plate, pullIn: '12 kip' }, fits).result;
    expect(strong.gaps!.map((g) => g.closes)).toEqual([null, true, true, true, null]);
    expect(strong.findings.map((f) => f.code)).toEqual(['faying-gap-closed-by-bolts']);
    const weak = fit({ ...plate, pullIn: '0.05 kip' }, fits).result;
    expect(weak.gaps!.map((g) => g.closes)).toEqual([null, false, false, false, null]);
    expect(weak.findings.map((f) => f.code)).toEqual(['faying-gap-outside']);
  });
});

describe('thick fillers', () => {
  it('1/2 in of filler: bolts at 1 − 0.4·0.25 = 0.90 (AISC LRFD specification J6, read in a public copy); 3/16 in: nothing said', () => {
    const thick = fit({}, { soffit: line(hollow) }).result;
    expect(thick.findings.find((f) => f.code === 'thick-fillers')!.message).toContain('0.90');
    const thin = fit({}, { soffit: line((feet) => 0.375 * hollow(feet)) }).result;
    expect(thin.findings.map((f) => f.code)).not.toContain('thick-fillers');
  });
});
