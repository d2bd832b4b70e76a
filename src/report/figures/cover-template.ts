import type { Job } from '../../job/job.ts';
import type { CoverPlateFit } from '../../plates/cover-plate.ts';
import { coverWords } from '../../plates/cover-plate-text.ts';
import type { Box } from '../../plates/opening.ts';
import { type Html, html } from '../html.ts';
import { linear, px } from '../svg.ts';
import { openingPath } from './cover-plate.ts';

const INK = '#17212b';

/** What one sheet of a full-size template holds, m: with a flap around it, inside the margins of A4 and of Letter. */
const WINDOW = {
  us: { wide: 6.5 * 0.0254, tall: 8.5 * 0.0254 },
  si: { wide: 0.165, tall: 0.215 },
} as const;
/** Strip around the window that repeats what the next sheet holds, m. */
const FLAP = 0.01;
/** Length to check the print by, m. */
const CHECK = { us: { long: 4 * 0.0254, word: '4 in' }, si: { long: 0.1, word: '100 mm' } } as const;

export interface Tile {
  /** Column by letter from the near end, row by number from the lower edge: `B1`. */
  readonly name: string;
  readonly column: number;
  readonly row: number;
  readonly window: Box;
}

/** The sheets a plate takes at full size, from the lower near corner; those that show no line and no hole are left out. */
export function tilesOf(job: Job, outline: Box, fit: CoverPlateFit): Tile[] {
  const { wide, tall } = WINDOW[job.units];
  const columns = Math.ceil((outline.to - outline.from) / wide - 1e-9);
  const rows = Math.ceil((outline.high - outline.low) / tall - 1e-9);
  return Array.from({ length: columns * rows }, (_, k): Tile => {
    const [column, row] = [k % columns, Math.floor(k / columns)];
    const [from, low] = [outline.from + column * wide, outline.low + row * tall];
    return {
      name: `${letters(column)}${row + 1}`,
      column,
      row,
      window: { from, to: from + wide, low, high: low + tall },
    };
  }).filter(({ window, column, row }) => {
    const rim = column === 0 || row === 0 || column === columns - 1 || row === rows - 1;
    const reach = (fit.plate?.boltDiameter ?? 0) / 2 + FLAP;
    return (
      rim ||
      fit.bolts.some(
        ({ station, height }) =>
          station > window.from - reach &&
          station < window.to + reach &&
          height > window.low - reach &&
          height < window.high + reach,
      )
    );
  });
}

/** A, B, … Z, AA. */
function letters(column: number): string {
  const last = String.fromCharCode(65 + (column % 26));
  return column < 26 ? last : letters(Math.floor(column / 26) - 1) + last;
}

/**
 * One sheet at full size, in millimetres of paper: plate, opening and holes with their centres, register marks at the corners
 * of its window with their place on the plate, and a length each way to check the print by (printers stretch one way too).
 */
export function templateTile(job: Job, fit: CoverPlateFit, outline: Box, { name, window }: Tile): Html {
  const [wide, tall, flap] = [
    1000 * (window.to - window.from),
    1000 * (window.high - window.low),
    1000 * FLAP,
  ];
  const x = linear(window.from, window.to, flap, flap + wide);
  const y = linear(window.low, window.high, flap + tall, flap);
  const word = coverWords(job, fit).small;
  const radius = 500 * (fit.plate?.boltDiameter ?? 0);
  const plate = `M${px(x(outline.from))} ${px(y(outline.low))}H${px(x(outline.to))}V${px(y(outline.high))}H${px(x(outline.from))}Z`;
  const holes = fit.bolts.map(({ station, height, name: bolt }) => {
    const [cx, cy] = [x(station), y(height)];
    return html`<circle cx="${px(cx)}" cy="${px(cy)}" r="${px(radius)}" fill="none" stroke="${INK}" stroke-width="0.35"/><path d="M${px(cx - radius - 3)} ${px(cy)}h${px(2 * radius + 6)}M${px(cx)} ${px(cy - radius - 3)}v${px(2 * radius + 6)}" stroke="${INK}" stroke-width="0.2" fill="none"/><text x="${px(cx + 0.8 * radius + 1.2)}" y="${px(cy - 0.8 * radius - 1.2)}" font-size="4">${bolt}</text>`;
  });
  const marks = [
    [window.from, window.low],
    [window.to, window.low],
    [window.to, window.high],
    [window.from, window.high],
  ].map(([station, height]) => {
    const [cx, cy] = [x(station!), y(height!)];
    // Words into the window, where the paper is not cut.
    const right = cx < flap + wide / 2;
    const up = cy > flap + tall / 2;
    return html`<path d="M${px(cx - 5)} ${px(cy)}h10M${px(cx)} ${px(cy - 5)}v10" stroke="${INK}" stroke-width="0.25" fill="none"/><circle cx="${px(cx)}" cy="${px(cy)}" r="2.5" stroke="${INK}" stroke-width="0.25" fill="none"/><text x="${px(cx + (right ? 3.5 : -3.5))}" y="${px(cy + (up ? -1.5 : 4))}" text-anchor="${right ? 'start' : 'end'}" font-size="2.6" fill="${INK}" stroke="#fff" stroke-width="0.9" paint-order="stroke">${word(station! - outline.from)} across, ${word(height! - outline.low)} up</text>`;
  });
  const check = CHECK[job.units];
  const long = 1000 * check.long;
  const [bx, by] = [flap + 12, flap + tall + 5];
  const [vx, vy] = [flap - 5, flap + tall - 12];
  const bars = html`<path d="M${px(bx)} ${px(by - 1.5)}v3M${px(bx)} ${px(by)}h${px(long)}M${px(bx + long)} ${px(by - 1.5)}v3M${px(vx - 1.5)} ${px(vy)}h3M${px(vx)} ${px(vy)}v${px(-long)}M${px(vx - 1.5)} ${px(vy - long)}h3" stroke="${INK}" stroke-width="0.35" fill="none"/><text x="${px(bx + long + 2)}" y="${px(by + 1)}" font-size="3">${check.word}</text><text transform="translate(${px(vx + 1)} ${px(vy - long - 2)}) rotate(-90)" font-size="3">${check.word}</text>`;
  const size = [wide + 2 * flap, tall + 2 * flap] as const;
  return html`<svg class="cover" viewBox="0 0 ${px(size[0])} ${px(size[1])}" width="${px(size[0])}mm" height="${px(size[1])}mm" role="img" aria-label="Sheet ${name} of the full-size template of panel ${fit.line}" font-family="sans-serif" fill="${INK}"><rect x="${px(flap)}" y="${px(flap)}" width="${px(wide)}" height="${px(tall)}" fill="none" stroke="${INK}" stroke-width="0.15" stroke-dasharray="1.5 1.5"/><path d="${plate}" fill="none" stroke="${INK}" stroke-width="0.5"/><path d="${openingPath(fit, x, y, 1000)}" fill="none" stroke="${INK}" stroke-width="0.4" stroke-dasharray="3 2"/>${holes}${marks}${bars}<text x="${px(flap + wide / 2)}" y="${px(flap + tall / 2)}" font-size="14" text-anchor="middle" fill="#b9bfc5">${name}</text></svg>`;
}
