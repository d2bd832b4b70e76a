import { loneReadings } from '../survey/doubtful.ts';
import { LONE } from '../survey/lone-readings.ts';
import type { Survey } from '../survey/survey.ts';
import type { Prepared } from './prepare.ts';

/**
 * When a model calls a reading wrong, either of the two may be. A misreading stands alone: it is not there in the survey
 * before or after, and not at the next station. What repeats is the steel, and the model does not fit it.
 */
export interface Doubt {
  /** By survey and reading: wrong whatever the shape. */
  readonly off: readonly (readonly boolean[])[];
  /** Readings the model would set aside that others bear out. */
  readonly borneOut: readonly { readonly survey: number; readonly reading: number }[];
}

/** Uncertainties by which a reading that the model calls wrong must also differ from the surveys beside it: two-sided 2 %. */
const ALSO_ALONE = 2.4;

/**
 * Readings the model set aside that others bear out; null where there is none, and the model stands.
 *
 * @param modelOff by survey and reading: left out of the fit, by the rule or by hand
 * @param residuals by survey and reading: offset less the model's
 */
export function doubtModel(
  prepared: readonly Prepared[],
  modelOff: readonly (readonly boolean[])[],
  residuals: readonly ArrayLike<number>[],
  readingSd: number,
): Doubt | null {
  const borneOut: { survey: number; reading: number }[] = [];
  const known: ReturnType<typeof loneReadings>[] = [];
  const loneOf = (k: number, times: number) => {
    known[k] ??= loneReadings(keptByHand(prepared[k]!), besides(prepared, k), readingSd);
    return known[k](times);
  };
  const lone = prepared.map((one, k) => {
    const ruled = modelOff[k]!.some((off, i) => off && !one.handOff[i]);
    return ruled ? loneOf(k, ALSO_ALONE) : new Set();
  });
  prepared.forEach((one, k) => {
    const alone = besides(prepared, k).length === 0;
    const ruled = one.readings.map((_, i) => modelOff[k]![i] === true && !one.handOff[i]);
    one.readings.forEach((reading, i) => {
      if (!ruled[i]) return;
      // A survey by itself has only its neighbours to say so: the next station must be out as well, on the same side.
      if (
        alone ? hasNeighbour(one, ruled, residuals[k]!, i) && !lone[k]!.has(reading) : !lone[k]!.has(reading)
      )
        borneOut.push({ survey: k, reading: i });
    });
  });
  if (borneOut.length === 0) return null;
  const borne = prepared.map(() => new Set<number>());
  for (const each of borneOut) borne[each.survey]!.add(each.reading);
  const off = prepared.map((one, k) => {
    const sure = loneOf(k, LONE);
    return one.readings.map((reading, i) => {
      if (one.handOff[i]) return true;
      if (one.pinned[i]) return false;
      const kept = borne[k]!.has(i);
      return sure.has(reading) || (modelOff[k]![i] === true && !kept);
    });
  });
  return { off, borneOut };
}

function keptByHand(one: Prepared): Survey {
  return { ...one.survey, readings: one.readings.filter((_, i) => !one.handOff[i]) };
}

/** The surveys next to this one in the same state, before and after. */
function besides(prepared: readonly Prepared[], k: number): Survey[] {
  const same = (other: Prepared) => other.survey.state === prepared[k]!.survey.state;
  return [prepared.slice(0, k).filter(same).at(-1), prepared.slice(k + 1).find(same)].flatMap((other) =>
    other === undefined ? [] : [keptByHand(other)],
  );
}

/** True where a reading at the next station, either way, is set aside as well, on the same side of the model. */
function hasNeighbour(
  one: Prepared,
  ruled: readonly boolean[],
  residuals: ArrayLike<number>,
  i: number,
): boolean {
  const stations = [...new Set(one.rows.x)].sort((a, b) => a - b);
  const here = stations.indexOf(one.rows.x[i]!);
  const side = Math.sign(residuals[i]!);
  return ruled.some(
    (also, j) =>
      also && Math.sign(residuals[j]!) === side && Math.abs(stations.indexOf(one.rows.x[j]!) - here) === 1,
  );
}
