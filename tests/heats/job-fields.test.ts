import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/input-error.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { celsius, DEGREE, INCH, PSI } from './units.ts';

const base = {
  job: 'Juniper Lane over the canal, girder 4',
  units: 'us',
  member: { span: '62 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '15/16 in' },
  lines: {
    'bottom-flange': { kind: 'sweep', bearings: ['0 ft', '62 ft'], positive: 'toward the north shoulder' },
  },
};
const restraint = { setUp: 'simple', supports: ['21 ft', '41 ft'], importance: 'primary' };
const parse = (more: object) => parseJob(JSON.stringify({ ...base, ...more }));
const columnsOf = (more: object): string[] => {
  try {
    parse(more);
  } catch (error) {
    if (error instanceof InputError) return error.problems.map((p) => p.column ?? '');
    throw error;
  }
  return [];
};

describe('jacking, heating and plate fields of job.json', () => {
  it('may all be left out', () => {
    const job = parse({});
    expect(job.restraint).toBeNull();
    expect(job.heating).toEqual({
      temperature: null,
      veeAngle: null,
      veeDepth: null,
      shapeFactor: null,
      axialFactor: null,
      limits: null,
    });
  });

  it('are read to SI', () => {
    const job = parse({
      restraint: {
        ...restraint,
        plasticModulus: '38.8 in3',
        plasticModulusSource: 'AISC Manual',
        gaugeDivision: '25 psi',
      },
      jacks: [{ name: 'east', station: '31 ft', ramArea: '5.16 in2' }],
      heating: {
        temperature: '1150 F',
        veeAngle: '30 deg',
        limits: {
          maxTemperature: '1100 F',
          openWidth: ['3 in', '8 in'],
          source: 'owner’s special provision',
        },
      },
      plates: [{ name: 'cover', line: 'bottom-flange', from: '25 ft', to: '37 ft', thickness: '1/2 in' }],
    });
    expect(job.restraint!.plasticModulus!.value).toBeCloseTo(38.8 * INCH ** 3, 12);
    expect(job.restraint!.gaugeDivision).toBeCloseTo(25 * PSI, 6);
    expect(job.restraint!.part).toBe('flange');
    expect(job.heating.temperature).toBeCloseTo(celsius(1150), 9);
    expect(job.heating.veeAngle).toBeCloseTo(30 * DEGREE, 12);
    expect(job.heating.limits!.openWidth![1]).toBeCloseTo(8 * INCH, 12);
    expect(job.plates[0]).toMatchObject({ side: 'positive', tilt: null, maxPlies: 3, gapLimit: null });
    expect(job.plates[0]!.fillers[1]).toBeCloseTo(INCH / 16, 12);
  });

  it('a number that needs its citation is refused without one', () => {
    expect(columnsOf({ restraint: { ...restraint, fraction: 0.33 } })).toEqual(['restraint.fraction']);
    expect(columnsOf({ restraint: { ...restraint, importance: 'fracture-critical' } })).toEqual([
      'restraint.fraction',
    ]);
    expect(columnsOf({ heating: { shapeFactor: 1.2 } })).toEqual(['heating.shapeFactor']);
    expect(columnsOf({ heating: { limits: { spacing: '18 in' } } })).toEqual(['heating.limits.source']);
  });

  it('a jack without a station, or off the pushed length, is refused where a set-up is given', () => {
    expect(columnsOf({ restraint, jacks: [{ name: 'a', ramArea: 5.16 }] })).toEqual(['jacks[0].station']);
    expect(columnsOf({ restraint, jacks: [{ name: 'a', station: '45 ft', ramArea: 5.16 }] })).toEqual([
      'jacks[0].station',
    ]);
  });

  it('unknown keys are named', () => {
    expect(columnsOf({ restraint: { ...restraint, supporst: 1 } })).toEqual(['restraint.supporst']);
    expect(columnsOf({ heating: { limits: { source: 'x', maxTemp: '1 F' } } })).toEqual([
      'heating.limits.maxTemp',
    ]);
  });

  it('what is needed to find a modulus from dimensions must be there', () => {
    expect(columnsOf({ restraint: { ...restraint, part: 'member-sideways' } })).toEqual([
      'member.depth',
      'member.webThickness',
    ]);
    expect(columnsOf({ restraint: { ...restraint, part: 'flange-with-web' } })).toContain(
      'restraint.webPart',
    );
  });
});
