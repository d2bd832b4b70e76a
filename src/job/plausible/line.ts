import type { Job, Line, PanelPlace } from '../job.ts';
import { LINE_NAME } from '../job-schema.ts';
import { runsAlongMember } from '../member-extent.ts';
import { stringSag } from '../string-sag.ts';
import type { Checks } from './checks.ts';

export function checkLine(line: Line, job: Job, checks: Checks): void {
  const { add, between, increasing, longest, offset, onMember, station } = checks;
  const { member } = job;
  const path = `${line.panel === undefined ? 'lines' : 'panels'}.${line.name}`;
  if (line.panel !== undefined) checkPanel(line, line.panel, checks);
  if (!LINE_NAME.test(line.name)) {
    add('lines', JSON.stringify(line.name), 'a line name of letters, digits, spaces, - _ and . (at most 60)');
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
  checkPart(line, path, job, checks);
  line.edgeSteps.forEach((step, i) => {
    within(`${path}.edgeSteps[${i}].station`, step.station);
  });
  increasing(
    `${path}.edgeSteps`,
    line.edgeSteps.map((step) => step.station),
    'stations',
  );
  if (line.string !== undefined) checkString(line, line.string, checks);
  checkAbsolute(line, checks);
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

function checkPanel(line: Line, panel: PanelPlace, { add, between, offset, station }: Checks): void {
  const [low, high] = panel.heights;
  const path = `panels.${line.name}`;
  if (high <= low)
    add(`${path}.heights`, `${offset(low)} and ${offset(high)}`, 'two heights in increasing order');
  else between(`${path}.heights`, high - low, 0.05, 10, offset);
  between(`${path}.stations`, line.bearings[1] - line.bearings[0], 0.05, 30, station);
  if (panel.thickness !== null) between(`${path}.thickness`, panel.thickness, 0.001, 0.25, offset);
}

/** An edge belongs to a flange and a height to the web. */
function checkPart(
  { part, edge, height }: Line,
  path: string,
  { member }: Job,
  { add, between, offset }: Checks,
): void {
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
function checkAbsolute(line: Line, { add }: Checks): void {
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

function checkString(
  line: Line,
  string: NonNullable<Line['string']>,
  { add, offset, station }: Checks,
): void {
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
    add(path, `a sag of ${offset(sag)}`, `a string tight enough to hang less than ${offset((b - a) / 100)}`);
}
