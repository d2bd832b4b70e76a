import { defineConfig } from 'vitest/config';

/**
 * Slow: real processes that are killed, raced and fed hostile files, pages whose store is damaged or shared by windows,
 * browsers started for one test, papers printed in full, and simulations of hundreds of draws. Minutes, run by
 * `npm run test:hostile` and in CI.
 */
const HOSTILE = [
  'tests/cli/kill.test.ts',
  'tests/cli/together.test.ts',
  'tests/cli/hostile.test.ts',
  'tests/cli/large.test.ts',
  'tests/cli/store-fuzz.test.ts',
  'tests/fuzz/**/*.test.ts',
  'tests/status/two-edges.test.ts',
  'tests/page/finished.test.ts',
  'tests/page/kept.test.ts',
  'tests/page/other-browsers.test.ts',
  'tests/page/safety.test.ts',
  'tests/page/take.test.ts',
  'tests/page/whole-job.test.ts',
  'tests/report/printed-pages.test.ts',
  'tests/screen/no-contradiction-many.test.ts',
  'tests/screen/paper-contradictions.test.ts',
  'tests/screen/sheets-by-hand.test.ts',
  'tests/progress/error-rates.test.ts',
  'tests/progress/straight-zone.test.ts',
  'tests/scan/extract-line.test.ts',
  'tests/scan/extract-flange.test.ts',
  'tests/zones/u-of-struck.test.ts',
];

export default defineConfig({
  test: {
    globalSetup: 'tests/global-setup.ts',
    // One worker reads the modules once for all its files (a fifth of the time); no test may leave anything changed behind it.
    isolate: false,
    // The default leaves one core idle: on two that is half of them.
    maxWorkers: '100%',
    testTimeout: 60_000,
    hookTimeout: 120_000,
    // A page on a busy machine may take seconds to write what the test waits for.
    expect: { poll: { timeout: 20_000 } },
    projects: [
      { extends: true, test: { name: 'main', include: ['tests/**/*.test.ts'], exclude: HOSTILE } },
      { extends: true, test: { name: 'hostile', include: HOSTILE } },
    ],
  },
});
