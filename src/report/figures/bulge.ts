import type { BulgeMap } from '../../scan/bulge-map.ts';
import { type Html, html } from '../html.ts';
import type { Quantities } from '../quantities.ts';
import { linear, narrow, px, svg } from '../svg.ts';
import { levelOf, rampLegend, STEPS } from './map.ts';

/** Finest colour step, m. */
const FINEST = { us: 0.0254 / 32, si: 0.0005 };

/** Deviation of a panel from the plane of its held edges, seen from the positive side, with the largest bulge marked; `most`: the largest of the scale, m. */
export function bulgeDrawing(map: BulgeMap, most: number, q: Quantities, width: number): Html {
  const us = map.outline.map((p) => p[0]);
  const vs = map.outline.map((p) => p[1]);
  const [lowU, highU, lowV, highV] = [Math.min(...us), Math.max(...us), Math.min(...vs), Math.max(...vs)];
  const small = narrow({ width });
  const [left, top] = [small ? 8 : 62, 52];
  const scale = Math.min((width - left - 14) / (highU - lowU), (small ? 300 : 420) / (highV - lowV));
  const [right, bottom] = [left + scale * (highU - lowU), top + scale * (highV - lowV)];
  const x = linear(lowU, highU, left, right);
  const y = linear(lowV, highV, bottom, top);
  const unit = FINEST[q.units];
  const step = Math.max(unit, Math.ceil(most / STEPS / unit) * unit);
  const [w, h] = [(highU - lowU) / map.columns, (highV - lowV) / map.rows];
  const paths = new Map<number, string>();
  for (const cell of map.cells) {
    const level = levelOf(cell.deviation, step);
    const d = `M${px(x(cell.u - w / 2))} ${px(y(cell.v + h / 2))}H${px(x(cell.u + w / 2))}V${px(y(cell.v - h / 2))}H${px(x(cell.u - w / 2))}Z`;
    paths.set(level, (paths.get(level) ?? '') + d);
  }
  const levels = [...paths.keys()].sort((a, b) => a - b);
  const { largest } = map;
  const [cx, cy] = [x(largest.u), y(largest.v)];
  const outline = map.outline.map(([u, v], i) => `${i === 0 ? 'M' : 'L'}${px(x(u))} ${px(y(v))}`).join('');
  const mark = `M${px(cx - 9)} ${px(cy)}h18M${px(cx)} ${px(cy - 9)}v18`;
  return svg(
    { width, height: bottom + 34 },
    `Map of panel ${map.panel.name}: largest bulge ${largest.lowerBound === true ? 'at least ' : ''}${q.length(largest.deviation)} at ${q.length(largest.u)} from corner 1 toward 2 and ${q.length(largest.v)} toward 4; colour steps of ${q.length(step)}. Grey was not seen, or is the margin along the edges.`,
    html`${rampLegend(step, q, left, small)}
<path fill="currentColor" fill-opacity="0.28" d="${outline}Z"/>
${levels.map((level) => html`<path class="cell ${level < 0 ? 'neg' : 'pos'}${Math.abs(level)}" d="${paths.get(level)!}"/>`)}
${levels.filter((level) => level < 0).map((level) => html`<path class="cell-hatch" d="${paths.get(level)!}"/>`)}
<path class="spine" fill="none" d="${outline}Z"/>
<path fill="none" stroke="#fff" stroke-width="4" d="${mark}"/><path class="spine" fill="none" d="${mark}"/>
<g class="axis"><text x="${px(left)}" y="${px(bottom + 18)}">corner 1</text><text x="${px(right)}" y="${px(bottom + 18)}" text-anchor="end">corner 2</text></g>`,
  );
}
