import { describe, expect, it } from 'vitest';
import { parseJob } from '../../src/job/job-file.ts';
import { readOptions } from '../../src/job/read-options.ts';
import { readSheet } from '../../src/page/all-readings.ts';
import {
  addHeights,
  addStations,
  type Book,
  currentSheet,
  keyReading,
  openSheet,
  type Place,
  readingsAt,
  undo,
} from '../../src/page/book.ts';
import { flagsOf } from '../../src/page/flags.ts';
import { withFiles } from '../../src/page/folder-files.ts';
import { bundleOf, bundleText, parseBundle } from '../../src/page/job-bundle.ts';
import { readStoredBook } from '../../src/page/kept-book.ts';
import { mergeBooks } from '../../src/page/merge-books.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { gridOf, usualGrid } from '../../src/page/panel-grid.ts';
import { emptyBook, wholeJob } from '../../src/page/session.ts';
import { stationList } from '../../src/page/station-rows.ts';
import { mapUnfitted, unfitted, unfittedCsv } from '../../src/page/unfitted.ts';
import { readReadings } from '../../src/read/readings-csv.ts';

const INCH = 0.0254;
const JOB = JSON.stringify({
  job: 'Mill Lane over the brook, girder 2',
  units: 'us',
  member: {
    ...{ span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '3/4 in' },
    ...{ webThickness: '3/8 in', depth: '34 in' },
  },
  lines: { edge: { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'toward the mill' } },
  panels: {
    web: {
      stations: ['20 ft', '22 ft'],
      heights: ['0 in', '32 in'],
      held: ['bottom', 'top'],
      positive: 'toward the mill',
    },
  },
  acceptance: [{ line: 'edge', limit: '1/2 in', over: 'whole line' }],
});
const job = parseJob(JOB);
const panel = job.lines.find((line) => line.panel !== undefined)!;

function at(inches: number, height: number, more: Partial<Place> = {}): Place {
  return { cycle: 1, line: 'web', state: 'released', station: inches * INCH, height: height * INCH, ...more };
}

function begun(): Book {
  return openSheet(emptyBook(job), 1, '2026-03-04', []);
}

/** Every place of a grid of 3 by 3 read, as the crew would: 1 in at the middle, else 0. */
function read(): Book {
  let book = begun();
  for (const height of [24, 16, 8]) {
    for (const station of [246, 252, 258]) {
      book = keyReading(book, at(station, height), 0, height === 16 && station === 252 ? '1 1/16' : '0', 1);
    }
  }
  return book;
}

describe('the grid of a panel', () => {
  it('is offered from edge to edge, clear of what holds it, at 4 in at most', () => {
    const spec = usualGrid(panel, 'us');
    const inches = (metres: number) => Math.round((metres / INCH) * 1000) / 1000;
    // 24 in wide and 32 in high: 24/8 = 3 in; an inch off the flanges, which hold it; open to the sides.
    expect(inches(spec.stations.step)).toBe(3);
    const grid = gridOf(spec)!;
    expect(grid.stations.map(inches)).toEqual([240, 243, 246, 249, 252, 255, 258, 261, 264]);
    expect(grid.heights.map(inches)).toEqual([1, 4, 7, 10, 13, 16, 19, 22, 25, 28, 31]);
    expect(inches(usualGrid({ ...panel, bearings: [0, 3] }, 'us').stations.step)).toBe(4);
    expect(gridOf({ ...spec, heights: { from: 0, to: 1, step: 0 } })).toBeNull();
  });

  it('is keyed height by height, from the top down, and remembers how far each is', () => {
    const grid = gridOf(usualGrid(panel, 'us'))!;
    let book = addHeights(addStations(begun(), 'web', grid.stations), 'web', grid.heights);
    const list = stationList(job, 'web', 'released', currentSheet(book)!, []);
    expect(list.height).toBeCloseTo(31 * INCH, 9);
    expect(list.rows).toHaveLength(9);
    expect(list.courses.map((course) => course.places)).toEqual(Array.from({ length: 11 }, () => 9));
    book = keyReading(book, at(240, 28), 0, '3 5/16', 1);
    const next = stationList(job, 'web', 'released', currentSheet(book)!, [], 28 * INCH);
    expect(next.rows[0]!.readings).toEqual(['3 5/16']);
    expect(next.courses[1]).toMatchObject({ read: 1, places: 9 });
    expect(stationList(job, 'edge', 'released', currentSheet(book)!, [])).toMatchObject({
      ...{ rows: [], courses: [] },
    });
  });

  it('next cycle shows what was read before at each place, and leaves a hole out', () => {
    const held = readReadings(
      'height (in),20.5,21,21.5\ncycle,0\npanel,web\n24,1,2,1\n16,1,,1\n8,1,2 1/2,1\n',
      readOptions(job, 'readings/found.csv'),
    );
    expect(held.problems).toEqual([]);
    const sheet = currentSheet(begun())!;
    const list = (inches: number) => stationList(job, 'web', 'released', sheet, held.readings, inches * INCH);
    expect(list(16).rows.map((row) => Math.round(row.station / INCH))).toEqual([246, 258]);
    expect(list(8).rows[1]!.previous?.offsets[0]).toBeCloseTo(2.5 * INCH, 12);
    expect(list(8).courses.map((course) => course.places)).toEqual([3, 2, 3]);
    // A height nobody read before has the stations of the others.
    const more = currentSheet(addHeights(begun(), 'web', [12 * INCH]))!;
    expect(stationList(job, 'web', 'released', more, held.readings, 12 * INCH).rows).toHaveLength(3);
  });
});

describe('keyed readings of a panel', () => {
  it('are the long CSV with a height, which the import reads to the last digit', () => {
    const book = keyReading(read(), { ...at(0, 0), line: 'edge', height: undefined }, 0, '1/8', 2);
    const opened = openBundle(bundleOf(JOB));
    const { csv, readings } = readSheet(currentSheet(book)!, opened);
    expect(csv.text.split('\n')[1]).toMatch(/^cycle,line,station \(ft\),height \(in\),offset \(in\),/);
    expect(csv.text).toContain('\n1,web,21,16,1 1/16,released,2026-03-04,,\n');
    expect(csv.text).toContain('\n1,edge,0,,1/8,released,2026-03-04,,\n');
    const again = readReadings(csv.text, readOptions(job, 'x.csv'));
    expect(again.problems).toEqual([]);
    expect(again.readings).toHaveLength(10);
    const top = readings.find((each) => each.offset > 0.02)!;
    expect(top).toMatchObject({ line: 'web', offset: 1.0625 * INCH });
    expect(top.height).toBeCloseTo(16 * INCH, 12);
    expect(csv.rows.get(top.row)).toMatchObject({ line: 'web', slot: 0 });
  });

  it('have no height column where nothing was read at a height', () => {
    const book = keyReading(begun(), { ...at(0, 0), line: 'edge', height: undefined }, 0, '1/8', 2);
    expect(readSheet(currentSheet(book)!, openBundle(bundleOf(JOB))).csv.text).not.toContain('height');
  });

  it('of one station at two heights are two: undone, counted once and merged apart', () => {
    const book = read();
    expect(readingsAt(undo(keyReading(book, at(246, 8), 0, '2', 7))!.book, at(246, 8))).toEqual(['0']);
    expect(readingsAt(book, at(252, 8))).toEqual(['0']);
    const csv = readSheet(currentSheet(book)!, openBundle(bundleOf(JOB))).csv.text;
    const given = withFiles(bundleOf(JOB), [{ path: 'day.csv', text: csv }]);
    expect(readSheet(currentSheet(book)!, openBundle(given)).filed).toBe(true);
    // The file lacks the reading at the crest only: it alone is still open.
    const part = csv.replace('1,web,21,16,1 1/16,released,2026-03-04,,\n', '');
    const open = readSheet(
      currentSheet(book)!,
      openBundle(withFiles(bundleOf(JOB), [{ path: 'day.csv', text: part }])),
    );
    expect(open.readings.map((each) => Math.round(each.height! / INCH))).toEqual([16]);
    const here = keyReading(book, at(252, 24), 0, '1/2', 8);
    const there = keyReading(book, at(252, 8), 0, '1/4', 8);
    const merged = mergeBooks(book, here, there);
    expect(merged.differing).toEqual([]);
    expect(readingsAt(merged.book, at(252, 24))).toEqual(['1/2']);
    expect(readingsAt(merged.book, at(252, 8))).toEqual(['1/4']);
  });

  it('survive the device and the whole-job file', () => {
    const book = addHeights(addStations(read(), 'web', [20 * 12 * INCH]), 'web', [4 * INCH]);
    const stored = JSON.parse(JSON.stringify({ name: 'x', saved: '', revision: 1, book }));
    const back = readStoredBook('x', stored)!;
    expect(back.whole).toBe(true);
    expect(back.stored.book.sheets).toEqual(book.sheets);
    const { sheets } = parseBundle(bundleText(wholeJob(bundleOf(JOB), book)), 'x');
    expect(sheets).toEqual(book.sheets);
  });

  it('are doubted while keyed, at their own height', () => {
    const stations = [0, 4, 8, 12, 16, 20, 24].map((inches) => 240 + inches);
    const texts = ['1', '1 1/8', '1 1/4', '1 3/8', '1 1/4', '1 1/8', '1'];
    const rows = [24, 16, 8].map((height) => `${height},${texts.join(',')}`).join('\n');
    const heading = stations.map((inches) => String(inches / 12)).join(',');
    const found = readReadings(
      `height (in),${heading}\ncycle,0\npanel,web\n${rows}\n`,
      readOptions(job, 'readings/found.csv'),
    );
    expect(found.problems).toEqual([]);
    let book = begun();
    for (const height of [24, 16, 8])
      stations.forEach((inches, i) => {
        book = keyReading(book, at(inches, height), 0, texts[i]!, 1);
      });
    const opened = openBundle(bundleOf(JOB));
    const doubts = (keyed: Book) =>
      flagsOf(readSheet(currentSheet(keyed)!, opened), opened, found.readings).filter(
        (flag) => flag.at !== null,
      );
    expect(doubts(book)).toEqual([]);
    const slip = doubts(keyReading(book, at(248, 16), 0, '11 1/4', 2));
    expect(slip).toHaveLength(1);
    expect(slip[0]!.at).toMatchObject({ line: 'web', slot: 0 });
    expect(slip[0]!.at!.height).toBeCloseTo(16 * INCH, 9);
    expect(slip[0]!.at!.station).toBeCloseTo(248 * INCH, 6);
  });

  it('on a line that is no panel (any more) count nowhere, and can only be put on a panel', () => {
    const renamed = parseJob(
      JSON.stringify({ ...JSON.parse(JOB), panels: { plate: JSON.parse(JOB).panels.web } }),
    );
    const flat = parseJob(JSON.stringify({ ...JSON.parse(JOB), panels: undefined }));
    const book = read();
    const [one] = unfitted(book, renamed);
    expect(one).toEqual({ cycle: 1, line: 'web', count: 9, onPanel: true });
    expect(unfittedCsv(book, renamed, one!).text).toContain('\n1,web,21,16,1 1/16,');
    expect(unfitted(mapUnfitted(book, renamed, one!, 'plate'), renamed)).toEqual([]);
    const kept = unfitted(book, flat)[0]!;
    expect(unfitted(mapUnfitted(book, flat, kept, 'edge'), flat)).toEqual([kept]);
  });
});
