import type { Line } from '../job/job.ts';

/**
 * Which way the positive side of one line lies against that of another, from the words of the job. A section can only be
 * put together where its lines agree on what is left and right; where the words do not say, the caller must not guess
 * silently.
 */

/** Words that say nothing of the side. */
const SILENT = new Set(
  'a an the of to on in at is are it its and or from toward towards away out outward inward positive offset reading edge tip side flange web line string plumb straight member girder beam steel far high up higher raised low down lower bottom top'.split(
    ' ',
  ),
);

/** Words for two sides of one member. */
const OPPOSITE: readonly (readonly [string, string])[] = [
  ['north', 'south'],
  ['east', 'west'],
  ['northeast', 'southwest'],
  ['northwest', 'southeast'],
  ['left', 'right'],
  ['upstream', 'downstream'],
  ['inside', 'outside'],
  ['inner', 'outer'],
  ['interior', 'exterior'],
  ['interior', 'fascia'],
  ['median', 'shoulder'],
  ['traffic', 'abutment'],
];

interface Side {
  readonly words: readonly string[];
  /** −1 where the words say "away from", "low", or the top of a web moving: the other way about. */
  readonly sense: 1 | -1;
}

/**
 * The side a positive value of the line means: of a sweep, where the flange went; of a plumb, where the bottom of the web
 * stands against its top; of a tilt, the edge that is high.
 */
function sideOf({ kind, positive }: Pick<Line, 'kind' | 'positive'>): Side {
  const words = positive.toLowerCase().split(/[^a-z0-9]+/);
  const has = (word: string) => words.includes(word);
  let sense: 1 | -1 = 1;
  const turn = () => {
    sense = sense === 1 ? -1 : 1;
  };
  if (has('away') && has('from')) turn();
  if (kind === 'tilt' && (has('low') || has('lower') || has('down'))) turn();
  if (kind === 'plumb' && has('top') && !has('bottom')) turn();
  return { words: words.filter((word) => word !== '' && !SILENT.has(word)), sense };
}

/** 1: both positive sides are the same side; −1: opposite; null: the words do not say. */
export function sameSide(
  a: Pick<Line, 'kind' | 'positive'>,
  b: Pick<Line, 'kind' | 'positive'>,
): 1 | -1 | null {
  const [one, two] = [sideOf(a), sideOf(b)];
  const sense = one.sense === two.sense ? 1 : -1;
  // A word of direction outweighs one both happen to share ("north shoulder" against "south shoulder").
  for (const pair of OPPOSITE) {
    const [first, second] = pair;
    const crossed =
      (one.words.includes(first) && two.words.includes(second)) ||
      (one.words.includes(second) && two.words.includes(first));
    if (crossed) return sense === 1 ? -1 : 1;
  }
  return one.words.some((word) => two.words.includes(word)) ? sense : null;
}

/** 1 where a positive camber is up, −1 where it is down. */
export function upward({ positive, string }: Pick<Line, 'positive' | 'string'>): 1 | -1 {
  if (string !== undefined && string !== 'none') return string.positiveIs === 'up' ? 1 : -1;
  return /\b(?:down|downward|low|sag)\b/i.test(positive) ? -1 : 1;
}
