/** Seeded girders with their readings, and how a fit is scored against the truth. */
import type { LineFit, Zone } from '../../src/analysis.ts';
import type { Job } from '../../src/job/job.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { ReadingSd, Survey } from '../../src/survey/survey.ts';
import { valueAt } from '../mechanics/beam.ts';
import { type GirderOptions, type GirderTruth, simulateGirder, type TrueZone } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { randomGirder, randomReading, randomThreeSpans } from '../mechanics/population.ts';
import { createRandom, type Random } from '../mechanics/random.ts';
import { type ReadingOptions, type ReadingSet, readGirder } from '../mechanics/readings.ts';
import { thicknessFor, webAbout } from '../mechanics/web-plate.ts';

const INCH = 0.0254;

export interface Case {
  readonly seed: string;
  readonly truth: GirderTruth;
  readonly options: ReadingOptions;
  readonly set: ReadingSet;
  readonly job: Job;
  readonly surveys: readonly Survey[];
  readonly readingSd: ReadingSd;
  readonly diaphragmsGiven: boolean;
}

export const DEFAULT_SD: ReadingSd = {
  value: INCH / 16,
  source: 'default',
  degreesOfFreedom: null,
  reason: 'default of 1/16 in',
};

/** What the job says of where it was struck: each first blow's station, the reach about all blows, or nothing. */
export type Said = 'impact' | 'struck' | 'nothing';

/** What marks and scrapes reach beyond the middle of a blow, m. */
const MARKS = 3 * 0.3048;

/** What the job says of the web: nothing, or its depth and thickness; and whether that web yields as it would, or never. */
export type WebSaid = 'nothing' | 'given' | 'yields';

/** `bedding`: sideways hold of the web along the flange, N/m²; elastic unless `web` is `yields`. */
export function createCase(
  seed: string,
  diaphragmsGiven: boolean,
  bedding = 0,
  said: Said = 'impact',
  web: WebSaid = 'nothing',
): Case {
  const random = createRandom(seed);
  const truth = wholeGirder(random, (own) => {
    const girder = randomGirder(own);
    if (bedding === 0) return girder;
    if (web !== 'yields') return { ...girder, bedding };
    return { ...girder, bedding, beddingYields: sectionOf(random, girder, bedding).yields };
  });
  const options = randomReading(random.fork('reading'), truth);
  const set = readGirder(truth, options);
  const whole = withWeb(jobOf(truth, { diaphragmsGiven, impactGiven: said === 'impact' }));
  function withWeb(job: Job): Job {
    if (web === 'nothing' || bedding === 0) return job;
    const { depth, thickness } = sectionOf(random, truth.options, bedding);
    return { ...job, member: { ...job.member, depth, webThickness: thickness } };
  }
  const blows = truth.options.impacts.map(({ station }) => station);
  const job: Job =
    said === 'struck'
      ? {
          ...whole,
          member: {
            ...whole.member,
            struck: [
              Math.max(0, Math.min(...blows) - MARKS),
              Math.min(truth.options.span, Math.max(...blows) + MARKS),
            ],
          },
        }
      : whole;
  return {
    seed,
    truth,
    options,
    set,
    job,
    surveys: assembleSurveys(set.readings, job.lines[0]!),
    readingSd: DEFAULT_SD,
    diaphragmsGiven,
  };
}

/**
 * Depth and web thickness of a girder whose web holds so much by the theory of plates (`web-plate.ts`): depth, the length it is bent
 * over and what holds its top are drawn, the thickness follows. And the deflection at which such a strip of web yields, m: between
 * first yield at its top edge and a hinge through its thickness, 1.25 times the first, of a cantilever or half that, as the flange rolls or not.
 */
function sectionOf(
  random: Random,
  { span, diaphragms, flangeWidth, flangeThickness, yieldStress }: GirderOptions,
  hold: number,
): { depth: number; thickness: number; yields: number } {
  for (let draw = 0; ; draw++) {
    const about = webAbout(random.fork(`web ${draw}`), span, span / (diaphragms.length + 1));
    const height = Math.round(about.height / INCH) * INCH;
    const thickness = thicknessFor(hold, { ...about, height, flangeWidth, flangeThickness });
    if (thickness === null) continue;
    const first = (yieldStress * height ** 2) / (1.5 * STEEL * thickness);
    const free = random.fork(`web ${draw} rolls`).between(0.5, 1);
    return { depth: height + 2 * flangeThickness, thickness, yields: 1.25 * free * first };
  }
}

/** Young's modulus, Pa. */
const STEEL = 199.947961e9;

/** A girder of three spans, read over the struck one or over all. */
export function createThreeSpanCase(seed: string, diaphragmsGiven: boolean): Case {
  const random = createRandom(seed);
  const truth = wholeGirder(random, randomThreeSpans, STRAIGHTENED);
  const { piers, span, impacts } = truth.options;
  const ends = [0, ...piers!, span];
  const at = impacts[0]!.station;
  const i = ends.findIndex((end, k) => k > 0 && at < end);
  const line: [number, number] = random.fork('line').uniform() < 0.5 ? [0, span] : [ends[i - 1]!, ends[i]!];
  const options = randomReading(random.fork('reading'), truth, line);
  const set = readGirder(truth, options);
  const job = jobOf(truth, { diaphragmsGiven, line });
  return {
    seed,
    truth,
    options,
    set,
    job,
    surveys: assembleSurveys(set.readings, job.lines[0]!),
    readingSd: DEFAULT_SD,
    diaphragmsGiven,
  };
}

/**
 * Largest strain of the outer fibre steel is taken to bear: 20 %, the least elongation in 8 in that ASTM A36 asks for
 * (from memory). A girder whose simulated steel would have torn is plated or replaced, not straightened: drawn again.
 */
const TEARS = 0.2;

/** Strain ratio past which heat straightening is not proven (the published guide, from memory). */
const STRAIGHTENED = 100;

function wholeGirder(
  random: Random,
  drawn: (random: Random) => GirderOptions = randomGirder,
  most = Number.POSITIVE_INFINITY,
): GirderTruth {
  for (let draw = 0; ; draw++) {
    const truth = simulateGirder(drawn(random.fork(draw === 0 ? 'girder' : `girder ${draw}`)));
    const yieldStrain = truth.section.steel.yieldStress / truth.section.steel.elasticModulus;
    if (truth.zones.every(({ strainRatio }) => strainRatio <= most && strainRatio * yieldStrain <= TEARS))
      return truth;
  }
}

/** Distance between the stations on either side, widest within the zone: what "one spacing" means there, m. */
export function spacingNear(one: Case, zone: TrueZone): number {
  const { stations } = one.options;
  let widest = 0;
  for (let i = 1; i < stations.length; i++)
    if (stations[i]! > zone.from && stations[i - 1]! < zone.to)
      widest = Math.max(widest, stations[i]! - stations[i - 1]!);
  return widest;
}

export interface ZoneScore {
  readonly truth: TrueZone;
  readonly found: Zone | null;
  readonly spacing: number;
  /** Found less true, rad. */
  readonly error: number;
  readonly withinTarget: boolean;
  readonly covered: boolean;
  readonly edges: readonly boolean[];
  readonly coreEdges: readonly boolean[];
}

export interface Score {
  readonly case: Case;
  /** True zones of strain ratio 5 and more. */
  readonly zones: readonly ZoneScore[];
  readonly falseZones: readonly Zone[];
  readonly blunders: number;
  readonly blundersFound: number;
  readonly good: number;
  readonly goodSetAside: number;
  /** Baseline less true undamaged shape at the blow over its u. */
  readonly baselineRatio: number;
}

export const STRAIN_WANTED = 5;

export function score(one: Case, fit: LineFit): Score {
  const { truth } = one;
  const [from, to] = one.job.lines[0]!.bearings;
  const zones = truth.zones
    // What lies beyond the line nobody read.
    .filter(({ strainRatio, centre }) => strainRatio >= STRAIN_WANTED && centre > from && centre < to)
    .map((zone): ZoneScore => {
      const spacing = spacingNear(one, zone);
      const found = match(zone, fit.zones, spacing);
      const error = found ? found.rotation - zone.rotation : Number.NaN;
      return {
        truth: zone,
        found,
        spacing,
        error,
        withinTarget: found !== null && Math.abs(error) <= Math.max(0.05 * Math.abs(zone.rotation), 0.003),
        covered: found !== null && Math.abs(error) <= 1.96 * found.rotationU,
        edges: found
          ? [Math.abs(found.from - zone.from) <= spacing, Math.abs(found.to - zone.to) <= spacing]
          : [],
        coreEdges: found
          ? [Math.abs(found.from - zone.core.from) <= spacing, Math.abs(found.to - zone.core.to) <= spacing]
          : [],
      };
    });
  const falseZones = fit.zones.filter(
    (zone) =>
      zone.class === 'plastic' &&
      !truth.zones.some(
        (t) =>
          Math.sign(t.plasticRotation) === Math.sign(zone.rotation) && zone.from < t.to && zone.to > t.from,
      ),
  );
  const wrong = new Set(one.set.blunders.map((b) => b.row));
  const aside = new Set(fit.surveys[0]?.setAside.map((s) => s.row) ?? []);
  const rows = one.set.readings.map((r) => r.row);
  return {
    case: one,
    zones,
    falseZones,
    blunders: wrong.size,
    blundersFound: [...wrong].filter((row) => aside.has(row)).length,
    good: rows.length - wrong.size,
    goodSetAside: rows.filter((row) => aside.has(row) && !wrong.has(row)).length,
    baselineRatio: baselineRatio(one, fit),
  };
}

function match(truth: TrueZone, found: readonly Zone[], spacing: number): Zone | null {
  let best: Zone | null = null;
  let least = Number.POSITIVE_INFINITY;
  for (const zone of found) {
    if (Math.sign(zone.rotation) !== Math.sign(truth.plasticRotation)) continue;
    if (zone.to < truth.core.from - spacing || zone.from > truth.core.to + spacing) continue;
    const off = Math.abs((zone.from + zone.to) / 2 - truth.centre);
    if (off < least) {
      least = off;
      best = zone;
    }
  }
  return best;
}

function baselineRatio(one: Case, fit: LineFit): number {
  const at = one.truth.options.impacts[0]!.station;
  const survey = fit.surveys[0]!;
  const shape = fit.baseline.undamagedShape;
  const string = (one.options.stringOffset ?? 0) + (one.options.stringTilt ?? 0) * at;
  const trueShape = valueAt(one.truth.grid, one.truth.baseline, at) + string;
  let i = shape.findIndex((p) => p.station >= at);
  if (i < 1) i = 1;
  const [a, b] = [shape[i - 1]!, shape[i]!];
  const t = (at - a.station) / (b.station - a.station || 1);
  const ours = a.offset + t * (b.offset - a.offset);
  const u = a.u + t * (b.u - a.u);
  const setUp = survey.setUp.offset + survey.setUp.tilt * (at - survey.setUp.about);
  return (setUp + ours - trueShape) / u;
}
