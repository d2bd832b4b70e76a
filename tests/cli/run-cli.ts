import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'esbuild';
import { alias } from '../../build-page.mjs';

export interface Ran {
  /** Null when killed. */
  readonly status: number | null;
  readonly signal: NodeJS.Signals | null;
  readonly out: string;
  readonly err: string;
}

/** The command line as users get it: bundled once per test file, run as real child processes. */
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

/** Bundles src/cli/main.ts into a temporary folder. Call `remove` after the tests. */
export async function bundleCli(): Promise<BundledCli> {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-cli-'));
  await build({
    entryPoints: { sweepbook: new URL('../../src/cli/main.ts', import.meta.url).pathname },
    outdir: folder,
    outExtension: { '.js': '.mjs' },
    bundle: true,
    splitting: true,
    format: 'esm',
    platform: 'node',
    target: 'node20',
    logLevel: 'error',
    absWorkingDir: new URL('../..', import.meta.url).pathname,
    alias,
    external: ['plotly.js-dist-min', 'laz-perf'],
    banner: {
      js: "import { createRequire as __createRequire } from 'node:module';\nconst require = __createRequire(import.meta.url);",
    },
  });
  const path = join(folder, 'sweepbook.mjs');
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
