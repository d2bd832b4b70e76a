import { describe, expect, it } from 'vitest';
import type { Job } from '../../src/job/job.ts';
import { createLineModel } from '../../src/zones/line-model.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { createRandom } from '../mechanics/random.ts';
import { holdOfWeb, webAbout } from '../mechanics/web-plate.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const STEEL = 199.947961e9;

/** A web 36 in deep and 3/8 in thick under a flange of 12 by 3/4 in. */
const WEB = {
  height: 36 * INCH,
  thickness: 0.375 * INCH,
  flangeWidth: 12 * INCH,
  flangeThickness: 0.75 * INCH,
};

describe('the hold of a web by the theory of plates', () => {
  // Beam tables: a strip of width 1 and rigidity D is a cantilever, 3D/h³, where its edge turns freely, and 12D/h³ where it may not.
  const strip = (STEEL * WEB.thickness ** 3) / 12 / (1 - 0.3 ** 2) / WEB.height ** 3;

  it('is a cantilever where it is bent evenly along the girder, clamped at the top, and the flange may roll', () => {
    const hold = holdOfWeb({ ...WEB, length: 1000, top: 1e12 });
    expect(hold / (3 * strip)).toBeCloseTo(1, 3);
  });

  it('is four times that where a flange too thick to twist holds its lower edge', () => {
    const hold = holdOfWeb({ ...WEB, flangeThickness: 40, length: 1000, top: 1e12 });
    expect(hold / (12 * strip)).toBeCloseTo(1, 3);
  });
});

describe('the hold a job’s web is taken to have', () => {
  /** ln of what the theory of plates gives over what the fit starts from, for webs and flanges drawn as girders have them. */
  const drawn = Array.from({ length: 400 }, (_, i) => {
    const random = createRandom(`web hold/${i}`);
    const span = random.between(40, 90) * FOOT;
    const bays = random.integer(3, 5);
    const about = webAbout(random, span, span / bays);
    const flange = {
      flangeWidth: random.between(9, 16) * INCH,
      flangeThickness: random.between(10, 20) * (INCH / 16),
    };
    const thickness = about.height / random.between(50, 120);
    const model = modelOf(span, bays, { ...flange, height: about.height, thickness });
    const EI = (STEEL * flange.flangeWidth ** 3 * flange.flangeThickness) / 12;
    return Math.log(holdOfWeb({ ...about, ...flange, thickness }) / EI) - model.web!.mean;
  });

  it('is that of plate theory on the whole, and as far from it as its sd says', () => {
    const mean = drawn.reduce((sum, value) => sum + value, 0) / drawn.length;
    const sd = Math.sqrt(drawn.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (drawn.length - 1));
    const said = Math.LN2;
    expect(Math.abs(mean)).toBeLessThan(0.1);
    expect(sd).toBeGreaterThan(0.8 * said);
    expect(sd).toBeLessThan(1.1 * said);
    const within = drawn.filter((value) => Math.abs(value) <= 1.96 * said).length / drawn.length;
    expect(within).toBeGreaterThan(0.92);
  });

  it('yields where the outer fibre of a cantilever strip does', () => {
    // Beam tables: a tip deflection of 2·F_y·h²/3·E·t brings the clamped end of a cantilever of depth t to F_y.
    const yieldStress = 248.2e6;
    const { height, thickness } = WEB;
    const first = (2 * yieldStress * height ** 2) / (3 * STEEL * thickness);
    const model = modelOf(59 * FOOT, 4, WEB, yieldStress);
    expect((model.web!.yields! * model.yieldCurvature) / first).toBeCloseTo(1, 6);
  });

  it('is 3/8 by 36 in, to a factor of three and elastic, where the job gives no depth', () => {
    const job = jobOf(girder(59 * FOOT, 4, WEB));
    const model = createLineModel(job.lines[0]!, job.member);
    expect(model.web).toMatchObject({ sd: Math.log(3), yields: null });
  });
});

function girder(span: number, bays: number, web: typeof WEB, yieldStress = 248.2e6) {
  return simulateGirder({
    span,
    flangeWidth: web.flangeWidth,
    flangeThickness: web.flangeThickness,
    yieldStress,
    grid: FOOT,
    diaphragms: Array.from({ length: bays - 1 }, (_, i) => ({
      station: ((i + 1) * span) / bays,
      stiffness: 2e7,
    })),
    impacts: [],
  });
}

function modelOf(span: number, bays: number, web: typeof WEB, yieldStress?: number) {
  const job: Job = jobOf(girder(span, bays, web, yieldStress));
  const depth = web.height + 2 * web.flangeThickness;
  return createLineModel(job.lines[0]!, { ...job.member, depth, webThickness: web.thickness });
}
