import type { LineAnalysis } from '../analysis.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import type { Job } from '../job/job.ts';
import { EXPECTED, levelText } from '../maths/coverage-level.ts';
import { figure } from './figure.ts';
import { type DrawnVee, proposedVees } from './figures/drawn-vees.ts';
import { filmStrip } from './figures/film-strip.ts';
import { deviationMap } from './figures/map.ts';
import { movementPlot } from './figures/movement.ts';
import { planDrawing, planFactor } from './figures/plan.ts';
import { profilePlot } from './figures/profiles.ts';
import { progressPlot } from './figures/progress.ts';
import { rotationsPlot } from './figures/rotations.ts';
import { type Html, html } from './html.ts';
import { panelPlots } from './panel-section.ts';
import { bandLimit, judged } from './picks.ts';
import type { Quantities } from './quantities.ts';
import { NARROW, WIDE } from './svg.ts';
import { KIND_WORDS, prose } from './words.ts';

/** Said of the figure, not of the line: the verdict stands above it. */
export const PROGRESS_CAPTION = prose(
  `Largest deviation by cycle. The band is the tolerance over the whole line; the fan is what to expect, ${levelText(EXPECTED)}.`,
);

export const PANEL_PROGRESS_CAPTION = prose(
  `Crest of the bulge by cycle. The band is the tolerance; the fan is what to expect, ${levelText(EXPECTED)}.`,
);

/** The plots of one line, in the order a reader asks: how does it look, is it coming in, which zone, what did each cycle do. */
export function linePlots(
  line: LineAnalysis,
  job: Job,
  q: Quantities,
  profileToo: boolean,
  heats: HeatsOfJob | undefined,
): Html {
  const cycles = judged(line).length;
  const panel = line.line.panel !== undefined;
  const drawn =
    !panel && (line.line.kind === 'sweep' || line.line.kind === 'camber' || line.line.kind === 'bulge');
  const zoned = line.fit.zones.length > 0 && cycles > 1;
  return html`${drawn ? planFigure(line, job, q, { of: proposedVees(line, heats), word: 'proposed next' }) : ''}
${panel ? panelPlots(line, job.member, q, profileToo) : ''}
${profileToo && !panel ? figure('Deviation along the line', profileText(line, q), (width) => profilePlot(line, job, q, width, true)) : ''}
${
  cycles < 2
    ? html`<p class="muted">One survey so far. Progress, movement and the map by cycle appear with the next cycle.</p>`
    : html`<div class="columns-free">
${filmFigure(line, q)}
${figure('Progress', panel ? PANEL_PROGRESS_CAPTION : PROGRESS_CAPTION, (width) => progressPlot(line, q, width))}
${zoned ? figure('Rotation of the zones', 'A zone that still turns is still being straightened; each has its own marker and dash.', (width) => rotationsPlot(line, q, width)) : ''}
${line.movements.length > 0 ? figure('Movement, cycle by cycle', 'What each cycle did to the largest deviation, with its uncertainty; one bar over several cycles where none between was read.', (width) => movementPlot(line, job, q, width)) : ''}
${panel ? '' : figure('Map of deviation', 'Cycles downward, stations across. Darker is further off; blue with hatching is the minus side.', (width) => deviationMap(line, q, width))}
</div>`
}`;
}

/** Nothing before the second survey. */
export function filmFigure(line: LineAnalysis, q: Quantities): Html | '' {
  if (judged(line).length < 2 || line.line.panel !== undefined) return '';
  return figure(
    'Survey by survey',
    'Every frame at one scale, with the largest deviation; as found is dashed.',
    (width) => filmStrip(line, q, width),
  );
}

/** The member with what it was and is, and vees to scale; `vees` says of them what they are. */
export function planFigure(
  line: LineAnalysis,
  job: Job,
  q: Quantities,
  vees: { readonly of: readonly DrawnVee[]; readonly word: string },
): Html {
  const view =
    line.line.kind === 'camber'
      ? 'seen from the side'
      : line.line.kind === 'sweep'
        ? 'seen from above'
        : 'along the straight-edge';
  const wide = planFactor(line, job, WIDE);
  const small = planFactor(line, job, NARROW);
  const words =
    wide === small
      ? html`<span class="num">${wide}</span> times`
      : html`<span class="wide-words num">${wide} times</span><span class="narrow-words num">${small} times</span>`;
  return figure(
    'The member',
    html`Drawn ${view}, to scale along its length; <strong>offsets are drawn ${words} too large</strong> so that they can be seen.${vees.of.length === 0 ? '' : ` The triangles are the vees ${vees.word}, to the same scale as the length.`}`,
    (width) => planDrawing(line, job, q, width, vees),
  );
}

function profileText(line: LineAnalysis, q: Quantities): string {
  const limit = bandLimit(line);
  const steps = 'The strong trace is now, the faint ones are the cycles between. ';
  return `${KIND_WORDS[line.line.kind][0]!.toUpperCase()}${KIND_WORDS[line.line.kind].slice(1)}; + is ${line.line.positive}. ${steps}${limit === null ? '' : `The band is the tolerance over the whole line, ${q.length(limit)} to either side.`}`;
}
