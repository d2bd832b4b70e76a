import type { Job, Member } from '../../job/job.ts';
import type { Part, Section } from '../../member/section.ts';
import { type Html, html } from '../html.ts';
import type { Quantities } from '../quantities.ts';
import { legend, markerPath, narrow, px, svg } from '../svg.ts';

/** A section to draw: what it was found as and what it is now; null where nothing was read there at that moment. */
export interface DrawnSection {
  readonly station: number;
  readonly why: string;
  readonly found: Section | null;
  readonly now: Section | null;
}

/** Exaggerations a reader can multiply in the head. */
const FACTORS = [1, 2, 5, 10, 20] as const;
/** A depth to draw by where the job has none: the web is then broken, and no scale holds along it. */
const NOMINAL_DEPTH = 3;
/** Web thickness to draw by where the job has none, over the flange's; the web is then dotted. */
const NOMINAL_WEB = 0.6;

interface Placing {
  readonly member: Pick<Member, 'depth' | 'flangeWidth' | 'flangeThickness' | 'webThickness'>;
  /** px per m of the section. */
  readonly scale: number;
  /** Times movements and turns are enlarged. */
  readonly factor: number;
  /** Middle of the undamaged web, and the top of the section, px. */
  readonly middle: number;
  readonly roof: number;
}

/**
 * Sections along the member side by side, all at one scale and one stated exaggeration, so that they can be compared.
 * What no reading says is dotted and hollow, never drawn like steel that was read.
 *
 * @param height px of the girder's depth on the wide drawing
 * @param beside sections drawn elsewhere at the same scale, such as those a slider goes through
 */
export function sectionsDrawing(
  sections: readonly DrawnSection[],
  job: Job,
  positive: string,
  q: Quantities,
  width: number,
  height: number,
  beside: readonly DrawnSection[] = sections,
): Html {
  const small = narrow({ width });
  const columns = Math.max(1, Math.min(sections.length, small ? 2 : Math.max(3, sections.length)));
  const rows = Math.ceil(sections.length / columns);
  const cell = width / columns;
  const depth = depthDrawn(job.member);
  const tall = small ? Math.max(90, Math.min(height, 120)) : height;
  const scale = Math.min(tall / depth, (0.62 * cell) / job.member.flangeWidth);
  const factor = exaggeration(beside, job.member, scale, cell);
  const drawn = depth * scale;
  const key = legend(legendEntries(sections), 6, 12, width);
  const direction = key.height + 18;
  const broken = job.member.depth === null ? 'depth not given, web broken' : '';
  const head = direction + (small ? 30 + (broken === '' ? 0 : 16) : 14);
  const most = (pick: (part: number) => number) =>
    Math.max(0, ...beside.flatMap(({ found, now }) => [found, now].map((s) => pick(s?.rise.value ?? 0)))) *
    scale *
    factor;
  const [lifted, sunk] = [most((v) => v), most((v) => -v)];
  const each = drawn + lifted + sunk + 88;
  const frame = { width, height: head + rows * each };
  const body = sections.map((section, i) => {
    const left = (i % columns) * cell;
    const names = head + Math.floor(i / columns) * each + 14;
    const roof = names + 20 + lifted;
    const placing = { member: job.member, scale, factor, middle: left + cell / 2, roof };
    return html`<g class="axis"><text class="strong" x="${px(left + cell / 2)}" y="${px(names)}" text-anchor="middle">${q.place(section.station)}</text><text x="${px(left + cell / 2)}" y="${px(names + 13)}" text-anchor="middle">${section.why}</text></g>${oneSection(section, placing)}${numbers(section, left + cell / 2, roof + drawn + sunk + 22, q)}`;
  });
  const plus = `+ ${clip(positive, small ? 46 : 70)}`;
  const scaleWords =
    factor === 1 ? 'to scale, movements too' : `section to scale, movements and turns ${factor} times`;
  // A phone has no room for them on one line.
  const beneath = [scaleWords, broken].filter((text) => text !== '');
  return svg(
    frame,
    label(sections, positive, q, factor),
    html`${key.drawing}<g class="direction"><path d="M8 ${px(direction - 4)}h18m-7 -5l8 5l-8 5"/><text x="34" y="${px(direction)}">${small ? plus : [plus, ...beneath].join('; ')}</text>${small ? beneath.map((text, i) => html`<text x="8" y="${px(direction + 16 * (i + 1))}">${text}</text>`) : ''}</g>${body}`,
  );
}

/** The exaggeration of a row, for its caption. */
function exaggeration(
  sections: readonly DrawnSection[],
  member: Member,
  scale: number,
  cell: number,
): number {
  const moves = sections.flatMap(({ found, now }) =>
    [found, now].flatMap((s) => (s === null ? [] : [s.bottom.across, s.top.across, s.rise])),
  );
  const largest = Math.max(0, ...moves.map((part) => Math.abs(part.value)));
  if (largest === 0) return 1;
  const room = Math.max(
    0,
    Math.min(0.45 * depthDrawn(member) * scale, cell / 2 - (member.flangeWidth * scale) / 2 - 3),
  );
  return FACTORS.findLast((f) => largest * scale * f <= room) ?? 1;
}

function depthDrawn(member: Pick<Member, 'depth' | 'flangeWidth'>): number {
  return member.depth ?? NOMINAL_DEPTH * member.flangeWidth;
}

function oneSection({ found, now }: DrawnSection, at: Placing): Html {
  const same = found !== null && now !== null && sameShape(found, now);
  return html`<g class="section">${outline(UNDAMAGED, at, 'undamaged')}${found === null || same ? '' : outline(found, at, 'was')}${now === null ? '' : outline(now, at, 'is')}${now === null ? '' : bar(now, at)}${found === null || same ? '' : dots(found, at, 'found-mark')}${now === null ? '' : dots(now, at, 'now-mark')}</g>`;
}

function sameShape(a: Section, b: Section): boolean {
  const parts = (s: Section) => [s.bottom.across, s.bottom.turn, s.top.across, s.top.turn, s.lean, s.rise];
  const others = parts(b);
  return parts(a).every((part, i) => part.value === others[i]!.value && part.cycle === others[i]!.cycle);
}

const STILL: Part = { value: 0, u: 0, how: 'read', lines: [], cycle: null };
const UNDAMAGED: Section = {
  station: 0,
  bottom: { across: STILL, turn: STILL },
  top: { across: STILL, turn: STILL },
  lean: STILL,
  rise: STILL,
};

/** Three plates. A camber lifts the whole section; the lean's own lift of the bottom is below a pixel and left out. */
function outline(section: Section, at: Placing, style: 'undamaged' | 'was' | 'is'): Html {
  const { member, scale, factor, middle, roof } = at;
  const tall = depthDrawn(member) * scale;
  const thick = Math.max(1.5, member.flangeThickness * scale);
  const web = Math.max(1.2, (member.webThickness ?? NOMINAL_WEB * member.flangeThickness) * scale);
  const lift = -section.rise.value * scale * factor;
  const [top, bottom] = [
    { x: middle + section.top.across.value * scale * factor, y: roof + lift },
    { x: middle + section.bottom.across.value * scale * factor, y: roof + tall + lift },
  ];
  const half = (member.flangeWidth * scale) / 2;
  const flange = (x: number, y: number, turn: number): string => {
    const [c, s] = [Math.cos(turn * factor), Math.sin(turn * factor)];
    const point = (along: number, down: number) =>
      `${px(x + along * c + down * s)} ${px(y - along * s + down * c)}`;
    return `M${point(-half, -thick / 2)}L${point(half, -thick / 2)}L${point(half, thick / 2)}L${point(-half, thick / 2)}Z`;
  };
  const stem = webPath(top.x, top.y + thick, bottom.x, bottom.y - thick, web, member.depth === null);
  const known = (...parts: readonly Part[]) => parts.every((part) => part.how !== 'assumed');
  const webKnown = known(section.top.across, section.bottom.across);
  const css = (sure: boolean) => `${style}${sure ? '' : ' guess'}`;
  return html`<path class="${css(webKnown)}" d="${stem}"/><path class="${css(known(section.top.across, section.top.turn))}" d="${flange(top.x, top.y + thick / 2, section.top.turn.value)}"/><path class="${css(known(section.bottom.across, section.bottom.turn))}" d="${flange(bottom.x, bottom.y - thick / 2, section.bottom.turn.value)}"/>`;
}

/** A straight web between the flanges; broken at mid-height, as draughtsmen do, where its true height is not known. */
function webPath(x0: number, y0: number, x1: number, y1: number, web: number, broken: boolean): string {
  const at = (share: number) => [x0 + (x1 - x0) * share, y0 + (y1 - y0) * share] as const;
  const strip = (from: number, to: number) => {
    const [[a, b], [c, d]] = [at(from), at(to)];
    return `M${px(a - web / 2)} ${px(b)}L${px(a + web / 2)} ${px(b)}L${px(c + web / 2)} ${px(d)}L${px(c - web / 2)} ${px(d)}Z`;
  };
  if (!broken) return strip(0, 1);
  const tick = (share: number) => {
    const [x, y] = at(share);
    return `M${px(x - web / 2 - 4)} ${px(y + 2)}L${px(x + web / 2 + 4)} ${px(y - 2)}`;
  };
  return `${strip(0, 0.46)}${strip(0.54, 1)}${tick(0.46)}${tick(0.54)}`;
}

/** Where a flange was read or worked out, on the middle of its outer face: read even where its tilt was not. */
function dots(section: Section, { member, scale, factor, middle, roof }: Placing, style: string): Html | '' {
  const lift = -section.rise.value * scale * factor;
  const marks = [
    { part: section.top.across, y: roof + lift },
    { part: section.bottom.across, y: roof + depthDrawn(member) * scale + lift },
  ]
    .filter(({ part }) => sure(part))
    .map(({ part, y }) => markerPath('circle', middle + part.value * scale * factor, y, 2.4));
  return marks.length === 0 ? '' : html`<g class="${style}"><path d="${marks.join('')}"/></g>`;
}

/** Two standard uncertainties of where the bottom flange is now, sideways, at the exaggeration of the drawing. */
function bar(now: Section, { member, scale, factor, middle, roof }: Placing): Html | '' {
  const { value, u } = now.bottom.across;
  if (u === null) return '';
  const y = roof + depthDrawn(member) * scale - now.rise.value * scale * factor + 7;
  const [from, to] = [value - 2 * u, value + 2 * u].map((v) => middle + v * scale * factor) as [
    number,
    number,
  ];
  return html`<path class="now-bar" d="M${px(from)} ${px(y)}H${px(to)}M${px(from)} ${px(y - 2.5)}v5M${px(to)} ${px(y - 2.5)}v5"/>`;
}

function numbers({ found, now }: DrawnSection, x: number, y: number, q: Quantities): Html {
  const shown = now ?? found;
  if (shown === null)
    return html`<g class="axis"><text x="${px(x)}" y="${px(y)}" text-anchor="middle">not read here</text></g>`;
  const lines = [
    sure(shown.bottom.across) ? `bottom ${withU(shown.bottom.across, q)}` : 'bottom not read',
    sure(shown.lean) ? `web leans ${withU(shown.lean, q)}` : 'web not read',
    sure(shown.bottom.turn) ? `flange turned ${turnText(shown.bottom.turn, q)}` : 'flange tilt not read',
  ];
  return html`<g class="axis">${lines.map((text, i) => html`<text x="${px(x)}" y="${px(y + 13 * i)}" text-anchor="middle">${text}</text>`)}</g>`;
}

function sure(part: Part): boolean {
  return part.how !== 'assumed';
}

export function withU(part: Part, q: Quantities): string {
  return `${q.signed(part.value)} ${part.u === null ? q.offsetUnit : q.plusMinus(part.u)}`;
}

export function turnText(part: Part, q: Quantities): string {
  return `${q.angle(part.value)}${part.u === null ? '' : ` ± ${((360 * part.u) / Math.PI).toFixed(1)}°`}`;
}

function legendEntries(sections: readonly DrawnSection[]) {
  const box = (css: string) => (x: number, y: number) =>
    html`<g class="section"><rect class="${css}" x="${px(x)}" y="${px(y - 4)}" width="26" height="8"/></g>`;
  const guessed = sections.some(({ found, now }) =>
    [found, now].some(
      (s) =>
        s !== null &&
        [s.bottom.across, s.bottom.turn, s.top.across, s.top.turn].some((part) => part.how === 'assumed'),
    ),
  );
  const moved = sections.some(({ found, now }) => found !== null && now !== null && !sameShape(found, now));
  return [
    { sample: box('is'), text: moved ? 'now' : 'as found' },
    ...(moved ? [{ sample: box('was'), text: 'as found' }] : []),
    { sample: box('undamaged'), text: 'undamaged' },
    {
      sample: (x: number, y: number) =>
        html`<g class="now-mark"><path d="${markerPath('circle', x + 20, y, 3)}"/></g>`,
      text: 'where read',
    },
    ...(guessed ? [{ sample: box('is guess'), text: 'dotted: not read' }] : []),
  ];
}

function clip(text: string, most: number): string {
  return text.length > most ? `${text.slice(0, most - 1)}…` : text;
}

function label(sections: readonly DrawnSection[], positive: string, q: Quantities, factor: number): string {
  const words = sections.map((section) => {
    const shown = section.now ?? section.found;
    if (shown === null) return `At ${q.place(section.station)} nothing was read.`;
    const part = (name: string, p: Part, text: string) => (sure(p) ? `${name} ${text}` : `${name} not read`);
    return `At ${q.place(section.station)} (${section.why}): ${part('bottom flange', shown.bottom.across, withU(shown.bottom.across, q))}, ${part('top flange', shown.top.across, withU(shown.top.across, q))}, ${part('web lean', shown.lean, withU(shown.lean, q))}, ${part('flange turned', shown.bottom.turn, turnText(shown.bottom.turn, q))}.`;
  });
  return `Cross-sections of the member, ${factor === 1 ? 'movements to scale' : `movements enlarged ${factor} times`}; plus is ${positive}. ${words.join(' ')}`;
}
