import { PRACTICE_ID } from '../job/practice-mark.ts';
import { INCH } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import type { GirderTruth } from './girder.ts';
import { createRandom } from './random.ts';
import type { PracticeSetUp } from './steel.ts';
import { PRACTICE_LINE } from './survey.ts';

/** Invented places; nobody has a bridge there. */
const PLACES = [
  'Nowhere Lane over the dry ditch',
  'Teakettle Lane over the mill race',
  'Buttonhook Road over the siding',
  'Cardboard Street over the canal',
  'Marzipan Row over the brook',
  'Thimble Walk over the goods line',
] as const;

/**
 * The job.json of a practice: what a crew would know of the girder, and nothing of its truth.
 *
 * @param jacks stations of the jacks as text, or null for one at the blow
 */
export function practiceJob(
  setUp: PracticeSetUp,
  { options }: Pick<GirderTruth, 'options'>,
  jacks: readonly string[] | null,
  id: string,
  schema: string,
): { readonly job: string; readonly [key: string]: unknown } {
  const us = setUp.units === 'us';
  const station = (metres: number) =>
    formatLength(metres, { units: setUp.units, as: 'station', fraction: 16 });
  const small = (metres: number) => formatLength(metres, { units: setUp.units, as: 'offset', fraction: 16 });
  const at = options.impacts[0]!.station;
  return {
    $schema: schema,
    id: PRACTICE_ID + id,
    job: `${createRandom(setUp.seed).pick(PLACES)}, girder of seed ${setUp.seed}`,
    units: setUp.units,
    member: {
      span: station(options.span),
      yieldStress: us ? '36 ksi' : '250 MPa',
      flangeWidth: small(options.flangeWidth),
      flangeThickness: small(options.flangeThickness),
      steel: 'A36',
      diaphragms: options.diaphragms.map((each) => station(each.station)),
    },
    lines: {
      [PRACTICE_LINE]: {
        kind: 'sweep',
        bearings: [station(0), station(options.span)],
        positive: 'toward the north shoulder',
        impact: station(at),
      },
    },
    acceptance: [
      {
        line: PRACTICE_LINE,
        limit: us ? '1/2 in' : small(0.5 * INCH),
        over: 'whole line',
        source: 'made up for practice',
      },
    ],
    jacks: (jacks ?? [station(at)]).map((where, i) => ({
      name: `jack ${i + 1}`,
      station: where,
      ramArea: us ? '5.16 in2' : '3330 mm2',
    })),
    restraint: { importance: 'primary', line: PRACTICE_LINE },
  };
}
