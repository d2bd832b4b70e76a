import type { LineAnalysis, PanelSurvey, SurveyFit } from '../../analysis.ts';
import type { Member } from '../../job/job.ts';
import { type CreaseLine, creaseLines } from '../../panels/crease-lines.ts';
import { readSpacing } from '../../panels/seen.ts';
import { certainlyYielded, type Yielded, yieldedOf } from '../../panels/yielded.ts';
import { mapAt } from '../../survey/panel-map.ts';
import { type Html, html } from '../html.ts';
import { bandLimit, drawable } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import { band, legend, linear, narrow, offsetAxis, polyline, px, type Scale, svg, ticks } from '../svg.ts';
import { contour, type NetValues } from './contours.ts';
import { levelOf, rampLegend, STEPS } from './map.ts';

type Map = PanelSurvey['map'];

interface Picture {
  readonly title: string;
  readonly values: readonly number[];
  readonly seen: readonly boolean[];
  /** Where the plate has yielded, and the creases in it; null where none is drawn. */
  readonly yielded: (Pick<Yielded, 'ratio' | 'outline'> & { readonly creases: readonly CreaseLine[] }) | null;
  /** Crest marked; null where there is none to mark. */
  readonly crest: PanelSurvey['crest'] | null;
}

/** Finest step of the colour scale, m. */
const FINEST = { us: 0.0254 / 16, si: 0.001 };

/**
 * As found, now and what moved, side by side on one scale, seen from the positive side: colour with hatching on the minus
 * side, contours at the steps of the scale, the tolerance dashed, the crest marked, what was not read left grey.
 */
export function panelMaps(line: LineAnalysis, member: Member, q: Quantities, width: number): Html {
  const surveys = drawable(line).filter((survey) => survey.panel !== undefined);
  const [found, now] = [surveys[0], surveys.at(-1)];
  if (found?.panel === undefined || now?.panel === undefined) return html``;
  const { map } = found.panel;
  const pictures: Picture[] = [{ ...picture(found, wordOf(found)), yielded: yieldedAt(line, found, member) }];
  if (now !== found) {
    pictures.push(picture(now, `Cycle ${now.cycle}, now`));
    pictures.push({
      title: 'Moved',
      values: now.panel.map.deviation.map((v, i) => v - map.deviation[i]!),
      seen: now.panel.map.seen.map((s, i) => s && map.seen[i]!),
      crest: null,
      yielded: null,
    });
  }
  const most = Math.max(...pictures.flatMap((p) => p.values.map((v, i) => (p.seen[i] ? Math.abs(v) : 0))));
  const unit = FINEST[q.units];
  const step = Math.max(unit, Math.ceil(most / STEPS / unit) * unit);
  const small = narrow({ width });
  const across = small ? 1 : pictures.length;
  const [left, gap, right] = [small ? 40 : 54, small ? 0 : 48, 10];
  const ratio = (map.high - map.low) / (map.to - map.from);
  const each = (width - left - right - gap * (across - 1)) / across;
  const tall = Math.min(each * ratio, small ? 260 : 300);
  const wide = tall / ratio;
  const top = 56;
  const rowHeight = tall + (small ? 62 : 0);
  const bottom = small ? top + rowHeight * pictures.length - 62 : top + tall;
  const limit = bandLimit(line);
  const drawn = pictures.map((p, i) => {
    const x0 = small ? left : left + i * (wide + gap);
    const y0 = small ? top + i * rowHeight : top;
    const x = linear(map.from, map.to, x0, x0 + wide);
    const y = linear(map.low, map.high, y0 + tall, y0);
    return html`<text class="axis-title" x="${px(x0)}" y="${px(y0 - 8)}">${p.title}</text>${mapBody(p, map, x, y, step, q, { limit: p.crest === null ? null : limit, labels: true })}${placeAxes(map, x, y, q, small || i === 0)}`;
  });
  const said = surveys.length === 0 ? '' : pictures.map((p) => p.title.toLowerCase()).join(', ');
  return svg(
    { width, height: bottom + 38 },
    `Panel ${line.line.name}, ${said}, on one scale with steps of ${q.length(step)}. As found the crest is ${q.length(found.largest.deviation)}, now ${q.length(now.largest.deviation)}. Grey was not read.`,
    html`${rampLegend(step, q, left, small)}${drawn}`,
  );
}

function picture(survey: SurveyFit, title: string): Picture {
  const { map, crest } = survey.panel!;
  return { title, values: map.deviation, seen: map.seen, crest, yielded: null };
}

function yieldedAt(line: LineAnalysis, survey: SurveyFit, member: Member): Picture['yielded'] {
  const yielded = yieldedBy(line, survey, member);
  return yielded === null ? null : { ...yielded, creases: panelCreases(line, survey, member) };
}

function yieldedBy({ line }: LineAnalysis, { panel }: SurveyFit, member: Member): Yielded | null {
  const thickness = line.panel?.thickness ?? null;
  if (thickness === null || panel === undefined) return null;
  return yieldedOf(panel, thickness, member.yieldStress, member.elasticModulus);
}

/** Creases of a survey that are past yield for certain, as lines; none where the plate's thickness is not known. */
export function panelCreases(line: LineAnalysis, survey: SurveyFit, member: Member): readonly CreaseLine[] {
  const yielded = yieldedBy(line, survey, member);
  if (yielded === null) return [];
  const creased = certainlyYielded(survey.panel!, yielded).map((is, i) => is && yielded.crease[i]!);
  // Two creases nearer than two spacings of the readings are one on the map.
  return creaseLines(survey.panel!, creased, 2 * readSpacing(survey.stations));
}

function wordOf(survey: SurveyFit): string {
  return survey.cycle === 0 ? 'As found' : `Cycle ${survey.cycle}, first read`;
}

/** Colour, contours, tolerance and crest of one map. */
function mapBody(
  p: Picture,
  map: Map,
  x: Scale,
  y: Scale,
  step: number,
  q: Quantities,
  more: { readonly limit: number | null; readonly labels: boolean },
): Html {
  const { columns, rows } = map;
  const stationOf = (c: number) => map.from + (c / (columns - 1)) * (map.to - map.from);
  const heightOf = (r: number) => map.low + (r / (rows - 1)) * (map.high - map.low);
  const clampC = (c: number) => x(stationOf(Math.max(0, Math.min(columns - 1, c))));
  const clampR = (r: number) => y(heightOf(Math.max(0, Math.min(rows - 1, r))));
  const paths = new Map<number, string>();
  for (let r = 0; r < rows; r++) {
    // A run of equal colour is one rectangle.
    for (let c = 0; c < columns; ) {
      const i = r * columns + c;
      if (!p.seen[i]) {
        c++;
        continue;
      }
      const level = levelOf(p.values[i]!, step);
      let end = c + 1;
      while (
        end < columns &&
        p.seen[r * columns + end] &&
        levelOf(p.values[r * columns + end]!, step) === level
      )
        end++;
      const [x0, x1, y0, y1] = [clampC(c - 0.5), clampC(end - 0.5), clampR(r + 0.5), clampR(r - 0.5)];
      paths.set(level, `${paths.get(level) ?? ''}M${px(x0)} ${px(y0)}H${px(x1)}V${px(y1)}H${px(x0)}Z`);
      c = end;
    }
  }
  const net: NetValues = {
    columns,
    rows,
    value: (i) => p.values[i]!,
    seen: (i) => p.seen[i]!,
  };
  const lineOf = (level: number) =>
    contour(net, level).map(
      ([x1, y1, x2, y2]) => [x(stationOf(x1)), y(heightOf(y1)), x(stationOf(x2)), y(heightOf(y2))] as const,
    );
  const pathOf = (segments: readonly (readonly [number, number, number, number])[]) =>
    segments.map(([x1, y1, x2, y2]) => `M${px(x1)} ${px(y1)}L${px(x2)} ${px(y2)}`).join('');
  const levels = [...paths.keys()].sort((a, b) => a - b);
  const contours = Array.from({ length: 2 * STEPS + 1 }, (_, k) => k - STEPS)
    .filter((k) => k !== 0)
    .map((k) => ({ k, segments: lineOf(k * step) }))
    .filter(({ segments }) => segments.length > 0);
  const labels: Html[] = [];
  const placed: [number, number][] = [];
  if (more.labels) {
    for (const { k, segments } of contours) {
      const at = segments.reduce((a, b) => (b[1] < a[1] ? b : a));
      if (placed.some(([px_, py]) => Math.abs(px_ - at[0]) < 26 && Math.abs(py - at[1]) < 12)) continue;
      placed.push([at[0], at[1]]);
      labels.push(
        html`<text class="contour-label" x="${px(at[0])}" y="${px(at[1] + 3.5)}" text-anchor="middle">${q.bare(k * step)}</text>`,
      );
    }
  }
  const tolerance = more.limit === null ? '' : pathOf([...lineOf(more.limit), ...lineOf(-more.limit)]);
  const { yielded } = p;
  const yieldLine =
    yielded === null
      ? ''
      : pathOf(
          contour({ ...net, value: (i) => yielded.ratio[i]! }, yielded.outline).map(
            ([x1, y1, x2, y2]) =>
              [x(stationOf(x1)), y(heightOf(y1)), x(stationOf(x2)), y(heightOf(y2))] as const,
          ),
        );
  const creases = (yielded?.creases ?? [])
    .map(({ path }) =>
      path
        .map(({ station, height }, k) => `${k === 0 ? 'M' : 'L'}${px(x(station))} ${px(y(height))}`)
        .join(''),
    )
    .join('');
  const { crest } = p;
  const mark =
    crest === null
      ? ''
      : `M${px(x(crest.station) - 8)} ${px(y(crest.height))}h16M${px(x(crest.station))} ${px(y(crest.height) - 8)}v16`;
  const box = `M${px(x(map.from))} ${px(y(map.low))}H${px(x(map.to))}V${px(y(map.high))}H${px(x(map.from))}Z`;
  return html`<path class="unseen" d="${box}"/>${levels.map((level) => html`<path class="cell flush ${level < 0 ? 'neg' : 'pos'}${Math.abs(level)}" d="${paths.get(level)!}"/>`)}${levels.filter((level) => level < 0).map((level) => html`<path class="cell-hatch" d="${paths.get(level)!}"/>`)}<path class="contour" d="${contours.map(({ segments }) => pathOf(segments)).join('')}"/>${tolerance === '' ? '' : html`<path class="tolerance-line" d="${tolerance}"/>`}${yieldLine === '' ? '' : html`<path class="yield-line" d="${yieldLine}"/>`}${creases === '' ? '' : html`<path class="crease-halo" d="${creases}"/><path class="crease-line" d="${creases}"/>`}<path class="spine" d="${box}"/>${labels}${mark === '' ? '' : html`<path class="crest-halo" d="${mark}"/><path class="crest" d="${mark}"/>`}`;
}

/** Stations along the foot; heights up the side where asked. */
export function placeAxes(map: Map, x: Scale, y: Scale, q: Quantities, heights: boolean): Html {
  const stationUnit = q.units === 'us' ? 0.3048 : 1;
  const heightUnit = q.units === 'us' ? 0.0254 : 0.001;
  const [x0, x1] = [x(map.from), x(map.to)];
  const foot = y(map.low);
  const along = ticks(map.from / stationUnit, map.to / stationUnit, Math.max(2, (x1 - x0) / 46));
  const up = ticks(
    map.low / heightUnit,
    map.high / heightUnit,
    Math.max(2, (foot - y(map.high)) / 26),
    q.units === 'us',
  );
  const word = (t: number) => String(Math.round(t * 100) / 100).replace('-', '\u2212');
  return html`<g class="axis">${along.map((t) => html`<path class="tick" d="M${px(x(t * stationUnit))} ${px(foot)}v4"/><text x="${px(x(t * stationUnit))}" y="${px(foot + 16)}" text-anchor="middle">${word(t)}</text>`)}<text class="axis-title" x="${px((x0 + x1) / 2)}" y="${px(foot + 32)}" text-anchor="middle">station, ${q.stationUnit}</text>${heights ? html`${up.map((t) => html`<path class="tick" d="M${px(x0)} ${px(y(t * heightUnit))}h-4"/><text x="${px(x0 - 7)}" y="${px(y(t * heightUnit) + 4)}" text-anchor="end">${word(t)}</text>`)}<text class="axis-title" transform="translate(${px(x0 - (q.units === 'us' ? 30 : 38))} ${px((foot + y(map.high)) / 2)}) rotate(-90)" text-anchor="middle">height, ${q.offsetUnit}</text>` : ''}</g>`;
}

/** Two cuts through the crest as found: along it and up it, as found and now, with twice their uncertainty and the tolerance. */
export function panelCuts(line: LineAnalysis, q: Quantities, width: number): Html {
  const surveys = drawable(line).filter((survey) => survey.panel !== undefined);
  const [found, now] = [surveys[0], surveys.at(-1)];
  if (found?.panel === undefined || now?.panel === undefined) return html``;
  const { map, crest } = found.panel;
  const small = narrow({ width });
  const limit = bandLimit(line) ?? 0;
  const shown = found === now ? [found] : [found, now];
  const values = shown.flatMap((s) => s.panel!.map.deviation.filter((_, i) => s.panel!.map.seen[i]));
  const [low, high] = [Math.min(-limit, 0, ...values), Math.max(limit, 0, ...values)];
  const pad = 0.08 * (high - low);
  const [left, right, gap] = [small ? 46 : 58, 12, small ? 0 : 74];
  const each = small ? width - left - right : (width - left - right - gap) / 2;
  const tall = small ? 150 : 190;
  const cuts = [
    {
      title: `Along, at height ${q.length(crest.height)}`,
      foot: `station, ${q.stationUnit}`,
      from: map.from,
      to: map.to,
      unit: q.units === 'us' ? 0.3048 : 1,
      at: (t: number) => [t, crest.height] as const,
    },
    {
      title: `Up, at station ${q.place(crest.station)}`,
      foot: `height, ${q.offsetUnit}`,
      from: map.low,
      to: map.high,
      unit: q.units === 'us' ? 0.0254 : 0.001,
      at: (t: number) => [crest.station, t] as const,
    },
  ];
  const top = 62;
  const drawn = cuts.map((cut, k) => {
    const x0 = small ? left : left + k * (each + gap);
    const y0 = small ? top + k * (tall + 84) : top;
    const frame = { width, height: 0, left: x0, right: x0 + each, top: y0, bottom: y0 + tall };
    const x = linear(cut.from, cut.to, x0, x0 + each);
    const y = linear(low - pad, high + pad, y0 + tall, y0);
    const trace = (survey: SurveyFit) =>
      Array.from({ length: 61 }, (_, i) => {
        const t = cut.from + (i / 60) * (cut.to - cut.from);
        const { value, u } = mapAt(survey.panel!, ...cut.at(t));
        const node = nearest(survey.panel!, ...cut.at(t));
        return { x: x(t), value, u, seen: survey.panel!.map.seen[node]! };
      });
    const path = (survey: SurveyFit) => polyline(trace(survey).map((p) => [p.x, p.seen ? y(p.value) : null]));
    const doubt = band(trace(now).map((p) => [p.x, y(p.value - 2 * p.u), y(p.value + 2 * p.u)] as const));
    const marks = ticks(cut.from / cut.unit, cut.to / cut.unit, Math.max(3, each / 60), cut.unit === 0.0254);
    return html`<text class="axis-title" x="${px(x0)}" y="${px(y0 - 26)}">${cut.title}</text>${offsetAxis(frame, y, low - pad, high + pad, q, k === 0 || small ? `off flat, ${q.offsetUnit}` : '')}${limit === 0 ? '' : html`<rect class="tolerance" x="${px(x0)}" y="${px(y(limit))}" width="${px(each)}" height="${px(y(-limit) - y(limit))}"/>`}<path class="now-body" d="${doubt}"/>${found === now ? '' : html`<path class="found" d="${path(found)}"/>`}<path class="now" d="${path(now)}"/><g class="axis">${marks.map((t) => html`<path class="tick" d="M${px(x(t * cut.unit))} ${px(y0 + tall)}v5"/><text x="${px(x(t * cut.unit))}" y="${px(y0 + tall + 18)}" text-anchor="middle">${String(Math.round(t * 100) / 100)}</text>`)}<path class="spine" d="M${px(x0)} ${px(y0 + tall)}h${px(each)}"/><text class="axis-title" x="${px(x0 + each / 2)}" y="${px(y0 + tall + 35)}" text-anchor="middle">${cut.foot}</text></g>`;
  });
  const entries = [
    ...(found === now
      ? []
      : [
          {
            sample: (x: number, y: number) => html`<path class="found" d="M${px(x)} ${px(y)}h26"/>`,
            text: wordOf(found).toLowerCase(),
          },
        ]),
    {
      sample: (x: number, y: number) => html`<path class="now" d="M${px(x)} ${px(y)}h26"/>`,
      text: found === now ? wordOf(now).toLowerCase() : `cycle ${now.cycle}, now`,
    },
  ];
  const bottom = small ? top + 2 * tall + 84 : top + tall;
  return svg(
    { width, height: bottom + 46 },
    `Cuts through the crest of panel ${line.line.name}, along and up, as found ${q.length(found.largest.deviation)} and now ${q.length(now.largest.deviation)} at its own crest. A gap in a line was not read.`,
    html`${legend(entries, left, 12, width - right).drawing}${drawn}`,
  );
}

function nearest({ map }: PanelSurvey, station: number, height: number): number {
  const index = (t: number, from: number, to: number, count: number) =>
    Math.max(0, Math.min(count - 1, Math.round(((t - from) / (to - from)) * (count - 1))));
  return (
    index(height, map.low, map.high, map.rows) * map.columns + index(station, map.from, map.to, map.columns)
  );
}

/** A small map of now for a row of small multiples, at a scale of its own. */
export function smallPanel(item: LineAnalysis, q: Quantities, width: number, height: number): Html {
  const survey = drawable(item).findLast((each) => each.panel !== undefined);
  if (survey?.panel === undefined) return html``;
  const { map } = survey.panel;
  const scale = Math.min((width - 8) / (map.to - map.from), (height - 8) / (map.high - map.low));
  const x = linear(map.from, map.to, 4, 4 + scale * (map.to - map.from));
  const y = linear(map.low, map.high, 4 + scale * (map.high - map.low), 4);
  const most = Math.max(...map.deviation.map((v, i) => (map.seen[i] ? Math.abs(v) : 0)));
  const step = Math.max(FINEST[q.units], most / STEPS);
  return html`<svg viewBox="0 0 ${width} ${height}" role="img" aria-label="Panel ${item.line.name}: crest ${q.length(survey.largest.deviation)} at ${q.place(survey.largest.station)}, height ${q.length(survey.largest.height ?? 0)}">${mapBody(picture(survey, ''), map, x, y, step, q, { limit: bandLimit(item), labels: false })}</svg>`;
}
