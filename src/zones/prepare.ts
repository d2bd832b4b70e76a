import { knownOffset } from '../baseline/known-shape.ts';
import type { Line } from '../job/job.ts';
import { markFinder } from '../survey/marks.ts';
import type { Mark, Reading, ReadingSd, Survey } from '../survey/survey.ts';
import type { Rows } from './model.ts';

/** One survey as the fit takes it. Row i is reading i. */
export interface Prepared {
  readonly survey: Survey;
  readonly readings: readonly Reading[];
  readonly rows: Rows;
  /** Set aside by hand. */
  readonly handOff: readonly boolean[];
  /** Reinstated by hand: never set aside by the rule. */
  readonly pinned: readonly boolean[];
  /** The hand marks in force, by row. */
  readonly marks: readonly (Mark | null)[];
}

/** Takes the known shape off and applies the hand marks (the last one for a reading holds). */
export function prepareSurvey(
  line: Line,
  survey: Survey,
  marks: readonly Mark[],
  readingSd: ReadingSd,
): Prepared {
  const { readings } = survey;
  const inForce = readings.map(markFinder(marks));
  return {
    survey,
    readings,
    rows: {
      x: Float64Array.from(readings, (reading) => reading.station),
      y: Float64Array.from(readings, (reading) => reading.offset - knownOffset(line, reading.station)),
      sd: Float64Array.from(readings, (reading) => reading.sd ?? readingSd.value),
    },
    handOff: inForce.map((mark) => mark?.action === 'set-aside'),
    pinned: inForce.map((mark) => mark?.action === 'reinstate'),
    marks: inForce,
  };
}

/** Readings of one station pooled; `off` readings left out unless all of them are. */
export interface PooledStation {
  readonly station: number;
  readonly y: number;
  /** Sd of the pooled value, m. */
  readonly sd: number;
  readonly count: number;
  readonly setAside: boolean;
}

/** Weighted mean by station (weights 1/sd²), stations increasing. `scale` multiplies the stated sd. */
export function poolStations(rows: Rows, off: readonly boolean[], scale: number): PooledStation[] {
  const groups = new Map<number, number[]>();
  rows.x.forEach((station, i) => {
    const group = groups.get(station);
    if (group) group.push(i);
    else groups.set(station, [i]);
  });
  return [...groups.entries()]
    .sort(([a], [b]) => a - b)
    .map(([station, all]) => {
      const good = all.filter((i) => !off[i]);
      const used = good.length > 0 ? good : all;
      let weight = 0;
      let sum = 0;
      for (const i of used) {
        const w = 1 / rows.sd[i]! ** 2;
        weight += w;
        sum += w * rows.y[i]!;
      }
      return {
        station,
        y: sum / weight,
        sd: scale / Math.sqrt(weight),
        count: all.length,
        setAside: good.length === 0,
      };
    });
}
