import type { Analysis, Verdict, Zone } from '../analysis.ts';
import { shortVerdict } from '../decision/verdict-words.ts';
import { inertText } from '../inert-text.ts';
import { PRACTICE_WARNING } from '../job/practice-mark.ts';
import { formatLength } from '../units/format-length.ts';
import { formatAngle } from '../units/format-quantity.ts';
import { wrapText } from '../wrap-text.ts';
import { valueAt } from './beam.ts';
import type { GirderTruth, TrueZone } from './girder.ts';
import { largestOf, type PracticeState, rotationOver } from './steel.ts';
import { PRACTICE_LINE, type PracticeSurvey } from './survey.ts';

/** The truth of one cycle beside what the tool said of it; lengths in m, rotations in rad. */
export interface RevealedCycle {
  readonly cycle: number;
  readonly truth: { readonly station: number; readonly deviation: number };
  /** Largest deviation the tool gave; null where the cycle was not added, or was read under load only. */
  readonly said: { readonly station: number; readonly deviation: number; readonly u: number } | null;
  readonly verdict: Verdict | null;
  readonly dead: boolean;
  /** Mean of |turn| of the vees. */
  readonly turned: number | null;
  readonly slips: readonly { readonly station: number; readonly change: number; readonly found: boolean }[];
  readonly jacksLeftOn: boolean;
}

/** A bend of the truth and the zone the tool found nearest to it, as found. */
export interface RevealedZone {
  readonly truth: Pick<TrueZone, 'core' | 'centre' | 'rotation' | 'strainRatio'>;
  readonly said: Zone | null;
  /** Total curvature across it now. */
  readonly now: number;
  readonly saidNow: { readonly rotation: number; readonly u: number } | null;
}

export interface Revealed {
  readonly cycles: readonly RevealedCycle[];
  readonly zones: readonly RevealedZone[];
  /** Zones the tool found where nothing is bent. */
  readonly invented: readonly Zone[];
  /** Of the stations judged in the released surveys, jacks off as they say: how many lie within two of their u of the truth. */
  readonly stations: { readonly within: number; readonly all: number };
}

/** Puts the truth of a practice beside what the tool made of its readings. */
export function reveal(
  truth: GirderTruth,
  states: readonly PracticeState[],
  surveys: readonly (readonly PracticeSurvey[])[],
  analysis: Analysis,
  verdicts: ReadonlyMap<number, Verdict>,
): Revealed {
  const entry = analysis.lines.find(({ line }) => line.name === PRACTICE_LINE);
  const released = (entry?.fit.surveys ?? []).filter((survey) => survey.state === 'released');
  let [within, all] = [0, 0];
  for (const survey of released) {
    const state = states[survey.cycle];
    // A sheet that does not say the jacks were on is not the tool's to see through.
    if (state === undefined || surveys[survey.cycle]?.some((each) => each.jacksLeftOn) === true) continue;
    for (const each of survey.stations.filter((one) => !one.setAside)) {
      all++;
      const apart = each.deviation - valueAt(truth.grid, state.displacement, each.station);
      if (Math.abs(apart) <= 2 * each.u) within++;
    }
  }
  const cycles = states.map((state, cycle): RevealedCycle => {
    const survey = released.find((each) => each.cycle === cycle);
    return {
      cycle,
      truth: largestOf(truth, state),
      said: survey?.largest ?? null,
      verdict: verdicts.get(cycle) ?? null,
      dead: state.dead,
      turned:
        state.turned.length === 0
          ? null
          : state.turned.reduce((sum, turn) => sum + Math.abs(turn), 0) / state.turned.length,
      slips: (surveys[cycle] ?? [])
        .flatMap((each) => each.slips)
        .map(({ station, change }) => ({
          station,
          change,
          found: survey?.setAside.some((aside) => Math.abs(aside.station - station) < 1e-3) === true,
        })),
      jacksLeftOn: (surveys[cycle] ?? []).some((each) => each.jacksLeftOn),
    };
  });
  const found = (entry?.fit.zones ?? []).filter((zone) => zone.class === 'plastic');
  const taken = new Set<Zone>();
  const zones = truth.zones.map((bent): RevealedZone => {
    const near = found
      .filter((zone) => !taken.has(zone) && zone.from <= bent.core.to && zone.to >= bent.core.from)
      .sort((a, b) => Math.abs(a.core.centre - bent.centre) - Math.abs(b.core.centre - bent.centre))[0];
    if (near !== undefined) taken.add(near);
    return {
      truth: bent,
      said: near ?? null,
      now: rotationOver(truth, states.at(-1)!, bent.core.from, bent.core.to),
      saidNow: released.at(-1)?.zones.find((zone) => zone.zone === near?.zone) ?? null,
    };
  });
  return { cycles, zones, invented: found.filter((zone) => !taken.has(zone)), stations: { within, all } };
}

/** The reveal as a page of text. */
export function revealText(analysis: Analysis, revealed: Revealed, width: number): string {
  const { job } = analysis;
  const entry = analysis.lines.find(({ line }) => line.name === PRACTICE_LINE);
  const small = (metres: number) => formatLength(metres, { units: job.units, as: 'offset', fraction: 16 });
  const where = (metres: number) => formatLength(metres, { units: job.units, as: 'station', fraction: 2 });
  const lines = [PRACTICE_WARNING, inertText(job.name), ''];
  const say = (text: string) => lines.push(...wrapText(text, width, '  ', 2));

  lines.push('Baseline');
  if (entry !== undefined) say(`The tool: ${entry.fit.baseline.reason}`);
  say('The truth: the flange was straight before the blow.');
  const { within, all } = revealed.stations;
  if (all > 0)
    say(
      `Of ${all} stations the tool judged, ${within} (${Math.round((100 * within) / all)} %) lie within its ± of the truth; 95 % is what it claims.`,
    );

  lines.push('', 'Bends as found');
  for (const zone of revealed.zones) {
    const { core, rotation } = zone.truth;
    const place = `${where(core.from)} to ${where(core.to)}`;
    say(
      zone.said === null
        ? `${place}, truly ${formatAngle(rotation)}: the tool found no bend here.`
        : `${place}, truly ${formatAngle(rotation)}; the tool says zone ${zone.said.zone}, ${where(zone.said.from)} to ${where(zone.said.to)}, ${formatAngle(zone.said.rotation)} ± ${formatAngle(2 * zone.said.rotationU)}: ${agreement(zone.said.rotation - rotation, zone.said.rotationU)}.`,
    );
    if (zone.saidNow !== null && revealed.cycles.length > 1)
      say(
        `  now truly ${formatAngle(zone.now)}; the tool says ${formatAngle(zone.saidNow.rotation)} ± ${formatAngle(2 * zone.saidNow.u)}.`,
      );
  }
  for (const zone of revealed.invented)
    say(`The tool found zone ${zone.zone} at ${where(zone.core.centre)}, where nothing is bent.`);

  lines.push('', 'Cycle by cycle (largest off straight)');
  for (const cycle of revealed.cycles) {
    const said =
      cycle.said === null
        ? 'the tool has no released reading of it'
        : `the tool ${small(Math.abs(cycle.said.deviation))} ± ${small(2 * cycle.said.u)}${cycle.verdict === null ? '' : `, "${shortVerdict({ verdict: cycle.verdict, untouched: false })}"`}`;
    say(
      [
        `${cycle.cycle}: truly ${small(Math.abs(cycle.truth.deviation))} at ${where(cycle.truth.station)}; ${said}.`,
        ...(cycle.dead ? ['A dead day: hardly anything moved, whatever was heated.'] : []),
        ...(cycle.turned === null || cycle.dead
          ? []
          : [`A vee turned ${formatAngle(cycle.turned)} on average.`]),
        ...(cycle.jacksLeftOn
          ? ['The jacks had been left on when it was read, and the sheet did not say so.']
          : []),
        ...cycle.slips.map(
          ({ station, change, found }) =>
            `A slip of ${small(Math.abs(change))} at ${where(station)}, which the tool ${found ? 'set aside' : 'did not set aside'}.`,
        ),
      ].join(' '),
    );
  }
  return `${lines.join('\n')}\n`;
}

/** How a statement with its standard uncertainty came out. */
function agreement(difference: number, u: number): string {
  return Math.abs(difference) <= 2 * u ? 'right within its ±' : 'NOT right within its ±';
}
