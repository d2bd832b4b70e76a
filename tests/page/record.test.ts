import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { addFiles } from '../../src/cli/store/add-files.ts';
import { acceptFile, declareSheet, markReadings } from '../../src/cli/store/mark-readings.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { jobJsonSchema } from '../../src/job/job-schema.ts';
import type { JobBundle } from '../../src/page/job-bundle.ts';
import { renamed, valueAt, withValue } from '../../src/page/job-form/draft.ts';
import { jobForm } from '../../src/page/job-form/job-form.ts';
import { askedAs, beginning, formOf, type Node } from '../../src/page/job-form/schema-node.ts';
import { dryRun, imported } from '../../src/page/ledger/imports.ts';
import { reread, withRecord } from '../../src/page/ledger/record.ts';
import { withRow } from '../../src/page/logs/log-row.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { htmlText } from '../../src/report/html.ts';
import { openSession } from './session-of.ts';

const SAMPLES = new URL('../../sample-surveys/', import.meta.url).pathname;
const WHEN = '2031-03-04T15:00:00.000Z';
const SAID = { who: 'R. Alder', why: 'string touched the hanger' };

describe('a record written on the page', () => {
  let top: string;
  beforeAll(() => {
    top = mkdtempSync(join(tmpdir(), 'sweepbook-record-'));
  });
  afterAll(() => rmSync(top, { recursive: true, force: true }));

  const copy = (name: string): string => {
    cpSync(join(SAMPLES, 'tannery-street'), join(top, name), { recursive: true });
    return join(top, name);
  };
  const ledgerOf = (folder: string) => readFileSync(join(folder, 'ledger.jsonl'), 'utf8');
  const inPage = async (folder: string): Promise<JobBundle> => pageBundle(await openJob(folder));

  it('is the line the command line writes of the same decision, to the byte, and reads the same', async () => {
    const folder = copy('marked');
    const before = await inPage(folder);
    const { file } = before.files[3]!;
    const { row, cycle } = (await openJob(folder)).readings.find((each) => each.file === file)!;
    const rows = { rows: [row], cycles: [cycle] };
    const onPage = withRecord(
      withRecord(before, { kind: 'mark', action: 'set-aside', file, ...rows, ...SAID }, WHEN, 'unused'),
      { kind: 'declare', action: 'genuine', file, ...SAID },
      WHEN,
      'unused',
    );
    await markReadings(folder, { action: 'set-aside', file, ...rows, ...SAID }, () => WHEN, 1000);
    await declareSheet(folder, { action: 'genuine', file, cycles: null, ...SAID }, () => WHEN, 1000);
    expect(onPage.ledgerText).toBe(ledgerOf(folder));
    const after = await inPage(folder);
    expect(onPage.seal).toEqual(after.seal);
    expect(onPage.marks).toEqual(after.marks);
    expect(onPage.declarations).toEqual(after.declarations);
    expect(onPage.files.map(({ file: name, text }) => [name, text])).toEqual(
      after.files.map(({ file: name, text }) => [name, text]),
    );
    expect(onPage.findings.filter((each) => each.severity === 'stop')).toEqual([]);
  });

  it.each([
    ['whole', 'cycle,station_ft,offset_in\n15,0,1/8\n15,3,1/4\n15,6,3/16\n', false],
    ['with a row set aside', 'cycle,station_ft,offset_in\n15,0,1/8\n15,3,1/4\n15,6,l/8\n', true],
  ])('of an import (%s) is that of add, which finds the same in it', async (_, text, setAside) => {
    const folder = copy(`import-${setAside}`);
    const path = join(top, 'to night.csv');
    writeFileSync(path, text);
    const before = await inPage(folder);
    const opened = openBundle(before);
    const dry = dryRun(before, opened, [{ path: 'to night.csv', text }]);
    const onPage = imported(before, opened, dry, setAside, WHEN, '');
    const result = await addFiles(folder, [path], { setAside, when: () => WHEN, waitMs: 1000 });
    expect(dry.doubts).toEqual(result.findings);
    expect(onPage.ledgerText).toBe(ledgerOf(folder));
    expect(openBundle(onPage).readings).toEqual((await openJob(folder)).readings);
    expect(onPage.files.map((each) => each.file)).toContain('readings/to-night.csv');
    // The same bytes again are no second import; a bad row is refused where it is not set aside.
    expect(
      imported(
        onPage,
        openBundle(onPage),
        dryRun(onPage, opened, [{ path: 'again.csv', text }]),
        setAside,
        WHEN,
        '',
      ),
    ).toBe(onPage);
    if (setAside)
      expect(() => imported(before, opened, dry, false, WHEN, '')).toThrow(/Nothing was imported/);
  });

  it('lets a changed job.json stand as mark --accept does; unaccepted it is the same stop', async () => {
    const folder = copy('changed');
    const before = await inPage(folder);
    const job = before.job.replace('"33 ksi"', '"36 ksi"');
    expect(job).not.toBe(before.job);
    writeFileSync(join(folder, 'job.json'), job);
    const stops = (bundle: JobBundle) => bundle.findings.filter((each) => each.severity === 'stop');
    expect(stops(reread({ ...before, job })).map(({ code, message }) => [code, message])).toEqual(
      stops(await inPage(folder)).map(({ code, message }) => [code, message]),
    );
    expect(stops(reread({ ...before, job })).map(({ code }) => code)).toEqual(['job-changed']);
    const onPage = withRecord({ ...before, job }, { kind: 'accept', file: 'job.json', ...SAID }, WHEN, '');
    await acceptFile(folder, { file: 'job.json', ...SAID }, () => WHEN, 1000);
    expect(onPage.ledgerText).toBe(ledgerOf(folder));
    expect(stops(onPage)).toEqual([]);
    expect(stops(await inPage(folder))).toEqual([]);
  });
});

describe('the form of the job', () => {
  const schema = jobJsonSchema() as Node;

  /** A value with everything in it that the schema knows, each union in turn in the form asked for. */
  function full(node: Node, form: number): unknown {
    const asked = askedAs(node);
    switch (asked.as) {
      case 'fields':
        return Object.fromEntries(Object.entries(asked.of).map(([key, each]) => [key, full(each, form)]));
      case 'named':
        return { one: full(asked.each, form) };
      case 'rows':
        return [full(asked.each, form)];
      case 'pair':
        return asked.of.map(() => '1');
      case 'one-of':
        return full(asked.forms[form % asked.forms.length]!, form);
      case 'choice':
        return asked.of[0];
      case 'ticks':
        return [asked.of[0]];
      default:
        return '1';
    }
  }

  /** Every path the JSON Schema names in a value, read by the standard's own keywords and nothing of the form's. */
  function paths(node: Record<string, unknown>, value: unknown, at: (string | number)[]): string[] {
    const branches = (node.anyOf as Record<string, unknown>[] | undefined) ?? [node];
    return branches.flatMap((branch) => {
      const properties = (branch.properties ?? {}) as Record<string, Record<string, unknown>>;
      const fixed = (key: string) =>
        properties[key]!.const !== undefined && ((branch.required ?? []) as string[]).includes(key);
      const isOne = typeof value === 'object' && value !== null;
      const fits = Object.keys(properties).every(
        (key) => !fixed(key) || (isOne && (value as never)[key] === properties[key]!.const),
      );
      const needs = ((branch.required ?? []) as string[]).every((key) => isOne && key in value);
      const own =
        fits && needs
          ? Object.entries(properties).flatMap(([key, each]) =>
              fixed(key) || key === '$schema' || (at.length === 0 && key === 'id')
                ? []
                : [
                    JSON.stringify([...at, key]),
                    ...paths(each, isOne ? (value as never)[key] : undefined, [...at, key]),
                  ],
            )
          : [];
      const more = branch.additionalProperties;
      const named =
        typeof more === 'object' && more !== null
          ? paths(more as never, (value as { one?: unknown } | undefined)?.one, [...at, 'one'])
          : [];
      const items = branch.items as Record<string, unknown> | undefined;
      const rows =
        branch.type === 'array' &&
        items !== undefined &&
        (items.properties !== undefined || items.anyOf !== undefined)
          ? paths(items, (value as never)?.[0], [...at, 0])
          : [];
      return [...own, ...named, ...rows];
    });
  }

  it.each([0, 1, 2, 3, 4, 5, 6, 7, 8])(
    'asks for every key the schema has (form %i of each choice)',
    async (form) => {
      const draft = full(schema, form);
      const session = await openSession(join(SAMPLES, 'tannery-street'));
      const page = { session, own: {} } as never;
      const markup = htmlText(jobForm.view(page, { draft, from: session.bundle.job }, {} as never));
      const asked = new Set(
        [...markup.matchAll(/data-path="([^"]*)"/g)].map(([, text]) => text!.replaceAll('&quot;', '"')),
      );
      const pairs = [...asked].flatMap((path) => {
        const steps = JSON.parse(path) as unknown[];
        return typeof steps.at(-1) === 'number' ? [JSON.stringify(steps.slice(0, -1))] : [];
      });
      const wanted = [...new Set(paths(schema as never, draft, []))];
      expect(wanted.length).toBeGreaterThan(100);
      expect(wanted.filter((path) => !asked.has(path) && !pairs.includes(path))).toEqual(['["member"]']);
    },
  );

  it('shows each fault of job.json at its field, in the words of the command line', async () => {
    const session = await openSession(join(SAMPLES, 'tannery-street'));
    const draft = withValue(JSON.parse(session.bundle.job), ['member', 'flangeWidth'], 'ten');
    const markup = htmlText(
      jobForm.view({ session } as never, { draft, from: session.bundle.job }, {} as never),
    );
    const field = /<div class="field" data-id="field-job-member-flangeWidth">.*?<\/div>/s.exec(markup)![0];
    expect(field).toContain('aria-invalid="true"');
    expect(field).toMatch(/Found &quot;ten&quot;; expected a length/);
    expect(markup).toMatch(/<button class="main" disabled>/);
  });

  it('keeps the place of what is renamed, and of what stands beside what is taken out', () => {
    const job = { lines: { a: { kind: 'sweep' }, b: { kind: 'tilt' } }, plates: [1, 2, 3] };
    expect(JSON.stringify(renamed(job, ['lines'], 'a', 'c'))).toBe(
      '{"lines":{"c":{"kind":"sweep"},"b":{"kind":"tilt"}},"plates":[1,2,3]}',
    );
    expect(withValue(job, ['plates', 1], undefined)).toEqual({ ...job, plates: [1, 3] });
    expect(valueAt(withValue(job, ['member', 'span'], '62 ft'), ['member', 'span'])).toBe('62 ft');
  });

  it('begins every form of a choice so that it is known again', () => {
    const baseline = (schema.properties!.lines!.additionalProperties as Node).properties!.baseline!;
    for (const node of [baseline, schema.properties!.acceptance!.items as Node]) {
      const asked = askedAs(node);
      if (asked.as !== 'one-of') throw new Error('a choice of forms');
      expect(asked.forms.map((each) => formOf(asked.forms, beginning(each)))).toEqual(
        asked.forms.map((_, i) => i),
      );
    }
  });
});

describe('a row of a log', () => {
  it('is kept in the CSV the command line reads, what stood there untouched, and refused with its fault', async () => {
    const { opened } = await openSession(join(SAMPLES, 'tannery-street'));
    const read = (text: string) => readHeatLog(text, opened.job, 'heats.csv').problems;
    const begun = 'cycle;station (ft);pattern;temperature (F);time;note\n3;24;vee;1150;14:05;first\n';
    const row = {
      cycle: '4',
      'station (ft)': '26',
      pattern: 'vee',
      'temperature (F)': '1200',
      time: '9:30',
      note: 'wind; gusts',
    };
    const kept = withRow(begun, row, read);
    expect(kept.startsWith(begun)).toBe(true);
    const { log } = readHeatLog(kept, opened.job, 'heats.csv');
    // 26 ft and 1200 °F in SI, by the definitions of foot and degree.
    expect(log.heats[1]).toMatchObject({ cycle: 4, pattern: 'vee', note: 'wind; gusts' });
    expect(log.heats[1]!.station).toBeCloseTo(26 * 0.3048, 12);
    expect(log.heats[1]!.temperature).toBeCloseTo(((1200 - 32) * 5) / 9, 9);
    expect(() => withRow(begun, { ...row, pattern: 'zigzag' }, read)).toThrow(/not kept/);
  });
});
