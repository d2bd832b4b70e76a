import { html } from '../../report/html.ts';
import type { Desk, OpenPage, Part, Room } from '../room.ts';
import { byId, fill } from './element.ts';
import { clearNotices, showError } from './notices.ts';
import type { Store } from './store.ts';
import { stillAsking } from './sure.ts';

/** The tabs, and a section for every room the page does not have yet. */
export function layOut(rooms: readonly Room[]): void {
  fill(
    byId('views'),
    html`${rooms.map(({ id, name }) => html`<button type="button" data-view="${id}" aria-pressed="false">${name}</button>`)}`,
  );
  for (const { id, name, parts } of rooms) {
    const section = document.getElementById(id) ?? newSection(id, name);
    for (const part of parts) {
      const box = document.createElement('div');
      box.id = part.id;
      box.className = 'part';
      section.append(box);
    }
  }
}

function newSection(id: string, name: string): HTMLElement {
  const section = document.createElement('section');
  section.id = id;
  section.className = 'view room';
  section.ariaLabel = name;
  section.hidden = true;
  byId('work').append(section);
  return section;
}

/** Draws the parts of the rooms in sight, and hands every event in them to the act it names. */
export function roomParts(rooms: readonly Room[], store: Store, desk: Desk) {
  const parts = new Map(rooms.flatMap((room) => room.parts).map((part) => [part.id, part]));
  const drawn = new Map<string, readonly unknown[]>();

  function ownOf(part: Part, page: OpenPage): unknown {
    return part.id in page.own ? page.own[part.id] : part.begin(page.session);
  }

  function draw(page: OpenPage): void {
    for (const room of rooms) {
      if (byId(room.id).hidden) continue;
      for (const part of room.parts) {
        const own = ownOf(part, page);
        const of = part.of?.(page, own);
        const last = drawn.get(part.id);
        if (of !== undefined && last?.length === of.length && last.every((each, i) => each === of[i]))
          continue;
        if (of !== undefined) drawn.set(part.id, of);
        const box = byId(part.id);
        fill(box, part.view(page, own, desk));
        stillAsking(box);
      }
    }
  }

  async function run(part: Part, name: string, control: HTMLElement, event: Event): Promise<void> {
    const act = part.acts[name];
    if (act === undefined) throw new Error(`part ${part.id} has no act ${name}`);
    const { session } = store.get();
    if (session === null) return;
    const fields =
      control instanceof HTMLFormElement
        ? Object.fromEntries(
            [...new FormData(control, (event as SubmitEvent).submitter)].flatMap(([key, value]) =>
              typeof value === 'string' ? [[key, value]] : [],
            ),
          )
        : {};
    const put = (own: unknown) => store.set({ own: { ...store.get().own, [part.id]: own } });
    clearNotices('error');
    try {
      await act({ desk, own: ownOf(part, desk.page()), put, control, fields });
    } catch (error) {
      showError(error);
    }
  }

  function listen(type: string, attribute: string, fits: (control: HTMLElement) => boolean): void {
    byId('work').addEventListener(type, (event) => {
      const control = (event.target as HTMLElement).closest<HTMLElement>(`[data-${attribute}]`);
      const box = control?.closest('.part');
      const part = box === null || box === undefined ? undefined : parts.get(box.id);
      if (!control || part === undefined || !fits(control)) return;
      if (type === 'submit') event.preventDefault();
      void run(part, control.dataset[attribute]!, control, event);
    });
  }
  listen('click', 'act', (control) => !(control instanceof HTMLFormElement));
  listen('submit', 'act', (control) => control instanceof HTMLFormElement);
  listen('change', 'change', () => true);
  listen('input', 'input', () => true);

  return { draw };
}
