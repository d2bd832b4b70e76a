import type { LineAnalysis } from '../../analysis.ts';
import { type Html, html } from '../html.ts';
import { judged } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import { linear, narrow, px, stationAxis, svg } from '../svg.ts';

/** Least width of a cell with a number in it, px. */
const NUMBER_ROOM = 26;

/** Steps of the colour scale on each side of zero. */
export const STEPS = 6;

/**
 * Deviation by cycle (down) and station (across). Depth of colour says how much, hue and hatching say which side, so that
 * the sign survives a greyscale print. One path a step keeps a large job small and quick.
 */
export function deviationMap(line: LineAnalysis, q: Quantities, width: number): Html {
  const surveys = judged(line);
  const small = narrow({ width });
  const left = small ? 30 : 62;
  const right = width - (small ? 8 : 18);
  const top = 64;
  const rowHeight = Math.max(small ? 9 : 11, Math.min(26, 340 / Math.max(1, surveys.length)));
  const bottom = top + rowHeight * surveys.length;
  const frame = { width, height: bottom + 44, left, right, top, bottom };
  // Each survey has its own cells: one that skips stations is drawn with wider ones, not with holes.
  const rows = surveys.map((s) => cellEdges(s.stations.map((p) => p.station)));
  const from = Math.min(...rows.map((edges) => edges[0]!));
  const to = Math.max(...rows.map((edges) => edges.at(-1)!));
  const x = linear(from, to, left, right);
  const most = Math.max(1, ...surveys.map((s) => s.stations.length));
  const values = surveys.flatMap((s) =>
    s.stations.filter((p) => !p.setAside).map((p) => Math.abs(p.deviation)),
  );
  const unit = q.units === 'us' ? 0.0254 / 8 : 0.002;
  const step = Math.max(unit, Math.ceil(Math.max(0, ...values) / STEPS / unit) * unit);

  const paths = new Map<number, string>();
  const numbers: Html[] = [];
  const cellWidth = (right - left) / most;
  const numbered = !small && cellWidth >= NUMBER_ROOM && rowHeight >= 13;
  surveys.forEach((survey, row) => {
    const yTop = top + row * rowHeight;
    const edges = rows[row]!;
    for (const [i, p] of survey.stations.entries()) {
      if (p.setAside) continue;
      const x0 = x(edges[i]!);
      const x1 = x(edges[i + 1]!);
      const level = levelOf(p.deviation, step);
      const cell = `M${px(x0)} ${px(yTop)}H${px(x1)}v${px(rowHeight)}H${px(x0)}Z`;
      paths.set(level, (paths.get(level) ?? '') + cell);
      if (numbered && x1 - x0 >= NUMBER_ROOM) {
        const text = mapNumber(p.deviation, q);
        numbers.push(
          html`<text class="${Math.abs(level) >= 4 ? 'on-dark' : ''}" x="${px((x0 + x1) / 2)}" y="${px(yTop + rowHeight / 2 + 3.5)}" text-anchor="middle">${text}</text>`,
        );
      }
    }
  });
  const levels = [...paths.keys()].sort((a, b) => a - b);
  const everyRow = rowHeight >= 13 ? 1 : 2;
  return svg(
    frame,
    `Map of deviation by cycle and station, line ${line.line.name}: ${surveys.length} cycles, up to ${most} stations, colour steps of ${q.length(step)}. The table of deviations by station holds the numbers.`,
    html`${rampLegend(step, q, left, small)}
<text class="axis-title" x="${px(small ? 2 : 4)}" y="${px(top - 8)}">cycle</text>
${levels.map((level) => html`<path class="cell ${level < 0 ? 'neg' : 'pos'}${Math.abs(level)}" d="${paths.get(level)!}"/>`)}
${levels.filter((level) => level < 0).map((level) => html`<path class="cell-hatch" d="${paths.get(level)!}"/>`)}
<g class="cell-numbers">${numbers}</g>
<g class="axis">${surveys.map((s, row) => (row % everyRow === 0 || row === surveys.length - 1 ? html`<text x="${px(left - 7)}" y="${px(top + (row + 0.5) * rowHeight + 4)}" text-anchor="end">${s.cycle}</text>` : ''))}</g>
${stationAxis(frame, x, from, to, q)}`,
  );
}

export function levelOf(deviation: number, step: number): number {
  const size = Math.min(STEPS, Math.floor(Math.abs(deviation) / step + 0.5));
  return deviation < 0 ? -size : size;
}

/** Cell boundaries half-way between stations. */
function cellEdges(stations: readonly number[]): number[] {
  if (stations.length === 0) return [0, 1];
  if (stations.length === 1) return [stations[0]! - 0.5, stations[0]! + 0.5];
  const inner = stations.slice(1).map((s, i) => (s + stations[i]!) / 2);
  const [first, last] = [stations[0]!, stations.at(-1)!];
  return [2 * first - inner[0]!, ...inner, 2 * last - inner.at(-1)!];
}

function mapNumber(deviation: number, q: Quantities): string {
  const value = q.offsetValue(deviation);
  const text = Math.abs(value) < 10 ? Math.abs(value).toFixed(1) : Math.abs(value).toFixed(0);
  return Number.parseFloat(text) === 0 ? '0' : (value < 0 ? '\u2212' : '') + text;
}

export function rampLegend(step: number, q: Quantities, left: number, small: boolean): Html {
  const w = small ? 20 : 30;
  const cells: Html[] = [];
  // Room for half of the first label.
  const x0 = small ? 18 : left;
  for (let level = -STEPS; level <= STEPS; level++) {
    const x = x0 + (level + STEPS) * w;
    cells.push(
      html`<rect class="cell ${level < 0 ? 'neg' : 'pos'}${Math.abs(level)}" x="${px(x)}" y="6" width="${w}" height="13"/>`,
    );
    if (level < 0) cells.push(html`<rect class="cell-hatch" x="${px(x)}" y="6" width="${w}" height="13"/>`);
    if (level % (small ? 3 : 2) === 0) {
      cells.push(
        html`<text x="${px(x + w / 2)}" y="33" text-anchor="middle">${level === 0 ? '0' : q.signed(level * step)}</text>`,
      );
    }
  }
  return html`<g class="ramp">${cells}<text x="${px(x0 + (2 * STEPS + 1) * w + 8)}" y="17">${q.offsetUnit}</text></g>`;
}
