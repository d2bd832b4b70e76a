import { KSI } from '../units/factors.ts';

/** What a grade as written in the job is, by the names bridges' steels have had. */
export interface SteelGrade {
  /** `tempered-70`: quenched and tempered grade 70, whose published temperature limits conflict. */
  readonly kind: 'ordinary' | 'tempered' | 'tempered-70' | 'unknown';
  /** Least specified yield stresses the grade can have (by thickness or sub-grade), Pa; empty: not known. */
  readonly yields: readonly number[];
}

/*
 * Specification names, sub-grades and least specified yield stresses in ksi are from memory of the ASTM
 * specifications (A7, A373, A36 and A572, A588, A709, A514 high confidence, the AASHTO M-names medium).
 */
const BY_THICKNESS = [50, 46, 42];
const ORDINARY: Readonly<Record<string, readonly number[]>> = {
  A7: [33],
  A373: [32],
  A36: [36, 32],
  A242: BY_THICKNESS,
  A440: BY_THICKNESS,
  A441: [...BY_THICKNESS, 40],
  A588: BY_THICKNESS,
  A992: [50],
};
/** AASHTO names and the specification each stands for. */
const AASHTO: Readonly<Record<string, string>> = {
  M94: 'A7',
  M161: 'A242',
  M183: 'A36',
  M187: 'A440',
  M188: 'A441',
  M222: 'A588',
  M223: 'A572',
  M244: 'A514',
  M270: 'A709',
  M313: 'A852',
};
const SI_GRADES: Readonly<Record<string, string>> = {
  '250': '36',
  '290': '42',
  '345': '50',
  '380': '55',
  '415': '60',
  '450': '65',
  '485': '70',
  '690': '100',
};

/**
 * The grade behind a name such as `A36`, `A572 Gr. 50`, `ASTM A709/A709M HPS 70W`, `M 270 Grade 50W`, `T-1`. Quenched
 * and tempered steel is looked for first, anywhere in the name: missing it can crack a girder, and the other mistake
 * only heats it less. A name that is not surely one of these is `unknown`.
 */
export function steelGrade(steel: string | null): SteelGrade {
  const name = canonical(steel ?? '');
  if (/QUENCH|TEMPERED|\bQ ?& ?T\b|\bQT\b|\bA514\b|\bA517\b|\bT1\b|\bS\d{3}Q/.test(name))
    return tempered([100, 90]);
  if (/\bA852\b/.test(name)) return { kind: 'tempered-70', yields: [70 * KSI] };
  const [, sub] = /\b(?:HPS)?(100|70)W?\b/.exec(name) ?? [];
  if (sub === '100') return tempered([100, 90]);
  if (sub === '70') return { kind: 'tempered-70', yields: [70 * KSI] };
  const words = name.split(' ').filter((word) => word !== '');
  const [spec, grade] = words;
  if (spec === undefined) return UNKNOWN;
  if (spec === 'A572') {
    if (words.length === 1) return ordinary([42, 50, 55, 60, 65]);
    return words.length === 2 && /^(42|50|55|60|65)$/.test(grade!)
      ? ordinary([Number.parseInt(grade!, 10)])
      : UNKNOWN;
  }
  if (spec === 'A709') {
    if (words.length === 1) return ordinary([36, 50]);
    return words.length === 2 && /^(36|50|50W|50S|HPS50W)$/.test(grade!)
      ? ordinary([grade === '36' ? 36 : 50])
      : UNKNOWN;
  }
  const yields = ORDINARY[spec];
  if (yields === undefined) return UNKNOWN;
  // Sub-grades A to K of weathering steel, and a year of issue, say nothing of the heat it bears.
  const plain = words.length === 1 || (words.length === 2 && /^[A-K]$|^\d\d[A-Z]?$|^50$|^36$/.test(grade!));
  return plain ? ordinary(yields) : UNKNOWN;
}

const UNKNOWN: SteelGrade = { kind: 'unknown', yields: [] };

function ordinary(yields: readonly number[]): SteelGrade {
  return { kind: 'ordinary', yields: yields.map((ksi) => ksi * KSI) };
}

function tempered(yields: readonly number[]): SteelGrade {
  return { kind: 'tempered', yields: yields.map((ksi) => ksi * KSI) };
}

/** `ASTM A709/A709M-13a Grade HPS 70W (HPS 485W)` becomes `A709 HPS70W HPS70W` less what only names the standard. */
function canonical(steel: string): string {
  const upper = steel
    .slice(0, 200)
    .toUpperCase()
    .replace(/\b(ASTM|AASHTO|USS|STEEL)\b/g, ' ')
    // Types of A572 and A242 and impact-test zones (50WT2, 36 F3) say nothing of the heat it bears; a T1 by itself is a tempered steel.
    .replace(/\bTYPE *[1-5]\b/g, ' ')
    .replace(/(\d{2,3}[WS]?)[TF][123]\b/g, '$1')
    .replace(/\b(?:[TF][23]|F1)\b/g, ' ')
    .replace(/\b(GRADE|GRD|GR|TYPE)\b\.?/g, ' ')
    .replace(/\bGR(?=\d)/g, ' ')
    .replace(/\bT[- ]?1\b/g, ' T1 ')
    .replace(/\b([AM])[ -]?(\d{1,3})M?\b/g, ' $1$2 ')
    .replace(/\b(A|M)(\d{3})GR?(?=\d)/g, '$1$2 ')
    .replace(/[^A-Z0-9&]+/g, ' ')
    .replace(/\bHPS (?=\d)/g, 'HPS')
    .replace(/\b(HPS)?(\d{2,3}) W\b/g, '$1$2W');
  const words = upper
    .split(' ')
    .filter((word) => word !== '')
    .map((word) => AASHTO[word] ?? word)
    .map((word) =>
      word.replace(/^(HPS)?(\d{3})(W|S)?$/, (all, hps = '', value, letter = '') => {
        const us = SI_GRADES[value as string];
        return us === undefined ? (all as string) : `${hps}${us}${letter}`;
      }),
    );
  return words.filter((word, i) => words.indexOf(word) === i).join(' ');
}
