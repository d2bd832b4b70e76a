/** How many sheets of paper the worst jobs take, printed by a real browser and counted by pdfinfo. */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { type Browser, chromium } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { Analysis } from '../../src/analysis.ts';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import { type HeatsOfJob, heatsOfJob } from '../../src/heats/heats-of-job.ts';
import { plannedVee } from '../../src/heats/planned-vee.ts';
import { heatQuantities } from '../../src/heats/quantities.ts';
import type { BulgeDocument } from '../../src/report/bulge-document.ts';
import type { ReportContext } from '../../src/report/context.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { renderFinal } from '../../src/report/final.ts';
import { panelReadings } from '../panels/campaign.ts';
import { MEMBER, panelJob } from '../panels/panel-job.ts';
import { dent } from '../panels/plates.ts';
import { syntheticAnalysis } from './synthetic-analysis.ts';

const CHROMIUM = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(
  existsSync,
);
const PDFINFO = ['/usr/bin/pdfinfo', '/usr/local/bin/pdfinfo'].find(existsSync);
if (CHROMIUM === undefined || PDFINFO === undefined)
  console.warn('SKIPPED, LOUDLY: no Chromium or no pdfinfo found, printed pages were not counted');

const LONG = 'Kettle Lane over the old canal and the two sidings of the quarry railway, north carriageway';

function panel(i: number): BulgeDocument {
  return {
    schema: 'sweepbook/bulge/1',
    cycle: 40,
    date: '2026-03-12',
    source: { name: `panel-${i}.ply`, sha256: 'e3b0c44298fc1c149afbf4c8996fb924'.repeat(2) },
    map: {
      panel: { name: `web panel ${i} between the diaphragms at 15 ft and 31 ft` },
      outline: [
        [0, 0],
        [1.5, 0],
        [1.5, 0.9],
        [0, 0.9],
      ],
      largest: { u: 0.7, v: 0.4, deviation: 0.013, sd: 0.0004 },
    } as unknown as BulgeDocument['map'],
  };
}

/** Forty cycles, six lines, three panels, a finding of every kind there might be, and misreads in every survey. */
function worst(units: 'us' | 'si'): Analysis {
  const analysis = syntheticAnalysis({ lines: 6, cycles: 40, stations: 60, units, name: LONG, note: LONG });
  return {
    ...analysis,
    findings: [
      ...analysis.findings,
      ...Array.from({ length: 60 }, (_, i) => ({
        severity: (['stop', 'caution', 'note'] as const)[i % 3]!,
        code: `kind-${i % 25}`,
        message: `Finding ${i}: ${`${LONG}. `.repeat(3)}Look at it again before the next heat.`,
      })),
    ],
    lines: analysis.lines.map((item) => ({
      ...item,
      acceptance: Array.from({ length: 4 }, () => item.acceptance).flat(),
      fit: {
        ...item.fit,
        surveys: item.fit.surveys.map((survey) => ({
          ...survey,
          setAside: Array.from({ length: 3 }, (_, row) => ({
            file: `readings/cycle-${survey.cycle}-as-typed-in-from-the-wet-sheet.csv`,
            row: row + 2,
            station: row,
            offset: 0.02,
            reason: `${LONG}, reading ${row} off by ${row} in`,
            by: 'hand' as const,
          })),
        })),
      },
    })),
  };
}

/** Limits of heats on a bulge, so that heats are proposed on the sheet. */
const BULGE_LIMITS = {
  ...{ spotDiameter: ['1 in', '1 1/2 in'], spotSpacing: '4 in', spotsPerCycle: 6 },
  ...{ lineSpacing: '5 in', linesPerCycle: 2, source: 'special provision of this job, 7.3' },
};
const PANELS = ['web-3', 'web-4', 'web-5 behind the long stiffener', 'web-6', 'web-7'];

/** Five panels (or fewer) read in four cycles, the first with a hole in it. */
function panelsOnly(names: readonly string[] = PANELS, grid?: readonly [number, number]): Analysis {
  const whole = panelJob({}, { member: { ...MEMBER, steel: 'A36' }, heating: { limits: BULGE_LIMITS } });
  const web = whole.lines[0]!;
  const job = { ...whole, lines: names.map((name) => ({ ...web, name })) };
  const readings = names.flatMap((name, k) =>
    panelReadings(
      { ...job, lines: [job.lines[k]!] },
      {
        cycles: 4,
        seed: k + 1,
        ...(grid === undefined ? {} : { grid }),
        truth: (x, y, c) =>
          (k % 2 === 0 ? 1 : -1) *
          ((grid === undefined ? 0.05 : 0.09) - 0.008 * c) *
          dent(x, y, 0.5, 0.5, 0.45, 60 / 38),
        skip: (x, y) => k === 0 && Math.abs(x - 0.5) < 0.12 && Math.abs(y - 0.5) < 0.16,
      },
    ).map((reading) => ({ ...reading, line: name, file: `readings/${k}-${reading.cycle}.csv` })),
  );
  return analyse(job, readings);
}

/** A line read every few feet, and every few inches where it is bent. */
function closeStations(): Analysis {
  const analysis = syntheticAnalysis({ lines: 1, cycles: 5, stations: 22 });
  return {
    ...analysis,
    lines: analysis.lines.map((item) => ({
      ...item,
      fit: {
        ...item.fit,
        surveys: item.fit.surveys.map((survey) => {
          const [from, to] = [survey.stations[0]!.station, survey.stations.at(-1)!.station];
          const closer = (station: number) => {
            const half = (2 * (station - from)) / (to - from) - 1;
            return from + ((to - from) * (1 + half ** 3)) / 2;
          };
          return {
            ...survey,
            stations: survey.stations.map((each) => ({ ...each, station: closer(each.station) })),
          };
        }),
      },
    })),
  };
}

const CONTEXT: ReportContext = {
  generated: '2026-03-12',
  tool: 'Sweepbook 0.1.0',
  fraction: 16,
  files: Array.from({ length: 40 }, (_, i) => ({
    file: `readings/cycle-${i}.csv`,
    sha256: 'e3b0c44298fc1c149afbf4c8996fb924'.repeat(2),
    rows: 32,
    note: i % 7 === 0 ? 'CHANGED since it was imported 4 Mar 2026' : 'as imported 4 Mar 2026',
  })),
  ledger: [],
  ledgerSeal: { records: 90, sha256: 'e3b0c44298fc1c149afbf4c8996fb924'.repeat(2) },
  plotly: null,
  panels: [panel(1), panel(2), panel(3)],
  claim: {
    sums: null,
    cracks: { lacking: true, sentences: Array.from({ length: 9 }, () => `${LONG}.`) },
    checks: [],
    faults: [`costs.csv could not be used. ${LONG}. `.repeat(40)],
  },
  heatsFault: `heats.csv could not be used. ${LONG}`,
  besideDays: [`Cycle 31 stood still: ${LONG}.`],
};

/** As many vees as a crew can make in a day, on two lines, beside everything else. */
function manyVees({ job, lines }: Analysis): HeatsOfJob {
  const limits = heatLimits(job.member.steel, job.member.flangeWidth, null);
  return {
    limits,
    restraint: null,
    hotStress: null,
    factor: null,
    plan: plannedVee(job, limits),
    zones: [],
    made: [],
    led: new Map(),
    panels: [],
    layouts: lines.slice(0, 2).map(({ line }) => ({
      line: line.name,
      vees: Array.from({ length: 8 }, (_, i) => ({
        ...{ zone: 'A', station: 3 + i * 0.31, apex: i % 2 === 0 ? 'positive' : 'negative' },
        ...{ rotation: 0.005, basis: 'formula', heatsInAll: 2 },
      })),
      largestBefore: 0.05,
      largestAfter: 0.04,
      reason: LONG,
    })) as HeatsOfJob['layouts'],
    quantities: heatQuantities({ heats: [], gasUnit: null, currency: null }),
    findings: [],
  };
}

const { heatsFault: _, ...WITH_LOG } = CONTEXT;
const withVees = (units: 'us' | 'si'): string => {
  const analysis = worst(units);
  return renderDaily(analysis, { ...WITH_LOG, heats: manyVees(analysis) });
};

/** Five heats on a panel read closely, and the same on each panel more. */
const withPanelHeats = (names: readonly string[]): string => {
  const close = panelsOnly(['web-3'], [15, 10]);
  const heats = heatsOfJob(close, { heats: [], gasUnit: null, currency: null });
  // A sheet without heats would prove nothing.
  expect(heats.panels[0]!.next.length).toBeGreaterThan(4);
  const panels = names.map((line) => ({ ...heats.panels[0]!, line }));
  const analysis = names.length === 1 ? close : panelsOnly(names);
  return renderDaily(analysis, { ...WITH_LOG, besideDays: [], panels: [], heats: { ...heats, panels } });
};

let browser: Browser;
let folder: string;

describe.runIf(CHROMIUM !== undefined && PDFINFO !== undefined)('printed pages', () => {
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-printed-'));
    browser = await chromium.launch({
      executablePath: CHROMIUM!,
      args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run'],
    });
  });
  afterAll(async () => {
    await browser?.close();
    if (folder !== undefined) rmSync(folder, { recursive: true, force: true });
  });

  const SHEETS = [
    ['the worst job in feet', () => renderDaily(worst('us'), CONTEXT), 2],
    ['the worst job in metres', () => renderDaily(worst('si'), CONTEXT), 2],
    ['the worst job in feet with sixteen vees', () => withVees('us'), 2],
    ['the worst job in metres with sixteen vees', () => withVees('si'), 2],
    ['an ordinary job', () => renderDaily(syntheticAnalysis({ lines: 3 }), { ...CONTEXT, panels: [] }), 2],
    ['the final report of the worst job', () => renderFinal(worst('us'), CONTEXT), 10],
    [
      'the final report of an ordinary job',
      () => renderFinal(syntheticAnalysis({ lines: 2 }), { ...CONTEXT, panels: [] }),
      10,
    ],
    ['a job of five panels only', () => renderDaily(panelsOnly(), { ...CONTEXT, panels: [] }), 2],
    ['five panels with heats', () => withPanelHeats(PANELS), 2],
    ['its final report', () => renderFinal(panelsOnly(), { ...CONTEXT, panels: [] }), 10],
    ['one survey', () => renderDaily(syntheticAnalysis({ cycles: 0 }), CONTEXT), 2],
  ] as const;

  for (const [name, make, most] of SHEETS) {
    for (const format of ['A4', 'Letter'] as const) {
      it(`${name}: ${most === 2 ? '' : 'at most '}${most} pages of ${format}, nothing cut off`, async () => {
        const { pages, hiding, over } = await printed(make(), format);
        expect(hiding).toBe(0);
        expect(over).toEqual([]);
        if (most === 2) expect(pages).toBe(2);
        else {
          expect(pages).toBeGreaterThan(2);
          expect(pages).toBeLessThanOrEqual(most);
        }
      });
    }
  }

  it('no number stands on another where stations are close together, and words that do are seen', async () => {
    const page = renderDaily(closeStations(), { ...CONTEXT, panels: [], full: true });
    expect((await printed(page, 'Letter')).over).toEqual([]);
    const twoOver =
      '<p style="position:relative">One over<span style="position:absolute;left:0;top:0">another</span></p>';
    expect((await printed(twoOver, 'Letter')).over).not.toEqual([]);
  });

  it('the panel that decides is drawn large enough to read beside its heats, its caption whole', async () => {
    for (const format of ['A4', 'Letter'] as const) {
      const { pages, captionCut, mapHigh } = await printed(withPanelHeats(PANELS.slice(0, 1)), format);
      expect(pages).toBe(2);
      expect(captionCut).toBe(0);
      // 38 in of web: a place chalked to the inch is 0.8 mm on the sheet.
      expect(mapHigh).toBeGreaterThan(30);
    }
  });
});

interface Printed {
  readonly pages: number;
  /** Leaves that would hide what does not fit, where a page more is the honest answer. */
  readonly hiding: number;
  /** Captions of drawings whose end is not shown. */
  readonly captionCut: number;
  /** Height of the first map of a panel, mm; 0 without one. */
  readonly mapHigh: number;
  /** Words that stand on other words. */
  readonly over: readonly string[];
}

async function printed(text: string, format: 'A4' | 'Letter'): Promise<Printed> {
  const file = join(folder, 'sheet.html');
  writeFileSync(file, text);
  const page = await browser.newPage();
  await page.goto(pathToFileURL(file).href);
  const pdf = join(folder, 'sheet.pdf');
  await page.pdf({ path: pdf, format, printBackground: true });
  await page.emulateMedia({ media: 'print' });
  const width = Math.floor((((format === 'A4' ? 210 : 215.9) - 28) / 25.4) * 96);
  await page.setViewportSize({ width, height: 1000 });
  const hiding = await page
    .locator('.leaf')
    .evaluateAll((all) => all.filter((leaf) => getComputedStyle(leaf).overflow !== 'visible').length);
  const captionCut = await page
    .locator('.leaf figcaption')
    .evaluateAll((all) => all.filter((each) => each.scrollHeight > each.clientHeight + 1).length);
  const maps = page.locator('.leaf figure svg.wide path.unseen');
  const mapHigh =
    (await maps.count()) === 0
      ? 0
      : await maps.first().evaluate((each) => (each.getBoundingClientRect().height / 96) * 25.4);
  await page.context().close();
  const info = execFileSync(PDFINFO!, [pdf], { encoding: 'utf8' });
  return {
    pages: Number(/Pages:\s+(\d+)/.exec(info)![1]),
    hiding,
    captionCut,
    mapHigh,
    over: wordsOverWords(pdf),
  };
}

/** Words of a PDF that share more than 2 pt of width and half of their height with another. */
function wordsOverWords(pdf: string): string[] {
  const boxes = execFileSync('pdftotext', ['-bbox', pdf, '-'], { encoding: 'utf8', maxBuffer: 1e8 });
  return boxes.split('<page ').flatMap((page, at) => {
    const words = [...page.matchAll(/<word xMin="(.+?)" yMin="(.+?)" xMax="(.+?)" yMax="(.+?)">(.*?)</g)].map(
      ([, x0, y0, x1, y1, text]) => ({ x0: +x0!, y0: +y0!, x1: +x1!, y1: +y1!, text: text! }),
    );
    return words.flatMap((a, i) =>
      words.slice(i + 1).flatMap((b) => {
        const across = Math.min(a.x1, b.x1) - Math.max(a.x0, b.x0);
        const down = Math.min(a.y1, b.y1) - Math.max(a.y0, b.y0);
        // A label with a rim around its letters is set twice at one place.
        const twice = a.text === b.text && a.x0 === b.x0 && a.y0 === b.y0;
        return !twice && across > 2 && down > 0.5 * Math.min(a.y1 - a.y0, b.y1 - b.y0)
          ? [`page ${at}: ${a.text} on ${b.text}`]
          : [];
      }),
    );
  });
}
