import { describe, expect, it } from 'vitest';
import { VERDICTS } from '../../src/analysis.ts';
import type { ReportContext } from '../../src/report/context.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { renderFinal } from '../../src/report/final.ts';
import { html } from '../../src/report/html.ts';
import { repeatedSentences } from '../repeated-sentences.ts';
import { syntheticAnalysis } from './synthetic-analysis.ts';

const CONTEXT: ReportContext = {
  generated: '2026-03-12',
  tool: 'Sweepbook 0.1.0',
  fraction: 16,
  files: [
    {
      file: 'readings/cycle-0.csv',
      sha256: 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
      rows: 32,
      note: 'imported 4 Mar 2026',
    },
  ],
  ledger: [{ when: '2026-03-04T08:20:00Z', what: 'imported readings/cycle-0.csv' }],
  plotly: null,
};

/** Each sheet with everything behind it: what an engineer files. */
const SHEETS: readonly (readonly [string, typeof renderDaily])[] = [
  ['daily', (analysis, context) => renderDaily(analysis, { ...context, full: true })],
  ['final', (analysis, context) => renderFinal(analysis, { ...context, full: true })],
];

/** Text a reader sees, tags off. */
function visible(page: string): string {
  return page
    .replace(/<style>[\s\S]*?<\/style>|<script[\s\S]*?<\/script>/g, '')
    .replace(/<[^>]+>/g, ' ')
    .replace(/\u00a0/g, ' ')
    .replace(/&#39;/g, "'")
    .replace(/&quot;/g, '"')
    .replace(/\s+/g, ' ');
}

describe.each(SHEETS)('%s sheet', (_name, render) => {
  it('says the verdict before anything else of substance', () => {
    const text = visible(render(syntheticAnalysis({ verdict: 'stalled' }), CONTEXT));
    const verdict = text.indexOf('Stalled');
    expect(verdict).toBeGreaterThan(0);
    expect(verdict).toBeLessThan(text.indexOf('Acceptance'));
    expect(text.indexOf('Look at next')).toBeLessThan(text.indexOf('Line bottom-flange'));
  });

  it('says no sentence twice on its first screen, and nothing there in engineer’s units', () => {
    for (const verdict of VERDICTS) {
      const page = render(syntheticAnalysis({ verdict }), CONTEXT);
      const first = page.slice(
        page.indexOf('<section class="verdict"'),
        page.search(/<div class="leaf page-two"|<section class="line"/),
      );
      expect(first.length).toBeGreaterThan(500);
      const text = visible(first.replace(/<\/(?:p|li|h\d|dd|td|tr)>/g, '\n\n'));
      expect(repeatedSentences(text)).toEqual([]);
      expect(text).not.toMatch(/\bmrad\b|\bRMS\b|\bregime|degrees of freedom/i);
      expect(text).toContain('Next:');
    }
  });

  it('carries what an engineer files', () => {
    const text = visible(render(syntheticAnalysis(), CONTEXT));
    for (const part of [
      'Acceptance',
      'JCGM 106',
      'Findings',
      'Readings set aside',
      'readings/cycle-2.csv, row 17',
      'Method and uncertainty',
      'Cautions',
      'licensed engineer',
      'Sign-off',
      'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
      'The decision is the engineer',
    ]) {
      expect(text).toContain(part);
    }
  });

  it('shows hostile names and notes as text', () => {
    const hostile = `"><script>alert('x')</script><img src=x onerror=alert(1)>`;
    const page = render(
      syntheticAnalysis({ name: hostile, note: hostile, positive: hostile, lines: 3 }),
      CONTEXT,
    );
    expect(page).not.toMatch(/<script>alert/);
    expect(page).not.toMatch(/<img/);
    expect(page).toContain('&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;');
    // Without the interactive layer no script element is left at all.
    expect(page).not.toMatch(/<script/);
    expect(page).toContain(`script-src &#39;none&#39;`);
  });

  it('never shows a number that is not one', () => {
    for (const options of [
      {},
      { cycles: 0, verdict: 'not-enough-readings' as const },
      { zones: false, dates: false },
      { units: 'si' as const, lines: 6 },
      { stations: 3, cycles: 1 },
    ]) {
      expect(
        /.{60}(?:NaN|Infinity|undefined|\[object)/.exec(render(syntheticAnalysis(options), CONTEXT)),
      ).toBeNull();
    }
  });

  it('writes fractions for inches, millimetres for metric, and months in letters', () => {
    const table = (text: string) =>
      text.slice(text.indexOf('Deviations by station'), text.indexOf('Surveys of this line'));
    const us = visible(render(syntheticAnalysis(), CONTEXT));
    expect(table(us)).toMatch(/28'-0"/);
    expect(table(us)).toMatch(/\d \d{1,2}\/16/);
    const si = table(visible(render(syntheticAnalysis({ units: 'si' }), CONTEXT)));
    expect(si).toMatch(/Deviations by station, mm/);
    expect(/ in\b|\d\/\d/.test(si.replace(/Moved in( last| all|)/g, ''))).toBe(false);
    expect(us.includes('Mar 8, 2026')).toBe(true);
    expect(/\b\d{1,2}\/\d{1,2}\/\d{2,4}\b/.test(us)).toBe(false);
  });

  it('rounds to the fraction asked for', () => {
    const eighths = visible(render(syntheticAnalysis(), { ...CONTEXT, fraction: 8 }));
    const table = eighths.slice(
      eighths.indexOf('Deviations by station'),
      eighths.indexOf('Surveys of this line'),
    );
    expect(table).toMatch(/\d\/8/);
    // Movements are written twice as fine, so sixteenths may stand there and thirty-seconds may not.
    expect(table).not.toMatch(/\d\/32/);
  });

  it('takes sections of other stages', () => {
    const page = render(syntheticAnalysis(), {
      ...CONTEXT,
      sections: [{ id: 'heats', title: 'Heats', body: html`<p>${'<12 heats>'}</p>`, in: 'both' }],
    });
    expect(page).toContain('<h2 id="heats">Heats</h2><p>&lt;12 heats&gt;</p>');
  });

  it('is the same page for the same input', () => {
    expect(render(syntheticAnalysis(), CONTEXT)).toBe(render(syntheticAnalysis(), CONTEXT));
  });
});

describe('every drawing', () => {
  it('has a text alternative with numbers', () => {
    const page = renderDaily(syntheticAnalysis({ lines: 2 }), { ...CONTEXT, full: true });
    const drawings = page.match(/<svg class="plot[^>]*>/g)!;
    expect(drawings.length).toBeGreaterThan(10);
    for (const tag of drawings) expect(tag).toMatch(/role="img" aria-label="[^"]*\d[^"]*"/);
  });

  it('states its exaggeration', () => {
    const page = renderDaily(syntheticAnalysis(), { ...CONTEXT, full: true });
    const stated = page.match(/offsets exaggerated (\d+) times/g)!;
    expect(stated.length).toBe(2);
    expect(page).toMatch(/offsets are drawn .*?(\d+) times/);
  });
});

describe('the two pages of the daily sheet', () => {
  it('carry the verdict, the limits, what was set aside, the findings and the signatures, and say where the rest is', () => {
    const text = visible(renderDaily(syntheticAnalysis({ lines: 6 }), CONTEXT));
    for (const part of [
      'Straightening is working',
      'Next:',
      'Heats for the next cycle',
      'Limits of bottom-flange',
      'Other lines and panels',
      'readings/cycle-2.csv, row 17',
      'Findings',
      'licensed engineer',
      'Crew lead: name, signature, date',
      'sweepbook report --full',
    ]) {
      expect(text).toContain(part);
    }
    expect(text).not.toContain('Method and uncertainty');
  });

  it('say nothing twice: a finding on page one is not repeated on page two, and the full sheet lists each once', () => {
    const analysis = syntheticAnalysis();
    const caution = analysis.findings.find((f) => f.severity === 'caution')!;
    for (const full of [false, true]) {
      const text = visible(renderDaily(analysis, { ...CONTEXT, full }));
      expect(text.split(caution.message.slice(0, 40)).length - 1).toBe(full ? 2 : 1);
    }
  });

  it('show names and notes of any length as text that stays inside the page', () => {
    const long = 'A very long name of a very long bridge '.repeat(4).trim();
    const page = renderDaily(syntheticAnalysis({ name: long, note: long, lines: 6 }), CONTEXT);
    expect(visible(page)).toContain(long);
    expect(page.match(/<div class="leaf/g)).toHaveLength(2);
  });
});
