import { execFileSync, spawnSync } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { type BundledCli, bundleCli } from './run-cli.ts';

// Real processes: minutes on a busy machine, seconds on an idle one.
vi.setConfig({ testTimeout: 600_000, hookTimeout: 600_000 });

/** The operating system refuses: one clear line, status 1, no stack trace, nothing half done. */
let cli: BundledCli;
let top: string;
beforeAll(async () => {
  cli = await bundleCli();
  top = mkdtempSync(join(tmpdir(), 'sweepbook-refused-'));
  chmodSync(top, 0o755);
  execFileSync('chmod', ['-R', 'a+rX', join(cli.path, '..')]);
});
afterAll(() => {
  cli.remove();
  rmSync(top, { recursive: true, force: true });
});

const SIZE = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];
const ONE_LINE = /^sweepbook: [^\n]+\n$/;
const ROWS = Array.from({ length: 20_000 }, (_, i) => `0,${(i * 0.003).toFixed(3)},${i % 5}`).join('\n');
const isRoot = process.getuid?.() === 0;
/** Somebody whom the folder's permissions do bind, where the tests run as root. */
const NOBODY = 65534;

describe('a folder that cannot be written', () => {
  it('is said so by add, mark and new; verify still works', async () => {
    const job = join(top, 'readonly');
    expect((await cli.run(['new', job, ...SIZE])).status).toBe(0);
    const path = join(top, 'r.csv');
    writeFileSync(path, 'cycle,station,offset\n0,0,0\n0,10,1\n');
    expect((await cli.run(['add', job, path])).status).toBe(0);
    const second = join(top, 's.csv');
    writeFileSync(second, 'cycle,station,offset\n1,0,0\n1,10,1\n');
    for (const each of [job, join(job, 'readings')]) chmodSync(each, 0o555);
    const who = isRoot ? { uid: NOBODY } : {};
    const before = readdirSync(join(job, 'readings'));
    for (const args of [
      ['add', job, second],
      ['mark', job, '--file', 'r.csv', '--row', '2', '--set-aside', '--who', 'a', '--why', 'b'],
      ['new', join(job, 'inner'), ...SIZE],
    ]) {
      const ran = await cli.run(args, who);
      expect(ran, args[0]).toMatchObject({ status: 1, out: '' });
      expect(ran.err).toMatch(ONE_LINE);
      expect(ran.err).toContain('permission denied (EACCES)');
    }
    expect(await cli.run(['verify', job], who)).toMatchObject({ status: 0 });
    expect(readdirSync(join(job, 'readings'))).toEqual(before);
    for (const each of [job, join(job, 'readings')]) chmodSync(each, 0o755);
  });

  it('a file that may not be read is named', async () => {
    const job = join(top, 'unreadable');
    expect((await cli.run(['new', job, ...SIZE])).status).toBe(0);
    const path = join(top, 'secret.csv');
    writeFileSync(path, 'cycle,station,offset\n0,0,0\n');
    chmodSync(path, 0o000);
    if (isRoot) chownSync(job, NOBODY, NOBODY);
    const ran = await cli.run(['add', job, path], isRoot ? { uid: NOBODY } : {});
    expect(ran).toMatchObject({ status: 1, out: '' });
    expect(ran.err).toMatch(/^sweepbook: cannot open .*secret\.csv: permission denied \(EACCES\)\n$/);
  });
});

describe('a full disk', () => {
  const disk = () => join(top, 'disk');
  let mounted = false;
  beforeAll(() => {
    mkdirSync(disk());
    mounted = isRoot && spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=200k', 'tmpfs', disk()]).status === 0;
    if (!mounted)
      console.warn('NOT TESTED on a full disk: mounting a small one needs root. A file-size limit is.');
  });
  afterAll(() => {
    if (mounted) spawnSync('umount', [disk()]);
  });

  it('is said so, and leaves the job as it was', async () => {
    const job = mounted ? join(disk(), 'job') : join(top, 'limited');
    expect((await cli.run(['new', job, ...SIZE])).status).toBe(0);
    const small = join(top, 'small.csv');
    writeFileSync(small, 'cycle,station,offset\n1,0,0\n1,10,1\n');
    const large = join(top, 'large.csv');
    writeFileSync(large, `cycle,station,offset\n${ROWS}\n`);
    // The limit also binds where no small disk can be mounted (bash's unit is 1024 bytes).
    const limit = mounted ? '' : 'ulimit -f 100; trap "" XFSZ; ';
    const ran = spawnSync(
      'bash',
      ['-c', `${limit}exec "$0" "$@"`, process.execPath, cli.path, 'add', '--any-size', job, large],
      {
        encoding: 'utf8',
      },
    );
    expect(ran.stdout).toBe('');
    expect(ran.status).toBe(1);
    expect(ran.stderr).toMatch(ONE_LINE);
    expect(ran.stderr).toMatch(/no space is left on the disk|too large/);
    expect(readdirSync(join(job, 'readings'))).toEqual([]);
    expect(await cli.run(['add', job, small])).toMatchObject({ status: 0 });
    expect(await cli.run(['verify', job])).toMatchObject({ status: 0 });
  });

  it('while the ledger is written takes nothing from it', async () => {
    if (!mounted) return console.warn('NOT TESTED: a disk that fills up between file and ledger');
    const job = join(disk(), 'job');
    const room = () =>
      Number(execFileSync('df', ['--output=avail', '-B1', disk()], { encoding: 'utf8' }).split('\n')[1]);
    // Leave one block: the file fits, the ledger beside it does not.
    writeFileSync(join(disk(), 'filler'), Buffer.alloc(Math.max(0, room() - 4096)));
    const path = join(top, 'tiny.csv');
    writeFileSync(path, 'cycle,station,offset\n2,0,0\n2,10,1\n');
    const ran = await cli.run(['add', job, path]);
    expect(ran).toMatchObject({ status: 1, out: '' });
    expect(ran.err).toMatch(ONE_LINE);
    expect(readdirSync(join(job, 'readings'))).toEqual(['small.csv']);
    rmSync(join(disk(), 'filler'));
    expect(await cli.run(['add', job, path])).toMatchObject({ status: 0 });
    expect(await cli.run(['verify', job])).toMatchObject({ status: 0 });
  });
});

describe('what is not a file of readings', () => {
  it.each([
    ['a folder', () => top, 'is a folder'],
    ['nothing', () => join(top, 'no-such.csv'), 'there is no such file or folder'],
    ['a device', () => '/dev/zero', 'not a regular file'],
  ])('%s', async (_what, path, said) => {
    const job = join(top, 'odd');
    if (!existsSync(job)) await cli.run(['new', job, ...SIZE]);
    const ran = await cli.run(['add', job, path()]);
    expect(ran).toMatchObject({ status: 1, out: '' });
    expect(ran.err).toMatch(ONE_LINE);
    expect(ran.err).toContain(said);
  });

  it('binary bytes are named as such, not run through', async () => {
    const job = join(top, 'odd');
    const path = join(top, 'binary.csv');
    writeFileSync(path, Buffer.from(Array.from({ length: 5000 }, (_, i) => (i * 7919) % 256)));
    const ran = await cli.run(['add', job, path]);
    expect(ran).toMatchObject({ status: 1, out: '' });
    expect(ran.err).toContain('not UTF-8 text');
    expect(ran.err).not.toMatch(/\n\s+at /);
  });
});
