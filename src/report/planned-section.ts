import { currencyDigits, formatEstimate, formatMoney } from '../costs/money.ts';
import type { CostSums } from '../costs/sums.ts';
import type { Job } from '../job/job.ts';
import { levelText } from '../maths/coverage-level.ts';
import type { PlanResult, Spread } from '../plan/plan.ts';
import type { ReportSection } from './context.ts';
import { type Html, html } from './html.ts';

/** What the work came to; null where it is not recorded. */
export interface WorkActual {
  readonly cycles: number;
  /** Whether every limit of the job is met: a plan counts to there. */
  readonly inside: boolean;
  readonly sums: CostSums | null;
}

/**
 * What `plan` says of this job from its as-found readings alone, beside what the work came to. Null where nothing was
 * heated yet: there is nothing to compare.
 */
export function plannedSection(
  job: Job,
  { plan, reason }: PlanResult,
  actual: WorkActual,
): ReportSection | null {
  if (actual.cycles === 0) return null;
  const title = 'Planned against actual';
  if (plan === null) {
    const body = html`<p>From the as-found readings alone there is no plan: ${reason}.</p>`;
    return { id: 'planned', title, in: 'final', body };
  }
  const days = actual.sums?.days.all.length ?? 0;
  const cost = actual.sums === null || actual.sums.byKind.length === 0 ? null : actual.sums;
  const rows = [
    row('Cycles', plan.cycles, String(actual.cycles), within(plan.cycles, actual.cycles), count),
    row(
      'Working days',
      plan.days,
      days === 0 ? null : String(days),
      days === 0 ? null : within(plan.days, days),
      count,
    ),
    row(
      'Cost',
      plan.cost,
      cost === null ? null : formatMoney(cost.total, cost.currency, job.locale),
      cost === null || cost.currency !== plan.currency
        ? null
        : within(plan.cost, cost.total / 10 ** currencyDigits(cost.currency)),
      (value) => formatEstimate(value, plan.currency, job.locale),
    ),
  ];
  return {
    id: 'planned',
    title,
    in: 'final',
    body: html`<div class="scroll" tabindex="0" role="region" aria-label="${title}"><table aria-label="${title}"><thead><tr><th scope="col"></th><th scope="col" class="n">Planned</th><th scope="col" class="n">Interval, ${levelText(plan)}</th><th scope="col" class="n">Actual</th><th scope="col">Actual lies</th></tr></thead><tbody>${rows}</tbody></table></div>${actual.inside ? '' : html`<p>The plan counts to the limit; this work is not shown to be inside it, so less than planned is no saving.</p>`}<p class="small">Planned: as “sweepbook plan” has it from the as-found readings alone${plan.unforced ? ', its vees without a restraining force, which the job does not give,' : ''} worked out when this report was made; a plan signed before the work governs. One such interval in ${Math.round(1 / (1 - plan.level))} is missed even when nothing is wrong.</p>`,
  };
}

function row(
  label: string,
  spread: Spread | null,
  actual: string | null,
  where: string | null,
  text: (value: number) => string,
): Html {
  const none = 'not known';
  const interval =
    spread === null
      ? none
      : `${text(spread.low)} to ${spread.high === null ? 'may be never' : text(spread.high)}`;
  return html`<tr><th scope="row">${label}</th><td class="n">${spread === null ? none : text(spread.median)}</td><td class="n">${interval}</td><td class="n">${actual ?? 'not recorded'}</td><td>${where ?? ''}</td></tr>`;
}

function within(spread: Spread | null, actual: number): string | null {
  if (spread === null) return null;
  if (actual < spread.low) return 'below it';
  return spread.high !== null && actual > spread.high ? 'above it' : 'in it';
}

function count(value: number): string {
  return String(Math.round(value));
}
