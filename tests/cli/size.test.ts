import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

const SRC = new URL('../../src', import.meta.url).pathname;

describe('start-up stays short', () => {
  // `import { z }` brings every language of the library's messages: 757 kB instead of 208 kB to load and parse.
  it('zod is imported as a namespace, which bundlers can cut down', () => {
    const files = (readdirSync(SRC, { recursive: true }) as string[]).filter((name) => name.endsWith('.ts'));
    const importers = files.filter((name) => readFileSync(join(SRC, name), 'utf8').includes("from 'zod'"));
    expect(importers.length).toBeGreaterThan(2);
    for (const name of importers) {
      expect(readFileSync(join(SRC, name), 'utf8'), name).toMatch(/import (type )?\* as z from 'zod'/);
    }
  });
});
