const KEY = 'sweepbook-brightness';
const NEXT = { auto: 'bright', bright: 'dark', dark: 'auto' } as const;
const WORDS = {
  auto: 'Auto brightness, as the device',
  bright: 'Bright, for sunlight',
  dark: 'Dark',
} as const;
type Brightness = keyof typeof NEXT;

/** The brightness button: as the device, bright, dark, in turn. */
export function brightness(button: HTMLElement): void {
  let now: Brightness = 'auto';
  try {
    const kept = localStorage.getItem(KEY);
    if (kept !== null && kept in NEXT) now = kept as Brightness;
  } catch {
    // Kept for the session only, then.
  }
  const show = (): void => {
    document.documentElement.dataset.brightness = now;
    button.textContent = now === 'auto' ? 'Auto' : now === 'bright' ? 'Bright' : 'Dark';
    button.setAttribute('aria-label', WORDS[now]);
  };
  button.addEventListener('click', () => {
    now = NEXT[now];
    try {
      localStorage.setItem(KEY, now);
    } catch {
      // as above
    }
    show();
  });
  show();
}
