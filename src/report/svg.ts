import { type Html, html } from './html.ts';
import type { Quantities } from './quantities.ts';

/**
 * Small drawing kit of the inline plots. Coordinates are CSS pixels of a fixed view box; every plot is drawn twice,
 * for a page (wide) and for a phone (narrow), so that its letters stay readable at both.
 */
export type Scale = (value: number) => number;

export const WIDE = 940;
export const NARROW = 400;

export function linear(from: number, to: number, start: number, end: number): Scale {
  const k = to === from ? 0 : (end - start) / (to - from);
  return (value) => start + (value - from) * k;
}

/** One decimal is a tenth of a pixel: enough for a plot, and short in the file. */
export function px(value: number): string {
  return String(Math.round(value * 10) / 10);
}

/** Path through points; a gap where `y` is null. */
export function polyline(points: readonly (readonly [number, number | null])[]): string {
  let d = '';
  let pen = false;
  for (const [x, y] of points) {
    if (y === null) {
      pen = false;
      continue;
    }
    d += `${pen ? 'L' : 'M'}${px(x)} ${px(y)}`;
    pen = true;
  }
  return d;
}

/** Closed band between two boundaries given at the same x. */
export function band(points: readonly (readonly [x: number, low: number, high: number])[]): string {
  if (points.length === 0) return '';
  const there = points.map(([x, low]) => `${px(x)} ${px(low)}`);
  const back = [...points].reverse().map(([x, , high]) => `${px(x)} ${px(high)}`);
  return `M${[...there, ...back].join('L')}Z`;
}

/** Round steps 1, 2, 5 × 10ⁿ, or halves down to 1/16 for inches below one. */
export function ticks(low: number, high: number, most: number, inches = false): number[] {
  const span = high - low;
  if (!(span > 0)) return [low];
  const steps = inches
    ? [1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 3, 6, 12, 24]
    : [-3, -2, -1, 0, 1, 2, 3, 4, 5].flatMap((n) => [10 ** n, 2 * 10 ** n, 5 * 10 ** n]);
  const step = steps.find((s) => span / s <= most) ?? steps.at(-1)!;
  const out: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + step * 1e-9; k++) out.push(k * step);
  return out;
}

/** Whole numbers at a step that keeps at most `most` of them. */
function wholeTicks(low: number, high: number, most: number): number[] {
  return ticks(low, high, most).filter((t) => Number.isInteger(Math.round(t * 1e6) / 1e6));
}

/** Shapes told apart without colour. */
export const MARKERS = ['circle', 'square', 'triangle', 'diamond', 'down', 'cross'] as const;
export type Marker = (typeof MARKERS)[number];

export function markerPath(kind: Marker, x: number, y: number, r: number): string {
  const at = (dx: number, dy: number): string => `${px(x + dx)} ${px(y + dy)}`;
  switch (kind) {
    case 'circle':
      return `M${at(-r, 0)}a${px(r)} ${px(r)} 0 1 0 ${px(2 * r)} 0a${px(r)} ${px(r)} 0 1 0 ${px(-2 * r)} 0Z`;
    case 'square':
      return `M${at(-r * 0.9, -r * 0.9)}h${px(1.8 * r)}v${px(1.8 * r)}h${px(-1.8 * r)}Z`;
    case 'triangle':
      return `M${at(0, -r * 1.15)}L${at(r * 1.1, r * 0.85)}L${at(-r * 1.1, r * 0.85)}Z`;
    case 'diamond':
      return `M${at(0, -r * 1.25)}L${at(r * 1.1, 0)}L${at(0, r * 1.25)}L${at(-r * 1.1, 0)}Z`;
    case 'down':
      return `M${at(0, r * 1.15)}L${at(r * 1.1, -r * 0.85)}L${at(-r * 1.1, -r * 0.85)}Z`;
    case 'cross':
      return `M${at(-r, -r)}L${at(r, r)}M${at(-r, r)}L${at(r, -r)}`;
  }
}

/** Vertical error bar with caps. */
export function errorBar(x: number, low: number, high: number, cap: number): string {
  return `M${px(x)} ${px(low)}V${px(high)}M${px(x - cap)} ${px(low)}H${px(x + cap)}M${px(x - cap)} ${px(high)}H${px(x + cap)}`;
}

export interface Frame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export function narrow(frame: { readonly width: number }): boolean {
  return frame.width < 600;
}

/** Frame of a plot by station, with room for offset and station axis. */
export function alongFrame(width: number, height: number): Frame {
  const left = narrow({ width }) ? 54 : 66;
  return { width, height, left, right: width - 12, top: 30, bottom: height - 44 };
}

/** Station axis at the foot of a frame. */
export function stationAxis(frame: Frame, x: Scale, from: number, to: number, q: Quantities): Html {
  const unit = q.units === 'us' ? 0.3048 : 1;
  const marks = ticks(from / unit, to / unit, (frame.right - frame.left) / (narrow(frame) ? 48 : 62));
  const title = `station, ${q.stationUnit} from the reference end`;
  return html`<g class="axis">${marks.map((t) => {
    const at = x(t * unit);
    return html`<path class="tick" d="M${px(at)} ${px(frame.bottom)}v5"/><text x="${px(at)}" y="${px(frame.bottom + 18)}" text-anchor="middle">${tickText(t)}</text>`;
  })}<path class="spine" d="M${px(frame.left)} ${px(frame.bottom)}H${px(frame.right)}"/><text class="axis-title" x="${px((frame.left + frame.right) / 2)}" y="${px(frame.bottom + 36)}" text-anchor="middle">${title}</text></g>`;
}

/** Whole-cycle axis at the foot of a frame. */
export function cycleAxis(frame: Frame, x: Scale, from: number, to: number): Html {
  const marks = wholeTicks(from, to, (frame.right - frame.left) / (narrow(frame) ? 34 : 42));
  return html`<g class="axis">${marks.map((t) => {
    const at = x(t);
    return html`<path class="tick" d="M${px(at)} ${px(frame.bottom)}v5"/><text x="${px(at)}" y="${px(frame.bottom + 18)}" text-anchor="middle">${t}</text>`;
  })}<path class="spine" d="M${px(frame.left)} ${px(frame.bottom)}H${px(frame.right)}"/><text class="axis-title" x="${px((frame.left + frame.right) / 2)}" y="${px(frame.bottom + 36)}" text-anchor="middle">cycle (0 = as found)</text></g>`;
}

/** Offset axis at the left of a frame, grid lines across; values in metres. */
export function offsetAxis(
  frame: Frame,
  y: Scale,
  low: number,
  high: number,
  q: Quantities,
  title: string,
): Html {
  const unit = q.units === 'us' ? 0.0254 : 0.001;
  const most = Math.abs(frame.bottom - frame.top) / 30;
  const marks = ticks(low / unit, high / unit, most, q.units === 'us');
  return html`<g class="axis">${marks.map((t) => {
    const at = y(t * unit);
    const text = q.units === 'us' ? fractionTick(t) : tickText(t);
    return html`<path class="${Math.abs(t) < 1e-9 ? 'zero' : 'grid'}" d="M${px(frame.left)} ${px(at)}H${px(frame.right)}"/><text x="${px(frame.left - 7)}" y="${px(at + 4)}" text-anchor="end">${text}</text>`;
  })}<text class="axis-title" x="${px(narrow(frame) ? 2 : 4)}" y="${px(frame.top - 10)}">${title}</text></g>`;
}

/** Plain value axis (degrees). */
export function valueAxis(frame: Frame, y: Scale, low: number, high: number, title: string): Html {
  const marks = ticks(low, high, Math.abs(frame.bottom - frame.top) / 30);
  return html`<g class="axis">${marks.map((t) => {
    const at = y(t);
    return html`<path class="${Math.abs(t) < 1e-9 ? 'zero' : 'grid'}" d="M${px(frame.left)} ${px(at)}H${px(frame.right)}"/><text x="${px(frame.left - 7)}" y="${px(at + 4)}" text-anchor="end">${tickText(t)}</text>`;
  })}<text class="axis-title" x="${px(narrow(frame) ? 2 : 4)}" y="${px(frame.top - 10)}">${title}</text></g>`;
}

function tickText(t: number): string {
  const text = String(Math.round(Math.abs(t) * 1e4) / 1e4);
  return t < 0 && text !== '0' ? `\u2212${text}` : text;
}

function fractionTick(t: number): string {
  const parts = Math.round(Math.abs(t) * 32);
  const whole = Math.floor(parts / 32);
  let top = parts % 32;
  let bottom = 32;
  while (top > 0 && top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  const text = top === 0 ? String(whole) : `${whole === 0 ? '' : `${whole} `}${top}/${bottom}`;
  return t < 0 && parts > 0 ? `\u2212${text}` : text;
}

/** One entry of a drawn legend. */
export interface LegendEntry {
  readonly sample: (x: number, y: number) => Html;
  readonly text: string;
}

/** Legend rows from the left, wrapping; returns the drawing and the height it took. */
export function legend(
  entries: readonly LegendEntry[],
  left: number,
  top: number,
  right: number,
): { readonly drawing: Html; readonly height: number } {
  let x = left;
  let y = top;
  const parts: Html[] = [];
  for (const entry of entries) {
    const width = 34 + entry.text.length * 6.9 + 18;
    if (x > left && x + width - 18 > right) {
      x = left;
      y += 19;
    }
    parts.push(html`${entry.sample(x, y)}<text x="${px(x + 34)}" y="${px(y + 4)}">${entry.text}</text>`);
    x += width;
  }
  return { drawing: html`<g class="legend">${parts}</g>`, height: y - top + 14 };
}

/** The `svg` element of one drawing, with its text alternative. */
export function svg(
  frame: { readonly width: number; readonly height: number },
  label: string,
  body: Html,
): Html {
  const variant = narrow(frame) ? 'narrow' : 'wide';
  return html`<svg class="plot ${variant}" viewBox="0 0 ${px(frame.width)} ${px(frame.height)}" role="img" aria-label="${label}">${body}</svg>`;
}
