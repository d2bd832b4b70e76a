/** The one style element and the policy every page of ours begins with. */
const STYLE = /<style>([\s\S]*?)<\/style>/;
const POLICY = /<meta http-equiv="Content-Security-Policy"[^>]*>/;

/**
 * A paper as it goes into a frame of this page. The frame is under this page's policy, which allows no style but its
 * own: the paper's comes in as a style sheet object (`showPaper`). What is handed out is always the paper itself.
 */
export function shownText(text: string): string {
  return text.replace(STYLE, '').replace(POLICY, '');
}

/** Gives a framed paper its style once it is there, and lets its links to places in itself work. */
export function showPaper(frame: HTMLIFrameElement | null, text: string): void {
  if (frame === null) return;
  const css = STYLE.exec(text)?.[1] ?? '';
  frame.addEventListener('load', () => {
    const inside = frame.contentDocument;
    const view = frame.contentWindow as (Window & typeof globalThis) | null;
    if (inside === null || view === null) return;
    const sheet = new view.CSSStyleSheet();
    sheet.replaceSync(css);
    inside.adoptedStyleSheets = [sheet];
    // A link within it would be looked for in this page, whose address the frame goes by.
    inside.addEventListener('click', (event) => {
      const link = (event.target as Element | null)?.closest?.('a[href^="#"]');
      if (!link) return;
      event.preventDefault();
      inside.getElementById(link.getAttribute('href')!.slice(1))?.scrollIntoView();
    });
  });
}
