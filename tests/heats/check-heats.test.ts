import { describe, expect, it } from 'vitest';
import { assignHeats } from '../../src/heats/assign-heats.ts';
import { checkHeats } from '../../src/heats/check-heats.ts';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { restraintOfJob } from '../../src/heats/restraint-of-job.ts';
import { jobWith, zone } from './fixtures.ts';

const FOOT = 0.3048;
const HEADING = 'cycle,station,zone,pattern,angle,depth,width,temperature,before,date,time,pressure';
const zones = [
  zone('A', 29 * FOOT, 33 * FOOT, -0.04),
  zone('B', 41 * FOOT, 43 * FOOT, 0.01, { class: 'elastic' }),
];
/** Simple span 240 in, jack at midspan, 2.24 in²; flange 12 × 15/16 in, 36 ksi: half of Mp is 607.5 k-in. */
const jacked = {
  restraint: { setUp: 'simple', supports: ['21 ft', '41 ft'], importance: 'primary' },
  jacks: [{ name: 'jack', station: '31 ft', ramArea: '5.16 in2' }],
};

function check(rows: string[], more: Record<string, unknown> = {}, readTo?: number) {
  const job = jobWith(more);
  const { log, problems } = readHeatLog(`${HEADING}\n${rows.join('\n')}\n`, job, 'heats.csv');
  expect(problems).toEqual([]);
  const lines = [{ line: job.lines[0]!, zones }];
  const limits = heatLimits(job.member.steel, job.member.flangeWidth, job.heating.limits);
  return checkHeats(job, assignHeats(log.heats, lines), lines, limits, restraintOfJob(job), readTo).filter(
    (f) => f.code !== 'cooling-not-logged',
  );
}
const codes = (rows: string[], more?: Record<string, unknown>) =>
  check(rows, more).map((f) => `${f.severity} ${f.code} ${f.row ?? '-'}`);

describe('a heat log against its limits, each finding at its row', () => {
  it('a good log is silent', () => {
    expect(
      codes(
        [
          '1,31,,vee,30,12,6.4,1180,80,2026-03-02,10:15,1500',
          '1,29.5,,vee,30,12,6.4,1190,85,2026-03-02,11:30,1500',
        ],
        jacked,
      ),
    ).toEqual([]);
  });

  it('too hot: caution over 1200 °F, stop past the phase change at 1330 °F', () => {
    expect(codes(['1,31,,vee,30,12,,1220,80,,,'])).toEqual(['caution heat-over-temperature 2']);
    expect(codes(['1,31,,vee,30,12,,1200,80,,,', '2,31,,vee,30,12,,1340,80,,,'])).toEqual([
      'stop heat-over-temperature 3',
    ]);
  });

  it('the job’s own lower limit counts', () => {
    const limits = { heating: { limits: { maxTemperature: '1100 F', source: 'owner’s special provision' } } };
    const [finding] = check(['1,31,,vee,30,12,,1150,80,,,'], limits);
    expect(finding!.code).toBe('heat-over-temperature');
    expect(finding!.message).toContain('owner’s special provision');
  });

  it('reheated above 250 °F', () => {
    expect(codes(['1,31,,vee,30,12,,1150,251,,,'])).toEqual(['caution reheated-before-cooled 2']);
    expect(codes(['1,31,,vee,30,12,,1150,249,,,'])).toEqual([]);
  });

  it('vee angle, depth and open end', () => {
    expect(codes(['1,31,,vee,70,12,,1150,80,,,'])[0]).toBe('caution vee-geometry 2');
    expect(codes(['1,31,,vee,30,8,,1150,80,,,'])).toEqual(['caution vee-geometry 2']); // 8 of 12 in is less than 3/4
    expect(codes(['1,31,,vee,60,12,,1150,80,,,'])).toEqual(['caution vee-geometry 2']); // opens 13.9 in
    expect(codes(['1,31,,vee,30,12,10,1150,80,,,'])).toEqual(['note vee-sizes-disagree 2']); // 30° over 12 in opens 6.4
    expect(codes(['1,31,,spot,,,,1150,80,,,'])).toEqual([]);
  });

  it('heat outside the bent zones, in an elastic one, in a zone that is not there', () => {
    expect(codes(['1,10,,vee,30,12,,1150,80,,,'])).toEqual(['caution heat-outside-zones 2']);
    expect(codes(['1,42,,vee,30,12,,1150,80,,,'])).toEqual(['caution heat-in-elastic-zone 2']);
    expect(codes(['1,,C,vee,30,12,,1150,80,,,'])).toEqual(['caution zone-not-known 2']);
    expect(codes(['1,31,B,vee,30,12,,1150,80,,,'])).toEqual(['caution zone-and-station-disagree 2']);
    expect(codes(['0,31,A,vee,30,12,,1150,80,,,'])).toEqual(['caution heat-in-cycle-0 2']);
  });

  it('pressure: 607.5 k-in at midspan of 240 in is 10.125 kip, 1962 psi on 5.16 in²; the gauge card says 1950', () => {
    expect(codes(['1,31,,vee,30,12,,1150,80,,,1950'], jacked)).toEqual([]);
    expect(codes(['1,31,,vee,30,12,,1150,80,,,1960'], jacked)).toEqual(['caution pressure-above-ceiling 2']);
    expect(codes(['1,31,,vee,30,12,,1150,80,,,1970'], jacked)).toEqual(['stop pressure-above-ceiling 2']);
    expect(codes(['1,31,,vee,30,12,,1150,80,,,500'])).toEqual(['caution no-jacking-ceiling 2']);
  });

  it('pressure of heats read since: still a stop, with why the ceiling may have stood higher; a practice kept to it', () => {
    const at = (readTo: number, id?: string) =>
      check(
        ['1,31,,vee,30,12,,1150,80,,,1970'],
        { ...jacked, ...(id === undefined ? {} : { id }) },
        readTo,
      )[0]!;
    const since = 'if the card allowed more that day, it has come down since';
    expect(at(0).message).not.toContain(since);
    expect(at(1)).toMatchObject({ severity: 'stop', message: expect.stringContaining(since) });
    expect(at(0, 'practice-12')).toMatchObject({ severity: 'stop' });
    expect(at(1, 'practice-12')).toMatchObject({
      severity: 'caution',
      message: expect.stringContaining('inside the ceiling when the heat was made'),
    });
  });

  it('vees heated together stand 12 in apart at least', () => {
    const at = (station: string, time: string) => `1,${station},,vee,30,12,,1150,80,2026-03-02,${time},`;
    expect(codes([at('31', '10:00'), at('31\'-11"', '10:00')])).toEqual(['caution vees-too-close 3']);
    expect(codes([at('31', '10:00'), at('32', '10:00')])).toEqual([]);
    expect(codes([at('31', '10:00'), at('31.5', '13:00')])).toEqual([]);
  });

  it('a third repair of one place stops', () => {
    const repairs = [
      { date: '2011-05-02', from: '28 ft', to: '34 ft' },
      { date: '2019-08-20', from: '30 ft', to: '36 ft' },
    ];
    expect(codes([], { repairs })).toEqual(['stop repair-limit-reached -']);
    expect(codes([], { repairs: repairs.slice(0, 1) })).toEqual([]);
    expect(codes([], { repairs: [repairs[0]!, { from: '5 ft', to: '9 ft' }] })).toEqual([]);
  });

  it('says so where the grade is unknown, and stops where its published limits conflict', () => {
    const member = {
      span: '62 ft',
      yieldStress: '36 ksi',
      flangeWidth: '12 in',
      flangeThickness: '15/16 in',
    };
    expect(codes([], { member })).toEqual(['caution steel-grade-not-known -']);
    expect(codes([], { member: { ...member, steel: 'A709 HPS 70W' } })).toEqual([
      'stop temperature-limit-not-known -',
    ]);
  });

  it('cooling that was not logged is a note, once', () => {
    const job = jobWith();
    const { log } = readHeatLog(`${HEADING}\n1,31,,vee,,,,,,,,\n2,31,,vee,,,,,,,,\n`, job, 'heats.csv');
    const lines = [{ line: job.lines[0]!, zones }];
    const findings = checkHeats(
      job,
      assignHeats(log.heats, lines),
      lines,
      heatLimits('A36', 0.3, null),
      null,
    );
    expect(findings.map((f) => f.code)).toEqual(['cooling-not-logged']);
  });
});
