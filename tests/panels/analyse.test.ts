import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { answerHtml } from '../../src/page/answer.ts';
import { htmlText } from '../../src/report/html.ts';
import { statusDocument, statusSchema } from '../../src/status/status-document.ts';
import { statusText } from '../../src/status/status-text.ts';
import { shortfall, shortfallText } from '../../src/survey/coverage.ts';
import { panelReadings } from './campaign.ts';
import { panelJob } from './panel-job.ts';
import { dent } from './plates.ts';

const INCH = 0.0254;
const ASPECT = 60 / 38;
const bulge = (x: number, y: number, inches: number) => inches * INCH * dent(x, y, 0.45, 0.5, 0.45, ASPECT);
const job = panelJob();
const PLAIN = { columns: 80, paint: (_role: unknown, text: string) => text };

describe('a panel in the analysis', () => {
  it('closes, is forecast and comes inside its limit as a line does', () => {
    const readings = panelReadings(job, { cycles: 7, truth: (x, y, c) => bulge(x, y, 2 - 0.25 * c) });
    const { lines, member } = analyse(job, readings);
    const [panel] = lines;
    expect(panel!.progress.verdict).toBe('progressing');
    expect(Math.abs(panel!.progress.rate! / INCH + 0.25)).toBeLessThan(0.06);
    expect(panel!.progress.cyclesLeft!.expected).toBeGreaterThan(0.3);
    expect(panel!.progress.cyclesLeft!.expected).toBeLessThan(2);
    expect(panel!.acceptance[0]!.result).toBe('outside');
    expect(member.line).toBe('web-3');
    // The page's answer draws it as a panel is read, on one scale, not as a line along the member.
    const page = htmlText(answerHtml(analyse(job, readings), null, 'web-3', 6, 390));
    expect(page).toContain('Panel web-3');
    expect(page).toContain('The panel on one scale');
    expect(page).toMatch(/as found, cycle 6, now, moved, on one scale/);
    expect(page).not.toContain('Deviation from the baseline');

    const done = analyse(
      job,
      panelReadings(job, { cycles: 9, truth: (x, y, c) => bulge(x, y, Math.max(0.02, 2 - 0.25 * c)) }),
    );
    expect(done.lines[0]!.progress.verdict).toBe('within-tolerance');
  });

  it('that stands still is stalled, and one pushed out again is regressing', () => {
    const still = panelReadings(job, {
      cycles: 10,
      truth: (x, y, c) => bulge(x, y, 2 - 0.25 * Math.min(c, 3)),
    });
    expect(analyse(job, still).lines[0]!.progress.verdict).toBe('stalled');
    const worse = panelReadings(job, { cycles: 6, truth: (x, y, c) => bulge(x, y, 1 + 0.15 * c) });
    expect(analyse(job, worse).lines[0]!.progress.verdict).toBe('regressing');
  });

  it('says where the crest is and how far, with its height, in status text and document', () => {
    const analysis = analyse(job, panelReadings(job, { cycles: 2, truth: (x, y) => bulge(x, y, 2) }));
    const { largest, panel } = analysis.lines[0]!.fit.surveys[0]!;
    expect(Math.abs(largest.deviation - 2 * INCH)).toBeLessThan(2.5 * largest.u);
    expect(Math.abs(largest.station - (28 * 12 + 0.45 * 60) * INCH)).toBeLessThan(INCH);
    expect(Math.abs(largest.height! - 19 * INCH)).toBeLessThan(INCH);
    // Half of a cosine dent is within half its radius: a circle of 0.225 × 38 in.
    expect(panel!.half.area / (Math.PI * (0.225 * 38 * INCH) ** 2)).toBeCloseTo(1, 0);
    // Its volume: (π/2 − 2/π)·r²·A (integral of the cosine dent over its circle).
    const volume = (Math.PI / 2 - 2 / Math.PI) * (0.45 * 38 * INCH) ** 2 * 2 * INCH;
    expect(Math.abs(panel!.volume / volume - 1)).toBeLessThan(0.12);
    expect(Math.abs(panel!.volume - volume)).toBeLessThan(2.5 * panel!.volumeU);
    expect(panel!.volumeU).toBeLessThan(0.1 * volume);
    const document = statusSchema.parse(statusDocument(analysis));
    expect(document.lines[0]!.surveys[0]!.largest.height).toBe(largest.height);
    expect(document.lines[0]!.surveys[0]!.panel!.lowerBound).toBe(false);
    expect(statusText(analysis, PLAIN)).toMatch(/height 19 in/);
  });

  it('with a hole at the crest gives a bound, calls it one and is not accepted on it', () => {
    const hole = (x: number, y: number) => Math.abs(x - 0.45) < 0.12 && Math.abs(y - 0.5) < 0.16;
    const truth = (x: number, y: number) => bulge(x, y, 2);
    const analysis = analyse(job, panelReadings(job, { cycles: 1, truth, skip: hole }));
    const { panel, largest } = analysis.lines[0]!.fit.surveys[0]!;
    expect(panel!.crest.lowerBound).toBe(true);
    expect(Math.abs(largest.deviation)).toBeLessThan(2 * INCH);
    expect(panel!.unseen[0]!.touchesCrest).toBe(true);
    expect(analysis.findings.some((f) => f.code === 'crest-beside-unread')).toBe(true);
    expect(statusText(analysis, PLAIN)).toMatch(/at least \+1/);

    const flat = analyse(
      panelJob({}, { acceptance: [{ line: 'web-3', limit: '3 in' }] }),
      panelReadings(job, { cycles: 1, truth, skip: hole }),
    );
    expect(flat.lines[0]!.acceptance[0]!.result).toBe('undetermined');
    expect(flat.lines[0]!.acceptance[0]!.reason).toMatch(/at least/);
    expect(statusDocument(flat).member.next).toMatch(/^Read close around the hole/);

    // As near its limit as a bound can be: no chance of being inside can be given for what may be further off.
    const limit = `${Math.abs(largest.deviation) / INCH} in`;
    const near = analyse(
      panelJob({}, { acceptance: [{ line: 'web-3', limit }] }),
      panelReadings(job, { cycles: 1, truth, skip: hole }),
    ).lines[0]!.acceptance[0]!;
    expect(near).toMatchObject({ result: 'undetermined', atLeast: true });
    expect(near.reason).toMatch(/^at least .* stands beside it: whether it is inside .* cannot be told/);
    expect(near.reason).not.toMatch(/probability/);
  });

  it('with a hole away from the crest names the hole and keeps its number', () => {
    const hole = (x: number, y: number) => x > 0.85 && y < 0.3;
    const analysis = analyse(
      job,
      panelReadings(job, { cycles: 1, truth: (x, y) => bulge(x, y, 2), skip: hole }),
    );
    const { panel } = analysis.lines[0]!.fit.surveys[0]!;
    expect(panel!.unseen).toHaveLength(1);
    expect(panel!.crest.lowerBound).toBe(false);
  });

  it('a later survey that leaves out the crest is not judged', () => {
    const readings = panelReadings(job, {
      cycles: 4,
      truth: (x, y, c) => bulge(x, y, 2 - 0.2 * c),
      skip: (x, _y, c) => c === 3 && x > 0.25 && x < 0.7,
    });
    const { progress } = analyse(job, readings).lines[0]!;
    expect(progress.verdict).toBe('undecided');
    expect(progress.reason).toMatch(/height 19 in/);
  });

  it('a later survey of one height alone is not judged: a row says nothing of the panel beside it', () => {
    const readings = panelReadings(job, { cycles: 4, truth: (x, y, c) => bulge(x, y, 2 - 0.25 * c) });
    const top = Math.max(...readings.map((each) => each.height!));
    const only = readings.filter((each) => each.cycle !== 3 || Math.abs(each.height! - top) < 1e-9);
    expect(only.filter((each) => each.cycle === 3).length).toBeGreaterThan(5);
    const { line, fit, progress, acceptance } = analyse(job, only).lines[0]!;
    expect(shortfall(line, fit, fit.surveys.at(-1)!)).toMatchObject({ why: 'crest' });
    expect(progress.verdict).toBe('undecided');
    expect(acceptance[0]!.result).not.toBe('within');
  });

  it.each([
    { read: 'as found', share: 0.4, why: 'part' },
    { read: 'as found', share: 0.2, why: null },
    { read: 'later', share: 0.4, why: 'part' },
    { read: 'later', share: 0.15, why: null },
  ])(
    'a survey $read with $share of the panel unread, away from the crest, carries a number or says what to read',
    ({ read, share, why }) => {
      // The crest stands at 0.45 of the length; the part toward the far end has none.
      const last = read === 'later' ? 3 : 0;
      const wide = panelJob({}, { acceptance: [{ line: 'web-3', limit: '3 in' }] });
      const readings = panelReadings(wide, {
        cycles: last + 1,
        truth: (x, y, c) => bulge(x, y, 2 - 0.25 * c),
      }).filter(
        ({ cycle, station }) => cycle !== last || station < (28 + 5 * (1 - share)) * 12 * INCH + 1e-6,
      );
      const { line, fit, progress, acceptance } = analyse(wide, readings).lines[0]!;
      const survey = fit.surveys.at(-1)!;
      const lack = shortfall(line, fit, survey);
      expect(lack?.why ?? null).toBe(why);
      expect(acceptance[0]!.result).toBe(why === null ? 'within' : 'undetermined');
      if (lack === null) return;
      expect(progress.verdict).toBe(read === 'later' ? 'undecided' : 'not-enough-readings');
      expect(shortfallText(lack, line.name, survey, 'us')).toMatch(
        /reads nothing of web-3 at 3\d'.* to 33'-0", heights 0 in to 38 in: read the whole panel/,
      );
    },
  );

  it.each([
    { grid: [5, 3], inches: '13 in', dent: '18 in' },
    { grid: [10, 7], inches: null, dent: null },
  ] as const)(
    'a grid of $grid spaces is warned of where a dent can stand between its places',
    ({ grid, inches, dent: across }) => {
      // In the middle of a cell of 12 in by 12 2/3 in, 12 in across: no place of the wide grid is on it.
      const hidden = (x: number, y: number) => 2 * INCH * dent(x, y, 0.5, 0.5, 6 / 38, ASPECT);
      const readings = panelReadings(job, { cycles: 1, grid, truth: hidden });
      const { findings, lines } = analyse(job, readings);
      const told = findings.find((f) => f.code === 'grid-too-wide');
      const crest = Math.abs(lines[0]!.fit.surveys[0]!.largest.deviation);
      if (inches === null) {
        expect(told).toBeUndefined();
        expect(crest).toBeGreaterThan(INCH);
        return;
      }
      expect(crest).toBeLessThan(INCH / 4);
      expect(told).toMatchObject({ severity: 'caution' });
      expect(told!.message).toContain(`about every ${inches}`);
      expect(told!.message).toContain(`up to ${across} across`);
    },
  );

  it('a hole of the first day that takes a third of the panel is not asked for again', () => {
    const hole = (x: number, y: number) => x > 0.62 && y > 0.15;
    const readings = panelReadings(job, {
      cycles: 4,
      truth: (x, y, c) => bulge(x, y, 2 - 0.25 * c),
      skip: hole,
    });
    const { line, fit } = analyse(job, readings).lines[0]!;
    expect(fit.surveys[0]!.panel!.unseen[0]!.area).toBeGreaterThan(0);
    expect(shortfall(line, fit, fit.surveys.at(-1)!)).toBeNull();
  });

  it('sets a misreading aside, but not what the next survey says again', () => {
    const slip = (only: number | null) =>
      panelReadings(job, { cycles: 3, truth: (x, y) => bulge(x, y, 1), seed: 4 }).map((r) => {
        const there =
          Math.abs(r.station - (28 * 12 + 48) * INCH) < 1e-6 && r.row > 2 + 4 * 11 && r.row < 2 + 5 * 11;
        return there && (only === null || r.cycle === only) ? { ...r, offset: r.offset + INCH } : r;
      });
    const once = analyse(job, slip(1)).lines[0]!.fit;
    expect(once.surveys.map((s) => s.setAside.length)).toEqual([0, 1, 0]);
    expect(once.surveys[1]!.setAside[0]).toMatchObject({ by: 'rule', file: 'readings/cycle-1.csv' });
    expect(Math.abs(once.surveys[1]!.largest.deviation)).toBeLessThan(1.1 * INCH);
    const always = analyse(job, slip(null)).lines[0]!.fit;
    expect(always.surveys.map((s) => s.setAside.length)).toEqual([0, 0, 0]);
  });

  it('leaves out what was set aside by hand, and keeps what was reinstated', () => {
    const readings = panelReadings(job, { cycles: 1, truth: (x, y) => bulge(x, y, 1), seed: 4 });
    const mark = { file: 'readings/cycle-0.csv', row: 20, who: 'R. Alder', why: 'weld', when: '2026-05-04' };
    const { fit } = analyse(job, readings, [{ ...mark, action: 'set-aside' }]).lines[0]!;
    expect(fit.surveys[0]!.setAside).toMatchObject([{ row: 20, by: 'hand' }]);
    expect(
      analyse(job, readings, [
        { ...mark, action: 'set-aside' },
        { ...mark, action: 'reinstate' },
      ]).lines[0]!.fit.surveys[0]!.setAside,
    ).toEqual([]);
  });

  it('with too few places says so and judges nothing', () => {
    const analysis = analyse(job, panelReadings(job, { cycles: 1, grid: [1, 3], truth: () => 0 }));
    expect(analysis.lines[0]!.fit.surveys).toHaveLength(0);
    expect(analysis.findings.some((f) => f.code === 'too-few-places')).toBe(true);
    expect(analysis.lines[0]!.progress.verdict).toBe('not-enough-readings');
  });
});
