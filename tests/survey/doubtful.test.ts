import { beforeAll, describe, expect, it } from 'vitest';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import { doubtFindings, doubtfulReadings } from '../../src/survey/doubtful.ts';
import { misorderedRows } from '../../src/survey/misordered.ts';
import type { Survey } from '../../src/survey/survey.ts';
import type { Campaign } from '../mechanics/campaign.ts';
import { campaignOn, FOOT, INCH, struckGirder } from './simulated.ts';

const SD = INCH / 16;

let surveys: Survey[];
let slipped: Campaign;

beforeAll(() => {
  const truth = struckGirder();
  surveys = assembleSurveys(campaignOn(truth, 0, 'clean').readings, { name: 'bottom-flange' });
  slipped = campaignOn(truth, 2, 'slipped');
});

const previousOf = (list: readonly Survey[], i: number) => (i === 0 ? null : list[i - 1]!);

describe('doubtfulReadings', () => {
  it('doubts nothing in clean surveys', () => {
    expect(
      surveys.map((survey, i) => doubtfulReadings(survey, previousOf(surveys, i), SD, 'us').length),
    ).toEqual(surveys.map(() => 0));
  });

  it('finds slips of an inch and more, and seldom blames a good reading', () => {
    const list = assembleSurveys(slipped.readings, { name: 'bottom-flange' });
    const found = list.flatMap((survey, i) => doubtfulReadings(survey, previousOf(list, i), SD, 'us'));
    const place = (file: string, row: number) => `${file} ${row}`;
    const doubted = new Set(found.map(({ reading }) => place(reading.file, reading.row)));
    const big = slipped.blunders.filter((blunder) => Math.abs(blunder.change) >= 0.99 * INCH);
    expect(big.length).toBeGreaterThanOrEqual(5);
    const missed = big.filter((blunder) => !doubted.has(place(blunder.file, blunder.row)));
    expect(missed).toEqual([]);
    const wrong = new Set(slipped.blunders.map((blunder) => place(blunder.file, blunder.row)));
    const falseAlarms = found.filter(({ reading }) => !wrong.has(place(reading.file, reading.row)));
    expect(falseAlarms.length).toBeLessThanOrEqual(1);
  });
});

describe('a reading a hundred times too large', () => {
  it('is doubted alone, not with the good reading at the end beside it', () => {
    // 4.00 keyed as 400 at the last station but two: the only prediction of the end station rests on it.
    const stations = [0, 5, 30, 40, 45, 50, 55, 62];
    const offsets = [4, 4 + 1 / 16, 5.5, 5.25, 4.75, 400, 4.125, 4];
    const readings = stations.map((station, i) => ({
      ...surveys[0]!.readings[0]!,
      station: station * FOOT,
      offset: offsets[i]! * INCH,
      row: i + 2,
    }));
    const survey = assembleSurveys(readings, { name: 'bottom-flange' })[0]!;
    expect(doubtfulReadings(survey, null, SD, 'us').map(({ reading }) => reading.row)).toEqual([7]);
  });
});

describe('a good reading where steel bends sharply between coarse stations', () => {
  // A smooth curve drawn by hand through a few points and rounded to sixteenths: nothing in it is wrong.
  const SHEET: readonly (readonly [number, number])[] = [
    ...([
      [0, 1 / 16],
      [4, -1 / 16],
      [8, -3 / 16],
      [12, -1 / 8],
      [16, -3 / 16],
      [20, 1 / 8],
      [24, 1.625],
    ] as const),
    ...([
      [27, 4.3125],
      [28, 5.3125],
      [29, 6.1875],
      [30, 5.875],
      [31, 5.0625],
      [32, 4.25],
      [36, 2.1875],
    ] as const),
    ...([
      [40, 0.5],
      [44, -5 / 16],
      [48, -3 / 8],
      [52, -1 / 16],
      [56, -1 / 16],
      [60, 0],
    ] as const),
  ];
  const sheet = (cycle: number, change: (station: number) => number) =>
    SHEET.map(([station, inches], i) => ({
      ...surveys[0]!.readings[0]!,
      cycle,
      station: station * FOOT,
      offset: inches * INCH + change(station),
      row: i + 2,
    }));
  const drawn = () =>
    assembleSurveys(
      [...sheet(0, () => 0), ...sheet(1, (station) => (Math.abs(station - 12) < 1e-9 ? INCH : 0))],
      {
        name: 'bottom-flange',
      },
    );

  it('may be doubted as found, but is never told to be a slip without the bend it may be', () => {
    const doubts = doubtfulReadings(drawn()[0]!, null, SD, 'us');
    expect(doubts.map(({ reading }) => reading.row)).toContain(8);
    for (const { message } of doubtFindings(doubts))
      expect(message).toMatch(/a sharp bend looks the same: read it again/);
  });

  it('beside the survey before there is no such excuse', () => {
    const [found, later] = drawn();
    const [doubt, ...more] = doubtfulReadings(later!, found!, SD, 'us');
    expect(more).toEqual([]);
    expect(doubt).toMatchObject({ alone: false, reading: { row: 5 } });
    expect(doubtFindings([doubt!])[0]!.message).not.toMatch(/sharp bend/);
  });
});

describe('misorderedRows', () => {
  const latest = () => surveys.at(-2)!;
  const earlier = () => surveys.at(-3)!;
  const withOffsets = (offset: (i: number) => number): Survey => ({
    ...latest(),
    readings: latest().readings.map((reading, i) => ({ ...reading, offset: offset(i) })),
  });

  it('finds nothing in surveys in order', () => {
    for (let i = 1; i < surveys.length; i++) {
      expect(misorderedRows(surveys[i]!, [surveys[i - 1]!], SD, 'us')).toEqual([]);
    }
  });

  it('finds a run of rows written one station early, and where it begins', () => {
    const { readings } = latest();
    const from = 8;
    const findings = misorderedRows(
      withOffsets((i) => (i < from ? readings[i]! : readings[Math.min(i + 1, readings.length - 1)]!).offset),
      [earlier()],
      SD,
      'us',
    );
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ code: 'rows-shifted', severity: 'caution' });
    expect(Math.abs(findings[0]!.station! - readings[from]!.station)).toBeLessThanOrEqual(4 * FOOT);
    expect(findings[0]!.message).toContain('one station too early');
  });

  it('finds a run written one station late', () => {
    const { readings } = latest();
    const findings = misorderedRows(
      withOffsets((i) => readings[i < 8 ? i : i - 1]!.offset),
      [earlier()],
      SD,
      'us',
    );
    expect(findings[0]?.message).toContain('one station too late');
  });

  it('finds neighbours exchanged where they differ enough to tell', () => {
    const { readings } = latest();
    const steepest = readings
      .slice(0, -1)
      .map((reading, i) => Math.abs(readings[i + 1]!.offset - reading.offset))
      .reduce((best, step, i, steps) => (step > steps[best]! ? i : best), 0);
    const swapped = withOffsets(
      (i) => readings[i === steepest ? i + 1 : i === steepest + 1 ? i - 1 : i]!.offset,
    );
    const findings = misorderedRows(swapped, [earlier()], SD, 'us');
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({ code: 'neighbours-exchanged', station: readings[steepest]!.station });
  });

  it('names the sheet in disorder, whichever it is, and not those beside it', () => {
    const shifted = (survey: Survey): Survey => ({
      ...survey,
      readings: survey.readings.map((reading, i) => ({
        ...reading,
        offset: survey.readings[i >= 8 && i < 18 ? i + 1 : i]!.offset,
      })),
    });
    const three = surveys.slice(0, 3);
    three.forEach((_, wrong) => {
      const list = three.map((survey, k) => (k === wrong ? shifted(survey) : survey));
      const named = list.filter((survey) =>
        misorderedRows(
          survey,
          list.filter((other) => other !== survey),
          SD,
          'us',
        ).some(({ code }) => code === 'rows-shifted'),
      );
      expect(named.map(({ cycle }) => cycle)).toEqual([list[wrong]!.cycle]);
    });
  });
});
