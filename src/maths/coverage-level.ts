/**
 * How sure an interval is, in one place. Two levels are used and no third: what is measured is shown with two standard
 * uncertainties, about 95 % (JCGM 100:2008, 6.2.1 and G.1.3); what is expected of the work (rate, cycles and heats
 * left) with 80 %, 10 % on either side, because calls are made at 1 in 10.
 */
export const MEASURED = { factor: 2, level: 0.95 } as const;
export const EXPECTED = { level: 0.8 } as const;

/** `80 %`, written beside every interval that is shown. */
export function levelText({ level }: { readonly level: number }): string {
  return `${Math.round(100 * level)} %`;
}

/** The two points of a distribution between which an interval of this level lies, as much on either side: 0.1 and 0.9. */
export function endsOf({ level }: { readonly level: number }): readonly [number, number] {
  return [(1 - level) / 2, (1 + level) / 2];
}
