import type { Job, Line } from '../job/job.ts';
import { parseLength } from '../units/parse-length.ts';
import { addHeights, addStations, type Book } from './book.ts';
import { evenStations } from './even-stations.ts';
import { gridOf } from './panel-grid.ts';
import { heightText } from './place-words.ts';

/** What a form under the list of stations sets out, or what is wrong with it in words. */
export type SetOut =
  | {
      readonly book: Book;
      /** The one station it adds, m; null: several places, to be begun at the first. */
      readonly station: number | null;
    }
  | { readonly problem: string };

/**
 * @param form id of the form
 * @param text what stands in its fields, by their ids
 */
export function setOutBy(
  form: string,
  text: (field: string) => string,
  job: Job,
  line: Line,
  book: Book,
): SetOut {
  const us = job.units === 'us';
  const { dashedLengths: dashed } = job;
  const station = (field: string) =>
    parseLength(text(field), { unit: us ? 'ft' : 'm', station: true, dashed });
  const small = (field: string) => parseLength(text(field), { unit: us ? 'in' : 'mm', dashed });
  if (form === 'even-form') return evenly();
  if (form === 'grid-form') return grid();
  if (form === 'height-form') return oneHeight();
  const one = station('station-new');
  if (!one.ok) return { problem: `A station is expected here: ${one.expected}.` };
  return { book: addStations(book, line.name, [one.metres]), station: one.metres };

  function evenly(): SetOut {
    const [step, from, to] = [station('even-step'), station('even-from'), station('even-to')];
    const stations = step.ok && from.ok && to.ok ? evenStations(from.metres, to.metres, step.metres) : [];
    if (stations.length > 0) return { book: addStations(book, line.name, stations), station: null };
    return {
      problem: `Step, from and to are lengths such as ${us ? '2 ft, 0 ft and 62 ft' : '0.5 m, 0 m and 18.3 m'}, at most 1000 stations.`,
    };
  }

  function grid(): SetOut {
    const [from, to, low, high] = [
      station('grid-from'),
      station('grid-to'),
      small('grid-low'),
      small('grid-high'),
    ];
    const [along, up] = [small('grid-along'), small('grid-up')];
    const places =
      from.ok && to.ok && low.ok && high.ok && along.ok && up.ok
        ? gridOf({
            stations: { from: from.metres, to: to.metres, step: along.metres },
            heights: { from: low.metres, to: high.metres, step: up.metres },
          })
        : null;
    if (places === null)
      return {
        problem: `Spacings, stations and heights are lengths such as ${us ? '4 in, 22 ft and 36 in' : '100 mm, 6.7 m and 900 mm'}; at most 60 heights.`,
      };
    const { stations, heights } = places;
    return { book: addHeights(addStations(book, line.name, stations), line.name, heights), station: null };
  }

  function oneHeight(): SetOut {
    const height = small('height-new');
    const [low, high] = line.panel!.heights;
    const slack = 0.1 * (high - low);
    if (!height.ok || height.metres < low - slack || height.metres > high + slack)
      return {
        problem: `A height on the panel is expected here, from ${heightText(low, job.units)} to ${heightText(high, job.units)}.`,
      };
    const { metres } = height;
    return { book: { ...addHeights(book, line.name, [metres]), height: metres }, station: null };
  }
}
