import { describe, expect, it } from 'vitest';
import type { InputError } from '../../src/input-error.ts';
import { draftJob } from '../../src/job/draft-job.ts';
import { parseJob } from '../../src/job/job-file.ts';

describe('a new job of several spans', () => {
  it('a span that cannot be read is said once, with how several are written', () => {
    const problems = (span: string, units: 'us' | 'si' = 'us') => {
      const options = { units, span, flangeWidth: '12 in', flangeThickness: '1 in', line: [] };
      try {
        parseJob(JSON.stringify(draftJob('new', options, 'schema.json').draft));
      } catch (error) {
        return (error as InputError).problems.map(({ column, expected }) => `${column}: ${expected}`);
      }
      return [];
    };
    for (const span of ['58 ft 84 ft', '58, , 84', '58, 84, 58', 'abc'])
      expect(problems(span)).toEqual([
        expect.stringMatching(/^member\.span: .*several spans .*"58 ft, 84 ft, 58 ft"$/),
      ]);
    expect(problems('18 m 25 m', 'si')).toEqual([expect.stringContaining('"18 m, 25 m, 18 m"')]);
    expect(problems('58 ft, -5 ft')).toEqual(['member.span: spans longer than nothing']);
    for (const span of ['62 ft', `62'-6"`, '62', '58 ft, 84 ft']) expect(problems(span)).toEqual([]);
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
