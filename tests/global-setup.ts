import { chmodSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { TestProject } from 'vitest/node';

declare module 'vitest' {
  interface ProvidedContext {
    /** Folder of this run, for what test files share. */
    shared: string;
  }
}

/** One folder a run; what is put there goes with it. */
export default function setup(project: TestProject): () => void {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-tests-'));
  // Some tests run it as another user.
  chmodSync(folder, 0o755);
  project.provide('shared', folder);
  return () => rmSync(folder, { recursive: true, force: true });
}
