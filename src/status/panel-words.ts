import type { AcceptanceResult, PanelSurvey } from '../analysis.ts';
import type { JobUnits, PanelSide } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { areaPast, boxText } from '../survey/panel-map.ts';
import { FOOT, INCH } from '../units/factors.ts';
import { formatLength, formatLimit, formatUncertainty } from '../units/format-length.ts';

export const EDGE_WORDS: Readonly<Record<PanelSide, string>> = {
  bottom: 'bottom edge',
  top: 'top edge',
  from: 'near end',
  to: 'far end',
};

/** How far a bulge reaches, what it holds, and what of the panel was not seen. */
export function bulgeText(panel: PanelSurvey, units: JobUnits): string {
  const small = (m: number) => formatLength(m, { units, as: 'offset', fraction: 2, digits: 0 });
  const { half, volume, volumeU, unseen } = panel;
  const holes =
    unseen.length === 0
      ? ''
      : `; not read: ${unseen
          .slice(0, 3)
          .map((each) => boxText(each, units))
          .join('; ')}`;
  return `half of it or more over ${small(half.along)} by ${small(half.up)}, ${areaText(half.area, units)}; volume ${volumeText(volume, volumeU, units)}${holes}`;
}

/** The least limit over the whole of a panel, m; null where it has none. */
export function panelLimit(results: readonly AcceptanceResult[]): number | null {
  const limits = results.filter(({ rule }) => rule.over.kind === 'whole-line').map(({ limit }) => limit);
  return limits.length === 0 ? null : Math.min(...limits);
}

/** `past the limit of 3/8 in over 0.4 ± 0.2 ft²`; empty without a limit. */
export function pastText(panel: PanelSurvey, limit: number | null, units: JobUnits): string {
  if (limit === null) return '';
  const { value, u } = areaPast(panel, limit);
  const [area, unit] = areaText(value, units).split(' ');
  return `past its limit of ${formatLimit(limit, units)} over ${area} ± ${areaText(MEASURED.factor * u, units).split(' ')[0]} ${unit}`;
}

/** `1.2 ft²`, `0.11 m²`. */
export function areaText(area: number, units: JobUnits): string {
  return units === 'us' ? `${(area / FOOT ** 2).toFixed(1)} ft²` : `${area.toFixed(2)} m²`;
}

/** `140 ± 12 in³`, `2.3 ± 0.2 l`. */
function volumeText(volume: number, u: number, units: JobUnits): string {
  const [per, digits, unit] = units === 'us' ? [INCH ** 3, 0, 'in³'] : [1e-3, 1, 'l'];
  return `${(volume / per).toFixed(digits)} ± ${((MEASURED.factor * u) / per).toFixed(digits)} ${unit}`;
}

/** What was taken off before the plate was called out of flat. */
export function takenOffText({ takenOff }: PanelSurvey, units: JobUnits): string {
  const signed = (e: { readonly value: number; readonly u: number }) =>
    `${formatLength(e.value, { units, as: 'offset', sign: 'always' })} ± ${formatUncertainty(MEASURED.factor * e.u, units)}`;
  const bows = takenOff.bows.map((bow) => `${EDGE_WORDS[bow.side]} ${signed(bow)}`).join(', ');
  return `lean over its height ${signed(takenOff.sway)}, twist from end to end ${signed(takenOff.twist)}, bow of the held edges: ${bows}`;
}
