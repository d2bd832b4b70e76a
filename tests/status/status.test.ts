import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { statusSchema } from '../../src/status/status-document.ts';
import { wrapText } from '../../src/wrap-text.ts';
import { runInProcess, type Said } from '../cli/in-process.ts';
import { repeatedSentences } from '../repeated-sentences.ts';

const SAMPLES = new URL('../../sample-surveys', import.meta.url).pathname;
const samples = readdirSync(SAMPLES).filter((name) => existsSync(join(SAMPLES, name, 'job.json')));

/** Each command line is run once: the samples do not change, and a fit takes a second. */
const ran = new Map<string, Promise<Said>>();
function sweepbook(...argv: string[]): Promise<Said> {
  const line = argv.join(' ');
  const said =
    ran.get(line) ??
    runInProcess(argv, COMMANDS, { cwd: SAMPLES, now: () => new Date('2026-03-04T08:00:00Z') });
  ran.set(line, said);
  return said;
}

/** Every number of a document, with its path, so that a NaN hidden as null or a string cannot pass. */
function nulls(value: unknown, path = ''): string[] {
  if (value === null) return [path];
  if (typeof value !== 'object') return [];
  return Object.entries(value).flatMap(([key, inner]) =>
    nulls(inner, `${path}.${key.replace(/^\d+$/, '*')}`),
  );
}

/** Where the contract allows an explicit null. */
const MAY_BE_NULL = new Set([
  '.member.line',
  '.lines.*.surveys.*.date',
  '.lines.*.surveys.*.cannotTell',
  '.lines.*.zones.*.radius',
  '.lines.*.progress.rate',
  '.lines.*.progress.rateLow',
  '.lines.*.progress.rateHigh',
  '.lines.*.progress.sinceCycle',
  '.lines.*.progress.cyclesLeft',
  '.lines.*.progress.cyclesLeft.high',
  '.lines.*.progress.probabilityWithin',
  '.lines.*.progress.pattern',
  '.lines.*.progress.pattern.spell',
  '.lines.*.acceptance.*.measured',
  '.lines.*.acceptance.*.u',
  '.lines.*.acceptance.*.at',
  '.lines.*.acceptance.*.sinceAsFound',
  '.findings.*.file',
  '.findings.*.row',
]);

describe('status', () => {
  it('has at least three samples to run on', () => {
    expect(samples.length).toBeGreaterThanOrEqual(3);
  });

  for (const sample of samples) {
    it(`${sample}: --json is one document of schema sweepbook/status/1`, async () => {
      const { out, status } = await sweepbook('status', sample, '--json');
      expect(status).toBe(0);
      const document = JSON.parse(out) as unknown;
      const checked = statusSchema.parse(document);
      expect(checked.lines.length).toBeGreaterThan(0);
      for (const path of nulls(document)) expect(MAY_BE_NULL, `${sample}${path} is null`).toContain(path);
      for (const line of checked.lines) {
        // One number per bend as found, and a radius that goes with it.
        const asFound = line.surveys.find((survey) => survey.judged)!;
        for (const zone of line.zones) {
          const read = asFound.zones.find((each) => each.zone === zone.zone)!;
          expect(zone.rotation).toBe(read.rotation);
          expect(zone.rotationU).toBeGreaterThanOrEqual(read.u);
          expect(zone.radius! * Math.abs(zone.rotation)).toBeCloseTo(zone.to - zone.from, 9);
        }
        // An interval in words carries the level the document gives it.
        for (const said of line.progress.reason.match(/\d+ % interval/g) ?? [])
          expect(said).toBe(`${Math.round(100 * line.progress.level)} % interval`);
        // The second difference is published from readings with a neighbour on either side, in order along the line.
        const places = line.pointCurvature.map((each) => each.station);
        if (line.zones.length > 0) expect(places.length).toBeGreaterThan(0);
        expect(places).toEqual([...places].sort((a, b) => a - b));
        for (const survey of line.surveys) {
          const shown = survey.deviations.map((each) => Math.abs(each.deviation));
          // A panel's largest is its crest, which stands between the places read: above the highest of them by its u.
          const above = line.kind === 'bulge' ? 3 * survey.largest.u : 1e-12;
          expect(Math.abs(survey.largest.deviation)).toBeLessThanOrEqual(Math.max(...shown) + above);
        }
      }
    });

    it(`${sample}: the text fits 80 columns, says the verdict first and defers to the engineer`, async () => {
      const { out, status } = await sweepbook('status', sample);
      expect(status).toBe(0);
      const lines = out.split('\n');
      for (const line of lines) expect(line.length, line).toBeLessThanOrEqual(80);
      // Under the rule, however many lines the title takes.
      expect(lines[lines.findIndex((line) => line.startsWith('===')) + 1]).toMatch(/^[A-Z :]+$/);
      expect(out).toMatch(/licensed engineer/);
      expect(out).not.toMatch(/NaN|undefined|Infinity/);
      expect(out).not.toContain(String.fromCharCode(27));
    });
  }

  for (const sample of samples) {
    it(`${sample}: a crew chief reads no engineer's units and no sentence twice`, async () => {
      const { out } = await sweepbook('status', sample);
      expect(out).not.toMatch(/\bmrad\b|\bRMS\b|\bregime|degrees of freedom/i);
      expect(repeatedSentences(out)).toEqual([]);
    });
  }

  it('a sentence that stands twice is found, however it is wrapped', () => {
    expect(
      repeatedSentences('It came one inch closer.\nNEXT  Go on. It came one\n      inch closer.'),
    ).toEqual(['It came one inch closer.']);
  });

  it('a folder that is not a job is an input error (status 1); a missing argument is wrong usage (status 2)', async () => {
    const missing = await sweepbook('status', 'no-such-job');
    expect(missing.status).toBe(1);
    expect(missing.out).toBe('');
    expect(missing.err).toMatch(/no-such-job/);
    const usage = await sweepbook('status');
    expect(usage.status).toBe(2);
    expect(usage.out).toBe('');
  });
});

describe('wrapped text', () => {
  it('never parts a number from its unit, its sign or its fraction', () => {
    const text = 'Tolerance within, 2 15/16 in ± 0.091 in: an 80 % interval of 5.2 mm at 7 m';
    for (let width = 12; width < 60; width++) {
      const lines = wrapText(text, width);
      expect(lines.join(' ')).toBe(text);
      for (const line of lines.slice(1)) expect(line).not.toMatch(/^(in|mm|m|%|\d+\/\d+)\b|^%|^0\.091/);
    }
  });
});
