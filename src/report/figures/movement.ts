import type { LineAnalysis } from '../../analysis.ts';
import type { Job } from '../../job/job.ts';
import { type Html, html } from '../html.ts';
import type { Quantities } from '../quantities.ts';
import {
  cycleAxis,
  errorBar,
  type LegendEntry,
  legend,
  linear,
  narrow,
  offsetAxis,
  px,
  svg,
} from '../svg.ts';

/** What each cycle did to the largest deviation: bars below zero close it, hatched bars above zero open it. */
export function movementPlot(line: LineAnalysis, job: Job, q: Quantities, width: number): Html {
  const { movements } = line;
  const small = narrow({ width });
  const left = small ? 46 : 62;
  const right = width - (small ? 8 : 18);
  const key = legend(entries(job, q), small ? 2 : 4, 12, right);
  const top = key.height + 46;
  const bottom = top + (small ? 150 : 190);
  const frame = { width, height: bottom + 44, left, right, top, bottom };
  const from = movements[0]?.toCycle ?? 1;
  const to = Math.max(from, movements.at(-1)?.toCycle ?? 1);
  const values = movements.flatMap((m) => [
    m.largest.movement - 2 * m.largest.u,
    m.largest.movement + 2 * m.largest.u,
  ]);
  const low = Math.min(-job.usefulGain * 1.5, ...values);
  const high = Math.max(job.usefulGain, ...values);
  const pad = (high - low) * 0.05;
  const x = linear(from - 0.6, to + 0.6, left, right);
  const y = linear(low - pad, high + pad, bottom, top);
  const barWidth = Math.min(26, Math.max(3, ((right - left) / (to - from + 1.2)) * 0.6));
  return svg(
    frame,
    `Movement of the largest deviation by cycle, line ${line.line.name}: ${movements.map((m) => `cycle ${m.toCycle} ${q.movement(m.largest.movement)} ${q.offsetUnit}`).join(', ')}. Minus closes.`,
    html`${key.drawing}${offsetAxis(frame, y, low - pad, high + pad, q, `movement in the cycle, ${q.offsetUnit} (\u2212 closes)`)}
<path class="gain" d="M${px(left)} ${px(y(-job.usefulGain))}H${px(right)}"/>
${cycleAxis(frame, x, from, to)}
${movements.map((m) => {
  const end = y(m.largest.movement);
  const zero = y(0);
  const closes = m.largest.movement <= 0;
  return html`<rect class="${closes ? 'closes' : 'opens'}" x="${px(x(m.toCycle) - barWidth / 2)}" y="${px(Math.min(end, zero))}" width="${px(barWidth)}" height="${px(Math.max(0.8, Math.abs(end - zero)))}"><title>${`cycle ${m.toCycle}: ${q.decimal(m.largest.movement)} ${q.plusMinus(m.largest.u)}`}</title></rect>`;
})}
<path class="bar-error" d="${movements.map((m) => errorBar(x(m.toCycle), y(m.largest.movement - 2 * m.largest.u), y(m.largest.movement + 2 * m.largest.u), Math.min(4, barWidth / 2))).join('')}"/>`,
  );
}

function entries(job: Job, q: Quantities): LegendEntry[] {
  return [
    {
      sample: (x, y) => html`<rect class="closes" x="${px(x + 6)}" y="${px(y - 6)}" width="14" height="12"/>`,
      text: 'closes',
    },
    {
      sample: (x, y) => html`<rect class="opens" x="${px(x + 6)}" y="${px(y - 6)}" width="14" height="12"/>`,
      text: 'opens',
    },
    {
      sample: (x, y) => html`<path class="gain" d="M${px(x)} ${px(y)}h26"/>`,
      text: `useful gain ${q.movement(-job.usefulGain)} ${q.offsetUnit}`,
    },
  ];
}
