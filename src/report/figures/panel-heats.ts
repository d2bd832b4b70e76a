import type { LineAnalysis } from '../../analysis.ts';
import type { PanelHeating } from '../../heats/panel-heats.ts';
import type { PanelHeat } from '../../heats/panel-layout.ts';
import type { Member } from '../../job/job.ts';
import { yieldedOf } from '../../panels/yielded.ts';
import { type Html, html } from '../html.ts';
import { bandLimit, drawable } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import { linear, px, svg } from '../svg.ts';
import { contour } from './contours.ts';
import { placeAxes } from './panel.ts';

/**
 * Where heats stand on a panel, seen from its positive side: yield as found dotted, the tolerance now dashed, what was not
 * read grey; every place for a heat grey, the next ones black with their names. A heat on the far face is drawn broken,
 * so that the sheet needs no colour. Its marks carry their own style: the same drawing stands on the crew card.
 */
export function panelHeatsMap(
  line: LineAnalysis,
  heating: PanelHeating,
  member: Member,
  q: Quantities,
  width: number,
): Html {
  const surveys = drawable(line).filter((survey) => survey.panel !== undefined);
  const [found, now] = [surveys[0], surveys.at(-1)];
  const thickness = line.line.panel?.thickness ?? null;
  if (found?.panel === undefined || now?.panel === undefined || thickness === null) return html``;
  const { map } = now.panel;
  const [left, top] = [54, 12];
  const wide = width - left - 12;
  const tall = Math.min(360, (wide * (map.high - map.low)) / (map.to - map.from));
  const scale = tall / (map.high - map.low);
  const x = linear(map.from, map.to, left, left + scale * (map.to - map.from));
  const y = linear(map.low, map.high, top + tall, top);
  const [stepX, stepY] = [(map.to - map.from) / (map.columns - 1), (map.high - map.low) / (map.rows - 1)];
  const outline = (values: readonly number[], level: number) =>
    contour(
      { columns: map.columns, rows: map.rows, value: (i) => values[i]!, seen: (i) => map.seen[i]! },
      level,
    )
      .map(
        ([x1, y1, x2, y2]) =>
          `M${px(x(map.from + x1 * stepX))} ${px(y(map.low + y1 * stepY))}L${px(x(map.from + x2 * stepX))} ${px(y(map.low + y2 * stepY))}`,
      )
      .join('');
  const limit = bandLimit(line);
  const { ratio, outline: yieldAt } = yieldedOf(
    found.panel,
    thickness,
    member.yieldStress,
    member.elasticModulus,
  );
  const unread = map.seen
    .flatMap((seen, i) => {
      if (seen) return [];
      const [px0, py0] = [
        x(map.from + ((i % map.columns) - 0.5) * stepX),
        y(map.low + (Math.floor(i / map.columns) + 0.5) * stepY),
      ];
      return [`M${px(px0)} ${px(py0)}h${px(scale * stepX)}v${px(scale * stepY)}h${px(-scale * stepX)}Z`];
    })
    .join('');
  const chosen = new Set(heating.next.map((heat) => heat.name));
  const mark = (heat: PanelHeat, strong: boolean): Html => {
    const [a, b] = [heat.path[0]!, heat.path.at(-1)!];
    const dash = heat.face === 'negative' ? '7 4' : 'none';
    // Grey and broad: beside the thin dots of yield and the dashes of the tolerance, on a grey print too.
    const ink = strong ? '#17212b' : '#8b949c';
    return heat.pattern === 'spot'
      ? html`<circle cx="${px(x(a.station))}" cy="${px(y(a.height))}" r="${strong ? 7 : 3.5}" fill="${strong ? '#ffffff' : 'none'}" stroke="${ink}" stroke-width="${strong ? 2.4 : 1.4}" stroke-dasharray="${strong && heat.face === 'negative' ? '4 3' : 'none'}"/>`
      : html`<path d="M${px(x(a.station))} ${px(y(a.height))}L${px(x(b.station))} ${px(y(b.height))}" fill="none" stroke="${ink}" stroke-width="${strong ? 5 : 3}" stroke-dasharray="${dash}"/>`;
  };
  const label = (heat: PanelHeat): Html => {
    const [a, b] = [heat.path[0]!, heat.path.at(-1)!];
    const [cx, cy] = [(x(a.station) + x(b.station)) / 2, (y(a.height) + y(b.height)) / 2];
    return html`<text x="${px(cx + 10)}" y="${px(cy - 6)}" font-size="13" font-weight="700" fill="#17212b" stroke="#ffffff" stroke-width="3" paint-order="stroke">${heat.name}</text>`;
  };
  const { crest } = now.panel;
  return svg(
    { width, height: top + tall + 46 },
    `Heats on panel ${line.line.name}, seen from its positive side. Next: ${heating.next.length === 0 ? 'none' : heating.next.map((heat) => heat.name).join(', ')}. ${heating.places.length} places in all.`,
    html`<rect x="${px(x(map.from))}" y="${px(y(map.high))}" width="${px(scale * (map.to - map.from))}" height="${px(tall)}" fill="#ffffff" stroke="#17212b" stroke-width="1.4"/><path d="${unread}" fill="#c4c9ce" stroke="none"/><path d="${outline(ratio, yieldAt)}" fill="none" stroke="#17212b" stroke-width="1.6" stroke-dasharray="1.5 4" stroke-linecap="round"/>${limit === null ? '' : html`<path d="${outline(map.deviation, limit)}${outline(map.deviation, -limit)}" fill="none" stroke="#17212b" stroke-width="1.2" stroke-dasharray="8 4"/>`}${heating.places.filter((heat) => !chosen.has(heat.name)).map((heat) => mark(heat, false))}${heating.next.map((heat) => mark(heat, true))}<path d="M${px(x(crest.station) - 6)} ${px(y(crest.height))}h12M${px(x(crest.station))} ${px(y(crest.height) - 6)}v12" stroke="#17212b" stroke-width="1.4" fill="none"/>${heating.next.map(label)}${placeAxes(map, x, y, q, true)}`,
  );
}

/** What the marks of the map mean, once, in words. */
export const PANEL_HEATS_KEY =
  'Seen from the + side. Bars: line heats along the foot and the creases; rings: spot heats on the dome; black with names: next; broken: on the far face. Thin dots: bent past yield as found; thin dashes: tolerance now; cross: crest; grey area: not read.';
