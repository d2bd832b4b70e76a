import { valueAt } from '../../tests/mechanics/beam.ts';
import { prepareCampaign, simulateCampaign } from '../../tests/mechanics/campaign.ts';
import { longFormCsv } from '../../tests/mechanics/csv.ts';
import { simulateGirder } from '../../tests/mechanics/girder.ts';
import { createRandom } from '../../tests/mechanics/random.ts';
import { readProfile, stationsAlong } from '../../tests/mechanics/readings.ts';
import { annotate, evening, FOOT, INCH, KSI, readingTime, type Sample, workingDays } from './sample.ts';

const SEED = 'juniper-lane/3';
const SPAN = 62 * FOOT;
const CYCLES = 17;
/** Cycles in which the level was put across the flange as well. */
const TILT_CYCLES = [0, 8, 17];

/** A large sweep, straightened in 17 cycles to well inside tolerance; tilt of the flange read now and then. */
export function juniperLane(): Sample {
  const random = createRandom(SEED);
  const truth = simulateGirder({
    span: SPAN,
    flangeWidth: 12 * INCH,
    flangeThickness: (15 / 16) * INCH,
    yieldStress: 36 * KSI,
    hardening: 0.006,
    diaphragms: [15, 31, 47].map((feet) => ({ station: feet * FOOT, stiffness: 9e6 })),
    impacts: [{ station: 24 * FOOT, patch: 1.5 * FOOT, set: 5.25 * INCH }],
    sweep: (station) => 0.15 * INCH * Math.sin((Math.PI * station) / SPAN),
  });
  const daily = stationsAlong(0, SPAN, 4 * FOOT, { from: 14 * FOOT, to: 34 * FOOT, spacing: 2 * FOOT });
  const first = stationsAlong(0, SPAN, 2 * FOOT, { from: 19 * FOOT, to: 29 * FOOT, spacing: FOOT });
  const days = [
    '2025-05-06',
    ...workingDays('2025-05-12', CYCLES, ['2025-05-21', '2025-05-26', '2025-05-28']),
  ];
  const campaign = simulateCampaign(prepareCampaign(truth), {
    cycles: CYCLES,
    process: { kind: 'decaying', rate: 0.42 * INCH, factor: 0.965 },
    reading: { stations: daily, sd: INCH / 20, rounding: INCH / 16, standoff: 4 * INCH },
    readingOf: (cycle) => (cycle === 0 || cycle === CYCLES ? { stations: first } : {}),
    stringSd: { offset: INCH / 16, tilt: INCH / 16 / SPAN },
    date: (cycle) => days[cycle] ?? null,
    random: random.fork('campaign'),
  });

  const book = random.fork('book');
  const facts = days.map(() => ({
    time: readingTime(book),
    temperature: (book.integer(61, 83) - 32) / 1.8,
  }));
  // The web leans with the pushed flange: a level across the flange shows a fixed share of its displacement.
  const tilt = TILT_CYCLES.flatMap(
    (cycle) =>
      readProfile((station) => 0.08 * valueAt(truth.grid, campaign.truth[cycle]!.deviation, station), {
        stations: stationsAlong(0, SPAN, 8 * FOOT, { from: 20 * FOOT, to: 28 * FOOT, spacing: 4 * FOOT }),
        sd: INCH / 40,
        rounding: INCH / 16,
        line: 'flange-tilt',
        cycle,
        date: days[cycle] ?? null,
        random: random.fork(`tilt ${cycle}`),
      }).readings,
  );
  const readings = annotate([...campaign.readings, ...tilt], (cycle) => facts[cycle]!, {
    '0/released/bottom-flange/21': 'scrape 10 in long, read beside it',
    '3/released/bottom-flange/9': 'string re-plucked',
    '7/released/bottom-flange/12': 'paint blister, read to steel',
    '11/released/bottom-flange/4': 'started 3 pm, rain, finished 3:40',
    '17/released/bottom-flange/20': 'second reader agrees',
  });

  const remarks: Record<number, string> = {
    0: 'as found, lane closed, no jacks on',
    1: 'first vees, 2 at the hit, 1 each side',
    5: 'jack 2 gauge changed for the calibrated one',
    9: 'wind, string held with two fingers at mid',
    13: 'half day, rain',
    17: 'as left',
  };
  const readers = ['R.T. / M.O.', 'M.O. / R.T.', 'R.T. / K.'];
  const files = days.map((day, cycle) => ({
    name: `cycle-${String(cycle).padStart(2, '0')}${cycle === 0 ? '-as-found' : ''}.csv`,
    text: longFormCsv(
      readings.filter((r) => r.cycle === cycle),
      {
        units: 'us',
        columns: ['line', 'date', 'time', 'temperature', 'note'],
        comments: [
          'Juniper Lane over the canal, girder 4 (invented job)',
          `book 2 p. ${11 + cycle}, read/booked ${readers[cycle % 3]}, string on 4 in blocks over both bearings`,
          ...(remarks[cycle] === undefined ? [] : [remarks[cycle]]),
        ],
      },
    ),
    when: evening(day),
  }));
  return {
    folder: 'juniper-lane',
    seed: SEED,
    story: 'a sweep of 5 3/8 in, brought to well inside 1/2 in in 17 cycles; flange tilt read three times',
    units: 'us',
    started: '2025-05-05T14:00:00.000Z',
    job: {
      job: 'Juniper Lane over the canal, girder 4',
      units: 'us',
      member: {
        span: '62 ft',
        yieldStress: '36 ksi',
        flangeWidth: '12 in',
        flangeThickness: '15/16 in',
        webThickness: '5/8 in',
        depth: '36 in',
        steel: 'A36',
        diaphragms: ['15 ft', '31 ft', '47 ft'],
      },
      lines: {
        'bottom-flange': {
          kind: 'sweep',
          bearings: ['0 ft', '62 ft'],
          positive: 'toward the north shoulder',
          standoff: '4 in',
          impact: '24 ft',
        },
        'flange-tilt': {
          kind: 'tilt',
          bearings: ['0 ft', '62 ft'],
          positive: 'north tip high',
          baseline: 'level',
        },
      },
      acceptance: [
        {
          line: 'bottom-flange',
          limit: '1/2 in',
          over: 'whole line',
          label: 'sweep over the length',
          source: 'set by the job',
        },
        {
          line: 'bottom-flange',
          limit: '1/2 in',
          over: '20 ft',
          label: 'sweep in 20 ft',
          source: 'set by the job',
        },
        {
          line: 'flange-tilt',
          limit: '3/8 in',
          over: 'whole line',
          label: 'flange tilt',
          source: 'set by the job',
        },
      ],
    },
    files,
    truth: { 'bottom-flange': campaign },
  };
}
