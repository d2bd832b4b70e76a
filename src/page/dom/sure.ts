/** What a button says that discards at the next click. */
const SURE = 'Discard for good?';
/** How long it says so, ms. */
const WAITS = 6000;

/** The button that asked, by what it discards: a list drawn anew must not forget it. */
let asked: string | null = null;
let before = '';

function nameOf(button: HTMLElement): string {
  return JSON.stringify(button.dataset);
}

/** True at the second click within a few seconds on a button that says so. */
export function sure(button: HTMLElement): boolean {
  const what = nameOf(button);
  if (asked === what) {
    asked = null;
    return true;
  }
  asked = what;
  before = button.textContent ?? '';
  button.textContent = SURE;
  setTimeout(() => {
    if (asked !== what) return;
    asked = null;
    for (const each of document.querySelectorAll<HTMLElement>('button')) {
      if (each.textContent === SURE) each.textContent = before;
    }
  }, WAITS);
  return false;
}

/** After a drawing: the button that asked goes on asking. */
export function stillAsking(within: Element): void {
  if (asked === null) return;
  for (const button of within.querySelectorAll<HTMLElement>('button')) {
    if (nameOf(button) === asked) button.textContent = SURE;
  }
}
