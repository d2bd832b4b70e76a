/**
 * Draws `src/zones/MODEL.svg` from a simulated girder and its fit: `npx tsx tests/bench/model-figure.ts`.
 */
import { writeFileSync } from 'node:fs';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import { fitLine } from '../../src/zones/fit-line.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { createRandom } from '../mechanics/random.ts';
import { readGirder } from '../mechanics/readings.ts';
import { DEFAULT_SD } from './zones-cases.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const truth = simulateGirder({
  span: 60 * FOOT,
  flangeWidth: 12 * INCH,
  flangeThickness: INCH,
  yieldStress: 248.2e6,
  diaphragms: [15, 30, 45].map((s) => ({ station: s * FOOT, stiffness: 2e7 })),
  impacts: [{ station: 23 * FOOT, patch: FOOT, set: 3 * INCH }],
});
const job = jobOf(truth);
const readings = readGirder(truth, {
  stations: Array.from({ length: 31 }, (_, i) => i * 2 * FOOT),
  sd: INCH / 16,
  rounding: INCH / 16,
  random: createRandom('figure'),
}).readings;
const line = job.lines[0]!;
const fit = fitLine(line, job.member, assembleSurveys(readings, line), [], DEFAULT_SD, 'us');
const survey = fit.surveys[0]!;
const span = truth.options.span;
const EI = truth.section.steel.elasticModulus * truth.section.inertia;
const yieldCurvature =
  truth.section.steel.yieldStress / truth.section.steel.elasticModulus / truth.section.extreme;

const [width, left, right] = [760, 70, 20];
const x = (s: number) => left + ((width - left - right) * s) / span;
const panels = [
  { top: 30, height: 170, low: -1, high: 4, label: 'deviation, in' },
  { top: 240, height: 170, low: -25, high: 40, label: 'curvature / yield curvature' },
];
const y = (p: (typeof panels)[number], v: number) => p.top + p.height * (1 - (v - p.low) / (p.high - p.low));
const path = (points: [number, number][]) =>
  points.map(([a, b], i) => `${i === 0 ? 'M' : 'L'}${a.toFixed(1)},${b.toFixed(1)}`).join('');
const parts: string[] = [];
for (const zone of fit.zones)
  for (const p of panels)
    parts.push(
      `<rect x="${x(zone.from).toFixed(1)}" y="${p.top}" width="${(x(zone.to) - x(zone.from)).toFixed(1)}" height="${p.height}" fill="#e8c9a0" opacity="0.6"/>`,
    );
for (const p of panels) {
  parts.push(
    `<line x1="${left}" x2="${width - right}" y1="${y(p, 0).toFixed(1)}" y2="${y(p, 0).toFixed(1)}" stroke="#888"/>`,
  );
  parts.push(`<text x="${left}" y="${p.top - 8}">${p.label}</text>`);
  for (const v of [p.low, 0, p.high])
    parts.push(`<text x="${left - 8}" y="${(y(p, v) + 4).toFixed(1)}" text-anchor="end">${v}</text>`);
}
for (const d of truth.options.diaphragms)
  parts.push(
    `<line x1="${x(d.station).toFixed(1)}" x2="${x(d.station).toFixed(1)}" y1="30" y2="410" stroke="#888" stroke-dasharray="3 4"/>`,
    `<text x="${x(d.station).toFixed(1)}" y="428" text-anchor="middle">diaphragm</text>`,
  );
const [top, bottom] = [panels[0]!, panels[1]!];
parts.push(
  `<path d="${path(survey.stations.map((s) => [x(s.station), y(top, (s.fitted ?? 0) / INCH)]))}" fill="none" stroke="#1b5e8a" stroke-width="2"/>`,
);
for (const s of survey.stations)
  parts.push(
    `<circle cx="${x(s.station).toFixed(1)}" cy="${y(top, s.deviation / INCH).toFixed(1)}" r="3" fill="#222"/>`,
  );
parts.push(
  `<path d="${path(truth.grid.stations.map((s, i) => [x(s), y(bottom, truth.curvature[i]! / yieldCurvature)]))}" fill="none" stroke="#1b5e8a" stroke-width="1.5"/>`,
  `<path d="${path(truth.grid.stations.map((s, i) => [x(s), y(bottom, truth.moment[i]! / EI / yieldCurvature)]))}" fill="none" stroke="#b3261e" stroke-width="1.5"/>`,
  `<text x="${width - right}" y="256" text-anchor="end" fill="#1b5e8a">total</text>`,
  `<text x="${width - right}" y="272" text-anchor="end" fill="#b3261e">locked-in elastic</text>`,
);
for (const zone of fit.zones)
  parts.push(
    `<text x="${x((zone.from + zone.to) / 2).toFixed(1)}" y="44" text-anchor="middle">${zone.zone}: ${(zone.rotation * 1000).toFixed(0)} mrad</text>`,
  );
writeFileSync(
  new URL('../../src/zones/MODEL.svg', import.meta.url),
  `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} 440" font-family="sans-serif" font-size="12"><title>Simulated girder: readings and fit above, curvature below</title><rect width="${width}" height="440" fill="#fff"/>\n${parts.join('\n')}\n</svg>\n`,
);
for (const zone of fit.zones)
  console.log(
    zone.zone,
    zone.from / FOOT,
    zone.to / FOOT,
    zone.rotation,
    zone.rotationU,
    zone.strainRatio.peak,
  );
for (const zone of truth.zones)
  console.log('true', zone.from / FOOT, zone.to / FOOT, zone.rotation, zone.strainRatio);
