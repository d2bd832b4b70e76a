import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import type { HeatsOfJob } from '../../src/heats/heats-of-job.ts';
import { plannedVee } from '../../src/heats/planned-vee.ts';
import { heatQuantities } from '../../src/heats/quantities.ts';
import { restraintOfJob } from '../../src/heats/restraint-of-job.ts';
import type { Job } from '../../src/job/job.ts';
import { renderCrewCard } from '../../src/report/crew-card.ts';
import { jobWith } from './fixtures.ts';

const CHROMIUM = '/usr/bin/chromium';
const jacked = {
  restraint: { setUp: 'simple', supports: ['21 ft', '41 ft'], importance: 'primary' },
  jacks: [1, 2, 3, 4, 5].map((i) => ({
    name: `jack number ${i} of the north side`,
    station: `${28 + i} ft`,
    ramArea: '5.16 in2',
  })),
};

/** As full as a card gets: many jacks, many vees, stops, a long name. */
function fullHeats(job: Job, vees: number, stops: number): HeatsOfJob {
  const limits = heatLimits(job.member.steel, job.member.flangeWidth, null);
  return {
    limits,
    restraint: restraintOfJob(job),
    hotStress: null,
    factor: null,
    plan: plannedVee(job, limits),
    zones: [],
    made: [],
    led: new Map(),
    panels: [],
    layouts: [
      {
        line: 'bottom-flange',
        vees: Array.from({ length: vees }, (_, i) => ({
          zone: 'A',
          station: 9 + i * 0.31,
          apex: i % 2 === 0 ? 'positive' : 'negative',
          rotation: 0.005,
          basis: 'formula',
          heatsInAll: 2,
        })),
        largestBefore: 0.05,
        largestAfter: 0.03,
        reason: 'test',
      },
    ],
    quantities: heatQuantities({ heats: [], gasUnit: null, currency: null }),
    findings: Array.from({ length: stops }, (_, i) => ({
      severity: 'stop',
      code: 'pressure-above-ceiling',
      message:
        'Gauge at 2100 psi (14.4 MPa), above the ceiling of 1950 psi (13.4 MPa) (primary member, from memory of FHWA-IF-08-999). Release, look for cracks and buckles, and ask the engineer before going on.',
      file: 'heats.csv',
      row: 20 + i,
    })),
  };
}

const facts = { generated: '2026-03-02', tool: 'Sweepbook 0.1.0', cycle: 6 };

describe('crew card', () => {
  it('shows the ceiling rounded down in both units, the temperature, and says the vees are a proposal', () => {
    const job = jobWith({ ...jacked, jacks: [{ name: 'jack', station: '31 ft', ramArea: '5.16 in2' }] });
    const text = renderCrewCard(job, fullHeats(job, 2, 0), facts);
    // 607.5 k-in over 60 in of moment arm and 5.16 in² is 1962 psi, 13.53 MPa; the gauge is marked every 50 psi.
    expect(text).toContain('1950 psi');
    expect(text).toContain('13.4 MPa');
    expect(text).toContain('>10 kip<'); // 1950 psi on 5.16 in² is 10.06 kip
    expect(text).toContain('1200 °F');
    expect(text).toMatch(/Proposal\. Chalk and heat only what the engineer has signed/);
    for (const word of [
      'Cracks first',
      'stored energy',
      'Hot work',
      'Lead',
      'Traffic',
      'Fracture-critical',
      'licensed engineer',
    ]) {
      expect(text).toContain(word);
    }
  });

  it('leads with the units of the job, the other way beside them', () => {
    const jacks = [{ name: 'jack', station: '31 ft', ramArea: '5.16 in2' }];
    const card = (units: 'us' | 'si') => {
      const job = jobWith({ ...jacked, jacks, units });
      return renderCrewCard(job, fullHeats(job, 2, 0), facts).replace(/\s+/g, ' ');
    };
    // 1200 °F is 648.9 °C, rounded down.
    expect(card('us')).toMatch(/big num">1200 °F<\/p><p class="second num">648 °C/);
    expect(card('si')).toMatch(/big num">648 °C<\/p><p class="second num">1200 °F/);
    expect(card('us')).toMatch(/big num">\d+ psi<\/p><p class="second num">[\d.]+ MPa/);
    expect(card('si')).toMatch(/big num">[\d.]+ MPa<\/p><p class="second num">\d+ psi/);
  });

  it('without a set-up it says not to jack, in the place of the number', () => {
    const job = jobWith();
    expect(renderCrewCard(job, fullHeats(job, 2, 0), facts)).toContain('No jacking');
  });

  it('where the grade’s limit is not settled it says not to heat', () => {
    const member = {
      span: '62 ft',
      yieldStress: '70 ksi',
      flangeWidth: '12 in',
      flangeThickness: '1 in',
      steel: 'A709 HPS 70W',
    };
    const job = jobWith({ member });
    expect(renderCrewCard(job, fullHeats(job, 0, 1), facts)).toContain('No heating');
  });

  it('says of a line inside every limit that its vees are no longer needed for the tolerance', () => {
    const job = jobWith(jacked);
    const words = 'bottom-flange: inside every limit now.';
    expect(renderCrewCard(job, fullHeats(job, 1, 0), { ...facts, within: ['bottom-flange'] })).toContain(
      words,
    );
    expect(renderCrewCard(job, fullHeats(job, 1, 0), { ...facts, within: ['other'] })).not.toContain(words);
    expect(renderCrewCard(job, fullHeats(job, 0, 0), { ...facts, within: ['bottom-flange'] })).not.toContain(
      words,
    );
  });

  it('markup in a name stays text', () => {
    const job = jobWith({ job: '<script>alert(1)</script> & co' });
    const text = renderCrewCard(job, fullHeats(job, 1, 0), facts);
    expect(text).not.toContain('<script>alert');
    expect(text).toContain('&lt;script&gt;alert(1)&lt;/script&gt; &amp; co');
  });

  it('prints on one A4 and one Letter page, however full', async () => {
    if (!existsSync(CHROMIUM)) {
      console.warn('NOT RUN: no chromium here, so nothing checks that the crew card prints on one page');
      return;
    }
    const { chromium } = await import('playwright-core');
    const folder = mkdtempSync(join(tmpdir(), 'card-'));
    const browser = await chromium.launch({
      executablePath: CHROMIUM,
      args: [
        '--no-sandbox',
        '--disable-gpu',
        '--disable-quic',
        '--no-first-run',
        '--disable-background-networking',
        '--disable-component-update',
        '--disable-sync',
      ],
    });
    try {
      const name =
        'Juniper Lane over the canal, northbound carriageway, girder 4 of 7, second span from the east abutment';
      const crowded = jobWith({ ...jacked, job: name });
      const roomy = jobWith({ ...jacked, jacks: jacked.jacks.slice(0, 2), job: name });
      const long = (words: string) => `${words} `.repeat(20).slice(0, 290).trim();
      const wordy = jobWith({
        ...jacked,
        restraint: { ...jacked.restraint, fraction: 0.4, fractionSource: long('special provision') },
        jacks: jacked.jacks.map((jack) => ({ ...jack, name: long('jack') })),
        lines: {
          'bottom-flange': {
            kind: 'sweep',
            bearings: ['0 ft', '62 ft'],
            positive: long('toward the shoulder'),
          },
        },
        job: long('Juniper Lane'),
      });
      // Words stand where a number would: no set-up, and a grade whose limit is not settled.
      const unsettled = jobWith({
        member: {
          span: '62 ft',
          yieldStress: '70 ksi',
          flangeWidth: '12 in',
          flangeThickness: '1 in',
          steel: 'A709 HPS 70W',
        },
      });
      for (const [job, vees, stops] of [
        [wordy, 14, 4],
        [crowded, 14, 4],
        [crowded, 14, 0],
        [roomy, 6, 0],
        [roomy, 5, 0],
        [roomy, 0, 0],
        [jobWith(), 2, 0],
        [unsettled, 2, 0],
        [unsettled, 0, 4],
      ] as const) {
        const file = join(folder, 'card.html');
        writeFileSync(file, renderCrewCard(job, fullHeats(job, vees, stops), facts));
        const sheet = await browser.newPage({ viewport: { width: 390, height: 800 } });
        await sheet.goto(`file://${file}`);
        expect(
          await sheet.evaluate('document.documentElement.scrollWidth - innerWidth'),
          'phone width',
        ).toBeLessThanOrEqual(0);
        for (const format of ['A4', 'Letter'] as const) {
          const path = join(folder, `${format}.pdf`);
          await sheet.pdf({ path, format, printBackground: true });
          const pages = readFileSync(path, 'latin1').match(/\/Type\s*\/Page\b(?!s)/g) ?? [];
          expect(pages.length, `${format}, ${vees} vees, ${stops} stops`).toBe(1);
        }
        // On paper, 186 mm between the margins of A4, the large words and numbers stay inside their boxes.
        await sheet.emulateMedia({ media: 'print' });
        await sheet.setViewportSize({ width: Math.floor((186 / 25.4) * 96), height: 1000 });
        const over = await sheet.evaluate(
          `[...document.querySelectorAll('.box')].map((box) => box.scrollWidth - box.clientWidth)`,
        );
        expect(over, `${vees} vees, ${stops} stops`).toEqual([0, 0]);
        await sheet.close();
      }
    } finally {
      await browser.close();
      rmSync(folder, { recursive: true });
    }
  }, 120_000);
});
