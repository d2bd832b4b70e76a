/**
 * Bent lines drawn by hand, with no mechanics in them: a broken line through the bearings whose corners are rounded
 * one way or another, read over several cycles at arbitrary fractions of what it was. What a model of the steel assumes
 * of a bend (its taper, its sides, what supports do to it) is not in them, so that the model is met by shapes it was not made for.
 */

import type { Job } from '../../src/job/job.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { NOTHING_MORE } from '../bare-job.ts';
import { createRandom, type Random } from '../mechanics/random.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

/** How a corner turns along its length: all at once, evenly, as a cosine, or growing to one side. */
type Corner = 'kink' | 'arc' | 'cosine' | 'skewed' | 'mixed';
type Outline = 'dent' | 'flat-topped' | 's-shaped' | 'two-dents' | 'leaning';

export const CORNERS: readonly Corner[] = ['kink', 'arc', 'cosine', 'skewed', 'mixed'];
export const OUTLINES: readonly Outline[] = ['dent', 'flat-topped', 's-shaped', 'two-dents', 'leaning'];

export type SlipKind = 'inch' | 'fraction' | 'swap' | 'sign' | 'one-off';

export interface Slip {
  readonly kind: SlipKind;
  readonly cycle: number;
  readonly row: number;
  readonly station: number;
  /** Offset that should stand there, m; null for a reading that belongs to another station. */
  readonly meant: number | null;
  readonly meantStation: number | null;
}

export interface HandMade {
  readonly seed: string;
  readonly what: string;
  readonly job: Job;
  readonly readings: readonly Reading[];
  readonly slips: readonly Slip[];
  readonly fractions: readonly number[];
  /** Deviation from the chord when found, m. */
  readonly shape: (station: number) => number;
}

interface Bend {
  readonly at: number;
  readonly turn: number;
  /** Parts of the turn, each at its own station. */
  readonly parts: readonly (readonly [number, number])[];
}

const PARTS = 40;

/** A corner of unit turn and the given length, its centre of turning at 0. */
function cornerParts(corner: Corner, length: number, random: Random): [number, number][] {
  const kind = corner === 'mixed' ? random.pick(['kink', 'arc', 'cosine', 'skewed'] as const) : corner;
  if (kind === 'kink') return [[0, 1]];
  const way = random.uniform() < 0.5 ? 1 : -1;
  const parts = Array.from({ length: PARTS }, (_, i): [number, number] => {
    const t = (i + 0.5) / PARTS - 0.5;
    const weight = kind === 'arc' ? 1 : kind === 'cosine' ? 1 + Math.cos(2 * Math.PI * t) : 0.5 + way * t;
    return [t * length, weight];
  });
  const sum = parts.reduce((total, [, w]) => total + w, 0);
  const centre = parts.reduce((total, [t, w]) => total + t * w, 0) / sum;
  return parts.map(([t, w]) => [t - centre, w / sum]);
}

/** Corners of the outline as (share of the span, share of the crest). */
function outlineOf(outline: Outline, random: Random): [number, number][] {
  const middle = random.between(0.35, 0.65);
  const reach = random.between(0.12, 0.25);
  switch (outline) {
    case 'dent':
      return [
        [middle - reach, 0],
        [middle, 1],
        [middle + reach * random.between(0.7, 1.1), 0],
      ];
    case 'flat-topped':
      return [
        [middle - reach - 0.08, 0],
        [middle - 0.08, 1],
        [middle + 0.08, random.between(0.8, 1.1)],
        [middle + reach + 0.08, 0],
      ];
    case 's-shaped':
      return [
        [0.2, random.between(-0.1, 0.1)],
        [0.4, 1],
        [0.65, -random.between(0.4, 0.9)],
        [0.82, 0],
      ];
    case 'two-dents':
      return [
        [random.between(0.15, 0.25), 0.9],
        [random.between(0.45, 0.55), random.between(0, 0.3)],
        [random.between(0.72, 0.82), 1],
      ];
    case 'leaning':
      return [
        [random.between(0.2, 0.35), random.between(0.7, 1)],
        [random.between(0.55, 0.75), 1],
      ];
  }
}

function bendsOf(
  corners: readonly (readonly [number, number])[],
  span: number,
  crest: number,
  corner: Corner,
  random: Random,
): Bend[] {
  const points = [[0, 0], ...corners.map(([s, y]) => [s * span, y * crest]), [span, 0]] as [number, number][];
  return corners.map((_, k) => {
    const [before, here, after] = [points[k]!, points[k + 1]!, points[k + 2]!];
    const turn = (after[1] - here[1]) / (after[0] - here[0]) - (here[1] - before[1]) / (here[0] - before[0]);
    const room = Math.min(here[0] - before[0], after[0] - here[0]);
    return { at: here[0], turn, parts: cornerParts(corner, room * random.between(0.3, 0.9), random) };
  });
}

function deflection(bends: readonly Bend[], span: number): (station: number) => number {
  const raw = (x: number) =>
    bends.reduce(
      (sum, bend) =>
        sum + bend.turn * bend.parts.reduce((part, [t, w]) => part + w * Math.max(0, x - bend.at - t), 0),
      0,
    );
  const tilt = raw(span) / span;
  return (x) => raw(x) - tilt * x;
}

const toRule = (value: number, rule: number) => Math.round(value / rule) * rule;

/**
 * @param noisy readings rounded to 1/16 in after an error of 1/32 in; otherwise exact to 1/64 in
 * @param slips how many readings go wrong, one a cycle at most, no station twice
 */
export function handMade(
  seed: string,
  choices: {
    readonly noisy: boolean;
    readonly diaphragms: boolean;
    readonly slips: number;
    readonly outline?: Outline;
    readonly corner?: Corner;
  },
): HandMade {
  const random = createRandom(`hand-made/${seed}`);
  const outline = choices.outline ?? random.pick(OUTLINES);
  const corner = choices.corner ?? random.pick(CORNERS);
  const spacing = random.pick([1, 1.5, 2, 2.5]);
  const span = Math.round(random.between(40, 90) / spacing) * spacing * FOOT;
  const crest = random.between(2, 11) * INCH * (random.uniform() < 0.5 ? 1 : -1);
  const shape = deflection(bendsOf(outlineOf(outline, random), span, crest, corner, random), span);
  const count = Math.round(span / (spacing * FOOT)) + 1;
  const stations = Array.from({ length: count }, (_, i) => i * spacing * FOOT);
  const cycles = random.integer(4, 6);
  const fractions = [1];
  while (fractions.length < cycles)
    fractions.push(fractions.at(-1)! * random.pick([1, 0.95, 0.9, 0.85, 0.75, 0.6]));

  const rule = choices.noisy ? INCH / 16 : INCH / 64;
  const readings: Reading[] = [];
  const slips: Slip[] = [];
  const slipCycles = Array.from({ length: cycles }, (_, k) => k);
  const taken = new Set<number>();
  const wrong = new Map<number, SlipKind>();
  const kinds: SlipKind[] = ['inch', 'fraction', 'swap', 'sign', 'one-off'];
  const slipping = random.fork('slips');
  while (wrong.size < choices.slips && slipCycles.length > 0)
    wrong.set(slipCycles.splice(slipping.integer(0, slipCycles.length - 1), 1)[0]!, slipping.pick(kinds));

  fractions.forEach((fraction, cycle) => {
    const offset = random.normal() * INCH * 0.3;
    const tilt = (random.normal() * INCH * 0.3) / span;
    const at = (s: number) => fraction * shape(s) + offset + tilt * s;
    const values = stations.map((s) =>
      toRule(at(s) + (choices.noisy ? (random.normal() * INCH) / 32 : 0), rule),
    );
    const kind = wrong.get(cycle);
    if (kind !== undefined) plant(kind, cycle, values, at);
    values.forEach((value, i) => {
      readings.push({
        line: 'bottom-flange',
        cycle,
        station: stations[i]!,
        offset: value,
        state: 'released',
        sd: null,
        date: null,
        time: null,
        temperature: null,
        note: null,
        file: `cycle-${cycle}.csv`,
        row: i + 2,
      } as Reading);
    });
  });

  /** Slips of half an inch and more: a smaller one is no one's to find. */
  function plant(kind: SlipKind, cycle: number, values: number[], at: (s: number) => number): void {
    for (let attempt = 0; attempt < 200; attempt++) {
      const i = slipping.integer(2, count - 3);
      if ([...taken].some((other) => Math.abs(other - i) < 3)) continue;
      const value = values[i]!;
      const add = (to: number, place = i, meantStation: number | null = null) => {
        slips.push({
          kind,
          cycle,
          row: place + 2,
          station: stations[place]!,
          meant: meantStation === null ? values[place]! : null,
          meantStation,
        });
        values[place] = to;
      };
      const big = (a: number, b: number) => Math.abs(a - b) >= INCH / 2;
      if (kind === 'inch') add(value + INCH * (slipping.uniform() < 0.5 ? 1 : -1));
      else if (kind === 'sign') {
        if (!big(value, -value)) continue;
        add(-value);
      } else if (kind === 'fraction') {
        const inches = Math.abs(value) / INCH;
        const part = inches - Math.floor(inches);
        if (!(part > 0.5 && part < 0.98)) continue;
        const half = Math.sign(value) * (Math.floor(inches) + part / 2) * INCH;
        if (Math.abs(half - value) < 0.44 * INCH) continue;
        add(toRule(half, INCH / 64));
      } else if (kind === 'swap') {
        const next = values[i + 1]!;
        if (!big(value, next)) continue;
        add(next, i);
        add(value, i + 1);
      } else {
        // What was read a foot further on, or back, written down here.
        const meant = stations[i]! + FOOT * (slipping.uniform() < 0.5 ? 1 : -1);
        const there = toRule(at(meant), rule);
        if (!big(value, there)) continue;
        add(there, i, meant);
      }
      taken.add(i);
      return;
    }
  }

  const diaphragms = choices.diaphragms ? Array.from({ length: 3 }, (_, i) => ((i + 1) * span) / 4) : null;
  return {
    seed,
    what: `${outline}, ${corner}, every ${spacing} ft, crest ${(crest / INCH).toFixed(1)} in`,
    job: jobOf(span, diaphragms),
    readings,
    slips,
    fractions,
    shape,
  };
}

function jobOf(span: number, diaphragms: readonly number[] | null): Job {
  return {
    name: 'Drawn by hand',
    units: 'us',
    dashedLengths: null,
    member: {
      span,
      yieldStress: 36 * 6894757.293168361,
      elasticModulus: 29000 * 6894757.293168361,
      flangeWidth: 12 * INCH,
      flangeThickness: 0.9375 * INCH,
      webThickness: null,
      depth: null,
      steel: null,
      diaphragms,
    },
    lines: [
      {
        name: 'bottom-flange',
        kind: 'sweep',
        bearings: [0, span],
        positive: 'north',
        baseline: { method: 'auto' },
        standoff: 0,
        readingSd: null,
        impact: null,
        edgeSteps: [],
      },
    ],
    usefulGain: INCH / 32,
    acceptance: [
      {
        line: 'bottom-flange',
        kind: 'sweep',
        limit: INCH / 2,
        over: { kind: 'whole-line' },
        label: 'whole line',
        source: 'set by the job',
        preset: null,
      },
    ],
    ...NOTHING_MORE,
  };
}
