import { PRACTICE_NOTE, PRACTICE_WARNING } from '../job/practice-mark.ts';
import { INCH } from '../units/factors.ts';
import { decimalUnit, inUnit } from '../units/format-length.ts';
import { valueAt } from './beam.ts';
import type { GirderTruth } from './girder.ts';
import { createRandom } from './random.ts';
import { type Blunder, readProfile, stationsAlong } from './readings.ts';
import type { PracticeSetUp, PracticeState } from './steel.ts';

/** The one line of a practice job. */
export const PRACTICE_LINE = 'bottom-flange';

/** A survey of the simulated girder, as its crew writes it down. */
export interface PracticeSurvey {
  /** Readings as CSV, in the units of the job. */
  readonly csv: string;
  /** Slips of the crew in it. */
  readonly slips: readonly Blunder[];
  /** The jacks were still on, and the sheet does not say so. */
  readonly jacksLeftOn: boolean;
}

/**
 * Reads the girder after a cycle: a string set up anew, a rule in sixteenths (or millimetres), now and then a slip; one
 * time in twelve after a push the jacks are forgotten and still on. The `taken`-th survey of a cycle (1, 2, …) is always
 * the same; a second one is taken with care and the jacks off.
 *
 * @param underLoad read with the jacks on, and written down so
 */
export function practiceSurvey(
  setUp: PracticeSetUp,
  truth: GirderTruth,
  state: PracticeState,
  taken: number,
  underLoad: boolean,
): PracticeSurvey {
  const random = createRandom(`${setUp.seed}/cycle ${state.cycle}/survey ${taken}`);
  const { span } = truth.options;
  const forgotten = taken === 1 && !underLoad && random.uniform() < 1 / 12;
  const jacksLeftOn = forgotten && Math.max(...Array.from(state.pushed, Math.abs)) > 1e-4;
  const held = underLoad || jacksLeftOn ? 1 : 0;
  const shape = (station: number) =>
    valueAt(truth.grid, truth.baseline, station) +
    valueAt(truth.grid, state.displacement, station) +
    held * valueAt(truth.grid, state.pushed, station);
  const us = setUp.units === 'us';
  const { readings, blunders } = readProfile(shape, {
    stations: stationsAlong(0, span, setUp.spacing),
    sd: INCH / 24,
    rounding: us ? INCH / 16 : 0.001,
    stringOffset: random.between(-1, 1) * INCH,
    stringTilt: (random.between(-1, 1) * INCH) / span,
    blunders: taken === 1 && random.uniform() < 0.25 ? 1 : 0,
    cycle: state.cycle,
    random: random.fork('readings'),
  });
  const unit = (as: 'station' | 'offset') => decimalUnit(setUp.units, as);
  const number = (metres: number, as: 'station' | 'offset') =>
    `${+inUnit(metres, setUp.units, as).toFixed(4)}`;
  const rows = readings.map(
    (each) =>
      `${each.cycle},${PRACTICE_LINE},${number(each.station, 'station')},${number(each.offset, 'offset')},${underLoad ? 'restrained' : 'released'},${PRACTICE_NOTE}`,
  );
  const head = `# ${PRACTICE_WARNING}\ncycle,line,station_${unit('station')},offset_${unit('offset')},state,note\n`;
  return { csv: `${head}${rows.join('\n')}\n`, slips: blunders, jacksLeftOn };
}
