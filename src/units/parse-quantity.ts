import { celsiusFromFahrenheit, FOOT, INCH, KIP, KSI, MEGAPASCAL, POUND_FORCE, PSI } from './factors.ts';
import { foldFieldText, LONGEST_CELL } from './field-text.ts';

export type QuantityKind =
  | 'stress'
  | 'area'
  | 'section-modulus'
  | 'force'
  | 'weight-per-length'
  | 'temperature'
  | 'angle';

export type ParsedQuantity =
  | { readonly ok: true; readonly value: number }
  | { readonly ok: false; readonly expected: string; readonly suggestion?: string };

interface UnitOf {
  readonly words: readonly string[];
  readonly toSi: (value: number) => number;
}

const times = (factor: number) => (value: number) => value * factor;

/** Every unit word understood, by kind; SI units of the results: Pa, m², m³, N, N/m, °C, rad. */
const UNITS: Record<QuantityKind, readonly UnitOf[]> = {
  stress: [
    { words: ['ksi'], toSi: times(KSI) },
    { words: ['psi'], toSi: times(PSI) },
    { words: ['mpa', 'n/mm2', 'n/mm²'], toSi: times(MEGAPASCAL) },
    { words: ['bar'], toSi: times(1e5) },
    { words: ['gpa'], toSi: times(1e9) },
    { words: ['pa'], toSi: times(1) },
  ],
  area: [
    { words: ['in2', 'in²', 'sq in', 'in^2'], toSi: times(INCH * INCH) },
    { words: ['mm2', 'mm²', 'sq mm', 'mm^2'], toSi: times(1e-6) },
    { words: ['cm2', 'cm²', 'sq cm', 'cm^2'], toSi: times(1e-4) },
    { words: ['m2', 'm²', 'sq m', 'm^2'], toSi: times(1) },
  ],
  'section-modulus': [
    { words: ['in3', 'in³', 'in^3'], toSi: times(INCH ** 3) },
    { words: ['mm3', 'mm³', 'mm^3'], toSi: times(1e-9) },
    { words: ['cm3', 'cm³', 'cm^3'], toSi: times(1e-6) },
  ],
  force: [
    { words: ['kip', 'kips', 'k'], toSi: times(KIP) },
    { words: ['lb', 'lbs', 'lbf'], toSi: times(POUND_FORCE) },
    { words: ['kn'], toSi: times(1000) },
    { words: ['n'], toSi: times(1) },
  ],
  'weight-per-length': [
    { words: ['lb/ft', 'lbf/ft'], toSi: times(POUND_FORCE / FOOT) },
    // A gram weighs 9.80665e-3 N at standard gravity.
    { words: ['g/m'], toSi: times(0.00980665) },
    { words: ['n/m'], toSi: times(1) },
  ],
  temperature: [
    { words: ['f', '°f', 'degf', 'deg f'], toSi: celsiusFromFahrenheit },
    { words: ['c', '°c', 'degc', 'deg c'], toSi: times(1) },
  ],
  angle: [
    { words: ['deg', '°', 'degree', 'degrees'], toSi: times(Math.PI / 180) },
    { words: ['rad'], toSi: times(1) },
    { words: ['mrad'], toSi: times(1e-3) },
  ],
};

const EXAMPLES: Record<QuantityKind, string> = {
  stress: 'a stress such as 36 ksi or 250 MPa',
  area: 'an area such as 12.7 in2 or 8200 mm2',
  'section-modulus': 'a section modulus such as 38.8 in3 or 636 cm3',
  force: 'a force such as 25 kip or 110 kN',
  'weight-per-length': 'a weight per length such as 0.00078 lb/ft or 1.2 g/m',
  temperature: 'a temperature such as 68 F or 20 C',
  angle: 'an angle such as 45 deg',
};

/** The unit word of this kind, as a key for `parseQuantity`, or null. */
export function quantityUnit(word: string, kind: QuantityKind): string | null {
  const key = word.trim().toLowerCase();
  return UNITS[kind].some((unit) => unit.words.includes(key)) ? key : null;
}

/** A number with a unit, or a bare number in `unit`, in SI (Pa, m², m³, N, N/m, °C, rad). A blank is refused. */
export function parseQuantity(text: string, kind: QuantityKind, unit: string): ParsedQuantity {
  if (text.length > LONGEST_CELL) return { ok: false, expected: EXAMPLES[kind] };
  const cell = foldFieldText(text);
  const match = /^([+-]? ?(?:\d{1,12}(?:\.\d{0,20})?|\.\d{1,20})) ?([a-z°/²³^23. ]*)$/i.exec(cell);
  if (match === null) return { ok: false, expected: EXAMPLES[kind] };
  const word = match[2]!.trim() === '' ? unit : match[2]!;
  const key = word.trim().toLowerCase();
  const known = UNITS[kind].find((candidate) => candidate.words.includes(key));
  if (known === undefined) return { ok: false, expected: EXAMPLES[kind] };
  return { ok: true, value: known.toSi(Number(match[1]!.replace(' ', ''))) };
}
