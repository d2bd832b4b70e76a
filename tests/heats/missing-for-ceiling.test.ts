import { describe, expect, it } from 'vitest';
import { missingForCeiling } from '../../src/heats/missing-for-ceiling.ts';
import { jobWith } from './fixtures.ts';

// No outside source: the message names what this job leaves out, and nothing that it has.
describe('what a ceiling lacks', () => {
  const restraint = { setUp: 'simple', supports: ['21 ft', '41 ft'], importance: 'primary' };
  const jacks = [{ name: 'a', station: '31 ft', ramArea: '5.16 in2' }];

  it('names restraint where only that is missing', () => {
    const text = missingForCeiling(jobWith({ jacks }));
    expect(text).toContain('"restraint"');
    expect(text).not.toContain('"jacks"');
  });

  it('names jacks where only they are, and both where both are', () => {
    expect(missingForCeiling(jobWith({ restraint }))).toMatch(/^where the jacks stand .*"jacks"\)$/);
    expect(missingForCeiling(jobWith())).toMatch(/"restraint"\), nor where .*"jacks"\)$/);
  });
});
