import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import Papa from 'papaparse';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { appendToLedger, readLedger } from '../../src/cli/store/ledger.ts';
import { parseRows } from '../../src/cli/store/parse-rows.ts';
import { terminalText } from '../../src/cli/terminal-text.ts';
import { csvText } from '../../src/export/csv-text.ts';
import { inertText } from '../../src/inert-text.ts';
import { safeCsvName } from '../../src/job/csv-name.ts';
import { keptFiles } from '../../src/ledger/contents.ts';

/** Seeded, so that a failure can be had again; SWEEPBOOK_FUZZ multiplies the cases for a long run. */
const TIMES = Number(process.env.SWEEPBOOK_FUZZ ?? 1);
const cases = (number: number) => ({ seed: 20310504, numRuns: Math.round(number * TIMES) });
const anyText = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 40 }),
  fc.string({ unit: 'grapheme', maxLength: 40 }),
  fc.string({
    unit: fc.constantFrom('=', '+', '-', '@', '\t', '\r', '\n', '"', "'", ',', ' ', '\u001b', 'a', '1'),
  }),
);
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what must not be there
const ACTIVE = /[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]/u;

let folder: string;
let sound: Buffer;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'sweepbook-fuzz-'));
  mkdirSync(join(folder, 'readings'));
  writeFileSync(join(folder, 'job.json'), '{}');
  const when = '2031-05-04T10:00:00.000Z';
  appendToLedger(folder, { kind: 'start', job: 'Juniper Lane over the canal, girder 4' }, when);
  for (let row = 2; row < 6; row++) {
    const what = { kind: 'mark' as const, action: 'set-aside' as const, file: 'readings/a.csv', rows: [row] };
    appendToLedger(folder, { ...what, who: 'R. Alder', why: 'string touched the hanger' }, when);
  }
  sound = readFileSync(join(folder, 'ledger.jsonl'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a ledger of any bytes', () => {
  it('is read without a crash, and names no file outside the job', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), fc.boolean(), (bytes, after) => {
        writeFileSync(join(folder, 'ledger.jsonl'), Buffer.concat(after ? [sound, bytes] : [bytes]));
        const ledger = readLedger(folder);
        for (const file of keptFiles(ledger).keys())
          expect(file).toMatch(/^(readings|scans)\/[^/\\.][^/\\]*\.csv$/i);
        expect(ledger.seals).toHaveLength(ledger.count);
      }),
      cases(1000),
    );
  });

  it('with one byte changed, taken out or put in is always noticed', () => {
    fc.assert(
      fc.property(
        fc.nat(sound.length - 2),
        fc.integer({ min: 1, max: 255 }),
        fc.constantFrom('change', 'remove', 'insert'),
        (at, by, what) => {
          const byte = (sound[at]! + by) % 256;
          const middle = what === 'change' ? [byte] : what === 'remove' ? [] : [byte, sound[at]!];
          const bytes = Buffer.concat([sound.subarray(0, at), Buffer.from(middle), sound.subarray(at + 1)]);
          writeFileSync(join(folder, 'ledger.jsonl'), bytes);
          const harmless = blanksOnly(bytes);
          expect(readLedger(folder).findings.length > 0 || harmless).toBe(true);
        },
      ),
      cases(1000),
    );
  });
});

/** Same records, byte for byte, apart from blank lines and carriage returns at line ends. */
function blanksOnly(bytes: Buffer): boolean {
  const records = (all: Buffer) =>
    all
      .toString('latin1')
      .split('\n')
      .map((line) => line.replace(/\r$/, ''))
      // biome-ignore lint/suspicious/noControlCharactersInRegex: a line of these alone is blank
      .filter((line) => /[^\u0000- ]/.test(line));
  return JSON.stringify(records(bytes)) === JSON.stringify(records(sound));
}

describe('any text', () => {
  it('makes a safe file name, and a safe name stays as it is', () => {
    fc.assert(
      fc.property(anyText, (text) => {
        const name = safeCsvName(text);
        expect(name).toMatch(/^[\p{L}\p{N}_][\p{L}\p{N}\p{M}._-]*\.csv$/u);
        expect(Array.from(name).length).toBeLessThanOrEqual(100);
        expect(safeCsvName(name)).toBe(name);
      }),
      cases(3000),
    );
  });

  it('is inert on a terminal, and in JSON means what it meant', () => {
    fc.assert(
      fc.property(anyText, (text) => {
        expect(inertText(text)).not.toMatch(ACTIVE);
        expect(inertText(inertText(text))).toBe(inertText(text));
        const shown = terminalText(JSON.stringify({ text }), { colour: false, redraw: false });
        expect(shown).not.toMatch(ACTIVE);
        expect(JSON.parse(shown)).toEqual({ text });
      }),
      cases(3000),
    );
  });

  it('is one inert cell of an exported CSV', () => {
    fc.assert(
      fc.property(anyText, anyText, (a, b) => {
        const text = csvText({ name: 't', columns: ['a', 'b', 'c'], rows: [[a, b, 1.5]] });
        const { data } = new Papa.Parser({ delimiter: ',', newline: '\n' }).parse(text, 0, false);
        expect(data[1]).toHaveLength(3);
        expect(data[1]![2]).toBe('1.5');
        for (const cell of data[1]!.slice(0, 2)) expect(cell).not.toMatch(/^[\s"]*[=+\-@\t\r]/);
        expect(text.replaceAll('\n', '')).not.toMatch(ACTIVE);
      }),
      cases(3000),
    );
  });

  it('as rows of a mark gives increasing row numbers or nothing', () => {
    fc.assert(
      fc.property(fc.string({ unit: fc.constantFrom(...'0123456789,- ') }), (text) => {
        const rows = parseRows(text);
        if (rows === null) return;
        expect(rows.length).toBeGreaterThan(0);
        for (const [i, row] of rows.entries()) expect(row).toBeGreaterThan(i === 0 ? 0 : rows[i - 1]!);
      }),
      cases(1000),
    );
  });
});
