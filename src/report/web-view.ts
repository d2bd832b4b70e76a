import type { ScanProfile, WebLook } from '../scan/extract-line.ts';
import { figure } from './figure.ts';
import { type Html, html } from './html.ts';
import type { Quantities } from './quantities.ts';
import {
  alongFrame,
  errorBar,
  linear,
  markerPath,
  narrow,
  offsetAxis,
  polyline,
  px,
  stationAxis,
  svg,
} from './svg.ts';

/** A web read for plumb as it is drawn, and kept beside the survey for the reports: lengths in m, in the line's own axes. */
export interface WebView {
  readonly name: string;
  readonly side: string;
  /** Stations of the picks. */
  readonly stations: readonly [number, number];
  /** Height of the band that was searched, from the picks, and the depth a reading is given over. */
  readonly band: readonly [number, number];
  readonly extent: number;
  readonly readings: readonly { readonly station: number; readonly offset: number; readonly u: number }[];
  readonly slices: readonly {
    readonly station: number;
    /** Doubted more than the others that are drawn. */
    readonly poorest: boolean;
    /** Of the reading from this slice; null where it gave none. */
    readonly u: number | null;
    /** Points, sideways and up by turns. */
    readonly points: readonly number[];
    /** The web as fitted, one curve for each place it was seen from: sideways, evenly spaced over the band. */
    readonly curves: readonly (readonly number[])[];
  }[];
}

const SPREAD = 8;
const POOREST = 4;
const MOST_POINTS = 400;
/** Points this near to a curve lie on it, m. */
const ON = 0.012;
const PANE = { width: 232, height: 232 };
/** Shown to both sides of the fitted webs, m. */
const MARGIN = 0.03;

/** What of a web is drawn: its readings, and some slices with thinned points and the web fitted to them. */
export function webView(
  { line, frame, slices, shapes }: WebLook,
  profile: ScanProfile,
  side: string,
): WebView {
  const station = (at: number) => frame.stationAtOrigin + at * frame.stationScale;
  return {
    name: line.name,
    side,
    stations: line.stations,
    band: line.band,
    extent: line.extent,
    readings: profile.stations.map(({ station: at, offset, u }) => ({ station: at, offset, u })),
    slices: chosen(shapes).map(({ index, poorest }) => {
      const slice = slices[index]!;
      const stride = Math.max(1, Math.ceil(slice.count / MOST_POINTS));
      const points: number[] = [];
      for (let p = 0; p < slice.count; p += stride) points.push(slice.toward[p]!, slice.across[p]!);
      const { curves, u } = shapes[index]!;
      return { station: station(slice.centre), poorest, u, points, curves };
    }),
  };
}

/** Slices spread along the web, and those that are doubted most, in order. */
function chosen(shapes: WebLook['shapes']): { index: number; poorest: boolean }[] {
  const out = new Map<number, boolean>();
  const last = shapes.length - 1;
  for (let k = 0; k < SPREAD; k++) out.set(Math.round((k * last) / (SPREAD - 1)), false);
  const apart = Math.max(2, Math.floor(shapes.length / 30));
  const poorest: number[] = [];
  const byDoubt = shapes
    .flatMap(({ u }, index) => (u === null ? [] : [{ index, u }]))
    .sort((a, b) => b.u - a.u);
  for (const { index } of byDoubt) {
    if (poorest.length === POOREST) break;
    if (poorest.every((other) => Math.abs(other - index) >= apart)) poorest.push(index);
  }
  for (const index of poorest) out.set(index, true);
  return [...out].map(([index, poorest]) => ({ index, poorest })).sort((a, b) => a.index - b.index);
}

/** The lean along the member, and slices with the web that was fitted. */
export function webFigures(drawn: WebView, q: Quantities): Html {
  const seen = drawn.slices.filter(({ curves }) => curves.length > 0).length;
  return html`<h3>${drawn.name}</h3>
<p>The web seen end on. Of ${drawn.slices.length} slices drawn, ${seen} could be read; ${drawn.readings.length} ${drawn.readings.length === 1 ? 'station was' : 'stations were'} read.</p>
${figure('Out of plumb', `Upper end of the web less its lower end, over ${q.length(drawn.extent)}, upward in the figure is ${drawn.side}; bars are ± 2 u.`, (width) => lean(drawn, q, width))}
<h4>Slices</h4><p>Sideways drawn larger than up. Blue: the web as fitted, once for each place it was seen from; black: points on it; grey: others.</p><div class="slices">${drawn.slices.map((slice) => sliceFigure(drawn, slice, q))}</div>`;
}

function lean(drawn: WebView, q: Quantities, width: number): Html {
  const small = narrow({ width });
  const height = 260;
  const frame = alongFrame(width, height);
  const ends = drawn.readings.flatMap(({ offset, u }) => [offset - 2 * u, offset + 2 * u]);
  const [low, high] = [Math.min(-0.005, ...ends) - 0.003, Math.max(0.005, ...ends) + 0.003];
  const [from, to] = drawn.stations;
  const x = linear(from, to, frame.left, frame.right);
  const y = linear(low, high, frame.bottom, frame.top);
  return svg(
    frame,
    'How far the web is out of plumb, by station',
    html`${offsetAxis(frame, y, low, high, q, `${q.offsetUnit}, ${drawn.side}`)}${stationAxis(frame, x, from, to, q)}<path class="outline" d="${drawn.readings.map(({ station, offset, u }) => errorBar(x(station), y(offset - 2 * u), y(offset + 2 * u), small ? 1.5 : 2.5)).join('')}"/><g class="reading-mark">${drawn.readings.map(({ station, offset }) => html`<path d="${markerPath('circle', x(station), y(offset), small ? 2.4 : 3)}"/>`)}</g>`,
  );
}

function sliceFigure(
  { band }: WebView,
  { station, poorest, u, points, curves }: WebView['slices'][number],
  q: Quantities,
): Html {
  const all = curves.length > 0 ? curves.flat() : points.filter((_, k) => k % 2 === 0);
  const [least, most] = all.length === 0 ? [0, 0] : [Math.min(...all), Math.max(...all)];
  const middle = (least + most) / 2;
  const half = Math.max(0.06, (most - least) / 2 + MARGIN);
  const x = linear(middle - half, middle + half, 0, PANE.width);
  const y = linear(band[0], band[1], PANE.height - 3, 3);
  const near = (py: number, pz: number) => {
    const share = (pz - band[0]) / (band[1] - band[0]);
    return curves.some((curve) => {
      const at = share * (curve.length - 1);
      const k = Math.max(0, Math.min(curve.length - 2, Math.floor(at)));
      return Math.abs(curve[k]! + (at - k) * (curve[k + 1]! - curve[k]!) - py) < ON;
    });
  };
  let [cloud, steel] = ['', ''];
  for (let k = 0; k + 1 < points.length; k += 2) {
    const [py, pz] = [points[k]!, points[k + 1]!];
    if (Math.abs(py - middle) > half || pz < band[0] || pz > band[1]) continue;
    const mark = `M${px(x(py))} ${px(y(pz))}h0`;
    if (near(py, pz)) steel += mark;
    else cloud += mark;
  }
  const place = q.place(station);
  const words = curves.length === 0 ? 'not read' : u === null ? 'no reading' : q.plusMinus(u);
  return html`<figure class="${poorest ? 'poorest' : ''}"><figcaption><strong>${place}</strong><span>${words}${poorest ? '; least' : ''}</span></figcaption><svg class="plot" viewBox="0 0 ${PANE.width} ${PANE.height}" role="img" aria-label="Web at ${place}"><path class="cloud" d="${cloud}"/><path class="on-steel" d="${steel}"/>${curves.map((curve) => html`<path class="outline" d="${polyline(curve.map((v, k) => [x(v), y(band[0] + (k / (curve.length - 1)) * (band[1] - band[0]))]))}"/>`)}</svg></figure>`;
}
