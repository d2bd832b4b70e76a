import type { Analysis, LineAnalysis } from '../analysis.ts';
import { median } from '../maths/median.ts';
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
 * gauge, temperature, vees and working time. One sentence a cycle, `line: cycle 2 stood still …`; none without a log.
 */
export function stillDays(analysis: Analysis, log: HeatLog): string[] {
  if (log.heats.length === 0) return [];
  return analysis.lines.flatMap((item) => {
    const heats = log.heats.filter((heat) => heat.line === null || heat.line === item.line.name);
    const days = [...new Set(heats.map((heat) => heat.cycle))].map((cycle) => dayOf(cycle, heats));
    const still = stillCycles(item);
    const others = days.filter((day) => day.cycle > 0 && !still.includes(day.cycle));
    return still.map((cycle) => {
      const day = days.find((each) => each.cycle === cycle);
      const head = `${item.line.name} stood still in cycle ${cycle}`;
      return day === undefined
        ? `${head}; heats.csv has no heat of that cycle.`
        : `${head}. ${beside(day, others, analysis.job.units === 'us')}`;
    });
  });
}

/** Cycles read one by one that stood still, within the last ten. */
function stillCycles({ progress }: LineAnalysis): number[] {
  const { pattern } = progress;
  if (pattern === null) return [];
  return [...pattern.stoodStill.cycles];
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

function beside(day: DayOfHeats, others: readonly DayOfHeats[], us: boolean): string {
  const units = us ? 'us' : 'si';
  const facts = [
    fact('gauge', day.gauge, usual(others, 'gauge'), (p) =>
      us ? `${grouped(Math.round(p / PSI / 10) * 10)} psi` : `${Math.round(p / 1e5)} bar`,
    ),
    fact('steel heated to', day.temperature, usual(others, 'temperature'), (t) =>
      formatTemperature(t, units),
    ),
    fact('vees', day.vees, usual(others, 'vees'), (n) => `${Math.round(n)}`),
    fact('working time, first heat to last,', day.hours, usual(others, 'hours'), (h) => `${h.toFixed(1)} h`),
  ].filter((each) => each !== null);
  if (facts.length === 0) return 'The log says too little of its heats to lay it beside other days.';
  const unlike = facts.filter((each) => each.differs);
  if (unlike.length > 0) return `Unlike days that moved: ${unlike.map((each) => each.text).join('; ')}.`;
  return others.length === 0
    ? `Its heats: ${facts.map((each) => each.text).join('; ')}; no other day is logged to compare.`
    : `Its heats were like those of days that moved (${facts.map((each) => each.text).join('; ')}): look elsewhere, at restraint and where the vees stood.`;
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
