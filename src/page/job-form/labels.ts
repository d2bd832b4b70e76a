/** What a key of job.json is called on the form, where taking its words apart is not enough. */
const LABELS: Readonly<Record<string, string>> = {
  job: 'Name of the job',
  dashedLengths: 'What 5-3-8 means',
  yieldStress: 'Yield stress',
  steel: 'Steel grade',
  readingSd: 'Standard deviation of one reading',
  positive: 'A positive offset means',
  bearings: 'Bearings (or feet of the straight-edge)',
  'member.bearings': 'Bearings',
  positiveIs: 'A positive offset points',
  ramArea: 'Ram area',
  capacity: 'Rated force',
  preset: 'A published rule set',
  presetFile: 'An agency’s own rule set',
  limit: 'A limit of your own',
  over: 'Over which length',
  at: 'At',
  setUp: 'How it is held',
  claim: 'Claim',
  days: 'Days of work beside the heating',
};

/** Headings of the groups, in the order of the form. */
export const GROUPS: readonly (readonly [string, readonly string[]])[] = [
  ['The job', ['job', 'units', 'dashedLengths', 'currency', 'locale']],
  ['The member', ['member']],
  ['Lines', ['lines']],
  ['Panels', ['panels']],
  ['Limits', ['acceptance', 'decisionRule', 'usefulGain']],
  ['Earlier repairs', ['repairs']],
  ['Restraint and jacks', ['restraint', 'jacks']],
  ['Heating', ['heating']],
  ['Plates', ['plates']],
  ['Plan', ['plan']],
  ['Claim', ['claim']],
];

/** A key as words, where it stands within another's: `flangeWidth` is "Flange width". */
export function labelOf(key: string, within: string | number | undefined = undefined): string {
  const own = LABELS[`${within}.${key}`] ?? LABELS[key];
  if (own !== undefined) return own;
  const words = key.replace(/([a-z])([A-Z])/g, '$1 $2').toLowerCase();
  return words.charAt(0).toUpperCase() + words.slice(1);
}
