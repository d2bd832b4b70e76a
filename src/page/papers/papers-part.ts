import { PANELS_FOLDER, PHOTOS_FOLDER } from '../../folder/names.ts';
import type { Job } from '../../job/job.ts';
import type { Paper } from '../../papers/papers.ts';
import { type Html, html } from '../../report/html.ts';
import { fileStem } from '../hand-over.ts';
import { ledgerOfJob } from '../ledger/record.ts';
import { allCarried } from '../photos/carried.ts';
import { type Act, type Desk, type OpenPage, part } from '../room.ts';
import { readsOf } from '../state.ts';
import { filesOfBook } from './files-of-book.ts';
import type { PaperKind, PapersAsked } from './make-papers.ts';
import { shownText, showPaper } from './show-paper.ts';

declare const SWEEPBOOK_VERSION: string;

/** What this part keeps: what is being made, what was made and is looked at. */
interface Own {
  readonly making: PaperKind | null;
  readonly kind: PaperKind | null;
  readonly papers: readonly Paper[];
  readonly said: string | null;
  /** The first, where it is shown in fewer columns than it is handed out in. */
  readonly shown: string | null;
  readonly faults: readonly string[];
  /** Which state of the readings the papers are of. */
  readonly version: number;
}

const NOTHING: Own = {
  making: null,
  kind: null,
  papers: [],
  said: null,
  shown: null,
  faults: [],
  version: -1,
};

interface Offer {
  readonly kind: PaperKind;
  readonly title: string;
  readonly what: string;
  /** It needs no readings. */
  readonly always?: boolean;
  /** Where it says something; left out: of every job. */
  readonly of?: (job: Job) => boolean;
}

const OFFERS: readonly Offer[] = [
  { kind: 'daily', title: 'Daily sheet', what: 'The report of the day, two printed pages.' },
  { kind: 'card', title: 'Crew card', what: 'Ceiling, temperature, next vees and cautions on one page.' },
  {
    kind: 'heats',
    title: 'Heats',
    what: 'Expected and observed rotation, heats left, checks of the heat log.',
  },
  { kind: 'plates', title: 'Plates', what: 'Gaps under the plates as left, fillers, clearance.' },
  {
    kind: 'drawing',
    title: 'Plate drawing',
    what: 'Openings of the panels and their plates to scale, to lay out and drill.',
    of: (job) => job.lines.some((line) => line.panel?.cutOut !== undefined),
  },
  { kind: 'plan', title: 'Plan', what: 'Cycles, days, closures and cost ahead, each with its interval.' },
  { kind: 'final', title: 'Final report', what: 'As found against as left, with the method and the record.' },
  { kind: 'export', title: 'Tables', what: 'Deviations, movement, zones and readings as CSV and JSON.' },
  { kind: 'status', title: 'Status document', what: 'The answer as JSON in SI units.' },
  {
    kind: 'verify',
    title: 'Is everything as recorded?',
    what: 'Every file hashed again and held against the ledger.',
    always: true,
  },
];

/** Every document of the job, the same bytes as the command line writes. */
export const papers = part<Own>({
  id: 'papers',
  begin: () => NOTHING,
  of: (page, own) => [page.session.bundle, page.session.opened, own, own.kind !== null && page.version],
  view: (page, own, desk) => (own.kind === null ? listHtml(page, own) : paperHtml(page, own, desk)),
  acts: {
    open: (act) => make(act, kindOf(act), true),
    download: (act) => make(act, kindOf(act), false),
    verify: (act) => make(act, 'verify', true, act.fields['papers-seal'] ?? ''),
    back: (act) => {
      const kind = act.own.kind;
      act.put(NOTHING);
      document.querySelector<HTMLElement>(`#papers [data-act="open"][data-do="open-${kind}"]`)?.focus();
    },
    print: () => document.querySelector<HTMLIFrameElement>('#paper-frame')?.contentWindow?.print(),
    take: (act) => {
      const paper = paperAt(act);
      act.desk.download(nameOf(act.desk.page(), paper), paper.text, paper.type);
    },
    pass: (act) => {
      const paper = paperAt(act);
      return act.desk.share(nameOf(act.desk.page(), paper), paper.text, paper.type);
    },
  },
});

function kindOf({ control }: Act<Own>): PaperKind {
  return control.dataset.paper as PaperKind;
}

function paperAt({ own, control }: Act<Own>): Paper {
  return own.papers[Number(control.dataset.at ?? '0')]!;
}

function listHtml(page: OpenPage, own: Own): Html {
  const { opened, book } = page.session;
  const read = opened.readings.length > 0 || book.sheets.some((sheet) => sheet.cells.length > 0);
  const row = ({ kind, title, what, always }: Offer): Html => {
    const busy = own.making !== null;
    const off = busy || !(read || always) ? html` disabled` : '';
    const making = own.making === kind ? html` <strong>Making it …</strong>` : '';
    const take =
      kind === 'export' || kind === 'verify'
        ? ''
        : html`<button type="button" data-act="download" data-paper="${kind}" data-do="${kind}" aria-label="Download: ${title}"${off}>Download</button>`;
    return html`<li data-id="${kind}"><div><h3>${title}</h3><p>${what}${making}</p></div><p class="actions"><button type="button" data-act="open" data-paper="${kind}" data-do="open-${kind}" aria-label="Open: ${title}"${off}>Open</button>${take}</p></li>`;
  };
  return html`<h2>Papers</h2>
${faultsHtml(own.faults)}
${read ? '' : html`<p>There are no readings yet: the papers are made once there are.</p>`}
<ul class="handouts">${OFFERS.filter((each) => each.of?.(opened.job) ?? true).map(row)}</ul>`;
}

function paperHtml(
  page: OpenPage,
  own: Own,
  desk: { readonly canShare: (name: string, type: string) => boolean },
): Html {
  const offer = OFFERS.find(({ kind }) => kind === own.kind)!;
  const [first] = own.papers;
  const old =
    own.version === page.version
      ? ''
      : html`<p class="notice caution">This is from before the last keys: go back and open it again.</p>`;
  const takes = own.papers.map((paper, i) => {
    const name = paper.file.split('/').at(-1)!;
    const share = desk.canShare(name, paper.type)
      ? html`<button type="button" data-act="pass" data-at="${i}" aria-label="Share ${name}">Share</button>`
      : '';
    return html`<button type="button" data-act="take" data-at="${i}" data-do="take-${name}" aria-label="Download ${name}">Download${own.papers.length > 1 ? ` ${name}` : ''}</button>${share}`;
  });
  const isPage = first?.type === 'text/html';
  return html`<h2 id="paper-title" tabindex="-1">${offer.title}</h2>
${old}${own.said === null ? '' : html`<p class="notice caution">${own.said}</p>`}
<p class="actions"><button type="button" data-act="back" data-do="back">Back to the papers</button>${isPage ? html`<button type="button" data-act="print">Print</button>` : ''}${takes}</p>
${
  first === undefined
    ? ''
    : isPage
      ? html`<iframe id="paper-frame" class="paper" title="${offer.title}" srcdoc="${shownText(first.text)}"></iframe>`
      : own.kind === 'export'
        ? ''
        : html`<pre class="paper" data-kind="${own.kind ?? ''}" tabindex="0" aria-label="${offer.title}">${own.shown ?? first.text}</pre>`
}
${own.kind === 'verify' ? sealForm() : ''}`;
}

function sealForm(): Html {
  return html`<form class="field" data-act="verify"><label for="papers-seal">Seal on a printed report (8 digits or more): is it of this ledger?</label><input id="papers-seal" name="papers-seal" class="short" autocomplete="off" autocapitalize="off" spellcheck="false" inputmode="text" maxlength="64"><p class="actions"><button type="submit">Look for it</button></p></form>`;
}

function faultsHtml(faults: readonly string[]): Html | string {
  if (faults.length === 0) return '';
  const [first, ...rest] = faults;
  return html`<div class="notice stop" role="alert"><span>${first}${rest.length === 0 ? '' : html`<ul>${rest.map((each) => html`<li>${each}</li>`)}</ul>`}</span></div>`;
}

async function make(act: Act<Own>, kind: PaperKind, show: boolean, seal = ''): Promise<void> {
  const { desk, put } = act;
  const wanted = seal.trim();
  if (wanted !== '' && !/^[0-9a-f]{8,64}$/i.test(wanted)) {
    put({ ...NOTHING, faults: [`A seal is 8 to 64 hexadecimal digits, not “${wanted}”.`] });
    return;
  }
  const page = desk.page();
  put({ ...NOTHING, making: kind });
  const asked = askedOf(page, kind, desk.today(), wanted === '' ? null : wanted, columnsHere());
  const whole = await withFolder(asked, desk.folder).catch((error: unknown) => error as Error);
  if (whole instanceof Error) {
    put({ ...NOTHING, faults: [whole.message] });
    return;
  }
  const { made, faults } = await desk.papers(whole);
  // Another job may have been opened meanwhile: its papers are not these.
  if (desk.page().session.id !== page.session.id) return;
  if (made === null) {
    put({ ...NOTHING, faults });
    return;
  }
  const [first] = made.papers;
  if (!show) {
    put({ ...NOTHING, faults: made.said === null ? [] : [made.said] });
    desk.download(nameOf(page, first!), first!.text, first!.type);
    return;
  }
  const { papers, said, shown = null } = made;
  put({ ...NOTHING, kind, papers, said, shown, version: page.version });
  document.getElementById('paper-title')?.focus();
  if (first?.type === 'text/html') showPaper(document.querySelector('#paper-frame'), first.text);
}

/** Width of a character of `pre.paper`, and what stands beside its text, in rem (`page-css.ts`). */
const CHARACTER = 0.85 * 0.61;
const BESIDE = 1.8;

/** Columns of text the part has room for. */
function columnsHere(): number {
  const rem = Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
  const room = document.querySelector('#papers')?.clientWidth ?? 0;
  return Math.floor((room / rem - BESIDE) / CHARACTER);
}

/** What is asked for, with what only the folder has: all of it to verify, pictures too large to be carried to be shown. */
export async function withFolder(
  asked: PapersAsked,
  folder: Pick<Desk['folder'], 'everything' | 'photos'>,
): Promise<PapersAsked> {
  if (asked.paper === 'verify') {
    // The folder itself is hashed again, its pictures too, not what was read of it once.
    const files = await folder.everything();
    return files === null ? asked : { ...asked, files, notHere: [] };
  }
  if (asked.paper !== 'final' || !asked.notHere.includes(PHOTOS_FOLDER)) return asked;
  const photos = await folder.photos();
  if (photos === null) return asked;
  return {
    ...asked,
    files: new Map([...photos, ...asked.files]),
    notHere: asked.notHere.filter((each) => each !== PHOTOS_FOLDER),
  };
}

/** What the worker is asked: the job as the files its folder would hold. */
export function askedOf(
  page: OpenPage,
  paper: PaperKind,
  generated: string,
  seal: string | null,
  columns: number,
): PapersAsked {
  const { bundle, opened } = page.session;
  const files = filesOfBook(bundle, readsOf(page.session));
  const own = filesOfBook(bundle, []);
  const panelsHere = !bundle.findings.some(({ code }) => code === 'panel-maps-not-here');
  return {
    ...{ paper, generated, seal, columns, full: false, name: opened.job.name },
    tool: `Sweepbook ${SWEEPBOOK_VERSION}`,
    files,
    keyed: [...files.keys()].filter((file) => !own.has(file)),
    notHere: [
      ...(allCarried(ledgerOfJob(bundle), bundle) ? [] : [PHOTOS_FOLDER]),
      ...(panelsHere ? [] : [PANELS_FOLDER]),
    ],
  };
}

function nameOf(page: OpenPage, paper: Paper): string {
  return `${fileStem(page.session.opened.job.name)}-${paper.file.split('/').at(-1)}`;
}
