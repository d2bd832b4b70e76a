import { describe, expect, it } from 'vitest';
import { parseJob } from '../../src/job/job-file.ts';
import { crestPerRadian, heldAt } from '../../src/survey/crest.ts';
import { heldShape } from '../../src/survey/held-bend.ts';

const FOOT = 0.3048;
const INCH = 0.0254;

/** A kink of φ at a station of a beam held at these places: how far another station moves (toward + for a kink hollow to −). */
const kink = (at: number, held: readonly number[]) => {
  const shape = heldShape((x) => Math.max(0, x - at), held);
  return (x: number) => -shape(x);
};

describe('a bend in a member held at its bearings', () => {
  it('between two: φ·a·b/(a + b) at the bend, 6.087 mrad between two 240 in arms is 0.7304 in; half of it half way', () => {
    const moves = kink(240 * INCH, [0, 480 * INCH]);
    expect((6.087e-3 * moves(240 * INCH)) / INCH).toBeCloseTo(0.7304, 4);
    expect((6.087e-3 * moves(120 * INCH)) / INCH).toBeCloseTo(0.3652, 4);
    expect(moves(480 * INCH)).toBeCloseTo(0, 12);
  });

  // Two equal spans L, a kink at a from the pier, b = L − a from the far end. Clapeyron: the pier carries
  // M = 3·EI·φ·(b/L)/(2L); the kink moves φ·a·b/L less what M bends back, M·b·(L² − b²)/(6·EI·L).
  it('over a pier: by the three-moment equation, a sixth of what the whole chord would give', () => {
    const [L, a, b] = [60, 10, 50];
    const expected = (a * b) / L - ((3 * (b / L)) / (2 * L)) * ((b * (L * L - b * b)) / (6 * L));
    const moves = kink(70 * FOOT, [0, 60 * FOOT, 120 * FOOT]);
    expect(moves(70 * FOOT) / FOOT).toBeCloseTo(expected, 9);
    expect(moves(60 * FOOT)).toBeCloseTo(0, 12);
    expect((70 * 50) / 120 / expected).toBeGreaterThan(5);
  });

  it('at a pier: nothing there, L/(6√3) in each span at 1/√3 of it from the end (end moment on a simple beam)', () => {
    const moves = kink(60 * FOOT, [0, 60 * FOOT, 120 * FOOT]);
    expect(moves(60 * FOOT)).toBeCloseTo(0, 12);
    expect(moves((60 / Math.sqrt(3)) * FOOT) / FOOT).toBeCloseTo(-60 / (6 * Math.sqrt(3)), 9);
    expect(moves((120 - 60 / Math.sqrt(3)) * FOOT) / FOOT).toBeCloseTo(-60 / (6 * Math.sqrt(3)), 9);
  });
});

describe('what a zone is worth', () => {
  const job = (span: string, bearings: readonly string[]) =>
    parseJob(
      JSON.stringify({
        job: 'an invented girder',
        units: 'us',
        member: { span, yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
        lines: { flange: { kind: 'sweep', bearings, positive: 'toward the shoulder' } },
      }),
    );
  const crest = (span: string, bearings: readonly string[], station: number) => {
    const { lines, member } = job(span, bearings);
    return crestPerRadian(lines[0]!, station * FOOT, member) / FOOT;
  };

  it('one span: a·b/(a + b); over a pier the largest movement of the held member', () => {
    expect(crest('120 ft', ['0 ft', '120 ft'], 70)).toBeCloseTo((70 * 50) / 120, 9);
    // 5.15 ft at the bend itself, by the equation above; the largest is a little beside it.
    expect(crest('60 ft, 60 ft', ['0 ft', '120 ft'], 70)).toBeGreaterThan(5.15);
    expect(crest('60 ft, 60 ft', ['0 ft', '120 ft'], 70)).toBeLessThan(6.5);
    expect(crest('60 ft, 60 ft', ['0 ft', '120 ft'], 60)).toBeCloseTo(60 / (6 * Math.sqrt(3)), 2);
  });

  it('a line that reads one span of several has no pier inside it', () => {
    const { lines, member } = job('60 ft, 60 ft', ['60 ft', '120 ft']);
    expect(heldAt(lines[0]!, member)).toEqual([60 * FOOT, 120 * FOOT]);
    expect(crest('60 ft, 60 ft', ['60 ft', '120 ft'], 90)).toBeCloseTo(15, 9);
  });
});
