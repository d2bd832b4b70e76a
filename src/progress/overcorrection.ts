import type { LineFit } from '../analysis.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { placeOf } from './noise.ts';
import { SEEN } from './trend.ts';

export interface Overcorrection {
  readonly station: number;
  /** Of a panel, m. */
  readonly height?: number;
  readonly asFound: number;
  readonly now: number;
  readonly u: number;
}

/**
 * The station that lies furthest past the baseline on the side away from where it was found, beyond `past` by more
 * than twice its uncertainty; null: none. Every station is looked at, not only the largest: a lobe can be overdone
 * while the main one still improves.
 */
export function overcorrection(fit: LineFit, past: number): Overcorrection | null {
  const judged = judgedSurveys(fit);
  const first = judged[0];
  const last = judged.at(-1);
  if (first === undefined || last === undefined || judged.length < 2) return null;
  const asFound = new Map(first.stations.filter((s) => !s.setAside).map((s) => [placeOf(s), s]));
  let worst: Overcorrection | null = null;
  for (const station of last.stations) {
    const then = asFound.get(placeOf(station));
    if (station.setAside || then === undefined) continue;
    const found = then.fitted ?? then.deviation;
    const foundU = then.fitted === null ? then.u : (then.fittedU ?? then.u);
    const now = station.fitted ?? station.deviation;
    const u = station.fitted === null ? station.u : (station.fittedU ?? station.u);
    const crossed = Math.sign(now) === -Math.sign(found) && Math.abs(found) > SEEN * foundU;
    if (!crossed || Math.abs(now) - SEEN * u <= past) continue;
    if (worst === null || Math.abs(now) > Math.abs(worst.now)) {
      const { height } = station;
      worst = {
        station: station.station,
        ...(height === undefined ? {} : { height }),
        asFound: found,
        now,
        u,
      };
    }
  }
  return worst;
}
