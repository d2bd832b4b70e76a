import { type MeasuredSection, PARTS } from './flange-slices.ts';

/** What registration between scans taken from different places leaves on the steel. */
export interface Registration {
  /** Standard deviation of one place's points about where all of them together put the steel, m. */
  readonly sd: number;
  /** `given`, found from parts of the file that see the same steel, or not to be told. */
  readonly how: 'given' | 'found' | 'unknown';
  /** Factor on `sd` that makes an interval of two of them hold with so few places. */
  readonly factor: number;
}

/** Points of a part in a slice that make a mean of it worth having. */
const LEAST = 8;
/** Slices in which two parts must meet before anything is said. */
const MEETINGS = 6;
/** Below this, m, what is found is the model's own roughness. */
const ROUGHNESS = 0.0003;

/**
 * Between-part variance within slices (one-way analysis of variance), faces and edges pooled. Scans of one file follow
 * each other, so its parts come from different places; where two of them see the same steel they ought to agree.
 */
export function findRegistration(sections: readonly MeasuredSection[], given: number | null): Registration {
  if (given !== null) return { sd: given, how: 'given', factor: 1 };
  const [face, edge] = [pool(sections, (p) => [p.face, p.faceN]), pool(sections, (p) => [p.edge, p.edgeN])];
  const both = [face, edge].filter((each) => each.meetings >= MEETINGS);
  if (both.length === 0) return { sd: 0, how: 'unknown', factor: 1 };
  const variance = both.reduce((sum, each) => sum + each.variance, 0) / both.length;
  if (variance <= ROUGHNESS ** 2) return { sd: 0, how: 'found', factor: 1 };
  const places = Math.max(2, ...sections.map((each) => runs(each).length));
  return {
    sd: Math.sqrt(variance),
    how: 'found',
    // Faces and edges of one place move together: they are no second sample of it.
    factor: FEW[Math.min(FEW.length, places - 1) - 1]!,
  };
}

/** Student's t at 97.5 % over the normal's, for 1 to 8 degrees of freedom (JCGM 100, table G.2). */
const FEW = [6.48, 2.2, 1.62, 1.42, 1.31, 1.25, 1.21, 1.18];

function pool(
  sections: readonly MeasuredSection[],
  of: (part: MeasuredSection['parts'][number]) => readonly [number, number],
): { variance: number; meetings: number } {
  let meetings = 0;
  let weight = 0;
  let sum = 0;
  for (const section of sections) {
    const means = section.parts.map(of).filter(([mean, n]) => n >= LEAST && Number.isFinite(mean));
    if (means.length < 2) continue;
    const noise = Number.isFinite(section.scatter) ? section.scatter : 0.002;
    const middle = means.reduce((total, [mean]) => total + mean, 0) / means.length;
    const between = means.reduce((total, [mean]) => total + (mean - middle) ** 2, 0) / (means.length - 1);
    const own = means.reduce((total, [, n]) => total + (noise * noise) / n, 0) / means.length;
    meetings++;
    weight++;
    sum += between - own;
  }
  return { variance: weight === 0 ? 0 : Math.max(0, sum / weight), meetings };
}

/** Runs of neighbouring parts in a slice: one place's scan, or several that follow each other in the file. */
function runs(section: MeasuredSection): number[] {
  const bins = new Float64Array(PARTS);
  for (const part of section.parts) bins[part.part]! += part.faceN + part.edgeN;
  const list: number[] = [];
  let open = false;
  for (const n of bins) {
    if (n >= LEAST) {
      if (open) list[list.length - 1]! += n;
      else list.push(n);
      open = true;
    } else open = false;
  }
  return list;
}

/**
 * What registration leaves uncertain anywhere, m. Places that share a piece of steel do not make it less: against clouds
 * cast ray by ray from three and four places with steps of 5 mm between them, an average over places was credited with
 * more than it held (a third of the intervals covered).
 */
export function registrationU({ sd, factor }: Registration): number {
  return sd * factor;
}
