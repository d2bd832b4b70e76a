import type { CrackCheck, CrackStanding } from '../checks/crack-check.ts';
import { formatMoney } from '../costs/money.ts';
import type { CostSum, CostSums } from '../costs/sums.ts';
import type { Job } from '../job/job.ts';
import { brief } from './brief.ts';
import { dateText } from './dates.ts';
import { type Html, html } from './html.ts';

/** What the claim and the log of crack checks give; null where a log could not be used (`faults` then says why). */
export interface ClaimFacts {
  readonly sums: CostSums | null;
  readonly cracks: CrackStanding | null;
  readonly checks: readonly CrackCheck[];
  readonly faults: readonly string[];
}

const NOT_RECORDED = 'not recorded';
/** Rows of a sum that the report holds; every row is in the log itself. */
const MOST_DAYS = 31;
const MOST_ROWS_NAMED = 8;
const MOST_CHECKS = 14;

/** "23 working days: 6 paint removal, 11 heating, …"; a day may stand under several. */
export function daysText({ days }: CostSums): string {
  if (days.all.length === 0) return NOT_RECORDED;
  const works = days.byWork.map(({ work, dates }) => `${dates.length} ${work}`);
  const unsaid =
    days.unsaid.length === 0 ? [] : [`${days.unsaid.length} of which the work is ${NOT_RECORDED}`];
  return `${days.all.length} working ${days.all.length === 1 ? 'day' : 'days'}: ${[...works, ...unsaid].join(', ')}`;
}

/** The total in the job's currency and locale; "not recorded" where no row says money. */
export function costText(sums: CostSums, job: Job): string {
  return sums.byKind.length === 0 ? NOT_RECORDED : formatMoney(sums.total, sums.currency, job.locale);
}

/** Owner, structure, strike, numbers of the claim: each or "not recorded". */
export function claimFields(job: Job): readonly (readonly [string, string])[] {
  const { claim } = job;
  const struck =
    claim?.struckOn == null
      ? null
      : `${dateText(claim.struckOn, job.locale)}${claim.struckAt === null ? '' : `, ${claim.struckAt}`}`;
  return (
    [
      ['Owner', claim?.owner],
      ['Structure number', claim?.structureNumber],
      ['Feature crossed', claim?.featureCrossed],
      ['Struck', struck],
      ['Incident number', claim?.incidentNumber],
      ['Claim number', claim?.claimNumber],
      ['Police report', claim?.policeReport],
      ['Vehicle', claim?.vehicle],
    ] as const
  ).map(([name, value]) => [name, value ?? NOT_RECORDED]);
}

/** The claim: what it is filed under, sums by kind, day and cycle with the rows each comes from, working days. */
export function claimSection(job: Job, { sums, faults }: ClaimFacts): Html {
  const fields = html`<dl class="fields">${claimFields(job).map(([name, value]) => html`<div><dt>${name}</dt><dd>${value}</dd></div>`)}</dl>`;
  const bad = faults.map((fault) => html`<p><strong>Not given.</strong> ${brief(fault, 500)}</p>`);
  if (sums === null) return html`${fields}${bad}`;
  const money = (minor: number) => formatMoney(minor, sums.currency, job.locale);
  if (sums.byKind.length === 0)
    return html`${fields}${bad}<p>Cost: ${NOT_RECORDED}. Working days: ${daysText(sums)}.</p>`;
  const table = <K>(title: string, heading: string, rows: readonly CostSum<K>[], name: (of: K) => string) =>
    html`<p class="table-title">${title}</p><div class="scroll" tabindex="0" role="region" aria-label="${title}"><table aria-label="${title}"><thead><tr><th scope="col">${heading}</th><th scope="col" class="n">Amount</th><th scope="col" class="n">Hours</th><th scope="col">From</th></tr></thead><tbody>${rows
      .slice(0, MOST_DAYS)
      .map(
        (sum) =>
          html`<tr><th scope="row">${name(sum.of)}</th><td class="n">${money(sum.amount)}</td><td class="n">${sum.hours === null ? NOT_RECORDED : String(Math.round(sum.hours * 100) / 100)}</td><td>${sourcesText(sum)}</td></tr>`,
      )}${rows.length > MOST_DAYS ? html`<tr><th scope="row">${rows.length - MOST_DAYS} more</th><td class="n">${money(rows.slice(MOST_DAYS).reduce((total, sum) => total + sum.amount, 0))}</td><td></td><td>in costs.csv and heats.csv</td></tr>` : ''}<tr><th scope="row"><strong>Sum</strong></th><td class="n"><strong>${money(rows.reduce((total, sum) => total + sum.amount, 0))}</strong></td><td></td><td></td></tr></tbody></table></div>`;
  return html`${fields}${bad}<p><strong>${costText(sums, job)}</strong> in all; ${daysText(sums)}. A day stands under every kind of work done on it. Every sum is exactly the sum of the rows named; a row’s hours times rate are rounded once, to the smallest unit of the currency.</p>${sums.remarks.map((remark) => html`<p>${remark}</p>`)}${table('Cost by kind', 'Kind', sums.byKind, (kind) => kind)}${table('Cost by cycle', 'Cycle', sums.byCycle, (cycle) => (cycle === null ? 'tied to none' : String(cycle)))}${table('Cost by day', 'Day', sums.byDay, (date) => dateText(date, job.locale))}`;
}

function sourcesText({ rows }: CostSum<unknown>): string {
  const files = [...new Set(rows.map(({ file }) => file))];
  return files
    .map((file) => {
      const own = rows.filter((each) => each.file === file).map(({ row }) => row);
      const more = own.length > MOST_ROWS_NAMED ? ` and ${own.length - MOST_ROWS_NAMED} more` : '';
      return `${file}, ${own.length === 1 ? 'row' : 'rows'} ${own.slice(0, MOST_ROWS_NAMED).join(', ')}${more}`;
    })
    .join('; ');
}

/** Every crack check, newest last; the oldest are counted where there are many. */
export function checksTable({ checks }: ClaimFacts, job: Job): Html {
  if (checks.length === 0) return html`<p>Crack checks: ${NOT_RECORDED}.</p>`;
  const left = checks.length - MOST_CHECKS;
  return html`${left > 0 ? html`<p>${left} earlier checks are in checks.csv.</p>` : ''}<div class="scroll" tabindex="0" role="region" aria-label="Crack checks"><table aria-label="Crack checks"><thead><tr>${['Date', 'Cycle', 'When', 'Method', 'Where', 'By', 'Result', 'Note', 'Row'].map((each) => html`<th scope="col">${each}</th>`)}</tr></thead><tbody>${checks
    .slice(-MOST_CHECKS)
    .map(
      (check) =>
        html`<tr><th scope="row">${dateText(check.date, job.locale)}</th><td>${check.cycle ?? ''}</td><td>${check.when}</td><td>${check.method}</td><td>${brief(check.where, 80)}</td><td>${brief(check.by, 40)}</td><td><strong>${check.result}</strong></td><td>${brief(check.note ?? '', 100)}</td><td>${check.row}</td></tr>`,
    )}</tbody></table></div>`;
}
