import type { Problem } from '../input-error.ts';
import { INCH, KSI, MEGAPASCAL } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { formatStress } from '../units/format-quantity.ts';
import { isDate } from './dates.ts';
import type { Job, Line, PanelPlace } from './job.ts';
import { LINE_NAME } from './job-schema.ts';
import { stringSag } from './string-sag.ts';

/** Kinds whose stations run along the member (a `bulge` straight-edge may stand anywhere on a panel). */
export function runsAlongMember(line: Pick<Line, 'kind'>): boolean {
  return line.kind !== 'bulge';
}

/** First and last station that can be on the member, m: its span and the bearings of its lines. */
export function memberExtent(job: Pick<Job, 'member' | 'lines'>): { from: number; to: number } {
  const along = job.lines.filter(runsAlongMember);
  const own = job.member.bearings;
  const firsts = [...along.map((line) => line.bearings[0]), ...(own === undefined ? [] : [own[0]!])];
  const lasts = [...along.map((line) => line.bearings[1]), ...(own === undefined ? [] : [own.at(-1)!])];
  // Road stationing (12+06.5) does not start at the member's end: then only the bearings say where it is.
  const onOwnStations = firsts.length === 0 || Math.min(...firsts) < job.member.span;
  return {
    from: Math.min(...firsts, ...(onOwnStations && own === undefined ? [0] : [])),
    to: Math.max(...lasts, ...(onOwnStations && own === undefined ? [job.member.span] : [])),
  };
}

/** How far past the bearings steel can still be measured, m: a girder runs a little over its bearings. Common practice, no source. */
export function overhang(span: number): number {
  return Math.max(0.6, 0.05 * span);
}

/** Values that have the right form but cannot be meant. Widths and stresses are bounded loosely: the aim is wrong units. */
export function checkJob(job: Job, file: string): Problem[] {
  const problems: Problem[] = [];
  const add = (column: string, found: string, expected: string, suggestion?: string) =>
    problems.push({ file, column, found, expected, ...(suggestion === undefined ? {} : { suggestion }) });
  const station = (metres: number) => formatLength(metres, { units: job.units, as: 'station' });
  const offset = (metres: number) => formatLength(metres, { units: job.units, as: 'offset' });
  const { member } = job;

  const between = (column: string, value: number, low: number, high: number, say: (m: number) => string) => {
    if (value >= low && value <= high) return;
    // A bound only there to keep zero out would be written as zero itself.
    const from = /^0(?:\.0+)? /.test(say(low)) ? `more than ${say(0)}, at most` : `between ${say(low)} and`;
    add(column, say(value), `${from} ${say(high)}`);
  };
  const stress = (pascals: number) => formatStress(pascals, job.units);
  between('member.span', member.span, 0.5, 500, station);
  if (member.yieldStress < 150 * MEGAPASCAL || member.yieldStress > 1000 * MEGAPASCAL) {
    const asKsi = job.units === 'si' && member.yieldStress < 150 * MEGAPASCAL;
    add(
      'member.yieldStress',
      stress(member.yieldStress),
      `between ${stress(150 * MEGAPASCAL)} and ${stress(1000 * MEGAPASCAL)}`,
      asKsi ? `${member.yieldStress / MEGAPASCAL} ksi?` : undefined,
    );
  }
  between('member.elasticModulus', member.elasticModulus, 20000 * KSI, 40000 * KSI, stress);
  between('member.flangeWidth', member.flangeWidth, 0.025, 3, offset);
  between('member.flangeThickness', member.flangeThickness, 0.001, 0.25, offset);
  if (member.webThickness !== null) between('member.webThickness', member.webThickness, 0.001, 0.25, offset);
  if (member.depth !== null) between('member.depth', member.depth, 0.05, 12, offset);
  between('usefulGain', job.usefulGain, 1e-5, INCH, offset);

  const { from, to } = memberExtent(job);
  const slack = overhang(member.span);
  const onMember = (column: string, value: number) => {
    if (value < from - slack || value > to + slack) {
      add(column, station(value), `a station on the member, ${station(from)} to ${station(to)}`);
    }
  };
  const increasing = (column: string, values: readonly number[], what: string) => {
    values.forEach((value, i) => {
      if (i > 0 && value <= values[i - 1]!) {
        add(
          `${column}[${i}]`,
          `${station(value)} after ${station(values[i - 1]!)}`,
          `${what} in increasing order`,
        );
      }
    });
  };

  const longest = member.bearings === undefined ? member.span : member.bearings.at(-1)! - member.bearings[0]!;
  if (member.struck !== undefined) {
    onMember('member.struck[0]', member.struck[0]);
    onMember('member.struck[1]', member.struck[1]);
  }
  if (member.diaphragms !== null) {
    increasing('member.diaphragms', member.diaphragms, 'stations');
    member.diaphragms.forEach((value, i) => {
      onMember(`member.diaphragms[${i}]`, value);
    });
  }
  if (job.lines.length === 0) add('lines', 'no line', 'at least one line or panel');
  for (const line of job.lines) checkLine(line);

  function checkPanel(line: Line, panel: PanelPlace): void {
    const [low, high] = panel.heights;
    const path = `panels.${line.name}`;
    if (high <= low)
      add(`${path}.heights`, `${offset(low)} and ${offset(high)}`, 'two heights in increasing order');
    else between(`${path}.heights`, high - low, 0.05, 10, offset);
    between(`${path}.stations`, line.bearings[1] - line.bearings[0], 0.05, 30, station);
    if (panel.thickness !== null) between(`${path}.thickness`, panel.thickness, 0.001, 0.25, offset);
  }

  function checkLine(line: Line): void {
    const path = `${line.panel === undefined ? 'lines' : 'panels'}.${line.name}`;
    if (line.panel !== undefined) checkPanel(line, line.panel);
    if (!LINE_NAME.test(line.name)) {
      add(
        'lines',
        JSON.stringify(line.name),
        'a line name of letters, digits, spaces, - _ and . (at most 60)',
      );
    }
    const [first, last] = line.bearings;
    if (last <= first)
      add(
        `${path}.${line.panel === undefined ? 'bearings' : 'stations'}`,
        `${station(first)} and ${station(last)}`,
        'two stations in increasing order',
      );
    else if (runsAlongMember(line) && last - first > longest * 1.001 + 0.01) {
      add(
        `${path}.bearings`,
        `bearings ${station(last - first)} apart`,
        member.bearings === undefined
          ? `not more than the span, ${station(member.span)} (several spans are written "58 ft, 84 ft, 58 ft")`
          : `not more than all spans together, ${station(longest)}`,
      );
    }
    between(`${path}.standoff`, line.standoff, 0, 1, offset);
    if (line.readingSd !== null) between(`${path}.readingSd`, line.readingSd, 1e-5, 0.05, offset);
    const within = (column: string, value: number) => {
      if (runsAlongMember(line)) onMember(column, value);
    };
    if (line.impact !== null) within(`${path}.impact`, line.impact);
    checkPart(line, path);
    line.edgeSteps.forEach((step, i) => {
      within(`${path}.edgeSteps[${i}].station`, step.station);
    });
    increasing(
      `${path}.edgeSteps`,
      line.edgeSteps.map((step) => step.station),
      'stations',
    );
    if (line.string !== undefined) checkString(line, line.string);
    checkAbsolute(line);
    if (line.baseline.method === 'undamaged' && line.baseline.reaches !== null) {
      line.baseline.reaches.forEach(([a, b], i) => {
        within(`${path}.baseline.reaches[${i}][0]`, a);
        within(`${path}.baseline.reaches[${i}][1]`, b);
      });
      increasing(
        `${path}.baseline.reaches`,
        line.baseline.reaches.flat(),
        'reaches that do not overlap, stations',
      );
    }
  }

  /** An edge belongs to a flange and a height to the web. */
  function checkPart({ part, edge, height }: Line, path: string): void {
    if (edge !== undefined && (part === undefined || part === 'web')) {
      add(
        `${path}.edge`,
        `"${edge}" on ${part === undefined ? 'a line that does not say which part it reads' : 'a line on the web'}`,
        '"part": "bottom-flange" or "top-flange" beside it',
      );
    }
    if (height === undefined) return;
    if (part !== 'web') {
      add(
        `${path}.height`,
        `a height on ${part === undefined ? 'a line that does not say which part it reads' : `a line on the ${part.replace('-', ' ')}`}`,
        '"part": "web" beside it',
      );
    }
    between(`${path}.height`, height, 0, member.depth ?? 12, offset);
  }

  /** Tilt and plumb are absolute: a baseline laid through the member's own readings would take its lean off. */
  function checkAbsolute(line: Line): void {
    const { method } = line.baseline;
    const against = line.baseline.method === 'absolute' ? line.baseline.against : null;
    const column = `lines.${line.name}.baseline`;
    const absolute = line.kind === 'tilt' || line.kind === 'plumb';
    const own = line.kind === 'plumb' ? '"vertical"' : '"level" or "square to the web"';
    if (absolute && (method === 'bearings' || method === 'undamaged')) {
      add(
        column,
        `"${method}" on a ${line.kind} line`,
        `${own}, a reference profile, or an as-built value with its source: ${line.kind} is judged as it stands, never against the member's own lean`,
      );
    } else if (!absolute && (method === 'absolute' || method === 'as-built')) {
      add(column, `"${against ?? method}" on a ${line.kind} line`, 'it on tilt and plumb lines only');
    } else if (against !== null && (against === 'vertical') !== (line.kind === 'plumb')) {
      add(column, `"${against}" on a ${line.kind} line`, own);
    }
  }

  function checkString(line: Line, string: NonNullable<Line['string']>): void {
    const path = `lines.${line.name}.string`;
    // Sag is vertical: it does not enter an offset read sideways.
    if (line.kind !== 'camber')
      add(path, `a string on a ${line.kind} line`, 'a string on camber lines only: its sag is vertical');
    if (string === 'none') return;
    if (!(string.weight > 0)) add(`${path}.weight`, 'zero or less', 'a weight per length above zero');
    if (!(string.tension > 0)) add(`${path}.tension`, 'zero or less', 'a tension above zero');
    const [a, b] = string.ends ?? line.bearings;
    if (!(b > a)) {
      add(`${path}.ends`, `${station(a)} and ${station(b)}`, 'two stations in increasing order');
      return;
    }
    const sag = stringSag(string, [a, b], (a + b) / 2);
    // The parabola is that of a tight string; past this the weight or the tension is in another unit.
    if (string.weight > 0 && string.tension > 0 && sag > (b - a) / 100)
      add(
        path,
        `a sag of ${offset(sag)}`,
        `a string tight enough to hang less than ${offset((b - a) / 100)}`,
      );
  }

  job.acceptance.forEach((rule, i) => {
    if (rule.preset !== null) return;
    between(`acceptance[${i}].limit`, rule.limit, 1e-4, 1, offset);
    if (rule.over.kind === 'chord')
      between(`acceptance[${i}].over`, rule.over.length, 0.05, longest, station);
  });
  job.repairs.forEach((repair, i) => {
    if (repair.date !== null && !isDate(repair.date)) {
      add(`repairs[${i}].date`, `"${repair.date}"`, 'a date as YYYY-MM-DD');
    }
    if (repair.to < repair.from)
      add(`repairs[${i}]`, `from ${station(repair.from)} to ${station(repair.to)}`, 'from before to');
  });
  job.jacks.forEach((jack, i) => {
    if (!(jack.ramArea > 1e-5 && jack.ramArea < 1)) {
      add(`jacks[${i}].ramArea`, `${jack.ramArea} m²`, 'the effective area of a ram');
    }
    if (jack.capacity !== null && !(jack.capacity > 100 && jack.capacity < 1e8)) {
      add(`jacks[${i}].capacity`, `${jack.capacity} N`, 'the rated force of a jack');
    }
  });
  const names = job.lines.map((line) => line.name);
  job.plates.forEach((plate, i) => {
    if (!names.includes(plate.line))
      add(`plates[${i}].line`, `"${plate.line}"`, `a line of this job (${names.join(', ')})`);
    if (plate.to <= plate.from)
      add(`plates[${i}]`, `from ${station(plate.from)} to ${station(plate.to)}`, 'from before to');
    between(`plates[${i}].thickness`, plate.thickness, 0.001, 0.25, offset);
    if (plate.tilt !== null && job.lines.find((line) => line.name === plate.tilt)?.kind !== 'tilt') {
      add(`plates[${i}].tilt`, `"${plate.tilt}"`, 'a line of this job of kind tilt');
    }
    plate.across.forEach((other, k) => {
      if (!names.includes(other.line)) {
        add(`plates[${i}].across[${k}].line`, `"${other.line}"`, `a line of this job (${names.join(', ')})`);
      }
    });
  });
  if (job.restraint !== null) {
    const { supports, gaugeDivision, pumpRating, deadLoad } = job.restraint;
    supports.forEach((value, i) => {
      onMember(`restraint.supports[${i}]`, value);
    });
    if (!(gaugeDivision > 0 && gaugeDivision <= 7e6)) {
      add(
        'restraint.gaugeDivision',
        `${gaugeDivision} Pa`,
        'a mark of the gauge above zero, at most 1000 psi',
      );
    }
    if (pumpRating !== null && !(pumpRating >= 1e6 && pumpRating <= 5e8)) {
      add(
        'restraint.pumpRating',
        `${pumpRating} Pa`,
        'the rated pressure of a pump, such as 10000 psi or 70 MPa',
      );
    }
    if (deadLoad !== null && !(Math.abs(deadLoad.stress) < member.yieldStress)) {
      add('restraint.deadLoad.stress', `${deadLoad.stress} Pa`, 'a stress below the yield stress');
    }
    const pushes = job.jacks.filter((jack) => jack.push !== null).length;
    if (pushes > 0 && pushes < job.jacks.length) {
      add('jacks', `a "push" at ${pushes} of ${job.jacks.length}`, '"push" at every jack, or at none');
    }
    const [low, high] = [Math.min(...supports), Math.max(...supports)];
    job.jacks.forEach((jack, i) => {
      if (jack.station === null)
        add(`jacks[${i}].station`, 'nothing', 'the station of the jack, to find its force');
      else if (supports.length > 0 && (jack.station <= low || jack.station >= high)) {
        const free = job.restraint?.setUp === 'cantilever' && jack.station === supports[1];
        if (!free)
          add(
            `jacks[${i}].station`,
            station(jack.station),
            `between the supports, ${station(low)} to ${station(high)}`,
          );
      }
    });
    if (job.restraint.part.startsWith('member') && job.restraint.plasticModulus === null) {
      if (member.depth === null)
        add('member.depth', 'nothing', 'the depth, to find the plastic modulus of the member');
      if (member.webThickness === null) {
        add('member.webThickness', 'nothing', 'the web thickness, to find the plastic modulus of the member');
      }
    }
    if (
      job.restraint.part === 'flange-with-web' &&
      job.restraint.plasticModulus === null &&
      member.webThickness === null
    ) {
      add(
        'member.webThickness',
        'nothing',
        'the web thickness, to find the plastic modulus of flange and web',
      );
    }
  }
  return problems;
}
