import type { LineAnalysis, StationFit, SurveyFit } from '../../analysis.ts';
import type { Job } from '../../job/job.ts';
import { levelText, MEASURED } from '../../maths/coverage-level.ts';
import { isJudged } from '../../survey/judged.ts';
import { type Html, html } from '../html.ts';
import { bandLimit, drawable } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import { errorBar, type LegendEntry, markerPath, narrow, svg } from '../svg.ts';
import { prose } from '../words.ts';
import {
  historySample,
  kept,
  markedSample,
  profileFrame,
  strokeSample,
  toleranceEntry,
} from './profile-frame.ts';

/**
 * Deviation along the line, one trace a cycle: the current one strong with its uncertainty, as found dashed, the cycles
 * between faint. The tolerance over the whole line is a band. `low` draws it flatter, for a page it shares with much else.
 */
export function profilePlot(
  line: LineAnalysis,
  job: Job,
  q: Quantities,
  width: number,
  history: boolean,
  low = false,
): Html {
  const surveys = drawable(line);
  const found = drawable(line)[0];
  const now = drawable(line).at(-1);
  const limit = bandLimit(line);
  const restrained = line.fit.surveys.findLast((s) => !isJudged(s) && s !== now);
  const between = history ? surveys.filter((s) => s !== found && s !== now) : [];

  const small = narrow({ width });
  const { frame, x, y, behind, trace, aside } = profileFrame({
    line,
    job,
    q,
    width,
    heights: [210, low ? 190 : 300],
    entries: entries(found, now, between.length, limit, restrained),
    drawn: surveys,
  });
  const dense =
    surveys.some((s) => kept(s).length > 0) && (now?.stations.length ?? 0) > (frame.right - frame.left) / 7;
  const radius = dense ? 2 : 3.4;
  const circles = (points: readonly StationFit[], r: number): string =>
    points.map((p) => markerPath('circle', x(p.station), y(p.deviation), r)).join('');
  return svg(
    frame,
    profileLabel(line, q, between.length),
    html`${behind}
<g class="history">${between.map((s) => html`<path d="${trace(s)}"/>`)}</g>
${restrained === undefined ? '' : html`<path class="restrained" d="${trace(restrained)}"/>`}
${found === undefined || found === now ? '' : html`<path class="found" d="${trace(found)}"/><g class="found-mark"><path d="${circles(kept(found), radius * 0.85)}"/></g>`}
${
  now === undefined
    ? ''
    : html`<path class="now-bar" d="${kept(now)
        .map((p) =>
          errorBar(x(p.station), y(p.deviation - 2 * p.u), y(p.deviation + 2 * p.u), dense ? 0 : 2.5),
        )
        .join(
          '',
        )}"/><path class="now" d="${trace(now)}"/><g class="now-mark">${small ? html`<path d="${circles(kept(now), radius)}"/>` : kept(now).map((p) => html`<path d="${circles([p], radius)}"><title>${`${q.station(p.station)}: ${q.signed(p.deviation)} ${q.offsetUnit} (${q.decimal(p.deviation)} ${q.plusMinus(p.u)})`}</title></path>`)}</g>`
}
${now === undefined ? '' : aside(now, 4)}`,
  );
}

function entries(
  found: SurveyFit | undefined,
  now: SurveyFit | undefined,
  between: number,
  limit: number | null,
  restrained: SurveyFit | undefined,
): LegendEntry[] {
  const out: LegendEntry[] = [];
  if (now !== undefined)
    out.push({
      sample: markedSample('now'),
      text:
        now === found
          ? `as found, ± ${prose(levelText(MEASURED))}`
          : `after cycle ${now.cycle}, ± ${prose(levelText(MEASURED))}`,
    });
  if (found !== undefined && found !== now) out.push({ sample: markedSample('found'), text: 'as found' });
  if (between > 0) out.push({ sample: historySample(), text: 'cycles between' });
  if (restrained !== undefined)
    out.push({
      sample: strokeSample('restrained'),
      text: `${restrained.state === 'restrained' ? 'jacks on' : 'not judged'}, cycle ${restrained.cycle}`,
    });
  if (limit !== null) out.push(toleranceEntry());
  return out;
}

function profileLabel(line: LineAnalysis, q: Quantities, between: number): string {
  const found = drawable(line)[0];
  const now = drawable(line).at(-1);
  if (found === undefined || now === undefined)
    return `Deviation along line ${line.line.name}: no readings yet.`;
  return (
    `Deviation along line ${line.line.name}. As found the largest is ${q.length(found.largest.deviation)} at ${q.station(found.largest.station)}; ` +
    `after cycle ${now.cycle} it is ${q.length(now.largest.deviation)} ${q.plusMinus(now.largest.u)} at ${q.station(now.largest.station)}.` +
    (between > 0 ? ` ${between} cycles between are drawn faint.` : '') +
    ' The table of deviations by station holds the same numbers.'
  );
}
