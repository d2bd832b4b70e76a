import type { SetAside, SetUp, StationFit, SurveyFit } from '../analysis.ts';
import type { PooledStation, Prepared } from './prepare.ts';

/** Why the rule set a reading aside: said the same way everywhere. */
const RULE =
  'further from the shape of the others than a good reading could be (about 3.8 times what readings here scatter, and one so far out is more likely wrong than right)';

export function setAsideList(prepared: Prepared, off: readonly boolean[]): SetAside[] {
  return prepared.readings.flatMap((reading, i): SetAside[] => {
    if (!off[i]) return [];
    const mark = prepared.marks[i];
    const byHand = prepared.handOff[i] === true && mark;
    return [
      {
        file: reading.file,
        row: reading.row,
        station: reading.station,
        offset: reading.offset,
        reason: byHand ? `set aside by ${mark.who}: ${mark.why}` : RULE,
        by: byHand ? 'hand' : 'rule',
      },
    ];
  });
}

/** The set-up's value and variance at a station. */
export function setUpAt(setUp: SetUp, station: number): { offset: number; variance: number } {
  const s = station - setUp.about;
  const c = setUp.covariance;
  return {
    offset: setUp.offset + setUp.tilt * s,
    variance: Math.max(0, c[0]![0]! + 2 * s * c[0]![1]! + s * s * c[1]![1]!),
  };
}

/** Stations as deviations. `shape`: baseline at a station; `model`: fitted deviation with its u, null without a model. */
export function stationFits(
  stations: readonly PooledStation[],
  setUp: SetUp,
  shape: (station: number) => number,
  model: ((station: number) => { value: number; u: number }) | null,
): StationFit[] {
  return stations.map(({ station, y, sd, count, setAside }) => {
    const at = setUpAt(setUp, station);
    const fitted = model?.(station) ?? null;
    return {
      station,
      deviation: y - at.offset - shape(station),
      u: Math.sqrt(sd * sd + at.variance),
      uReading: sd,
      fitted: fitted ? fitted.value : null,
      fittedU: fitted ? fitted.u : null,
      count,
      setAside,
    };
  });
}

/** @param leftOut readings not in the fit, with the deviation each says */
export function largestAndRms(
  stations: readonly StationFit[],
  from: number,
  leftOut: readonly { readonly station: number; readonly deviation: number }[],
): Pick<SurveyFit, 'largest' | 'rms'> {
  const good = stations.filter((s) => !s.setAside);
  const used = good.length > 0 ? good : stations;
  let largest: SurveyFit['largest'] = { station: used[0]?.station ?? from, deviation: 0, u: used[0]?.u ?? 0 };
  let sum = 0;
  for (const s of used) {
    sum += s.deviation ** 2;
    if (Math.abs(s.deviation) > Math.abs(largest.deviation))
      largest = { station: s.station, deviation: s.deviation, u: s.u };
  }
  const beyond = leftOut.reduce<{ station: number; deviation: number } | null>(
    (most, each) =>
      Math.abs(each.deviation) > Math.max(Math.abs(largest.deviation), Math.abs(most?.deviation ?? 0))
        ? each
        : most,
    null,
  );
  return {
    largest: beyond === null ? largest : { ...largest, leftOut: beyond },
    rms: used.length > 0 ? Math.sqrt(sum / used.length) : 0,
  };
}
