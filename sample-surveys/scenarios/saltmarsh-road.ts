import { prepareCampaign, simulateCampaign } from '../../tests/mechanics/campaign.ts';
import { longFormCsv } from '../../tests/mechanics/csv.ts';
import { simulateGirder } from '../../tests/mechanics/girder.ts';
import { createRandom } from '../../tests/mechanics/random.ts';
import { stationsAlong } from '../../tests/mechanics/readings.ts';
import { annotate, evening, readingTime, type Sample, workingDays } from './sample.ts';

const SEED = 'saltmarsh-road/1';
const SPAN = 18.3;
const CYCLES = 11;
const RESTRAINED = [3, 6, 9];

/**
 * Metric: struck twice, read to the millimetre; jacks-on readings in three cycles, two rounds in the first and the
 * last, one reading with its digits exchanged, and a string that had to be rigged anew.
 */
export function saltmarshRoad(): Sample {
  const random = createRandom(SEED);
  const truth = simulateGirder({
    span: SPAN,
    flangeWidth: 0.3,
    flangeThickness: 0.025,
    yieldStress: 275e6,
    elasticModulus: 210e9,
    hardening: 0.006,
    diaphragms: [4.6, 9.15, 13.7].map((station) => ({ station, stiffness: 1.2e7 })),
    impacts: [
      { station: 7.0, patch: 0.3, set: -0.095 },
      { station: 11.4, patch: 0.4, set: -0.06 },
    ],
  });
  const stations = [
    ...new Set([
      ...stationsAlong(0, SPAN, 1, { from: 5.5, to: 8.5, spacing: 0.5 }),
      ...stationsAlong(10, 13, 0.5),
    ]),
  ].sort((a, b) => a - b);
  const days = workingDays('2025-03-03', CYCLES + 1, ['2025-03-10', '2025-03-14']);
  const campaign = simulateCampaign(prepareCampaign(truth), {
    cycles: CYCLES,
    process: { kind: 'constant', rate: 0.0065 },
    restrained: { station: 7.0, force: 90e3, cycles: RESTRAINED },
    reading: { stations, sd: 0.001, rounding: 0.001, standoff: 0.15 },
    readingOf: (cycle) => ({
      ...(cycle === 0 || cycle === CYCLES ? { repeats: 2 } : {}),
      ...(cycle === 4 ? { blunderKinds: ['transpose'] as const } : {}),
      // The string was fouled and rigged again on other blocks at the east end.
      ...(cycle === 7 ? { stringOffset: 0.0145, stringTilt: -0.0011 } : {}),
    }),
    blunders: (cycle) => (cycle === 4 ? 1 : 0),
    stringSd: { offset: 0.0015, tilt: 0.0015 / SPAN },
    date: (cycle) => days[cycle] ?? null,
    random: random.fork('campaign'),
  });
  const book = random.fork('book');
  const facts = days.map(() => ({ time: readingTime(book, 16), temperature: book.integer(4, 13) }));
  const readings = annotate(campaign.readings, (cycle) => facts[cycle]!, {
    '0/released/bottom-flange/9': 'gouge 3 mm deep',
    '7/released/bottom-flange/0': 'string rigged anew',
    '11/released/bottom-flange/26': 'second round, other reader',
  });

  const remarks: Record<number, string> = {
    0: 'as found, two rounds, second round by the other reader',
    3: 'read with jack at 7.0 on, then again with it off',
    6: 'jack on / jack off',
    7: 'string fouled by the scaffold, rigged anew on packing at the east end',
    9: 'jack on / jack off, steel at 30 before',
    11: 'two rounds before the weekend',
  };
  const files = days.map((day, cycle) => ({
    name: `survey-${String(cycle).padStart(2, '0')}.csv`,
    text: longFormCsv(
      readings.filter((r) => r.cycle === cycle),
      {
        units: 'si',
        separator: ';',
        newline: '\r\n',
        bom: cycle % 4 === 0,
        columns: ['date', 'time', 'state', 'temperature', 'note'],
        comments: [
          'Saltmarsh Road over the drain, girder 2 (invented job), bottom flange east face',
          'string on 150 mm blocks, steel rule, A.L. and W.',
          ...(remarks[cycle] === undefined ? [] : [remarks[cycle]]),
        ],
      },
    ),
    when: evening(day),
  }));
  return {
    folder: 'saltmarsh-road',
    seed: SEED,
    story:
      'struck twice, 87 mm; jacks-on readings, repeats, one misread figure, one string rigged anew; still closing at the end',
    units: 'si',
    started: '2025-02-28T09:30:00.000Z',
    job: {
      job: 'Saltmarsh Road over the drain, girder 2',
      units: 'si',
      member: {
        span: '18.3 m',
        yieldStress: '275 MPa',
        elasticModulus: '210000 MPa',
        flangeWidth: '300 mm',
        flangeThickness: '25 mm',
        steel: 'S275',
        diaphragms: ['4.6 m', '9.15 m', '13.7 m'],
      },
      lines: {
        'bottom-flange': {
          kind: 'sweep',
          bearings: ['0 m', '18.3 m'],
          positive: 'east',
          standoff: '150 mm',
          readingSd: '1 mm',
          impact: '7 m',
        },
      },
      usefulGain: '1 mm',
      acceptance: [
        { line: 'bottom-flange', limit: '12 mm', over: 'whole line', source: 'set by the job' },
        { line: 'bottom-flange', limit: '12 mm', over: '6 m', source: 'set by the job' },
      ],
    },
    files,
    truth: { 'bottom-flange': campaign },
  };
}
