import type { LineAnalysis } from '../analysis.ts';
import type { ReportContext } from './context.ts';
import { EXPLORER_SCRIPT } from './explorer-script.ts';
import { forecastShown } from './figures/progress.ts';
import { type Html, html } from './html.ts';
import type { sectionSlides } from './member-section.ts';
import { bandLimit, judged } from './picks.ts';
import type { Quantities } from './quantities.ts';
import { EMPTY_STYLE, type PageParts } from './shell.ts';

/**
 * The interactive layer of one line: hidden until a script runs, empty until someone asks for it, so that opening
 * a report costs nothing for it. The drawings and tables above it stay and are what prints.
 */
export function explorer(line: LineAnalysis, index: number, context: ReportContext): Html | '' {
  // A panel's maps are drawn in full already; the interactive plots are of stations along a line.
  if (context.plotly === null || judged(line).length === 0 || line.line.panel !== undefined) return '';
  const last = judged(line).length - 1;
  const zones = line.fit.zones;
  return html`<div class="explore screen-only" id="explore-${index}" data-line="${index}" hidden>
<button type="button" class="explore-open" aria-expanded="false" aria-controls="explore-body-${index}">Explore line ${line.line.name}: zoom, hover, step through the cycles</button> <span class="explore-status" role="status"></span>
<div class="explore-body" id="explore-body-${index}" hidden>
<div class="controls">
<label for="cycle-${index}">Cycle <input type="range" id="cycle-${index}" class="explore-cycle" min="0" max="${last}" step="1" value="${last}"></label><output for="cycle-${index}" class="explore-output"></output>
${zones.length === 0 ? '' : html`<fieldset><legend>Zones</legend>${zones.map((z) => html`<label><input type="checkbox" class="explore-zone" value="${z.zone}" checked> ${z.zone}</label>`)}</fieldset>`}
</div>
<div class="plotly-host" data-plot="profile" role="group" aria-label="Interactive plot: deviation along the line"></div>
<div class="columns"><div class="plotly-host" data-plot="progress" role="group" aria-label="Interactive plot: largest deviation by cycle"></div>${zones.length === 0 ? '' : html`<div class="plotly-host" data-plot="rotations" role="group" aria-label="Interactive plot: rotation of the zones by cycle"></div>`}</div>
<div class="plotly-host" data-plot="map" role="group" aria-label="Interactive plot: map of deviation"></div>
</div></div>`;
}

/** Scripts, data and policy the interactive layer adds to a page; nothing where it is left out. */
export function explorerParts(
  lines: readonly LineAnalysis[],
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
          lines: lines.map((line) => lineData(line, q)),
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
function lineData(line: LineAnalysis, q: Quantities) {
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
