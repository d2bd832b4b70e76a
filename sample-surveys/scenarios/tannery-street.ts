import { prepareCampaign, simulateCampaign } from '../../tests/mechanics/campaign.ts';
import { fieldSheetCsv } from '../../tests/mechanics/csv.ts';
import { simulateGirder } from '../../tests/mechanics/girder.ts';
import { createRandom, type Random } from '../../tests/mechanics/random.ts';
import { stationsAlong } from '../../tests/mechanics/readings.ts';
import { annotate, evening, FOOT, INCH, KSI, readingTime, type Sample, workingDays } from './sample.ts';

const SEED = 'tannery-street/1';
const SPAN = 48 * FOOT;
const CYCLES = 14;
/** Cycle after which nothing moves any more. */
const STALL = 8;

/** Old steel that stops moving an inch short of the baseline and goes to plates. Weekly field sheets. */
export function tanneryStreet(): Sample {
  const random = createRandom(SEED);
  const truth = simulateGirder({
    span: SPAN,
    flangeWidth: 10 * INCH,
    flangeThickness: 0.75 * INCH,
    yieldStress: 33 * KSI,
    hardening: 0.008,
    diaphragms: [12, 24, 36].map((feet) => ({ station: feet * FOOT, stiffness: 2e7 })),
    impacts: [{ station: 29 * FOOT, patch: FOOT, set: 3.5 * INCH }],
  });
  const stations = stationsAlong(0, SPAN, 3 * FOOT, {
    from: 25.5 * FOOT,
    to: 33 * FOOT,
    spacing: 1.5 * FOOT,
  });
  const days = workingDays('2025-09-08', CYCLES + 1, ['2025-09-12', '2025-09-19']);
  const campaign = simulateCampaign(prepareCampaign(truth), {
    cycles: CYCLES,
    process: { kind: 'stalling', rate: 0.29 * INCH, stallAt: STALL },
    reading: { stations, sd: INCH / 18, rounding: INCH / 16, missing: [[34 * FOOT, 37 * FOOT]] },
    readingOf: (cycle) => (cycle === 0 ? { missing: [] } : {}),
    stringSd: { offset: INCH / 8, tilt: INCH / 8 / SPAN },
    date: (cycle) => days[cycle] ?? null,
    random: random.fork('campaign'),
  });
  const book = random.fork('book');
  const times = days.map(() => readingTime(book, 14));
  const readings = annotate(campaign.readings, (cycle) => ({ time: times[cycle]!, temperature: null }));

  const sheets = [
    {
      name: 'sheet-1',
      cycles: [0, 1, 2, 3],
      remark: '36+ hidden behind the scaffold clamp after the first day',
    },
    { name: 'sheet-2', cycles: [4, 5, 6, 7], remark: 'cycle 6 read after the wind dropped' },
    { name: 'sheet-3', cycles: [8, 9, 10, 11], remark: 'same vees, same jacks, nothing moves since cycle 8' },
    {
      name: 'sheet-4',
      cycles: [12, 13, 14],
      remark: 'vees moved 4 in east for cycle 13; engineer on site for 14',
    },
  ];
  const files = sheets.map(({ name, cycles, remark }) => ({
    name: `${name}.csv`,
    text: fieldSheetCsv(
      readings.filter((r) => cycles.includes(r.cycle)),
      {
        units: 'us',
        stations: 'chainage',
        comments: [
          'Tannery Street over the mill race, girder 1 (invented job), bottom flange, south edge',
          'D.V. reading, P. booking; string end to end, no blocks',
          remark,
        ],
      },
    ),
    when: evening(days[cycles.at(-1)!]!),
  }));
  return {
    folder: 'tannery-street',
    seed: SEED,
    story: 'a sweep of 3 5/8 in that stops moving after cycle 8, about an inch short, and goes to plates',
    units: 'us',
    started: '2025-09-05T14:00:00.000Z',
    job: {
      job: 'Tannery Street over the mill race, girder 1',
      units: 'us',
      member: {
        span: '48 ft',
        yieldStress: '33 ksi',
        flangeWidth: '10 in',
        flangeThickness: '3/4 in',
        webThickness: '1/2 in',
        depth: '27 in',
        steel: 'A7',
        diaphragms: ['12 ft', '24 ft', '36 ft'],
      },
      lines: {
        'bottom-flange': {
          kind: 'sweep',
          bearings: ['0 ft', '48 ft'],
          positive: 'downstream',
          impact: '29 ft',
        },
      },
      acceptance: [
        { line: 'bottom-flange', limit: '1/2 in', over: 'whole line', source: 'set by the job' },
        { preset: 'straightened-form-0388' },
      ],
      repairs: [
        { date: '1998-06-15', from: '27 ft', to: '31 ft', note: 'straightened once before, by the old file' },
      ],
      jacks: [{ name: 'jack 1', station: '29 ft', ramArea: '2.24 in2' }],
      restraint: {
        part: 'flange',
        importance: 'primary',
        setUp: 'continuous-rigid',
        setUpSource: 'engineer’s sheet 3: cross frames checked, taken as rigid',
      },
      plates: [
        {
          name: 'south plate',
          line: 'bottom-flange',
          from: '24 ft',
          to: '34 ft',
          thickness: '1/2 in',
          boltHead: '5/8 in',
          clearance: '14 ft 3 in',
        },
      ],
    },
    files,
    heats: heatLog(days, random.fork('heats')),
    truth: { 'bottom-flange': campaign },
  };
}

/** Two vees at the blow, one each side of it, every heating day; the crew's own log. */
function heatLog(days: readonly string[], random: Random): string {
  const rows = [
    '# heats, girder 1 (invented job); crayons 1100 and 1200',
    'cycle,line,station_ft,pattern,angle_deg,depth_in,apex,temperature_F,before_F,date,time,pressure_psi,torch,gas_lb,cost_usd,note',
  ];
  for (let cycle = 1; cycle <= CYCLES; cycle++) {
    const shift = cycle >= 13 ? 0.35 : 0;
    const vees = [
      { station: 28.6 + shift, apex: 'south edge' },
      { station: 29.8 + shift, apex: 'south edge' },
      { station: 23.2, apex: 'north edge' },
      { station: 36.6, apex: 'north edge' },
    ];
    vees.forEach(({ station, apex }, i) => {
      const hot = cycle === 5 && i === 1 ? 1215 : 10 * random.integer(111, 119);
      const before = i === 0 ? random.integer(58, 70) : random.integer(75, 190);
      rows.push(
        [
          cycle,
          'bottom-flange',
          Math.round(station * 100) / 100,
          'vee',
          45,
          i < 2 ? 10 : 9,
          apex,
          hot,
          before,
          days[cycle],
          `${String(8 + i).padStart(2, '0')}:${random.pick(['05', '10', '20', '25'])}`,
          cycle < 9 ? 1000 : 1100,
          'no. 8',
          (random.integer(14, 22) / 10).toFixed(1),
          (random.integer(95, 140) / 5).toFixed(2),
          hot > 1200 ? 'too hot; engineer told' : cycle === 13 && i === 0 ? 'moved east' : '',
        ].join(','),
      );
    });
  }
  return `${rows.join('\n')}\n`;
}
