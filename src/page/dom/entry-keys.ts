import { redo, undo } from '../book.ts';
import { keyOf } from '../keys.ts';
import { byId } from './element.ts';

export interface KeyPorts {
  readonly rowsBox: HTMLElement;
  readonly pad: HTMLElement;
  readonly enter: (input: HTMLInputElement) => void;
  readonly go: (row: number) => void;
  readonly next: (step: 1 | -1) => void;
  readonly again: () => void;
  readonly back: (how: typeof undo) => void;
  readonly key: (text: string) => void;
  readonly press: (key: Pressed) => void;
}

export type Pressed = NonNullable<ReturnType<typeof keyOf>>;

/** Listens to the fields of the list and to the keypad under it. */
export function listenToKeys(ports: KeyPorts): void {
  const { rowsBox, pad, enter, go, next, again, back, key, press } = ports;
  rowsBox.addEventListener('focusin', (event) => {
    const input = event.target as HTMLElement;
    if (input instanceof HTMLInputElement && input.dataset.slot !== undefined) enter(input);
  });
  rowsBox.addEventListener('click', (event) => {
    const target = event.target as HTMLElement;
    if (target instanceof HTMLInputElement) return;
    const row = target.closest<HTMLElement>('.row')?.dataset.row;
    if (row !== undefined) go(Number.parseInt(row, 10));
  });
  rowsBox.addEventListener('input', (event) => {
    key((event.target as HTMLInputElement).value);
  });
  rowsBox.addEventListener('keydown', (event) => {
    if (event.key === 'Enter' || event.key === 'ArrowDown') next(1);
    else if (event.key === 'ArrowUp') next(-1);
    else if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'z')
      back(event.shiftKey ? redo : undo);
    else if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'y') back(redo);
    else return;
    event.preventDefault();
  });

  // Keys on the screen must not take the focus from the field.
  pad.addEventListener('pointerdown', (event) => {
    if ((event.target as HTMLElement).closest('button') !== null) event.preventDefault();
  });
  byId('keys').addEventListener('click', (event) => {
    const name = (event.target as HTMLElement).closest<HTMLElement>('[data-key]')?.dataset.key;
    const pressed = name === undefined ? null : keyOf(name);
    if (pressed !== null) press(pressed);
  });
  byId('next').addEventListener('click', () => next(1));
  byId('up').addEventListener('click', () => next(-1));
  byId('again').addEventListener('click', again);
  byId('undo').addEventListener('click', () => back(undo));
  byId('redo').addEventListener('click', () => back(redo));
}
