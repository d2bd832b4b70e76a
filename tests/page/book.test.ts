import { describe, expect, it } from 'vitest';
import type { Job } from '../../src/job/job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { allReadings, readSheet } from '../../src/page/all-readings.ts';
import {
  type Book,
  currentSheet,
  keyReading,
  openSheet,
  type Place,
  readingsAt,
  redo,
  setFacts,
  undo,
} from '../../src/page/book.ts';
import { bothSides } from '../../src/page/both-sides.ts';
import { evenStations } from '../../src/page/even-stations.ts';
import { flagsOf } from '../../src/page/flags.ts';
import { bundleOfFiles, withFiles } from '../../src/page/folder-files.ts';
import { bundleOf, bundleText, parseBundle } from '../../src/page/job-bundle.ts';
import { newJobText } from '../../src/page/new-job.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { storeName } from '../../src/page/same-job.ts';
import { continueBook, emptyBook, joinKept, nextCycle, wholeJob } from '../../src/page/session.ts';
import { sheetCsv } from '../../src/page/sheet-csv.ts';
import { stationList } from '../../src/page/station-rows.ts';

const FOOT = 0.3048;
const JOB = JSON.stringify({
  job: 'Mill Lane over the brook, girder 2',
  units: 'us',
  member: { span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '3/4 in' },
  lines: { edge: { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'toward the mill' } },
  acceptance: [{ line: 'edge', limit: '1/2 in', over: 'whole line' }],
});
const job = parseJob(JOB);
const FOUND = `cycle,station,offset\n${[0, 4, 8, 12, 16, 20, 24, 28, 32, 36, 40].map((ft, i) => `0,${ft},${[0, 0, 0, '1/16', 1, 2, 1, 0, 0, 0, 0][i]}`).join('\n')}\n`;

function at(feet: number, more: Partial<Place> = {}): Place {
  return { cycle: 1, line: 'edge', state: 'released', station: feet * FOOT, ...more };
}

function begun(): Book {
  return openSheet(emptyBook(job), 1, '2026-03-04', []);
}

describe('the name a job is kept under', () => {
  it('is its id, so that two jobs alike in name, units and span are two', () => {
    const of = (id: string | null = null) => storeName(JOB_ALIKE as Job, { id, records: [] });
    expect(of('aaaaaaaa')).not.toBe(of('bbbbbbbb'));
    expect(of('aaaaaaaa')).not.toBe(of());
    expect(of()).toBe(of());
  });
});

const JOB_ALIKE = { name: 'girder-4', units: 'us', member: { span: 18.9 } };

describe('book', () => {
  it('takes keystrokes of one visit back together, and again', () => {
    let book = keyReading(begun(), at(4), 0, '3', 1);
    book = keyReading(book, at(4), 0, '3 5/16', 1);
    book = keyReading(book, at(8), 0, '2', 2);
    const once = undo(book)!;
    expect(once.place.station).toBeCloseTo(8 * FOOT);
    expect(readingsAt(once.book, at(4))).toEqual(['3 5/16']);
    const twice = undo(once.book)!;
    expect(readingsAt(twice.book, at(4))).toEqual([]);
    expect(undo(twice.book)).toBeNull();
    const again = redo(redo(twice.book)!.book)!.book;
    expect(currentSheet(again)!.cells).toHaveLength(2);
    expect(redo(keyReading(twice.book, at(12), 0, '1', 3))).toBeNull();
  });

  it('keeps repeats, and jacks on apart from jacks off', () => {
    let book = keyReading(begun(), at(4), 0, '3', 1);
    book = keyReading(book, at(4), 1, '3 1/16', 2);
    book = keyReading(book, at(4, { state: 'restrained' }), 0, '2', 3);
    expect(readingsAt(book, at(4))).toEqual(['3', '3 1/16']);
    expect(readingsAt(book, at(4, { state: 'restrained' }))).toEqual(['2']);
  });
});

describe('sheet as CSV', () => {
  it('reads back as what was keyed', () => {
    let book = keyReading(begun(), at(25.5), 0, `1'-3 1/2"`, 1);
    book = keyReading(book, at(25.5), 1, '15 9/16', 2);
    book = setFacts(book, {
      line: 'edge',
      state: 'released',
      time: '3:20 pm',
      temperature: '68',
      note: '=1+1\n"sun"',
    });
    const opened = openBundle(bundleOf(JOB));
    const read = readSheet(currentSheet(book)!, opened);
    expect(read.readings).toHaveLength(2);
    expect(read.readings[0]).toMatchObject({
      cycle: 1,
      line: 'edge',
      state: 'released',
      date: '2026-03-04',
      time: '15:20',
      temperature: 20,
    });
    expect(read.readings[0]!.offset).toBeCloseTo(15.5 * 0.0254, 12);
    expect(read.readings[1]!.station).toBeCloseTo(25.5 * FOOT, 9);
    expect(read.csv.rows.get(read.readings[1]!.row)).toMatchObject({ slot: 1 });
    expect(read.csv.text.split('\n').filter((row) => !row.startsWith('#') && row.includes('sun'))).toEqual(
      [],
    );
  });

  it('sends a text that is no length along as a comment, and says so', () => {
    const book = keyReading(begun(), at(4), 0, '3 5/', 1);
    const csv = sheetCsv(currentSheet(book)!, job);
    expect(csv.count).toBe(0);
    expect(csv.unreadable[0]).toMatchObject({ text: '3 5/', slot: 0 });
    expect(csv.text).toContain('# not a reading: edge, released, station 4: 3 5/');
  });

  it('counts a sheet once when its import is among the files', () => {
    const book = keyReading(begun(), at(4), 0, '3', 1);
    const opened = openBundle(bundleOf(JOB));
    const { csv } = readSheet(currentSheet(book)!, opened);
    const filed = openBundle(withFiles(bundleOf(JOB), [{ path: 'cycle-1.csv', text: csv.text }]));
    const again = readSheet(currentSheet(book)!, filed);
    expect(again.filed).toBe(true);
    expect(allReadings(filed, [again])).toHaveLength(1);
    expect(continueBook(book, filed, '2026-03-05', []).cycle).toBe(2);
  });
});

describe('flags', () => {
  it('doubts a reading the core would doubt at import, at the station', () => {
    const opened = openBundle(withFiles(bundleOf(JOB), [{ path: 'found.csv', text: FOUND }]));
    let book = begun();
    const offsets = ['0', '0', '0', '1/16', '15/16', '1 7/8', '15/16', '3', '0', '0', '0'];
    offsets.forEach((text, i) => {
      book = keyReading(book, at(i * 4), 0, text, i);
    });
    const flags = flagsOf(readSheet(currentSheet(book)!, opened), opened, opened.readings);
    expect(
      flags.map((flag) => [flag.kind, flag.at === null ? null : Math.round(flag.at.station / FOOT)]),
    ).toEqual([['doubtful', 28]]);
  });

  it('is silent on a half-keyed sheet that is right so far', () => {
    const opened = openBundle(withFiles(bundleOf(JOB), [{ path: 'found.csv', text: FOUND }]));
    let book = begun();
    for (const feet of [0, 4, 8, 12]) book = keyReading(book, at(feet), 0, '0', feet);
    expect(flagsOf(readSheet(currentSheet(book)!, opened), opened, opened.readings)).toEqual([]);
  });
});

describe('stations', () => {
  it('lists those of the survey before with what it read, and today beside them', () => {
    const opened = openBundle(withFiles(bundleOf(JOB), [{ path: 'found.csv', text: FOUND }]));
    const book = keyReading(begun(), at(22), 0, '1 1/2', 1);
    const list = stationList(job, 'edge', 'released', currentSheet(book)!, opened.readings);
    expect(list.rows).toHaveLength(12);
    expect(list.rows[0]).toMatchObject({ bearing: true, readings: [], previous: { cycle: 0 } });
    expect(list.rows.find((row) => Math.abs(row.station - 22 * FOOT) < 1e-9)).toMatchObject({
      previous: null,
      readings: ['1 1/2'],
    });
  });

  it('sets stations out with both ends', () => {
    expect(evenStations(0, 5, 2)).toEqual([0, 2, 4, 5]);
    expect(evenStations(0, 4, 2)).toEqual([0, 2, 4]);
    expect(evenStations(0, 4, 0)).toEqual([]);
    expect(evenStations(0, 4, 1e-6)).toEqual([]);
  });
});

describe('job in one file', () => {
  it('comes back as it went', () => {
    const book = keyReading(begun(), at(4), 0, '3', 1);
    const bundle = withFiles(bundleOf(JOB), [{ path: 'found.csv', text: FOUND }]);
    const back = parseBundle(bundleText(wholeJob(bundle, book)), 'x');
    expect(back).toEqual(wholeJob(bundle, book));
    expect(() => parseBundle('{"schema":"sweepbook/page-job/1","job":3}', 'x')).toThrow(/whole-job file/);
  });

  it('joins what this device kept: sheets stay, a clash is said', () => {
    const bundle = bundleOf(JOB);
    const kept = {
      bundle: withFiles(bundle, [{ path: 'found.csv', text: FOUND }]),
      book: keyReading(begun(), at(4), 0, '3', 1),
    };
    const other = wholeJob(bundle, keyReading(begun(), at(4), 0, '4', 1));
    const joined = joinKept(other, job, kept);
    expect(joined.clashes).toEqual([1]);
    expect(readingsAt(joined.book, at(4))).toEqual(['3']);
    expect(joined.bundle.files).toHaveLength(1);
    expect(joinKept(other, job, null).book.sheets).toHaveLength(1);
  });

  it('joins places two devices split between them, and tells what only one of them has', () => {
    const bundle = withFiles(bundleOf(JOB), [{ path: 'found.csv', text: FOUND }]);
    const kept = { bundle, book: keyReading(keyReading(begun(), at(4), 0, '3', 1), at(8), 0, '1/2', 2) };
    const theirs = keyReading(keyReading(begun(), at(12), 0, '4', 1), at(8), 0, '5/8', 2);
    const other = wholeJob(bundle, openSheet(theirs, 2, '2026-03-05', []));
    expect(bothSides(kept, other)).toEqual({
      ours: ['cycle 1, keyed at 1 place'],
      theirs: ['cycle 1, keyed at 1 place'],
      both: ['cycle 1 at 1 place: this device’s readings stay'],
    });
    const joined = joinKept(other, job, kept);
    expect([4, 8, 12].map((feet) => readingsAt(joined.book, at(feet)))).toEqual([['3'], ['1/2'], ['4']]);
    expect(joined.clashes).toEqual([1]);
    // Filed in the other's readings, a sheet is nothing only this device has.
    const { csv } = readSheet(kept.book.sheets[0]!, openBundle(bundle));
    const filed = withFiles(bundle, [{ path: 'one.csv', text: csv.text }]);
    expect(bothSides(kept, filed).ours).toEqual([]);
  });

  it('keeps rows of a log this device has more, and never drops a log that parted', () => {
    const bundle = bundleOf(JOB);
    const log = 'cycle,station,pattern\n1,4 ft,line\n';
    const having = (text: string) => ({ ...bundle, others: [{ file: 'heats.csv', text }] });
    const more = `${log}1,8 ft,line\n`;
    const book = emptyBook(job);
    const ours = joinKept(having(log), job, { bundle: having(more), book });
    expect([ours.bundle.others[0]!.text, ours.apart]).toEqual([more, []]);
    expect(bothSides({ bundle: having(more), book }, having(log)).ours).toEqual(['heats.csv, 1 row']);
    const theirs = joinKept(having(more), job, { bundle: having(log), book });
    expect([theirs.bundle.others[0]!.text, theirs.apart]).toEqual([more, []]);
    expect(joinKept(bundle, job, { bundle: having(log), book }).bundle.others[0]!.text).toBe(log);
    const apart = joinKept(having(`${log}1,12 ft,line\n`), job, { bundle: having(more), book });
    expect(apart.apart).toEqual([{ file: 'heats.csv', text: more }]);
    expect(bothSides({ bundle: having(more), book }, having(`${log}1,12 ft,line\n`)).both).toHaveLength(1);
  });

  it('is made of a folder’s files, its ledger read, job.json at any depth', () => {
    const given = [
      { path: 'mill-lane/job.json', text: JOB },
      { path: 'mill-lane/readings/found.csv', text: FOUND },
      { path: 'mill-lane/readings/again.csv', text: FOUND },
      { path: 'mill-lane/reports/old.csv', text: 'x' },
      { path: 'mill-lane/ledger.jsonl', text: 'not a record\n' },
    ];
    const opened = openBundle(bundleOfFiles(given));
    expect(opened.readings).toHaveLength(11);
    expect(opened.findings.map((finding) => finding.code)).toEqual([
      'ledger-record-unreadable',
      'ledger-seal-not-given',
      'file-not-in-ledger',
      'file-twice',
    ]);
    expect(nextCycle(opened, emptyBook(job))).toBe(1);
    expect(() => bundleOfFiles(given.slice(1))).toThrow(/no job\.json/);
  });

  it('refuses rows that cannot be read, with every one named', () => {
    const bundle = withFiles(bundleOf(JOB), [
      { path: 'bad.csv', text: 'cycle,station,offset\n0,4,<b>x</b>\n0,8,\n' },
    ]);
    expect(() => openBundle(bundle)).toThrow(/2 rows/);
  });

  it('starts from the form, or says what is missing', () => {
    const form = {
      name: 'New job',
      units: 'us',
      span: '40 ft',
      flangeWidth: '12 in',
      flangeThickness: '3/4 in',
      yield: '',
      diaphragms: '',
      line: '',
      kind: 'sweep',
      positive: '',
      tolerance: '1/2 in',
      preset: '',
    } as const;
    const made = newJobText(form);
    expect(parseJob(made.text).acceptance).toHaveLength(1);
    expect(made.assumed.join(' ')).toMatch(/yield stress 36 ksi/);
    expect(() => newJobText({ ...form, span: '' })).toThrow(/cannot be started/);
    expect(() => newJobText({ ...form, span: '40 bananas' })).toThrow();
  });
});
