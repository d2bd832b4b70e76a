import { parseJob } from '../../src/job/job-file.ts';

const WEB = {
  stations: ['28 ft', '33 ft'],
  heights: ['0 in', '38 in'],
  held: ['bottom', 'top'],
  positive: 'toward the north shoulder',
};

export const MEMBER = {
  ...{ span: '62 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '15/16 in' },
  ...{ webThickness: '7/16 in', depth: '40 in' },
};

/** A job with one web panel, 60 in by 38 in, held by its flanges; fields of the panel and of the job on top. */
export function panelJob(panel: object = {}, more: object = {}) {
  return parseJob(
    JSON.stringify({
      job: 'Panel trial',
      units: 'us',
      member: MEMBER,
      panels: { 'web-3': { ...WEB, ...panel } },
      acceptance: [{ line: 'web-3', limit: '1/4 in' }],
      ...more,
    }),
  );
}
