import type { ElasticReaction } from '../analysis.ts';
import { USUAL_GIVE } from '../job/diaphragm-give.ts';
import type { Job, Restraint } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { exp } from '../maths/portable.ts';
import type { SetUpGeometry } from './moment-set-up.ts';

/** A diaphragm the pushed part runs over, as a spring. */
export interface DiaphragmSpring {
  readonly station: number;
  /** EI of the pushed part over its stiffness, m³, as likely more as less. */
  readonly compliance: number;
  /** Standard uncertainty of its logarithm. */
  readonly logU: number;
  /** True where the struck flange shows it; false where it is only what diaphragms usually give. */
  readonly shown: boolean;
}

/** How the pushed part is held: the ways its diaphragms may give, between which the moments lie. */
export interface Held {
  /** As likely: what heats are expected to do is worked out with it. */
  readonly likely: SetUpGeometry;
  /** Diaphragms rigid, and as soft as the readings leave open (two u); null where no diaphragm gives. */
  readonly ends: { readonly rigid: SetUpGeometry; readonly soft: SetUpGeometry } | null;
  readonly springs: readonly DiaphragmSpring[];
}

/**
 * A flange that runs on is held at its bearings and gives at its diaphragms. How much, the struck flange shows (the fit
 * of the line knows EI/k of each); else it is taken as diaphragms usually are. Supports that are no diaphragm, and all
 * supports where the engineer cites that they are rigid, give nothing.
 *
 * @param elastic of the fit of the pushed line; empty where there is none
 */
export function heldBy(job: Job, restraint: Restraint, elastic: readonly ElasticReaction[]): Held {
  const { setUp, supports } = restraint;
  const [from, to] = [supports[0]!, supports.at(-1)!];
  if (setUp !== 'continuous') return { likely: { kind: setUp, from, to }, ends: null, springs: [] };
  const of = (compliance: (spring: DiaphragmSpring) => number): SetUpGeometry => ({
    kind: setUp,
    from,
    to,
    supports: supports.map((station) => {
      const spring = springs.find((each) => each.station === station);
      return { station, compliance: spring === undefined ? 0 : compliance(spring) };
    }),
  });
  const springs = restraint.setUpSource !== null ? [] : springsOf(job, supports, elastic);
  const likely = of((spring) => spring.compliance);
  if (springs.length === 0) return { likely, ends: null, springs };
  return {
    likely,
    ends: {
      rigid: of(() => 0),
      soft: of(({ compliance, logU }) => compliance * exp(MEASURED.factor * logU)),
    },
    springs,
  };
}

function springsOf(
  job: Job,
  supports: readonly number[],
  elastic: readonly ElasticReaction[],
): DiaphragmSpring[] {
  const panel = (supports.at(-1)! - supports[0]!) / (supports.length - 1);
  return supports
    .slice(1, -1)
    .filter((station) => job.member.diaphragms?.includes(station))
    .map((station): DiaphragmSpring => {
      const spring = elastic.find((each) => each.station === station)?.spring ?? null;
      return spring === null
        ? { station, compliance: exp(USUAL_GIVE.log) * panel ** 3, logU: USUAL_GIVE.sd, shown: false }
        : { station, ...spring, shown: true };
    });
}
