import { formatEstimate } from '../costs/money.ts';
import type { Job } from '../job/job.ts';
import { levelText } from '../maths/coverage-level.ts';
import type { Plan, Spread } from '../plan/plan.ts';
import { heatedText, subjectOf } from '../plan/plan-text.ts';
import { formatLimit } from '../units/format-length.ts';
import { dateText } from './dates.ts';
import { type Html, html } from './html.ts';
import { PLAN_SHEET_CSS } from './plan-sheet-css.ts';
import { page } from './shell.ts';

/** Rows of the list of what it takes for granted and of the table under it that fit on one page together; the rest are in `sweepbook plan`. */
const MOST_ROWS = 18;

/**
 * The plan on one page for the front office: dates, closures, cost, what could change them and what they rest on.
 *
 * @returns the text of an HTML file that prints on one A4 or Letter page
 */
export function renderPlanSheet(
  job: Job,
  plan: Plan,
  facts: { readonly generated: string; readonly tool: string },
): string {
  const when =
    plan.fromCycle === 0 ? 'before the first heat' : `after cycle ${plan.fromCycle}, counted from there`;
  const body = html`<main class="plan">
<header>
<p class="label">Plan of the work</p>
<h1>${job.name}</h1>
<p class="made">Made ${dateText(facts.generated, job.locale)} by ${facts.tool}, ${when}</p>
</header>
<p class="lead">${chance(job, plan)}</p>
<div class="tiles">
${tile('Finished', finishText(plan, job.locale))}
${tile('Working days', spreadParts(plan.days, whole))}
${tile('Hours of lane closure', spreadParts(plan.closureHours, whole))}
${tile(
  plan.currency === null ? 'Cost' : `Cost, ${plan.currency}`,
  spreadParts(plan.cost, (value) => formatEstimate(value, null, job.locale)),
)}
${plan.probability === null ? '' : [tile('Cycles of heating', spreadParts(plan.cycles, whole)), tile('Vees', spreadParts(plan.vees, whole))]}
</div>
<section aria-labelledby="change"><h2 id="change">What could change it</h2>
${drivers(plan)}
<ul>${plan.assumptions.map((text) => html`<li>${text}</li>`)}</ul></section>
<section aria-labelledby="rests"><h2 id="rests">What it rests on</h2>
<table><thead><tr><th scope="col">Reckoned with</th><th scope="col" class="n">Middle</th><th scope="col" class="n">${levelText(plan)} between</th><th scope="col">Where it comes from</th></tr></thead>
<tbody>${plan.learnt.slice(0, Math.max(4, MOST_ROWS - plan.assumptions.length)).map((each) => html`<tr><th scope="row">${each.label}</th><td class="n">${figure(each, each.median, job.locale)}</td><td class="n">${figure(each, each.low, job.locale)} to ${figure(each, each.high, job.locale)}</td><td class="from">${each.brief}</td></tr>`)}</tbody></table></section>
</main>`;
  return page({
    title: `Plan: ${job.name}`,
    description: 'Dates, closures and cost of the work ahead, with intervals.',
    body,
    css: PLAN_SHEET_CSS,
  });
}

function chance(job: Job, plan: Plan): string {
  const limit = formatLimit(plan.limit, job.units);
  const share = Math.round(100 * (plan.probability ?? 0));
  const subject = subjectOf(plan);
  const [one] = plan.lines;
  const limits = plan.lines.every((each) => each.limit === one!.limit)
    ? `the limit of ${limit}`
    : 'the limits';
  const gets = `${heatedText(plan)} inside ${limits} in`;
  const got =
    plan.probability === null
      ? plan.basis === 'plates'
        ? `${plan.line} stands still by its readings, outside its limit of ${limit}: this plan ends the heating with plates.`
        : `${subject.text} inside ${subject.their} limits: what is left is the work that finishes the job.`
      : share >= 99
        ? `${gets} nearly every future followed.`
        : `${gets} ${share} % of the futures followed; the others end in plates or a new member.`;
  return `${got} Large figures are as likely too high as too low; the truth lies in the range under them with a chance of ${levelText(plan)}.`;
}

interface Figure {
  readonly middle: string;
  readonly range: string;
}

function tile(label: string, shown: Figure | null): Html {
  return shown === null
    ? html`<section class="tile"><h2>${label}</h2><p class="big none">not known</p></section>`
    : html`<section class="tile"><h2>${label}</h2><p class="big">${shown.middle}</p><p class="range">${shown.range}</p></section>`;
}

function spreadParts(spread: Spread | null, text: (value: number) => string): Figure | null {
  if (spread === null) return null;
  return {
    middle: text(spread.median),
    range: `${text(spread.low)} to ${spread.high === null ? 'may be never' : text(spread.high)}`,
  };
}

function finishText({ finish }: Plan, locale: string): Figure | null {
  if (finish === null) return null;
  return {
    middle: dateText(finish.median, locale),
    range: `${dateText(finish.low, locale)} to ${finish.high === null ? 'may be never' : dateText(finish.high, locale)}`,
  };
}

function drivers(plan: Plan): Html {
  const [first, ...others] = plan.drivers.slice(0, 3);
  if (first === undefined)
    return html`<p>No single quantity makes most of the spread in the working days.</p>`;
  const rest = others.map((each) => `${each.label} (${Math.round(100 * each.share)} %)`).join(', ');
  return html`<p>The largest part of the spread in the working days comes from ${first.label} (${Math.round(100 * first.share)} %)${rest === '' ? '' : `, then ${rest}`}: what can be learnt beforehand among these is what to look into first.</p>`;
}

function whole(value: number): string {
  return `${Math.round(value)}`;
}

function figure({ name }: Plan['learnt'][number], value: number, locale: string): string {
  if (name === 'costPerDay') return formatEstimate(value, null, locale);
  if (name.startsWith('days: ')) return whole(value);
  if (value < 0.005) return '0';
  return value >= 10 ? whole(value) : value.toFixed(value < 1 ? 2 : 1);
}
