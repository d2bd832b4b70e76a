import type { Job } from '../../job/job.ts';
import type { Bolt, CoverPlateFit } from '../../plates/cover-plate.ts';
import { coverWords } from '../../plates/cover-plate-text.ts';
import type { Box } from '../../plates/opening.ts';
import { type Html, html } from '../html.ts';
import { linear, px, type Scale } from '../svg.ts';

const INK = '#17212b';

/** What a drawing shows: the panel to its reference edges, or the plate alone as a template for drilling. */
export type CoverView = 'panel' | 'template';

/**
 * An opening with its plate to scale, dimensions in chains from two edges: on the panel from its near end and lower edge,
 * on the template from the plate's near lower corner. It carries its own style, so that it prints alike on every paper.
 *
 * @param perMetre drawing units a metre of steel
 */
export function coverPlateDrawing(job: Job, fit: CoverPlateFit, perMetre: number, view: CoverView): Html {
  const line = job.lines.find((each) => each.name === fit.line)!;
  const { opening, outline, bolts } = fit;
  const shown: Box =
    view === 'template' && outline !== null
      ? outline
      : {
          from: line.bearings[0],
          to: line.bearings[1],
          low: line.panel!.heights[0],
          high: line.panel!.heights[1],
        };
  const [left, top] = [112, 26];
  const [wide, tall] = [perMetre * (shown.to - shown.from), perMetre * (shown.high - shown.low)];
  const x = linear(shown.from, shown.to, left, left + wide);
  const y = linear(shown.low, shown.high, top + tall, top);
  const size = { width: left + wide + 18, height: top + tall + 118 };
  const rect = (box: Box) =>
    `M${px(x(box.from))} ${px(y(box.low))}H${px(x(box.to))}V${px(y(box.high))}H${px(x(box.from))}Z`;
  const radius = plateBolt(fit);
  const holes = bolts.map(
    (bolt) =>
      html`<circle cx="${px(x(bolt.station))}" cy="${px(y(bolt.height))}" r="${px(Math.max(2, radius * perMetre))}" fill="#fff" stroke="${INK}" stroke-width="1.2"/><path d="M${px(x(bolt.station) - 5)} ${px(y(bolt.height))}h10M${px(x(bolt.station))} ${px(y(bolt.height) - 5)}v10" stroke="${INK}" stroke-width="0.6" fill="none"/>`,
  );
  const numbers = numbered(bolts, x, y, Math.max(2, radius * perMetre));
  const word = coverWords(job, fit).small;
  // Chains of dimensions: bolts nearest the drawing, then the opening, then the plate.
  const chains: (readonly number[])[] = [
    bolts.map((bolt) => bolt.station),
    [opening.box.from, opening.box.to],
    ...(view === 'panel' && outline !== null ? [[outline.from, outline.to]] : []),
  ];
  const rises: (readonly number[])[] = [
    bolts.map((bolt) => bolt.height),
    [opening.box.low, opening.box.high],
    ...(view === 'panel' && outline !== null ? [[outline.low, outline.high]] : []),
  ];
  const across = chains.map((stops, k) =>
    chain(stops, shown.from, word, x, top + tall + 22 + 26 * k, 'across', [top, top + tall]),
  );
  const up = rises.map((stops, k) =>
    chain(stops, shown.low, word, y, left - 18 - 30 * k, 'up', [left, left + wide]),
  );
  return html`<svg class="cover" viewBox="0 0 ${px(size.width)} ${px(size.height)}" width="${px(size.width)}" height="${px(size.height)}" role="img" aria-label="${view === 'template' ? 'Template for drilling the plate' : 'Opening and plate'} of panel ${fit.line}, ${bolts.length} bolts, to scale, dimensions from ${view === 'template' ? 'the near lower corner of the plate' : 'the near end and the lower edge of the panel'}" font-family="sans-serif" font-size="10">
<path d="${rect(shown)}" fill="none" stroke="${INK}" stroke-width="${view === 'panel' ? 2.2 : 1.6}"/>${view === 'panel' ? edgeMarks(shown, x, y) : ''}${outline === null || view === 'template' ? '' : html`<path d="${rect(outline)}" fill="none" stroke="${INK}" stroke-width="1.6" stroke-dasharray="9 4"/>`}<path d="${openingPath(fit, x, y, perMetre)}" fill="${view === 'panel' ? '#dfe3e6' : 'none'}" stroke="${INK}" stroke-width="1.6"${view === 'template' ? html` stroke-dasharray="3 3"` : ''}/>${holes}${numbers}${across}${up}<text x="${px(left)}" y="${px(size.height - 6)}">${outline === null ? '' : view === 'template' ? 'Solid: plate; broken: opening below it. ' : 'Grey: opening; broken: plate. '}${view === 'template' ? 'Drill from the near lower corner.' : 'Seen from the + face.'} Dimensions in ${job.units === 'us' ? 'inches' : 'mm'}.</text></svg>`;
}

/** Half the diameter of a hole drawn, m. */
function plateBolt({ plate }: CoverPlateFit): number {
  return (plate?.boltDiameter ?? 0) / 2;
}

/** The two edges everything is measured from, named on the drawing. */
function edgeMarks(shown: Box, x: Scale, y: Scale): Html {
  return html`<text x="${px(x(shown.from) + 4)}" y="${px(y(shown.high) - 6)}" fill="${INK}">near end</text><text x="${px(x(shown.to) - 4)}" y="${px(y(shown.low) - 5)}" text-anchor="end" fill="${INK}">lower edge</text>`;
}

/** Numbers of bolts beside their holes. */
function numbered(bolts: readonly Bolt[], x: Scale, y: Scale, radius: number): Html[] {
  return bolts.map(
    (bolt) =>
      html`<text x="${px(x(bolt.station) + 3 + 0.8 * radius)}" y="${px(y(bolt.height) - 2 - 0.8 * radius)}" font-size="9" fill="${INK}" stroke="#fff" stroke-width="2.5" paint-order="stroke">${bolt.name}</text>`,
  );
}

/** Outline of the opening with its corners rounded. */
export function openingPath(
  { opening }: Pick<CoverPlateFit, 'opening'>,
  x: Scale,
  y: Scale,
  perMetre: number,
): string {
  const at = opening.corners.map((c) => [x(c.station), y(c.height)] as const);
  const r = opening.radius * perMetre;
  return `${at
    .map(([cx, cy], i) => {
      const [before, after] = [at[(i + at.length - 1) % at.length]!, at[(i + 1) % at.length]!];
      const toward = ([tx, ty]: readonly [number, number], by: number) => {
        const long = Math.hypot(tx - cx, ty - cy);
        const t = Math.min(0.5, by / long);
        return [cx + t * (tx - cx), cy + t * (ty - cy)] as const;
      };
      // Tangent length of a rounding: r·cot(half the angle between the sides); the same as r at a square corner.
      const [ax, ay, bx, by] = [before[0] - cx, before[1] - cy, after[0] - cx, after[1] - cy];
      const cos = (ax * bx + ay * by) / (Math.hypot(ax, ay) * Math.hypot(bx, by));
      const tangent = r * Math.sqrt((1 + cos) / Math.max(1e-9, 1 - cos));
      const [p, q] = [toward(before, tangent), toward(after, tangent)];
      const sweep = ax * by - ay * bx > 0 ? 0 : 1;
      const join =
        r === 0 ? `L${px(q[0])} ${px(q[1])}` : `A${px(r)} ${px(r)} 0 0 ${sweep} ${px(q[0])} ${px(q[1])}`;
      return `${i === 0 ? 'M' : 'L'}${px(p[0])} ${px(p[1])}${join}`;
    })
    .join('')}Z`;
}

/** Ordinates from one edge at every distinct stop, with a leader to the drawing. */
function chain(
  stops: readonly number[],
  from: number,
  word: (m: number) => string,
  scale: Scale,
  at: number,
  way: 'across' | 'up',
  reach: readonly [number, number],
): Html {
  const distinct = [...new Set(stops.map((s) => Math.round(s * 1e5)))]
    .sort((a, b) => a - b)
    .map((s) => s / 1e5);
  if (distinct.length === 0) return html``;
  const zero = scale(from);
  const last = scale(distinct.at(-1)!);
  const bare = (m: number) => word(m - from).replace(/ (in|mm)$/, '');
  let written = Number.NaN;
  const marks = distinct.map((stop) => {
    const here = scale(stop);
    // Where two stand too near to be read, the table has both.
    const clear = Number.isNaN(written) || Math.abs(here - written) >= (way === 'across' ? 30 : 11);
    if (clear) written = here;
    return way === 'across'
      ? html`<path d="M${px(here)} ${px(reach[1])}V${px(at + 3)}" stroke="${INK}" stroke-width="0.4" stroke-dasharray="1 2" fill="none"/><path d="M${px(here - 2.5)} ${px(at + 2.5)}l5 -5" stroke="${INK}" stroke-width="1" fill="none"/>${clear ? html`<text x="${px(here)}" y="${px(at + 13)}" text-anchor="middle">${bare(stop)}</text>` : ''}`
      : html`<path d="M${px(reach[0])} ${px(here)}H${px(at - 3)}" stroke="${INK}" stroke-width="0.4" stroke-dasharray="1 2" fill="none"/><path d="M${px(at - 2.5)} ${px(here + 2.5)}l5 -5" stroke="${INK}" stroke-width="1" fill="none"/>${clear ? html`<text x="${px(at - 4)}" y="${px(here - 2)}" text-anchor="end">${bare(stop)}</text>` : ''}`;
  });
  const spine =
    way === 'across' ? `M${px(zero)} ${px(at)}H${px(last)}` : `M${px(at)} ${px(zero)}V${px(last)}`;
  return html`<path d="${spine}" stroke="${INK}" stroke-width="0.6" fill="none"/>${marks}`;
}
