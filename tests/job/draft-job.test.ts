import { describe, expect, it } from 'vitest';
import { draftJob } from '../../src/job/draft-job.ts';
import { parseJob } from '../../src/job/job-file.ts';

describe('a new job of several spans', () => {
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
