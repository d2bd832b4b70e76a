import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, inject, vi } from 'vitest';
import { buildCli } from '../../build-cli.mjs';

export interface Ran {
  /** Null when killed. */
  readonly status: number | null;
  readonly signal: NodeJS.Signals | null;
  readonly out: string;
  readonly err: string;
}

/** The command line as users get it: run as real child processes. */
export interface BundledCli {
  readonly path: string;
  readonly start: (args: readonly string[], options?: StartOptions) => ChildProcess;
  readonly run: (args: readonly string[], options?: StartOptions) => Promise<Ran>;
  readonly remove: () => void;
}

interface StartOptions {
  readonly cwd?: string;
  readonly env?: Record<string, string>;
  readonly uid?: number;
}

/** The command line as the build makes it, once for all test files of a run. */
export async function bundleCli(): Promise<BundledCli> {
  const shared = inject('shared');
  const path = await builtOnce(join(shared, 'cli'));
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-cli-'));
  // Children keep answers under a secret of the tests, not of whoever runs them.
  process.env.XDG_STATE_HOME = join(shared, 'state');
  const start = (args: readonly string[], options: StartOptions = {}) =>
    spawn(process.execPath, [path, ...args], {
      cwd: options.cwd ?? folder,
      env: { ...process.env, NO_COLOR: '', FORCE_COLOR: '', ...options.env },
      stdio: ['ignore', 'pipe', 'pipe'],
      ...(options.uid === undefined ? {} : { uid: options.uid, gid: options.uid }),
    });
  return {
    path,
    start,
    run: (args, options) => finished(start(args, options)),
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}

/** Whoever comes first builds; the others wait for it. */
async function builtOnce(folder: string): Promise<string> {
  const path = join(folder, 'sweepbook.mjs');
  const done = join(folder, 'done');
  try {
    mkdirSync(folder);
  } catch {
    await vi.waitFor(() => expect(existsSync(done)).toBe(true), { timeout: 100_000, interval: 100 });
    return path;
  }
  await buildCli(folder, 'sweepbook.mjs', 'c0'.repeat(32));
  writeFileSync(done, '');
  return path;
}

/** Waits for a child process to end and gathers what it wrote. */
export function finished(child: ChildProcess): Promise<Ran> {
  let out = '';
  let err = '';
  child.stdout?.setEncoding('utf8').on('data', (text: string) => {
    out += text;
  });
  child.stderr?.setEncoding('utf8').on('data', (text: string) => {
    err += text;
  });
  return new Promise((resolve, reject) => {
    child.on('error', reject);
    child.on('close', (status, signal) => resolve({ status, signal, out, err }));
  });
}
