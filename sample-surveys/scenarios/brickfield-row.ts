import { createRandom } from '../../tests/mechanics/random.ts';
import { creased, dent } from '../../tests/panels/plates.ts';
import { evening, INCH, type Sample, type SampleFile, workingDays } from './sample.ts';

const SEED = 'brickfield-row/1';
const CYCLES = 8;
const [FROM, TO] = [22, 27];
const HIGH = 40;
/** Stations, ft, and heights, in. */
const STATIONS = Array.from({ length: 16 }, (_, i) => FROM + i / 3);
const HEIGHTS = [1, 4, 8, 12, 16, 20, 24, 28, 32, 36, 39];
/** The tear, as a box in the panel: nothing to read inside it. */
const TEAR = { from: 24.2, to: 24.8, low: 17, high: 23 };
/** How much of the bulge is left after each cycle; two days brought nothing. */
const LEFT = [1, 0.8, 0.66, 0.66, 0.5, 0.37, 0.37, 0.25, 0.17];
const CREST = 2.6;
/** Spots the as-found map has room for. */
const SPOTS = 18;
/** A slip of the pen: one inch too much. */
const SLIP = { cycle: 4, station: 4, height: 7 };

/** Bulge as found, in: a fold about the tear and a dome around it. */
function asFound(station: number, height: number): number {
  const [x, y] = [(station - FROM) / (TO - FROM), height / HIGH];
  const aspect = ((TO - FROM) * 12) / HIGH;
  return (
    CREST *
    (0.35 * creased(x, y, 0.48, 0.5, 0.2) * dent(x, y, 0.48, 0.5, 0.75, aspect) +
      0.65 * dent(x, y, 0.48, 0.5, 0.48, aspect))
  );
}

/**
 * A web panel with a tear at the crest of its bulge, read with a straight-edge as a sheet of heights and stations; the
 * bottom flange is swept with it, so the panel leans and bows. Two days bring nothing; one reading is an inch off.
 */
export function brickfieldRow(): Sample {
  const random = createRandom(SEED);
  const days = workingDays('2026-04-13', CYCLES + 1, ['2026-04-16']);
  const sheets = random.fork('readings');
  const files = days.map((day, cycle): SampleFile => {
    const bow = 0.4 * LEFT[cycle]! + 0.1;
    const [offset, lean] = [1.5 + 0.05 * sheets.normal(), 0.9 * LEFT[cycle]! + 0.03 * sheets.normal()];
    const rows = [...HEIGHTS.entries()].reverse().map(([h, height]) => {
      const cells = STATIONS.map((station, s) => {
        const inside = station > TEAR.from && station < TEAR.to && height > TEAR.low && height < TEAR.high;
        const share = 1 - height / HIGH;
        const x = (station - FROM) / (TO - FROM);
        const steel =
          offset + lean * share + bow * 4 * x * (1 - x) * share + LEFT[cycle]! * asFound(station, height);
        const slip = cycle === SLIP.cycle && s === SLIP.station && h === SLIP.height ? 1 : 0;
        const read = steel + slip + 0.03 * sheets.normal();
        return inside ? '' : sixteenths(read);
      });
      return [height, ...cells].join(',');
    });
    const head = ['height (in)', ...STATIONS.map((s) => `${Math.floor(s)}'-${Math.round((s % 1) * 12)}"`)];
    const text = [
      head.join(','),
      `cycle,${cycle}`,
      'panel,web-2',
      `date,${day}`,
      `temperature,${52 + (cycle % 4) * 3}`,
      ...rows,
      '',
    ].join('\r\n');
    return { name: `web-2 cycle ${cycle}.csv`, text, when: evening(day) };
  });
  return {
    folder: 'brickfield-row',
    seed: SEED,
    story:
      'a web panel bulged 2 5/8 in and torn where the load struck, read with a straight-edge as a grid; two days that brought nothing, one reading an inch off, and nothing to read in the tear, so that the bulge is a lower bound',
    units: 'us',
    started: `${days[0]!}T15:02:11.000Z`,
    job: {
      job: 'Brickfield Row over the mill race, girder 2, web at the blow',
      units: 'us',
      member: {
        span: '54 ft',
        yieldStress: '36 ksi',
        steel: 'A36',
        flangeWidth: '12 in',
        flangeThickness: '7/8 in',
        webThickness: '7/16 in',
        depth: '41 3/4 in',
        diaphragms: ['18 ft', '36 ft'],
      },
      panels: {
        'web-2': {
          stations: ['22 ft', '27 ft'],
          heights: ['0 in', '40 in'],
          held: ['bottom', 'top'],
          positive: 'away from the struck side',
          push: { share: 0.3, shareSource: 'special provision of this job, 7.5', jack: 'ram A' },
          cutOut: {
            stations: ['24 ft', '25 ft'],
            heights: ['14 in', '26 in'],
            radius: '2 in',
            plate: {
              sides: 'both',
              thickness: '3/8 in',
              boltDiameter: '7/8 in',
              rows: 1,
              pitch: '4 in',
              fromOpening: '2 in',
              edgeDistance: '1 1/2 in',
              leastEdge: '1 1/8 in',
              leastEdgeSource: 'special provision of this job, 8.2',
              gapLimit: '1/8 in',
              gapLimitSource: 'special provision of this job, 8.3',
              fillet: '3/4 in',
              obstacles: [{ what: 'a stiffener', stations: ['26 ft 4 in', '26 ft 4 3/8 in'] }],
            },
          },
        },
      },
      jacks: [{ name: 'ram A', ramArea: '2.24 in2', capacity: '20 kip' }],
      heating: {
        limits: {
          spotDiameter: ['1 in', '1 1/2 in'],
          spotSpacing: '4 in',
          spotsPerCycle: 6,
          lineSpacing: '5 in',
          linesPerCycle: 2,
          source: 'special provision of this job, 7.3',
        },
      },
      acceptance: [{ line: 'web-2', limit: '3/8 in', source: 'set by the job' }],
    },
    files,
    heats: heatLog(days),
    truth: {},
    notes: `Panel \`web-2\`: crest ${CREST.toFixed(2)} in as found, inside the tear; by cycle ${LEFT.map((l) => (CREST * l).toFixed(2)).join(', ')} in. Cycles 3 and 6 brought nothing. The tear is from ${TEAR.from} ft to ${TEAR.to} ft, heights ${TEAR.low} in to ${TEAR.high} in. Wrong reading: cycle ${SLIP.cycle}, station ${STATIONS[SLIP.station]!.toFixed(2)} ft, height ${HEIGHTS[SLIP.height]} in, an inch too much.\n`,
  };
}

/** `1 3/16`, as a crew writes it. */
function sixteenths(inches: number): string {
  const parts = Math.round(inches * 16);
  const [whole, top] = [Math.floor(parts / 16), parts % 16];
  if (top === 0) return String(whole);
  const shared = top % 8 === 0 ? 8 : top % 4 === 0 ? 4 : top % 2 === 0 ? 2 : 1;
  return `${whole === 0 ? '' : `${whole} `}${top / shared}/${16 / shared}`;
}

/** Two lines on opposite sides of the foot and six spots a cycle; on the dead days the steel was hardly warm. */
function heatLog(days: readonly string[]): string {
  const random = createRandom(SEED).fork('heats');
  const rows = days.slice(1).flatMap((day, i) => {
    const cycle = i + 1;
    const cool = LEFT[cycle] === LEFT[cycle - 1];
    const heat = (zone: string, pattern: string, width: string) => {
      const reached = 10 * Math.round((cool ? 640 : 1110) / 10 + 3 * random.normal());
      return `${cycle},web-2,${zone},${pattern},${width},${reached},${60 + (i % 4) * 5},800,${day}`;
    };
    return [
      heat(`L${1 + (i % 7)}`, 'line', ''),
      heat(`L${7 + (i % 7)}`, 'line', ''),
      ...Array.from({ length: 6 }, (_, k) => heat(`S${1 + ((i + 3 * k) % SPOTS)}`, 'spot', '1 1/4')),
    ];
  });
  return `${['cycle,line,zone,pattern,width (in),temperature (F),before (F),pressure (psi),date', ...rows].join('\n')}\n`;
}

/** The crest as found, in m, for the tests. */
export const BRICKFIELD_CREST = CREST * INCH;
