import { describe, expect, it } from 'vitest';
import { parseJob } from '../../src/job/job-file.ts';
import { openSheet, withTime } from '../../src/page/book.ts';
import { setOutBy } from '../../src/page/place-forms.ts';
import { progressText, shortDate } from '../../src/page/place-words.ts';
import { emptyBook } from '../../src/page/session.ts';
import { stationList } from '../../src/page/station-rows.ts';

const FOOT = 0.3048;
const INCH = 0.0254;
const job = parseJob(
  JSON.stringify({
    job: 'Fuller’s Row over the lane, girder 3',
    units: 'us',
    member: { span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '3/4 in' },
    lines: { edge: { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'toward the mill' } },
    panels: {
      web: {
        stations: ['18 ft', '22 ft'],
        heights: ['4 in', '36 in'],
        held: ['bottom', 'top'],
        positive: 'toward the mill',
      },
    },
  }),
);
const [edge, web] = job.lines;
const book = openSheet(emptyBook(job), 1, '2026-03-04', []);
const filled = (fields: Readonly<Record<string, string>>) => (id: string) => fields[id] ?? '';

function made(form: string, fields: Readonly<Record<string, string>>, line = edge!) {
  return setOutBy(form, filled(fields), job, line, { ...book, line: line.name });
}

function listed(form: string, fields: Readonly<Record<string, string>>, line = edge!) {
  const done = made(form, fields, line);
  if ('problem' in done) throw new Error(done.problem);
  const { book: next } = done;
  return { next, list: stationList(job, line.name, 'released', next.sheets.at(-1)!, [], next.height) };
}

describe('forms under the list of stations', () => {
  it('set stations out evenly, the end included', () => {
    const { next, list } = listed('even-form', { 'even-step': '10', 'even-from': '0', 'even-to': '40 ft' });
    expect(list.rows.map(({ station }) => Math.round(station / FOOT))).toEqual([0, 10, 20, 30, 40]);
    expect(progressText(next, list, 'us')).toBe('Cycle 1: 0 of 5 stations read');
  });

  it('add one station and say which, or say what a station is', () => {
    expect(made('station-form', { 'station-new': `25'-6"` })).toMatchObject({
      station: expect.closeTo(25.5 * FOOT, 9),
    });
    expect(made('station-form', { 'station-new': 'near the pier' })).toMatchObject({
      problem: expect.stringContaining('A station is expected here'),
    });
  });

  it('set out the grid of a panel, and one more height that lies on it', () => {
    const grid = {
      ...{ 'grid-along': '12', 'grid-from': '18 ft', 'grid-to': '22 ft' },
      ...{ 'grid-up': '16', 'grid-low': '4', 'grid-high': '36' },
    };
    const { next, list } = listed('grid-form', grid, web!);
    expect(list.courses.map(({ height }) => Math.round(height / INCH)).sort((a, b) => a - b)).toEqual([
      4, 20, 36,
    ]);
    expect(progressText(next, list, 'us')).toMatch(
      /^Cycle 1, height \d+ in: 0 of 5 stations read, 3 heights open$/,
    );
    expect(made('height-form', { 'height-new': '28' }, web!)).toMatchObject({
      book: { height: expect.closeTo(28 * INCH, 9) },
    });
    // 4 to 36 in and a tenth of that beyond: 42 in is off the panel.
    expect(made('height-form', { 'height-new': '42' }, web!)).toEqual({
      problem: 'A height on the panel is expected here, from 4 in to 36 in.',
    });
    expect(made('grid-form', { ...grid, 'grid-up': 'fine' }, web!)).toMatchObject({
      problem: expect.stringContaining('at most 60 heights'),
    });
  });
});

it('the first reading of today’s sheet notes the time, once', () => {
  const stamped = withTime(book, '2026-03-04', '10:15');
  expect(stamped).not.toBe(book);
  expect(withTime(stamped, '2026-03-04', '10:40')).toBe(stamped);
  expect(withTime(book, '2026-03-05', '10:15')).toBe(book);
});

it('a day is said in few letters', () => {
  expect(shortDate('2026-03-04')).toBe('4 Mar');
  expect(shortDate('soon')).toBe('');
});
