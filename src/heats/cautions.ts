/** Who decides: shown wherever a force or a temperature is. */
export const HEAT_DEFERRAL =
  'Computed from formulas and readings; not an approval. The owner’s specification, local codes and the licensed engineer in charge govern, and where they allow less than this page, they hold.';

/** Usual cautions of heating and jacking, shown beside the numbers that could hurt. */
export const HEAT_CAUTIONS: readonly { readonly text: string; readonly source: string }[] = [
  {
    text: 'Cracks first: search the impact, welds, connections and diaphragms for cracks and tears before any heat, and again after. Never heat over one.',
    source: 'state special provision “Heat Straightening”, 14 Dec 2017',
  },
  {
    text: 'Jacks, chains and come-alongs hold stored energy: stand clear, second restraint, calibrated gauge. Load before heating; never raise the force on hot steel, never bend cold.',
    source: 'from memory of FHWA-IF-08-999; cold bending: SPD 4-100',
  },
  {
    text: 'Hot work: permit, fire watch, utilities and deck timber clear, gas cylinders secured. No water on hot steel; no air or mist above 600 °F (315 °C).',
    source: 'common practice, no source; cooling from memory of FHWA-IF-08-999',
  },
  {
    text: 'Lead: old paint may hold it. Strip the heated area first, with respirators and containment.',
    source: 'common practice, no source',
  },
  {
    text: 'Traffic: none below or beside while heating, jacking or measuring.',
    source: 'common practice, no source',
  },
  {
    text: 'Fracture-critical members, quenched and tempered steel: only with the engineer’s written approval for this member.',
    source: 'from memory of FHWA-IF-08-999',
  },
  {
    text: 'Sag: hold the damaged flange up on both sides while it is hot.',
    source: '“Repair of Damaged Steel Beams”, SPD 4-100',
  },
];
