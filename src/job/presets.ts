import type { LineKind } from '../survey/survey.ts';
import { FOOT, celsiusFromFahrenheit as fahrenheit, INCH } from '../units/factors.ts';
import {
  columnStraightness,
  eighthPerFiveFeet,
  eighthPerTenFeet,
  flangeSquareness,
  flangeTilt,
  rolledSectionStraightness,
  thousandth,
  type WebPanel,
  webFlatness,
} from './fabrication-tolerances.ts';
import type {
  AcceptanceRule,
  ElementKind,
  Line,
  Member,
  PresetInForce,
  RuleExtent,
  StatedHeatLimits,
} from './job.ts';
import { type PresetFacts, ruleLabel } from './rules.ts';

/** How the figures of a preset were come by; shown in words in every source line. */
export type Confidence = 'read' | 'second-hand' | 'memory';

/** A published set of limits. The engineer picks the one in force; none is applied unasked. */
export interface Preset {
  readonly key: string;
  readonly title: string;
  /** Document and clause. */
  readonly source: string;
  readonly confidence: Confidence;
  /** True where the clause or table named was seen, though the figures are from memory. */
  readonly clauseRead?: true;
  /** What the document says about measuring, or what to mind when using the set here. */
  readonly note: string;
  readonly rules: readonly PresetRule[];
  /** What the document allows of heating; left out: it says nothing that could be read. */
  readonly heat?: Omit<StatedHeatLimits, 'source'>;
  /** Clause of `heat` where it is another than the set's. */
  readonly heatSource?: string;
  /** The kinds of member it is written for; left out: any. */
  readonly elements?: readonly ElementKind[];
}

/** A limit in m; or what job.json must say before there is one; or why this member has none by this rule. */
type Limit =
  | number
  | { readonly needs: keyof Member; readonly expected: string }
  | { readonly passedOver: string };

export interface PresetRule {
  readonly kind: LineKind;
  readonly over: RuleExtent;
  /** Limit for this member and length (distance between the line's bearings, m). */
  readonly limit: (length: number, member: Member) => Limit;
  /** See `AcceptanceRule.edgesFromWeb`. */
  readonly edgesFromWeb?: boolean;
  /** Clause of this rule where it is another than the set's. */
  readonly source?: string;
}

const WHOLE: RuleExtent = { kind: 'whole-line' };
const TWENTY_FEET: RuleExtent = { kind: 'chord', length: 20 * FOOT };
const IMPACT: RuleExtent = { kind: 'impact' };
const SIX_INCHES = 6 * INCH;
const DEGREE = Math.PI / 180;
const NOTHING_SAID: Omit<StatedHeatLimits, 'source'> = {
  maxTemperature: null,
  minTemperature: null,
  coolBelow: null,
  veeAngle: null,
  veeDepth: null,
  openWidth: null,
  spacing: null,
  repairs: null,
};

export const PRESETS: readonly Preset[] = [
  {
    key: 'straightened-spd-4-100',
    title: 'straightened beams, special provision SPD 4-100',
    source: '"Repair of Damaged Steel Beams", SPD 4-100, Dimensional Tolerances',
    confidence: 'read',
    note: 'Measured without forces or additional constraint. Vees are confined to half the flange width, 3 to 10 in at the open end, 12 in apart or more when heated together; steel at most 1100 °F.',
    heat: {
      ...NOTHING_SAID,
      maxTemperature: fahrenheit(1100),
      veeDepth: [0, 0.5],
      openWidth: [3 * INCH, 10 * INCH],
      spacing: 12 * INCH,
    },
    rules: [
      rule('sweep', WHOLE, () => INCH / 2),
      rule('sweep', TWENTY_FEET, () => INCH / 2),
      rule('tilt', WHOLE, () => (3 * INCH) / 8),
      rule('plumb', WHOLE, () => INCH / 4),
      rule('bulge', WHOLE, () => INCH / 4),
    ],
  },
  {
    key: 'straightened-form-0388',
    title: 'straightened beams, Michigan DOT form 0388',
    source: 'Michigan DOT form 0388 (07/19), Heat Straightening Plan',
    confidence: 'read',
    note: 'The form allows 3/4 in at the point of impact and 1/2 in over 20 ft; a chord across the impact is judged on both here. Web out of plumb is "less than" 1/2 in. Vees of at most 20°, with a base of at most 6 in; steel cools below 250 °F.',
    heat: {
      ...NOTHING_SAID,
      coolBelow: fahrenheit(250),
      veeAngle: [0, 20 * DEGREE],
      openWidth: [0, 6 * INCH],
    },
    rules: [
      rule('sweep', TWENTY_FEET, () => INCH / 2),
      rule('sweep', IMPACT, () => (3 * INCH) / 4),
      rule('tilt', WHOLE, () => INCH / 4),
      rule('plumb', WHOLE, () => INCH / 2),
      rule('bulge', WHOLE, () => INCH / 2),
    ],
  },
  {
    key: 'mill-a6',
    title: 'mill tolerance, W shapes',
    source: 'ASTM A6/A6M, permitted variations in straightness of W shapes, camber and sweep',
    confidence: 'memory',
    elements: ['rolled beam', 'column'],
    note: 'A tolerance for new steel. 1/8 in per 10 ft of length; sweep of flanges under 6 in: 1/8 in per 5 ft.',
    rules: [
      rule('sweep', WHOLE, (length, member) =>
        member.flangeWidth >= SIX_INCHES ? eighthPerTenFeet(length) : eighthPerFiveFeet(length),
      ),
      rule('camber', WHOLE, (length) => eighthPerTenFeet(length)),
    ],
  },
  {
    key: 'fabrication-d1.5-girder',
    title: 'fabrication tolerance, welded girders',
    source: 'AWS D1.5, clause 3.5, sweep of welded beams and girders',
    confidence: 'memory',
    elements: ['welded girder'],
    note: 'A tolerance for new steel. 1/8 in per 10 ft of length.',
    rules: [rule('sweep', WHOLE, (length) => eighthPerTenFeet(length))],
  },
  {
    key: 'fabrication-d1.5-column',
    title: 'fabrication tolerance, welded columns and primary truss members',
    source: 'AWS D1.5, clause 3.5, and AWS D1.1, straightness of welded columns and primary truss members',
    confidence: 'memory',
    elements: ['column', 'truss member'],
    note: 'A tolerance for new steel.',
    rules: [rule('sweep', WHOLE, (length) => columnStraightness(length))],
  },
  {
    key: 'fabrication-d1.1-section',
    title: 'fabrication tolerance, flange tilt',
    // The page read ends this clause just before 5.22.9.
    source: 'AWS D1.1:2015, clause 5.22.8, combined warpage and tilt of flanges',
    confidence: 'read',
    elements: ['welded girder', 'column'],
    note: 'Greater of b/100 and 1/4 in, at each edge of the flange from a line square to the web: half of what is read edge to edge is held against it. Read the tilt square to the web.',
    rules: [
      { ...rule('tilt', WHOLE, (_length, member) => flangeTilt(member.flangeWidth)), edgesFromWeb: true },
    ],
  },
  {
    key: 'flange-square-a6',
    title: 'mill tolerance, flanges out of square',
    source: 'ASTM A6/A6M, Table 16, flanges out of square of W shapes, T + T′',
    confidence: 'memory',
    clauseRead: true,
    elements: ['rolled beam', 'column'],
    note: 'A tolerance for new steel: 1/4 in for depths to 12 in, 5/16 in above. Held against the difference edge to edge, square to the web; look up in the document where T and T′ are measured.',
    rules: [
      rule('tilt', WHOLE, (_length, member) =>
        member.depth === null
          ? { needs: 'depth', expected: 'the depth of the member' }
          : flangeSquareness(member.depth),
      ),
    ],
  },
  {
    key: 'fabrication-d1.1-web',
    title: 'fabrication tolerance, flatness of a web by D/t and stiffeners',
    source: 'AWS D1.1:2015, clause 5.22.6.2 (2010: 5.23.6.2), statically loaded',
    confidence: 'read',
    elements: ['welded girder', 'column'],
    note: 'd is the least panel dimension, D the clear depth between flanges, t the web. Stiffeners on both sides: d/100 for D/t under 150, d/80 from there; on one side: d/100 under 100, d/67 from there; none: D/150 where D/t is 100 or more.',
    rules: [webRule('d1.1')],
  },
  {
    key: 'fabrication-d1.5-web-interior',
    title: 'fabrication tolerance, flatness of the web of interior bridge girders',
    source: 'AWS D1.5, clause 3.5, interior girders',
    confidence: 'memory',
    elements: ['welded girder'],
    note: 'd is the least panel dimension, D the clear depth, t the web. Stiffeners on both sides: d/115 for D/t under 150, d/92 from there; on one side: d/100 under 100, d/67 from there; none: D/150. d/115 and d/92 were read in AWS D1.1:2015, 5.22.6.3 (cyclically loaded); the others are remembered with medium confidence.',
    rules: [webRule('d1.5-interior')],
  },
  {
    key: 'fabrication-d1.5-web-fascia',
    title: 'fabrication tolerance, flatness of the web of fascia girders',
    source: 'AWS D1.5, clause 3.5, fascia girders',
    confidence: 'memory',
    elements: ['welded girder'],
    note: 'd is the least panel dimension, D the clear depth, t the web. Stiffeners on both sides: d/130 for D/t under 150, d/105 from there; on one side: d/120 under 100, d/80 from there; none: D/150. d/130 and d/105 were read in AWS D1.1:2015, 5.22.6.3 (cyclically loaded); the others are remembered with medium confidence.',
    rules: [webRule('d1.5-fascia')],
  },
  {
    key: 'straightness-aisc-303',
    title: 'straightness of compression members between supports',
    source: 'AISC 303, section 6.4.2',
    confidence: 'memory',
    elements: ['column', 'truss member'],
    note: 'L/1000 between laterally supported points; the length here is the distance between the bearings of the line.',
    rules: [rule('sweep', WHOLE, (length) => thousandth(length))],
  },
  {
    key: 'rolled-en-10034',
    title: 'rolled I and H sections',
    source: 'EN 10034:1993, Table 3, straightness in both directions',
    confidence: 'read',
    elements: ['rolled beam', 'column'],
    note: 'By depth of the section; the strictest row is used where the job does not give the depth.',
    rules: [
      rule('sweep', WHOLE, (length, member) =>
        rolledSectionStraightness(length, member.depth ?? Number.POSITIVE_INFINITY),
      ),
      rule('camber', WHOLE, (length, member) =>
        rolledSectionStraightness(length, member.depth ?? Number.POSITIVE_INFINITY),
      ),
    ],
  },
  {
    key: 'straightness-nsss',
    title: 'straightness after fabrication, United Kingdom',
    source: 'National Structural Steelwork Specification (UK), straightness after fabrication',
    confidence: 'second-hand',
    note: 'L/1000.',
    rules: [rule('sweep', WHOLE, (length) => thousandth(length))],
  },
];

export const PRESET_KEYS: readonly string[] = PRESETS.map((preset) => preset.key);

/** A source with how it is known: a clause that was not seen is never cited as if it had been. */
export function sourceWords(
  source: string,
  { confidence, clauseRead }: Pick<Preset, 'confidence' | 'clauseRead'>,
): string {
  switch (confidence) {
    case 'read':
      return source;
    case 'second-hand':
      return `${source} (as quoted by others; check the document in force)`;
    case 'memory':
      return `from memory of ${source} (${clauseRead === true ? 'the place was seen, its figures were not' : 'clause not verified'}; check the document in force)`;
  }
}

/** What a chosen set comes to for one job. */
export interface PresetReading {
  readonly rules: AcceptanceRule[];
  readonly heat: StatedHeatLimits | null;
  readonly inForce: PresetInForce;
  /** What job.json must say before every rule has its limit. */
  readonly needs: readonly { readonly field: keyof Member; readonly expected: string }[];
  /** The kinds it is for, where the job says the member is another. */
  readonly wrongElement: readonly ElementKind[] | null;
}

/**
 * Rules of a set for this job: one per line of the rule's kind; one with `line` null where the job has no
 * such line, so that the result can say which readings are missing.
 */
export function readPreset(preset: Preset, facts: PresetFacts): PresetReading {
  const { member } = facts;
  const words = (said: string) => sourceWords(said, preset);
  const source = words(preset.source);
  const needs = new Map<keyof Member, string>();
  const passedOver = new Set<string>();
  const rules = preset.rules.flatMap((entry) => {
    const lines: (Line | null)[] = facts.lines.filter((line) => line.kind === entry.kind);
    return (lines.length > 0 ? lines : [null]).flatMap((line): AcceptanceRule[] => {
      const read = line === null ? member.span : line.bearings[1] - line.bearings[0];
      // A line along several spans is held to what one of them may be out, not to their sum.
      const length = member.bearings === undefined ? read : Math.min(read, member.span);
      const limit = entry.limit(length, member);
      if (typeof limit !== 'number') {
        if ('needs' in limit) needs.set(limit.needs, limit.expected);
        else passedOver.add(limit.passedOver);
        return [];
      }
      const edges = entry.edgesFromWeb === true;
      return [
        {
          line: line?.name ?? null,
          kind: entry.kind,
          limit,
          ...(edges ? { edgesFromWeb: true } : {}),
          over: entry.over,
          ...(line?.panel === undefined ? {} : { panel: true as const }),
          label: ruleLabel(line ?? entry, limit, entry.over, facts.units, edges),
          source: entry.source === undefined ? source : words(entry.source),
          preset: preset.key,
        },
      ];
    });
  });
  const { elements } = preset;
  const said = member.element;
  return {
    rules,
    heat: preset.heat === undefined ? null : { ...preset.heat, source: preset.heatSource ?? source },
    inForce: {
      key: preset.key,
      title: preset.title,
      source,
      note: preset.note,
      passedOver: [...passedOver],
      unconfirmed: elements === undefined || said !== undefined ? null : elements.join(' or '),
    },
    needs: [...needs].map(([field, expected]) => ({ field, expected })),
    wrongElement: elements === undefined || said === undefined || elements.includes(said) ? null : elements,
  };
}

/** The rules of a published set alone; null where the key is not known. */
export function presetRules(key: string, facts: PresetFacts): AcceptanceRule[] | null {
  const preset = PRESETS.find((candidate) => candidate.key === key);
  return preset === undefined ? null : readPreset(preset, facts).rules;
}

/** Flatness of a web panel, once the job says how thick and how stiffened the web is. */
function webRule(code: Parameters<typeof webFlatness>[0]): PresetRule {
  return rule('bulge', WHOLE, (_length, member) => {
    const { depth, webThickness, webStiffeners, stiffenerSpacing, flangeThickness } = member;
    if (depth === null) return { needs: 'depth', expected: 'the depth of the member' };
    if (webThickness === null) return { needs: 'webThickness', expected: 'the thickness of the web' };
    if (webStiffeners === undefined)
      return { needs: 'webStiffeners', expected: '"none", "one side" or "both sides"' };
    const clear = depth - 2 * flangeThickness;
    let panel: WebPanel = { depth: clear, thickness: webThickness, stiffeners: 'none', least: clear };
    if (webStiffeners !== 'none') {
      if (stiffenerSpacing === undefined)
        return { needs: 'stiffenerSpacing', expected: 'the clear distance between stiffeners' };
      panel = { ...panel, stiffeners: webStiffeners, least: Math.min(clear, stiffenerSpacing) };
    }
    const limit = webFlatness(code, panel);
    if (limit !== null) return limit;
    return {
      passedOver: `web flatness: D/t is ${(clear / webThickness).toFixed(0)}, and the rule for a web without stiffeners starts at 100`,
    };
  });
}

function rule(kind: LineKind, over: RuleExtent, limit: PresetRule['limit']): PresetRule {
  return { kind, over, limit };
}
