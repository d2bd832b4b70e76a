import type { Analysis } from '../analysis.ts';
import { median } from '../maths/median.ts';
import { quietOf } from '../survey/movement.ts';
import { PSI } from '../units/factors.ts';
import { formatTemperature } from '../units/format-quantity.ts';
import type { Heat, HeatLog } from './heat-log.ts';

/** A day's figure this far from that of other days is told as a difference; common practice, no source. */
const DIFFERENT = 0.15;

/** What the log says of the heats of one cycle; null where it does not say. */
interface DayOfHeats {
  readonly cycle: number;
  readonly vees: number;
  /** Middle gauge pressure, Pa, and steel temperature, °C. */
  readonly gauge: number | null;
  readonly temperature: number | null;
  /** From the first logged heat to the last, h; null with fewer than two times. */
  readonly hours: number | null;
}

/**
 * Cycles on which a line stood still, each laid beside what the heat log says of that day and of the days that moved:
 * gauge, temperature, vees and working time. One sentence for each cycle whose heats were unlike, one for all that were
 * like the others, one for all that are not in the log; none without a log.
 */
export function stillDays(analysis: Analysis, log: HeatLog): string[] {
  if (log.heats.length === 0) return [];
  return analysis.lines.flatMap((item) => {
    const heats = log.heats.filter((heat) => heat.line === null || heat.line === item.line.name);
    const days = [...new Set(heats.map((heat) => heat.cycle))].map((cycle) => dayOf(cycle, heats));
    // A day whose work shows elsewhere on the line was no dead day.
    const { still } = quietOf(item);
    const others = days.filter((day) => day.cycle > 0 && !still.includes(day.cycle));
    const logged = still.flatMap((cycle) => days.filter((day) => day.cycle === cycle));
    const missing = still.filter((cycle) => !logged.some((day) => day.cycle === cycle));
    const us = analysis.job.units === 'us';
    const unlike = logged.filter((day) => factsOf(day, others, us).some((each) => each.differs));
    const like = logged.filter((day) => !unlike.includes(day));
    const head = (cycles: readonly number[]) => `${item.line.name} stood still in ${cyclesText(cycles)}`;
    return [
      ...unlike.map((day) => `${head([day.cycle])}. ${besideUnlike(day, others, us)}`),
      ...(like.length === 0
        ? []
        : [`${head(like.map((day) => day.cycle))}. ${besideLike(like, others, us)}`]),
      ...(missing.length === 0
        ? []
        : [
            `${head(missing)}; heats.csv has no heat of ${missing.length === 1 ? 'that cycle' : 'those cycles'}.`,
          ]),
    ];
  });
}

/** `cycle 4`, `cycles 9 to 14`, `cycles 2, 5 and 9 to 11`. */
function cyclesText(cycles: readonly number[]): string {
  const runs: [number, number][] = [];
  for (const cycle of [...cycles].sort((a, b) => a - b)) {
    const last = runs.at(-1);
    if (last !== undefined && cycle === last[1] + 1) last[1] = cycle;
    else runs.push([cycle, cycle]);
  }
  const words = runs.map(([from, to]) => (from === to ? `${from}` : `${from} to ${to}`));
  const text = words.length === 1 ? words[0]! : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
  return `${cycles.length === 1 ? 'cycle' : 'cycles'} ${text}`;
}

function dayOf(cycle: number, heats: readonly Heat[]): DayOfHeats {
  const own = heats.filter((heat) => heat.cycle === cycle);
  const times = own.flatMap((heat) => (heat.time === null ? [] : [hour(heat.time)]));
  return {
    cycle,
    vees: own.filter((heat) => heat.pattern === 'vee').length,
    gauge: middle(own.flatMap((heat) => heat.pressure ?? [])),
    temperature: middle(own.flatMap((heat) => heat.temperature ?? [])),
    hours: times.length < 2 ? null : Math.max(...times) - Math.min(...times),
  };
}

type Fact = NonNullable<ReturnType<typeof fact>>;

function factsOf(day: Omit<DayOfHeats, 'cycle'>, others: readonly DayOfHeats[], us: boolean): Fact[] {
  const units = us ? 'us' : 'si';
  return [
    fact('gauge', day.gauge, usual(others, 'gauge'), (p) =>
      us ? `${grouped(Math.round(p / PSI / 10) * 10)} psi` : `${Math.round(p / 1e5)} bar`,
    ),
    fact('steel heated to', day.temperature, usual(others, 'temperature'), (t) =>
      formatTemperature(t, units),
    ),
    fact('vees', day.vees, usual(others, 'vees'), (n) => `${Math.round(n)}`),
    fact('working time, first heat to last,', day.hours, usual(others, 'hours'), (h) => `${h.toFixed(1)} h`),
  ].filter((each) => each !== null);
}

function besideUnlike(day: DayOfHeats, others: readonly DayOfHeats[], us: boolean): string {
  const unlike = factsOf(day, others, us).filter((each) => each.differs);
  return `Unlike days that moved: ${textOf(unlike)}.`;
}

function besideLike(days: readonly DayOfHeats[], others: readonly DayOfHeats[], us: boolean): string {
  const together = {
    vees: usual(days, 'vees') ?? 0,
    gauge: usual(days, 'gauge'),
    temperature: usual(days, 'temperature'),
    hours: usual(days, 'hours'),
  };
  const facts = factsOf(together, others, us);
  const its = days.length === 1 ? 'Its' : 'Their';
  if (facts.length === 0) return 'The log says too little of its heats to lay it beside other days.';
  return others.length === 0
    ? `${its} heats: ${textOf(facts)}; no other day is logged to compare.`
    : `${its} heats were like those of days that moved (${textOf(facts)}): look elsewhere, at restraint and where the vees stood.`;
}

function textOf(facts: readonly Fact[]): string {
  return facts.map((each) => each.text).join('; ');
}

function fact(
  name: string,
  here: number | null,
  usually: number | null,
  say: (value: number) => string,
): { readonly text: string; readonly differs: boolean } | null {
  if (here === null) return null;
  if (usually === null) return { text: `${name} ${say(here)}`, differs: false };
  const differs = Math.abs(here - usually) > DIFFERENT * Math.max(Math.abs(here), Math.abs(usually));
  return {
    text: differs ? `${name} ${say(here)} that day, ${say(usually)} on others` : `${name} ${say(here)}`,
    differs,
  };
}

function usual(days: readonly DayOfHeats[], key: 'vees' | 'gauge' | 'temperature' | 'hours'): number | null {
  return middle(days.flatMap((day) => day[key] ?? []));
}

function middle(values: readonly number[]): number | null {
  return values.length === 0 ? null : median(values);
}

/** hh:mm as hours. */
function hour(time: string): number {
  const [hours, minutes] = time.split(':').map(Number);
  return hours! + minutes! / 60;
}

/** `6,500` */
function grouped(value: number): string {
  return String(value).replace(/\B(?=(\d{3})+$)/g, ',');
}
