import { formatEstimate } from '../costs/money.ts';
import type { Job } from '../job/job.ts';
import { levelText } from '../maths/coverage-level.ts';
import { INCH } from '../units/factors.ts';
import { formatLimit } from '../units/format-length.ts';
import { wrapText } from '../wrap-text.ts';
import type { Plan, Spread } from './plan.ts';

/** A plan as a page of text: counts with their intervals, what they rest on, and what they leave out. */
export function planText(job: Job, plan: Plan, width: number): string {
  const lines: string[] = [];
  const say = (label: string, text: string | null) => {
    if (text === null) return;
    lines.push(...wrapText(`${label.padEnd(18)}${text}`, width, '  ', 18));
  };
  const when = plan.fromCycle === 0 ? 'before the first heat' : `after cycle ${plan.fromCycle}`;
  lines.push(`${job.name}: plan ${when}`, '='.repeat(Math.min(width, 80)), '');
  lines.push(...wrapText(`${chance(plan)} ${levelText(plan)} intervals in brackets.`, width), '');
  say('cycles', spreadText(plan.cycles, whole));
  say('vees', spreadText(plan.vees, whole));
  say('working days', spreadText(plan.days, whole));
  say('of them heating', spreadText(plan.heatingDays, whole));
  say('closure hours', spreadText(plan.closureHours, whole));
  say(
    'finished',
    plan.finish === null
      ? null
      : `${plan.finish.median} (${plan.finish.low} to ${plan.finish.high ?? 'may be never'})`,
  );
  say(
    'cost',
    spreadText(plan.cost, (value) => formatEstimate(value, plan.currency, job.locale)),
  );
  say(
    'gas',
    spreadText(plan.gas, (value) => `${whole(value)} ${plan.gasUnit ?? ''}`.trim()),
  );
  lines.push('', 'What the spread of the working days comes from');
  if (plan.drivers.length === 0) say('', 'no single quantity');
  for (const driver of plan.drivers.slice(0, 4)) say(`${Math.round(100 * driver.share)} %`, driver.label);
  lines.push('', `What it reckons with (middle, ${levelText(plan)} interval, and where it comes from)`);
  for (const each of plan.learnt) {
    const number = (value: number) =>
      value >= 100 || each.name.startsWith('days: ') ? whole(value) : value.toPrecision(2);
    lines.push(
      ...wrapText(
        `${each.label}: ${number(each.median)} (${number(each.low)} to ${number(each.high)}); ${each.source}.`,
        width,
        '  ',
        2,
      ),
    );
    if (each.term !== null) lines.push(...wrapText(`${each.term}.`, width, '    ', 0));
    const like = each.jobs
      .slice(0, 3)
      .map(({ job: name, weight }) => `${name} ${Math.round(100 * weight)} %`);
    if (like.length > 0) lines.push(...wrapText(`most like this one: ${like.join(', ')}.`, width, '    ', 0));
  }
  lines.push('', 'What it takes for granted');
  // Where the readings forecast, the status says what to.
  for (const each of plan.lines.filter(({ basis }) => basis === 'vees' || basis === 'bulge'))
    lines.push(
      ...wrapText(
        `${plan.lines.length === 1 ? 'Work' : `Work on ${each.line}`} stops at ${aimText(each.aim, job.units)} or less, inside the limit of ${formatLimit(each.limit, job.units)} by what measurement leaves uncertain.`,
        width,
        '  ',
        0,
      ),
    );
  for (const assumption of plan.assumptions) lines.push(...wrapText(assumption, width, '  ', 0));
  return `${lines.join('\n')}\n`;
}

/** Rounded down to what a reader can use: work that stops at it stops inside. */
function aimText(aim: number, units: Job['units']): string {
  return units === 'us'
    ? `${(Math.floor((100 * aim) / INCH + 1e-9) / 100).toFixed(2)} in`
    : `${(Math.floor(10_000 * aim + 1e-9) / 10).toFixed(1)} mm`;
}

function chance(plan: Plan): string {
  const subject = subjectOf(plan);
  if (plan.probability === null)
    return plan.basis === 'plates'
      ? `${plan.line} stands still by its readings: this is the way that ends the heating, with plates.`
      : `${subject.text} inside ${subject.their} limits: this is the work that is left.`;
  const percent = Math.round(100 * plan.probability);
  const gets = `${heatedText(plan)} inside the limit in`;
  if (percent >= 99) return `${gets} nearly every future followed.`;
  return `${gets} ${percent} % of the futures followed.`;
}

/** Who is inside: the one line of the job, or all of them. */
export function subjectOf({ lines, line }: Plan): { readonly text: string; readonly their: string } {
  return lines.length === 1
    ? { text: `${line} is`, their: 'its' }
    : { text: lines.length === 2 ? 'Both lines are' : `All ${lines.length} lines are`, their: 'their' };
}

/** "edge gets", or of several that are heated "edge, which is furthest outside, and 2 more lines get". */
export function heatedText({ lines, line }: Plan): string {
  const more = lines.filter(({ basis }) => basis !== 'done' && basis !== 'plates').length - 1;
  if (more < 1) return `${line} gets`;
  return `${line}, which is furthest outside, and ${more} more ${more === 1 ? 'line' : 'lines'} get`;
}

function whole(value: number): string {
  return `${Math.round(value)}`;
}

function spreadText(spread: Spread | null, text: (value: number) => string): string | null {
  if (spread === null) return null;
  return `${text(spread.median)} (${text(spread.low)} to ${spread.high === null ? 'may be never' : text(spread.high)})`;
}
