import type { LineAnalysis, SurveyFit } from '../analysis.ts';
import type { Job } from '../job/job.ts';
import {
  historySample,
  kept,
  markedSample,
  profileFrame,
  toleranceEntry,
} from '../report/figures/profile-frame.ts';
import { type Html, html } from '../report/html.ts';
import { bandLimit } from '../report/picks.ts';
import type { Quantities } from '../report/quantities.ts';
import { errorBar, type LegendEntry, markerPath, svg } from '../report/svg.ts';

/**
 * The survey being keyed against the baseline (the zero line), the cycle before it and as found; zones and tolerance
 * behind. Drawn for the width it will have, so letters stay readable at arm's length.
 */
export function profileToday(
  line: LineAnalysis,
  now: SurveyFit,
  before: SurveyFit | undefined,
  job: Job,
  q: Quantities,
  width: number,
): Html {
  const surveys = line.fit.surveys.filter((s) => s.state === now.state);
  const found = surveys[0] === now || surveys[0] === before ? undefined : surveys[0];
  const limit = bandLimit(line);
  const drawn = [now, before, found].filter((s) => s !== undefined);
  // A survey that is only begun can be uncertain by feet.
  const longest = 2 * Math.max(limit ?? 0, ...drawn.flatMap(kept).map((p) => Math.abs(p.deviation)));
  const { frame, x, y, behind, trace, aside } = profileFrame({
    line,
    job,
    q,
    width,
    heights: [190, 250],
    entries: entries(now, before, found, limit),
    drawn,
    longest,
  });
  const peak = now.largest;
  return svg(
    frame,
    label(line, now, before, q),
    html`${behind}
${found === undefined ? '' : html`<g class="history"><path d="${trace(found)}"/></g>`}
${before === undefined ? '' : html`<path class="found" d="${trace(before)}"/><g class="found-mark">${kept(before).map((p) => html`<path d="${markerPath('circle', x(p.station), y(p.deviation), 2.6)}"/>`)}</g>`}
<path class="now-bar" d="${kept(now)
      .map((p) =>
        errorBar(
          x(p.station),
          Math.min(frame.bottom, y(p.deviation - 2 * p.u)),
          Math.max(frame.top, y(p.deviation + 2 * p.u)),
          2.5,
        ),
      )
      .join('')}"/><path class="now" d="${trace(now)}"/>
<g class="now-mark">${kept(now).map((p) => html`<path d="${markerPath('circle', x(p.station), y(p.deviation), 3.4)}"/>`)}</g>
${aside(now, 4.5)}
<g class="peak"><path d="${markerPath('circle', x(peak.station), y(peak.deviation), 8)}"/></g>`,
  );
}

function entries(
  now: SurveyFit,
  before: SurveyFit | undefined,
  found: SurveyFit | undefined,
  limit: number | null,
): LegendEntry[] {
  const name = (s: SurveyFit) => (s.cycle === 0 ? 'as found' : `cycle ${s.cycle}`);
  return [
    { sample: markedSample('now'), text: `${name(now)}, ± 95\u00a0%` },
    ...(before === undefined ? [] : [{ sample: markedSample('found'), text: name(before) }]),
    ...(found === undefined ? [] : [{ sample: historySample(), text: name(found) }]),
    ...(limit === null ? [] : [toleranceEntry()]),
  ];
}

function label(line: LineAnalysis, now: SurveyFit, before: SurveyFit | undefined, q: Quantities): string {
  const largest = (s: SurveyFit) => `${q.length(s.largest.deviation)} at ${q.station(s.largest.station)}`;
  return (
    `Deviation from the baseline along line ${line.line.name}. Cycle ${now.cycle}: largest ${largest(now)}.` +
    (before === undefined ? '' : ` Cycle ${before.cycle}: largest ${largest(before)}.`)
  );
}
