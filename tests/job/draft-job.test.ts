import { describe, expect, it } from 'vitest';
import { draftJob } from '../../src/job/draft-job.ts';
import { parseJob } from '../../src/job/job-file.ts';

describe('a new job of several spans', () => {
  it('says how spans are written where they cannot be read, and nothing where they can', () => {
    const faults = (span: string, units: 'us' | 'si' = 'us') =>
      draftJob('new', { units, span, flangeWidth: '12 in', flangeThickness: '1 in', line: [] }, 's').faults;
    for (const span of ['58 ft 84 ft', '58, , 84', '58, 84, 58', 'abc', '58 ft, -5 ft'])
      expect(faults(span)).toEqual([expect.stringContaining('"62 ft" or "58 ft, 84 ft, 58 ft"')]);
    expect(faults('18 m 25 m', 'si')[0]).toContain('"18 m, 25 m, 18 m"');
    for (const span of ['62 ft', `62'-6"`, '62', '58 ft, 84 ft']) expect(faults(span)).toEqual([]);
  });

  it('is read as it was drafted, with one line and with a template of all kinds', () => {
    for (const template of [false, true]) {
      const { draft, faults } = draftJob(
        'new',
        {
          units: 'us',
          span: '58 ft, 84 ft, 58 ft',
          flangeWidth: '12 in',
          flangeThickness: '1 in',
          line: [],
          template,
        },
        'schema.json',
      );
      expect(faults).toEqual([]);
      const job = parseJob(JSON.stringify(draft));
      expect(job.member.bearings).toHaveLength(4);
      expect(job.lines[0]!.bearings[1]).toBeCloseTo(200 * 0.3048, 9);
    }
  });
});
