import type { Zone } from '../../analysis.ts';
import type { Flag } from '../flags.ts';
import { flagText } from './entry-view.ts';

/** Puts what is doubtful about each row of the list beside it; rows and fields stay, with what is being keyed in them. */
export function markFlags(rows: HTMLElement, count: number, flagsOf: (row: number) => readonly Flag[]): void {
  for (let i = 0; i < count; i++) {
    const item = rows.children[i] as HTMLElement | undefined;
    if (item === undefined) continue;
    const own = flagsOf(i);
    const box = item.querySelector<HTMLElement>('.flag')!;
    item.classList.toggle('flagged', own.length > 0);
    const text = flagText(own);
    if (box.textContent !== text) box.textContent = text;
    box.hidden = own.length === 0;
    for (const input of item.querySelectorAll('input')) {
      const bad = own.some((flag) => String(flag.at?.slot) === input.dataset.slot);
      if (bad) {
        input.setAttribute('aria-invalid', 'true');
        input.setAttribute('aria-describedby', box.id);
      } else {
        input.removeAttribute('aria-invalid');
        input.removeAttribute('aria-describedby');
      }
    }
  }
}

/** Puts the zone each row of the list lies in on its rail. */
export function markZones(rows: HTMLElement, count: number, zoneOf: (row: number) => Zone | null): void {
  for (let i = 0; i < count; i++) {
    const item = rows.children[i] as HTMLElement | undefined;
    if (item === undefined) continue;
    const zone = zoneOf(i);
    item.classList.toggle('in-zone', zone !== null);
    item.dataset.zone = zone === null ? '' : zone.zone;
  }
}
