import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readHeatLog } from '../../src/heats/heat-log-csv.ts';
import { jobWith } from './fixtures.ts';
import { celsius, DEGREE, INCH, PSI } from './units.ts';

const read = (text: string, job = jobWith()) => readHeatLog(text, job, 'heats.csv');
const GOOD = `# crew sheet
cycle,station,pattern,angle,depth (in),width,temperature (F),before,date,time,pressure (psi),torch,gas (lb),cost (USD),note,device,weather
1,31 ft,vee,45,12,9 15/16 in,1150,80,2026-03-02,10:15,1500,no. 8 orifice,2.5,120,first,crayons,wind 10 mph
1,"29'-6""",Vee,45 deg,12,,1180 F,85,2026-03-02,11:40,1500,no. 8 orifice,2.4,120,,,
`;

describe('reading a heat log', () => {
  it('reads units from headings, cells and the job', () => {
    const { log, problems } = read(GOOD);
    expect(problems).toEqual([]);
    expect(log.heats).toHaveLength(2);
    expect(log.heats[0]).toMatchObject({
      cycle: 1,
      pattern: 'vee',
      apex: null,
      zone: null,
      date: '2026-03-02',
      time: '10:15',
      torch: 'no. 8 orifice',
      device: 'crayons',
      weather: 'wind 10 mph',
      gas: 2.5,
      cost: 120,
      note: 'first',
      file: 'heats.csv',
      row: 3,
    });
    const heat = log.heats[1]!;
    expect(heat.station).toBeCloseTo(29.5 * 12 * INCH, 12);
    expect(heat.angle).toBeCloseTo(45 * DEGREE, 12);
    expect(heat.depth).toBeCloseTo(12 * INCH, 12);
    expect(heat.width).toBeNull();
    expect(heat.temperature).toBeCloseTo(celsius(1180), 9);
    expect(heat.pressure).toBeCloseTo(1500 * PSI, 6);
    expect([log.gasUnit, log.currency]).toEqual(['lb', 'USD']);
  });

  it('reads semicolons with decimal commas, CRLF, a byte order mark and metric units', () => {
    const job = jobWith();
    const text =
      '\ufeffcycle;zone;pattern;depth_mm;temperature_C;pressure (bar)\r\n2;A;vee;304,8;648,5;103,4\r\n';
    const { log, problems } = read(text, job);
    expect(problems).toEqual([]);
    expect(log.heats[0]).toMatchObject({ cycle: 2, zone: 'A', station: null });
    expect(log.heats[0]!.depth).toBeCloseTo(0.3048, 12);
    expect(log.heats[0]!.temperature).toBeCloseTo(648.5, 9);
    expect(log.heats[0]!.pressure).toBeCloseTo(10.34e6, 3);
  });

  it('names file, row, column, what was found and what was expected for every fault at once', () => {
    const { log, problems } = read(`cycle,station,pattern,angle,temperature,date,pressure,gas,line
one,31 ft,vee,45,1150,2026-03-02,1500,2,bottom-flange
1,131 ft,vee,450,1150,2026-03-02,1500,2,bottom-flange
1,31 ft,v,45,hot,3/2/2026,lots,2 lb,bottom-flnge
1,,vee,45,1150,2026-03-02,1500,2,
1,31 ft,vee,45,1150,2026-03-02,1500,2,
`);
    expect(log.heats.map((h) => h.row)).toEqual([6]);
    expect(problems.map((p) => `${p.row} ${p.column}`)).toEqual([
      '2 cycle',
      '3 station',
      '3 angle',
      '4 pattern',
      '4 line',
      '4 temperature',
      '4 date',
      '4 pressure',
      '4 gas',
      '5 station',
    ]);
    expect(problems.find((p) => p.column === 'pattern')!.suggestion).toBe('vee?');
    expect(problems.find((p) => p.column === 'date')!.suggestion).toBe('2026-03-02 or 2026-02-03?');
    expect(problems.find((p) => p.column === 'line')!.suggestion).toBe('"bottom-flange"?');
    for (const p of problems) expect(p.file).toBe('heats.csv');
  });

  it('refuses a misspelt heading, a wrong unit, a repeated column; keeps quiet about a foreign one', () => {
    const columns = (heading: string) => read(`${heading}\n1,31 ft,vee\n`).problems.map((p) => p.column);
    expect(columns('cycle,staton,pattern')).toContain('staton');
    expect(columns('cycle,station (psi),pattern')).toContain('station (psi)');
    expect(columns('cycle,station,pattern,station')).toContain('station');
    const { notRead, problems } = read('cycle,station,pattern,humidity\n1,31 ft,vee,fair\n');
    expect(problems).toEqual([]);
    expect(notRead).toEqual(['humidity']);
  });

  it('says what is missing from an empty file, a headless file and an unclosed quote', () => {
    expect(read('').problems[0]!.found).toBe('no heading line');
    expect(read('1,31 ft,vee\n').problems.length).toBeGreaterThan(0);
    expect(read('cycle,station,pattern\n1,"31 ft,vee\n').problems.some((p) => /quote/.test(p.found))).toBe(
      true,
    );
    expect(read('cycle,pattern\n1,vee\n').problems[0]!.found).toContain('neither a zone nor a station');
  });

  it('a blank is unknown, never zero', () => {
    const { log } = read('cycle,station,pattern,temperature,pressure,gas\n1,31 ft,vee,,,\n');
    expect(log.heats[0]).toMatchObject({ temperature: null, pressure: null, gas: null });
  });

  it('never throws, whatever the file holds, and no heat carries a number that is not one', () => {
    const cell = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 12 }),
      fc.constantFrom('1', 'vee', '31 ft', '1200', '', '"', '45 deg', '-1', '1e9', 'NaN', '12+06.5'),
    );
    const rows = fc.array(fc.array(cell, { maxLength: 7 }), { maxLength: 6 });
    fc.assert(
      fc.property(rows, fc.constantFrom(',', ';', '\t'), (cells, mark) => {
        const text = ['cycle', 'station', 'pattern', 'angle', 'temperature', 'gas'].join(mark);
        const { log } = read([text, ...cells.map((row) => row.join(mark))].join('\n'));
        for (const heat of log.heats) {
          for (const value of Object.values(heat)) {
            if (typeof value === 'number') expect(Number.isFinite(value)).toBe(true);
          }
        }
      }),
      { seed: 5, numRuns: 300 },
    );
  });
});
