import type { LineAnalysis } from '../analysis.ts';
import type { Member } from '../job/job.ts';
import type { Place } from '../panels/crease-lines.ts';
import type { ReportContext } from './context.ts';
import { EXPLORER_SCRIPT } from './explorer-script.ts';
import { panelCreases } from './figures/panel.ts';
import { forecastShown } from './figures/progress.ts';
import { type Html, html } from './html.ts';
import type { sectionSlides } from './member-section.ts';
import { bandLimit, drawable, judged } from './picks.ts';
import type { Quantities } from './quantities.ts';
import { EMPTY_STYLE, type PageParts } from './shell.ts';

/**
 * The interactive layer of one line: hidden until a script runs, empty until someone asks for it, so that opening
 * a report costs nothing for it. The drawings and tables above it stay and are what prints.
 */
export function explorer(line: LineAnalysis, index: number, context: ReportContext): Html | '' {
  if (context.plotly === null || judged(line).length === 0) return '';
  const panel = line.line.panel !== undefined;
  const last = judged(line).length - 1;
  const zones = line.fit.zones;
  return html`<div class="explore screen-only" id="explore-${index}" data-line="${index}" hidden>
<button type="button" class="explore-open" aria-expanded="false" aria-controls="explore-body-${index}">Explore ${panel ? 'panel' : 'line'} ${line.line.name}: zoom, hover, step through the cycles</button> <span class="explore-status" role="status"></span>
<div class="explore-body" id="explore-body-${index}" hidden>
<div class="controls">
<label for="cycle-${index}">Cycle <input type="range" id="cycle-${index}" class="explore-cycle" min="0" max="${last}" step="1" value="${last}"></label><output for="cycle-${index}" class="explore-output"></output>
${zones.length === 0 ? '' : html`<fieldset><legend>Zones</legend>${zones.map((z) => html`<label><input type="checkbox" class="explore-zone" value="${z.zone}" checked> ${z.zone}</label>`)}</fieldset>`}
</div>
<div class="plotly-host" data-plot="profile" role="group" aria-label="Interactive plot: ${panel ? 'map of the panel, out of flat, with the heats of the cycle' : 'deviation along the line'}"></div>
${panel ? html`<p class="small">One scale through all cycles, as found to now. Dashed is the tolerance, the cross the crest, dash-dot a crease as found; rings and bars are heats made since the survey before. Grey was not read.</p>` : ''}
<div class="columns"><div class="plotly-host" data-plot="progress" role="group" aria-label="Interactive plot: largest deviation by cycle"></div>${zones.length === 0 ? '' : html`<div class="plotly-host" data-plot="rotations" role="group" aria-label="Interactive plot: rotation of the zones by cycle"></div>`}</div>
${panel ? '' : html`<div class="plotly-host" data-plot="map" role="group" aria-label="Interactive plot: map of deviation"></div>`}
</div></div>`;
}

/** Scripts, data and policy the interactive layer adds to a page; nothing where it is left out. */
export function explorerParts(
  lines: readonly LineAnalysis[],
  member: Member,
  context: ReportContext,
  q: Quantities,
  slides: ReturnType<typeof sectionSlides>,
): Pick<PageParts, 'scripts' | 'stored' | 'data' | 'policy' | 'styleSources'> {
  if (context.plotly === null) return {};
  return {
    scripts: [EXPLORER_SCRIPT],
    stored: [{ id: 'plotting-library', text: context.plotly }],
    data: [
      {
        id: 'explorer-data',
        value: {
          units: q.units,
          fraction: context.fraction,
          offsetUnit: q.offsetUnit,
          stationUnit: q.stationUnit,
          // An element of this id keeps the library from adding a style sheet for maps, which no plot here needs.
          mapStyleId:
            /getElementById\("([0-9a-f]{64})"\)\)\{var \w+=document\.createElement\("style"\)/.exec(
              context.plotly,
            )?.[1] ?? null,
          lines: lines.map((line) => lineData(line, member, context, q)),
          sections: slides,
        },
      },
    ],
    // The library makes one empty style element and fills it through the style sheet interface.
    styleSources: [EMPTY_STYLE],
    policy: { 'style-src-attr': `'unsafe-inline'` },
  };
}

/** Plot-ready numbers of one line in the units of the job. */
function lineData(line: LineAnalysis, member: Member, context: ReportContext, q: Quantities) {
  const surveys = judged(line);
  const stations = [...new Set(surveys.flatMap((s) => s.stations.map((p) => p.station)))].sort(
    (a, b) => a - b,
  );
  const index = new Map(stations.map((s, i) => [s, i]));
  const limit = bandLimit(line);
  const offset = (m: number): number => Math.round(q.offsetValue(m) * 1e4) / 1e4;
  const station = (m: number): number => Math.round(q.stationValue(m) * 1e4) / 1e4;
  const degrees = (a: number): number => Math.round(((a * 180) / Math.PI) * 1e4) / 1e4;
  return {
    name: line.line.name,
    positive: line.line.positive,
    panel: line.line.panel === undefined ? null : panelData(line, member, context, q),
    limit: limit === null ? null : offset(limit),
    stations: stations.map(station),
    surveys: surveys.map((s) => {
      const deviation: (number | null)[] = stations.map(() => null);
      const u: (number | null)[] = stations.map(() => null);
      for (const p of s.stations) {
        if (p.setAside) continue;
        deviation[index.get(p.station)!] = offset(p.deviation);
        u[index.get(p.station)!] = offset(2 * p.u);
      }
      return { cycle: s.cycle, date: s.date === null ? null : q.date(s.date), deviation, u };
    }),
    zones: line.fit.zones.map((z) => ({
      name: z.zone,
      from: station(z.from),
      to: station(z.to),
      rotations: surveys.flatMap((s) =>
        s.zones
          .filter((r) => r.zone === z.zone)
          .map((r) => ({ cycle: s.cycle, value: degrees(r.rotation), u: degrees(2 * r.u) })),
      ),
    })),
    series: line.progress.series.map((p) => ({ cycle: p.cycle, value: offset(p.value), u: offset(2 * p.u) })),
    forecast: forecastShown(line).map((p) => ({
      cycle: p.cycle,
      low: offset(p.low),
      expected: offset(p.expected),
      high: offset(p.high),
    })),
  };
}

/** Plot-ready maps of one panel: nodes along and up, and for each survey deviation and twice its u, rows from the foot. */
function panelData(line: LineAnalysis, member: Member, context: ReportContext, q: Quantities) {
  const digits = q.units === 'us' ? 1e3 : 10;
  const offset = (m: number): number => Math.round(q.offsetValue(m) * digits) / digits;
  const place = ({ station, height }: Place) => ({
    x: Math.round(q.stationValue(station) * 1e4) / 1e4,
    y: Math.round(q.offsetValue(height) * 1e2) / 1e2,
  });
  const surveys = judged(line).filter((survey) => survey.panel !== undefined);
  const map = surveys[0]?.panel?.map;
  if (map === undefined) return null;
  const { columns, rows } = map;
  const on = (from: number, to: number, count: number) =>
    Array.from({ length: count }, (_, i) => from + (i / (count - 1)) * (to - from));
  const heating = context.heats?.panels.find((panel) => panel.line === line.line.name);
  const paths = new Map(heating?.places.map((heat) => [heat.name.toLowerCase(), heat.path]) ?? []);
  return {
    // Heights in offset units against stations in theirs: how much of x one of y is, for a picture to scale.
    ratio: q.stationValue(1) / q.offsetValue(1),
    x: on(map.from, map.to, columns).map((station) => place({ station, height: 0 }).x),
    y: on(map.low, map.high, rows).map((height) => place({ station: 0, height }).y),
    surveys: surveys.map((survey, k) => {
      const { map: own, crest } = survey.panel!;
      const row = (of: readonly number[], r: number, by: number) =>
        of
          .slice(r * columns, (r + 1) * columns)
          .map((v, c) => (own.seen[r * columns + c] ? offset(by * v) : null));
      const before = surveys[k - 1]?.cycle ?? Number.NEGATIVE_INFINITY;
      return {
        z: Array.from({ length: rows }, (_, r) => row(own.deviation, r, 1)),
        u: Array.from({ length: rows }, (_, r) => row(own.u, r, 2)),
        crest: {
          ...place(crest),
          value: offset(crest.deviation),
          u: offset(2 * crest.u),
          bound: crest.lowerBound,
        },
        heats: (heating?.made ?? [])
          .filter(({ heat }) => heat.cycle > before && heat.cycle <= survey.cycle)
          .flatMap(({ heat, name, place: at }) => {
            const path = paths.get(name?.toLowerCase() ?? '') ?? (at === null ? [] : [at]);
            return path.length === 0
              ? []
              : [{ name: name ?? heat.pattern, pattern: heat.pattern, path: path.map(place) }];
          }),
      };
    }),
    creases: panelCreases(line, drawable(line)[0]!, member).map(({ path }) => path.map(place)),
  };
}
