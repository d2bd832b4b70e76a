import type { LineAnalysis } from '../../analysis.ts';
import { type Html, html } from '../html.ts';
import { judged } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import {
  cycleAxis,
  errorBar,
  linear,
  MARKERS,
  markerPath,
  narrow,
  polyline,
  px,
  svg,
  valueAxis,
} from '../svg.ts';

const DEGREE = 180 / Math.PI;

/** Rotation across each zone by cycle: one marker shape and one dash a zone, named at its last point. */
export function rotationsPlot(line: LineAnalysis, q: Quantities, width: number): Html {
  const surveys = judged(line).filter((s) => s.zones.length > 0);
  const small = narrow({ width });
  const left = small ? 46 : 62;
  const right = width - (small ? 30 : 48);
  const top = 34;
  const bottom = top + (small ? 190 : 230);
  const frame = { width, height: bottom + 44, left, right, top, bottom };
  const cycles = surveys.map((s) => s.cycle);
  const from = Math.min(0, ...cycles);
  const to = Math.max(from + 1, ...cycles);
  const values = surveys.flatMap((s) =>
    s.zones.flatMap((z) => [(z.rotation - 2 * z.u) * DEGREE, (z.rotation + 2 * z.u) * DEGREE]),
  );
  const low = Math.min(0, ...values);
  const high = Math.max(0, ...values);
  const pad = (high - low) * 0.06 || 0.1;
  const x = linear(from - 0.4, to + 0.4, left, right);
  const y = linear(low - pad, high + pad, bottom, top);
  const drawings = line.fit.zones.map((zone, i) => {
    const points = surveys.flatMap((s) =>
      s.zones.filter((z) => z.zone === zone.zone).map((z) => ({ cycle: s.cycle, ...z })),
    );
    const marker = MARKERS[i % 5]!;
    return html`<g class="series d${i % 4}" data-zone="${zone.zone}"><path class="bar" d="${points.map((p) => errorBar(x(p.cycle), y((p.rotation - 2 * p.u) * DEGREE), y((p.rotation + 2 * p.u) * DEGREE), 2.5)).join('')}"/><path class="line" d="${polyline(points.map((p) => [x(p.cycle), y(p.rotation * DEGREE)] as const))}"/><g class="marks">${points.map((p) => html`<path d="${markerPath(marker, x(p.cycle), y(p.rotation * DEGREE), 4)}"><title>${`zone ${zone.zone}, cycle ${p.cycle}: ${q.angle(p.rotation)} ± ${(2 * p.u * DEGREE).toFixed(2)}°`}</title></path>`)}</g></g>`;
  });
  // Names at the last points, pushed apart so that none hides another.
  const names = line.fit.zones
    .flatMap((zone, i) => {
      const last = surveys.at(-1)?.zones.find((z) => z.zone === zone.zone);
      return last === undefined ? [] : [{ name: zone.zone, y: y(last.rotation * DEGREE), dash: i % 4 }];
    })
    .sort((a, b) => a.y - b.y);
  names.forEach((n, i) => {
    if (i > 0) n.y = Math.max(n.y, names[i - 1]!.y + 14);
  });
  const lastX = x(surveys.at(-1)?.cycle ?? to);
  return svg(
    frame,
    rotationsLabel(line, q),
    html`${valueAxis(frame, y, low - pad, high + pad, 'rotation across the zone, degrees')}
${cycleAxis(frame, x, from, to)}
${drawings}
${names.map((n) => html`<text class="series-name" x="${px(lastX + 10)}" y="${px(n.y + 4)}">${n.name}</text>`)}`,
  );
}

function rotationsLabel(line: LineAnalysis, q: Quantities): string {
  const last = judged(line).at(-1);
  const parts = line.fit.zones.map((zone) => {
    const now = last?.zones.find((z) => z.zone === zone.zone);
    return `zone ${zone.zone} from ${q.angle(zone.rotation)} as found to ${now === undefined ? 'unknown' : q.angle(now.rotation)}`;
  });
  return `Rotation across each zone by cycle, line ${line.line.name}: ${parts.join(', ')}.`;
}
