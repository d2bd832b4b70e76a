import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { checkReadings } from '../../src/doubts/check-readings.ts';
import { csvText as exportText } from '../../src/export/csv-text.ts';
import { describeProblem, InputError } from '../../src/input-error.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { jsonProblems } from '../../src/job/json-fault.ts';
import type { ReadOptions } from '../../src/read/read-options.ts';
import { readingsReader, readReadings } from '../../src/read/readings-csv.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import { pooledReadingSd } from '../../src/survey/reading-sd.ts';
import { parseLength } from '../../src/units/parse-length.ts';
import { csvText, jobText, spoiled } from './hostile.ts';
import { HOSTILE } from './hostile-texts.ts';

/**
 * Whatever is in a file: no crash, no hang, nothing thrown but InputError, no NaN, and no active character in a message.
 *
 * CI runs a slice with a fixed seed; `npm run fuzz` runs the full number (FUZZ_CASES) with a seed of its own (FUZZ_SEED).
 */
const CASES = Number.parseInt(process.env.FUZZ_CASES ?? '1000', 10);
const SEED = Number.parseInt(process.env.FUZZ_SEED ?? '20260304', 10);
const settings = { numRuns: CASES, seed: SEED } as const;
/** Counts what was tried, then fails as fast-check does by itself. */
function counted<T>(details: fc.RunDetails<T>): void {
  tried += details.numRuns;
  if (details.failed) throw new Error(fc.defaultReportMessage(details));
}
const TIME = 60_000 + CASES * 20;
/** One small file may not take longer than this, ms. Generous: the aim is a hang, not speed. */
const SLOW = 5000;

// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what this looks for
const ACTIVE = /[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\ufeff]/;

const OPTIONS: readonly ReadOptions[] = [
  { file: 'a.csv', units: 'us', lines: [{ name: 'bottom-flange', kind: 'sweep', from: -1, to: 20 }] },
  { file: 'a.csv', units: 'si', lines: null, line: 'x' },
  {
    file: 'a.csv',
    units: 'us',
    dashed: 'sixteenths',
    lines: [
      { name: 'bottom-flange', kind: 'sweep', from: -1, to: 20 },
      { name: 'top flange', kind: 'camber', from: -1, to: 20 },
    ],
  },
];

let tried = 0;
afterAll(() => {
  console.info(
    `intake: ${tried} cases, seed ${SEED}: no crash, no hang, nothing thrown but what a user can read`,
  );
});

describe(`hostile input, ${CASES} cases each`, () => {
  it(
    'CSV: only readings and problems, the same however the text is cut',
    () => {
      let withReadings = 0;
      const lineEnds = /\r\n|\r|\n/g;
      fc.assert(
        fc.property(csvText, fc.nat(), fc.constantFrom(...OPTIONS), (text, cut, options) => {
          const start = performance.now();
          const whole = readReadings(text, options);
          if (whole.count > 0) withReadings++;
          const lines = (text.match(lineEnds)?.length ?? 0) + 1;
          for (const reading of whole.readings) {
            expect(Number.isFinite(reading.station) && Number.isFinite(reading.offset)).toBe(true);
            expect(reading.cycle).toBeGreaterThanOrEqual(0);
            expect(reading.row).toBeGreaterThan(0);
            expect(reading.row).toBeLessThanOrEqual(lines);
          }
          for (const problem of whole.problems) {
            expect(problem.found.length * problem.expected.length).toBeGreaterThan(0);
            expect(problem.row ?? 1).toBeLessThanOrEqual(lines);
            const shown = describeProblem(problem);
            expect(shown).not.toMatch(ACTIVE);
            expect(shown).not.toMatch(/undefined|NaN/.test(text) ? /$^/ : /undefined|NaN/);
          }
          const pieces: unknown[] = [];
          const reader = readingsReader(options, (reading) => pieces.push(reading));
          const at = text.length === 0 ? 0 : cut % text.length;
          reader.push(text.slice(0, at));
          reader.push(text.slice(at));
          expect(reader.end()).toEqual({ ...whole, readings: undefined });
          expect(pieces).toEqual(whole.readings);
          const check = checkReadings(whole.readings, null, whole.readings);
          expect(JSON.stringify(check)).not.toMatch(/:null,"(?:from|to)"|NaN/);
          for (const name of new Set(whole.readings.map((reading) => reading.line))) {
            const sd = pooledReadingSd(assembleSurveys(whole.readings, { name }), { readingSd: null });
            expect(sd.value).toBeGreaterThan(0);
          }
          expect(performance.now() - start).toBeLessThan(SLOW);
        }),
        { ...settings, reporter: counted },
      );
      // Some must get through, or the cases test nothing past the heading.
      expect(withReadings).toBeGreaterThan(CASES / 5);
    },
    TIME,
  );

  it(
    'job.json: a job of finite numbers, or an InputError with problems',
    () => {
      let good = 0;
      fc.assert(
        fc.property(jobText, (text) => {
          const start = performance.now();
          try {
            const job = parseJob(text, { readText: () => null });
            good++;
            JSON.stringify(job, (_, value: unknown) => {
              if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true);
              return value;
            });
          } catch (error) {
            if (!(error instanceof InputError)) throw error;
            expect(error.problems.length).toBeGreaterThan(0);
            for (const problem of error.problems) {
              const shown = describeProblem(problem);
              expect(shown).not.toMatch(ACTIVE);
              expect(problem.expected).not.toBe('');
            }
          }
          expect(performance.now() - start).toBeLessThan(SLOW);
        }),
        { ...settings, reporter: counted },
      );
      // Some must get through, or the cases test nothing past the first fault.
      expect(good).toBeGreaterThan(CASES / 100);
    },
    TIME,
  );

  it(
    'JSON: a fault is found exactly where the parser of the engine refuses (ECMA-404 / RFC 8259)',
    () => {
      const text = fc.oneof(
        jobText,
        spoiled(fc.json({ maxDepth: 3 })),
        fc.string({ unit: fc.constantFrom(...'{}[],:"\\/ \n\t019.-+eEtruefalsn\u0001'), maxLength: 14 }),
      );
      fc.assert(
        fc.property(text, (json) => {
          let valid = true;
          try {
            JSON.parse(json);
          } catch {
            valid = false;
          }
          const faults = jsonProblems(json, 'job.json').filter((each) => each.expected !== 'each key once');
          fc.pre(!faults.some((each) => each.found.startsWith('brackets nested')));
          expect(faults.length === 0).toBe(valid);
        }),
        { ...settings, reporter: counted },
      );
    },
    TIME,
  );

  it(
    'length cells: a finite length, or what was expected',
    () => {
      const text = fc.oneof(
        fc.constantFrom(...HOSTILE),
        spoiled(
          fc.constantFrom(`5'-3 1/2"`, '12+06.5', '-0 1/16', '3 5/16 in', '1,234.5', '84.1 mm', '5-3-8', '½'),
        ),
        fc.string({ unit: fc.constantFrom(...`0123456789 -+./,'"ft in′″½⁄`), maxLength: 14 }),
      );
      fc.assert(
        fc.property(text, fc.constantFrom('ft', 'in', 'm', 'mm'), fc.boolean(), (cell, unit, flag) => {
          const parsed = parseLength(cell, {
            unit,
            station: flag,
            decimalComma: flag,
            dashed: flag ? 'eighths' : null,
          });
          if (parsed.ok) {
            expect(Number.isFinite(parsed.metres)).toBe(true);
            expect(cell).toMatch(/[0-9½]/);
          } else expect(parsed.expected).not.toBe('');
        }),
        { ...settings, reporter: counted },
      );
    },
    TIME,
  );

  it('cells for export: one line, no formula, and the quotes close', () => {
    fc.assert(
      fc.property(
        fc.oneof(fc.constantFrom(...HOSTILE), fc.string({ unit: 'binary', maxLength: 30 })),
        (text) => {
          const written = exportText({ name: 'notes', columns: ['note'], rows: [[text]] } as Parameters<
            typeof exportText
          >[0]);
          const cell = written.slice('note\n'.length, -1);
          expect(cell).not.toMatch(ACTIVE);
          expect(cell.replace(/^"+/, '')).not.toMatch(/^\s*[=+\-@]/);
          expect((cell.match(/"/g)?.length ?? 0) % 2).toBe(0);
          if (/[",]/.test(text)) expect(cell.startsWith('"') && cell.endsWith('"')).toBe(true);
        },
      ),
      { ...settings, reporter: counted },
    );
  });
});
