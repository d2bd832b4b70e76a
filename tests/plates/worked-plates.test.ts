import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parseJob } from '../../src/job/job-file.ts';
import { fitPlate } from '../../src/plates/plate-fit.ts';
import { fitOfDeviations } from '../heats/fixtures.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const KIP = 4448.2216152605;

/** Inches, feet, kips. Made by worked/make_plates.py: a linear programme and a beam of elements, nothing of ours. */
interface PlateCase {
  readonly kind: string;
  readonly flange: number;
  /** Its middle stands on the line between two contacts: it rocks, and which way it lies is not settled. */
  readonly rocks: boolean;
  readonly sd: number;
  /** u of the string's set-up, common to a row. */
  readonly string: number;
  readonly plate: object;
  readonly lines: Readonly<Record<string, string>>;
  readonly end: number;
  readonly readings: readonly { readonly line: string; readonly station: number; readonly offset: number }[];
  readonly gaps: readonly {
    readonly x: number;
    readonly z: number;
    readonly gap: number;
    readonly u: number;
    readonly contact: boolean;
    readonly left: number;
    /** Free to turn on its contacts, and held there; kip. */
    readonly draw: readonly [number, number] | null;
    readonly closes: boolean | null;
    readonly result: string;
  }[];
}
const CASES = JSON.parse(
  readFileSync(new URL('worked/plates.json', import.meta.url), 'utf8'),
) as readonly PlateCase[];

function run(w: PlateCase) {
  const job = parseJob(
    JSON.stringify({
      job: 'Plover Row over the sluice, girder 6',
      units: 'us',
      member: {
        span: `${w.end} ft`,
        yieldStress: '36 ksi',
        flangeWidth: `${w.flange} in`,
        flangeThickness: '1 in',
      },
      lines: Object.fromEntries(
        Object.entries(w.lines).map(([name, kind]) => [
          name,
          {
            kind,
            bearings: ['0 ft', `${w.end} ft`],
            positive: 'out',
            ...(kind === 'tilt' ? { baseline: 'level' } : {}),
          },
        ]),
      ),
      plates: [w.plate],
    }),
  );
  const fits = Object.fromEntries(
    Object.keys(w.lines).map((name) => {
      const points = w.readings
        .filter((each) => each.line === name)
        .map((each) => [each.station * FOOT, each.offset * INCH] as const);
      const fit = fitOfDeviations(points, Math.hypot(w.sd, w.string) * INCH);
      const [survey] = fit.surveys;
      const stations = survey!.stations.map((each) => ({ ...each, uReading: w.sd * INCH }));
      return [name, { ...fit, surveys: [{ ...survey!, stations }] }];
    }),
  );
  return fitPlate(job, job.plates[0]!, (name) => fits[name] ?? null);
}

describe('eight worked plates (scipy HiGHS, displacement method)', () => {
  it('are eight, of rows, tilts and several rows, on both sides', () => {
    expect(CASES.map((w) => w.kind).sort()).toEqual(
      ['row', 'row', 'row', 'row', 'tilt', 'tilt', 'across', 'across'].sort(),
    );
    const results = new Set(CASES.flatMap((w) => w.gaps.map((g) => g.result)));
    expect([...results].sort()).toEqual(['outside', 'undetermined', 'within']);
    expect(CASES.filter((w) => w.rocks).map((w) => w.kind)).toEqual(['tilt', 'tilt']);
    expect(new Set(CASES.flatMap((w) => w.gaps.map((g) => g.closes)))).toEqual(new Set([true, false, null]));
  });

  for (const [i, w] of CASES.entries()) {
    it(`plate ${i + 1}: ${w.kind}, ${w.gaps.length} places`, () => {
      const fit = run(w);
      const gaps = fit.gaps!;
      expect(fit.leftOut).toEqual([]);
      expect(gaps).toHaveLength(w.gaps.length);
      expect(
        fit.findings.some((f) => f.code === 'plate-can-rock' && /two places across/.test(f.message)),
      ).toBe(w.rocks);
      // A plate that rocks lies as well on the one side as on the other: the same at its middle, not elsewhere.
      if (w.rocks) return;
      for (const wanted of w.gaps) {
        const got = gaps.find(
          (g) => Math.abs(g.station / FOOT - wanted.x) < 1e-6 && Math.abs(g.across / INCH - wanted.z) < 1e-6,
        )!;
        expect(got.contact).toBe(wanted.contact);
        expect(got.gap / INCH).toBeCloseTo(wanted.gap, 6);
        expect((got.u ?? 0) / INCH).toBeCloseTo(wanted.u, 6);
        expect(got.fill.left / INCH).toBeCloseTo(wanted.left, 6);
        expect(got.drawDown === null).toBe(wanted.draw === null);
        if (wanted.draw !== null) {
          expect(Math.abs(got.drawDown! / KIP / wanted.draw[0] - 1)).toBeLessThan(1e-5);
          expect(Math.abs(got.drawDownMost! / KIP / wanted.draw[1] - 1)).toBeLessThan(1e-5);
        }
        expect(got.closes).toBe(wanted.closes);
        expect(got.result).toBe(wanted.result);
      }
    });
  }
});
