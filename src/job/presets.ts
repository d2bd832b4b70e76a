import type { LineKind } from '../survey/survey.ts';
import { FOOT, INCH } from '../units/factors.ts';
import {
  columnStraightness,
  eighthPerFiveFeet,
  eighthPerTenFeet,
  flangeTilt,
  rolledSectionStraightness,
  thousandth,
  unstiffenedWebFlatness,
} from './fabrication-tolerances.ts';
import type { AcceptanceRule, Line, Member, RuleExtent } from './job.ts';
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
  /** What the document says about measuring, or what to mind when using the set here. */
  readonly note: string;
  readonly rules: readonly PresetRule[];
}

interface PresetRule {
  readonly kind: LineKind;
  readonly over: RuleExtent;
  /** Limit in m for this member and length (distance between the line's bearings, m); null: does not apply. */
  readonly limit: (length: number, member: Member) => number | null;
}

const WHOLE: RuleExtent = { kind: 'whole-line' };
const TWENTY_FEET: RuleExtent = { kind: 'chord', length: 20 * FOOT };
const IMPACT: RuleExtent = { kind: 'impact' };
const SIX_INCHES = 6 * INCH;

export const PRESETS: readonly Preset[] = [
  {
    key: 'straightened-spd-4-100',
    title: 'straightened beams, special provision SPD 4-100',
    source: '"Repair of Damaged Steel Beams", SPD 4-100, Dimensional Tolerances',
    confidence: 'read',
    note: 'Measured without forces or additional constraint.',
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
    note: 'The form allows 3/4 in at the point of impact and 1/2 in over 20 ft; a chord across the impact is judged on both here. Web out of plumb is "less than" 1/2 in.',
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
    source: 'ASTM A6/A6M, camber and sweep of W shapes',
    confidence: 'memory',
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
    note: 'A tolerance for new steel. 1/8 in per 10 ft of length.',
    rules: [rule('sweep', WHOLE, (length) => eighthPerTenFeet(length))],
  },
  {
    key: 'fabrication-d1.5-column',
    title: 'fabrication tolerance, welded columns and primary truss members',
    source: 'AWS D1.5, clause 3.5, and AWS D1.1, straightness of welded columns and primary truss members',
    confidence: 'memory',
    note: 'A tolerance for new steel.',
    rules: [rule('sweep', WHOLE, (length) => columnStraightness(length))],
  },
  {
    key: 'fabrication-d1.1-section',
    title: 'fabrication tolerance, flange tilt',
    source: 'AWS D1.1, combined warpage and tilt of flanges',
    confidence: 'memory',
    note: 'Greater of b/100 and 1/4 in. The code measures at the toe of the flange from a line square to the web; here it is held against the edge-to-edge difference, which is stricter.',
    rules: [rule('tilt', WHOLE, (_length, member) => flangeTilt(member.flangeWidth))],
  },
  {
    key: 'fabrication-d1.1-web',
    title: 'fabrication tolerance, flatness of an unstiffened web',
    source: 'AWS D1.1, clause 5.23.6.2, web without stiffeners, statically loaded',
    confidence: 'second-hand',
    note: 'D/150, D the clear depth between flanges; applies where D over web thickness is 100 or more. Needs the depth of the member in the job.',
    rules: [
      rule('bulge', WHOLE, (_length, member) =>
        member.depth === null ? null : unstiffenedWebFlatness(member.depth - 2 * member.flangeThickness),
      ),
    ],
  },
  {
    key: 'straightness-aisc-303',
    title: 'straightness of compression members between supports',
    source: 'AISC 303, section 6.4.2',
    confidence: 'memory',
    note: 'L/1000 between laterally supported points; the length here is the distance between the bearings of the line.',
    rules: [rule('sweep', WHOLE, (length) => thousandth(length))],
  },
  {
    key: 'rolled-en-10034',
    title: 'rolled I and H sections',
    source: 'EN 10034, straightness',
    confidence: 'memory',
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

const HOW_KNOWN: Record<Confidence, (source: string) => string> = {
  read: (source) => source,
  'second-hand': (source) => `${source} (as quoted by others; check the document in force)`,
  memory: (source) => `from memory of ${source} (check the document in force)`,
};

/**
 * Rules of a published set for this job: one per line of the rule's kind; one with `line` null where the job has no
 * such line, so that the result can say which readings are missing.
 *
 * @returns null where the key is not known
 */
export function presetRules(key: string, facts: PresetFacts): AcceptanceRule[] | null {
  const preset = PRESETS.find((candidate) => candidate.key === key);
  if (preset === undefined) return null;
  const source = HOW_KNOWN[preset.confidence](preset.source);
  return preset.rules.flatMap((entry) => {
    const lines: (Line | null)[] = facts.lines.filter((line) => line.kind === entry.kind);
    return (lines.length > 0 ? lines : [null]).flatMap((line) => {
      const length = line === null ? facts.member.span : line.bearings[1] - line.bearings[0];
      const limit = entry.limit(length, facts.member);
      if (limit === null) return [];
      const label = ruleLabel(entry.kind, limit, entry.over, facts.units);
      return [
        { line: line?.name ?? null, kind: entry.kind, limit, over: entry.over, label, source, preset: key },
      ];
    });
  });
}

function rule(kind: LineKind, over: RuleExtent, limit: PresetRule['limit']): PresetRule {
  return { kind, over, limit };
}
