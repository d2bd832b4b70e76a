import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { filesOfFolder } from '../../src/cli/store/files-of-folder.ts';
import { checkPanels } from '../../src/folder/check-panels.ts';
import { LedgerRecord } from '../../src/ledger/record.ts';

const hex = (digit: string) => digit.repeat(64);

describe('clouds of panel maps', () => {
  let folder: string;
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-panels-'));
    mkdirSync(join(folder, 'panels'));
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  function mapped(seq: number, panel: string, cycle: number, cloud: string): LedgerRecord {
    const file = `panels/${panel}-${cycle}.csv`;
    writeFileSync(join(folder, file), 'x');
    return LedgerRecord.parse({
      seq,
      when: '2031-01-01T00:00:00Z',
      previous: hex('0'),
      kind: 'panel',
      panel,
      cycle,
      files: [{ file, sha256: hex('a') }],
      source: { name: 'cloud.ply', sha256: cloud },
    });
  }
  const stops = (records: readonly LedgerRecord[]) =>
    checkPanels(filesOfFolder(folder), { records: [...records] }).findings.filter(
      (each) => each.code === 'panel-cloud-twice',
    );

  it('are a stop where one cloud is two cycles of one panel, until one is made again or taken away', () => {
    const twice = [mapped(1, 'web', 0, hex('b')), mapped(2, 'web', 3, hex('b'))];
    expect(stops(twice)).toMatchObject([{ severity: 'stop', file: 'panels/web-3.csv' }]);
    expect(stops([...twice, mapped(3, 'web', 3, hex('c'))])).toEqual([]);
    rmSync(join(folder, 'panels/web-3.csv'));
    expect(stops(twice)).toEqual([]);
  });

  it('may be one cloud for two panels', () => {
    expect(stops([mapped(1, 'web', 0, hex('b')), mapped(2, 'flange', 0, hex('b'))])).toEqual([]);
  });
});
