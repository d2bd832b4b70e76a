import type { Analysis, SurveyFit } from '../../src/analysis.ts';
import { lineToday } from '../../src/decision/line-today.ts';
import { verdictWords } from '../../src/decision/verdict-words.ts';
import { answerHtml, unsettled } from '../../src/page/answer.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { renderFinal } from '../../src/report/final.ts';
import { htmlText } from '../../src/report/html.ts';
import { asFound, current } from '../../src/report/picks.ts';
import { quantities } from '../../src/report/quantities.ts';
import { headline, limitWords } from '../../src/status/crew-words.ts';
import { repeatedSentences } from '../repeated-sentences.ts';
import { plain } from './contradictions.ts';

/** The papers and the answer of the readings page of one analysis, as text; `leaf` is what the final report leads with. */
export interface Papers {
  readonly analysis: Analysis;
  readonly leaf: string;
  readonly final: string;
  readonly fullDaily: string;
  readonly answer: string;
}

const NO_HEATS = { stops: [], faults: [], days: [] };

const CONTEXT = {
  generated: '2025-03-30',
  tool: 'Sweepbook',
  fraction: 16,
  files: [],
  ledger: [],
  plotly: null,
} as const;

export function papersOf(analysis: Analysis): Papers {
  const final = body(renderFinal(analysis, { ...CONTEXT, full: true }));
  const { line } = headline(analysis);
  const cycle = line === null ? 0 : (lineToday(line).now?.cycle ?? 0);
  return {
    analysis,
    leaf: words(final.slice(0, final.indexOf('<div class="appendix'))),
    final: words(final),
    fullDaily: words(body(renderDaily(analysis, { ...CONTEXT, full: true }))),
    answer: words(htmlText(answerHtml(analysis, NO_HEATS, line?.line.name ?? '', cycle, 360))),
  };
}

function body(page: string): string {
  return page.slice(page.indexOf('<main'));
}

/** What a reader sees: drawings and what is only read aloud left out. */
function words(page: string): string {
  return plain(
    page
      .replace(/<(svg|style|script)[\s\S]*?<\/\1>/g, ' ')
      .replace(/<\/(?:figcaption|summary|section|th|caption)>/g, '</p>'),
  );
}

const flat = (text: string): string => text.replace(/\s+/g, ' ');

type Rule = readonly [words: string, broken: (papers: Papers) => readonly (string | false | null)[]];

/** What must hold on the final report and on the readings page, in words. A rule gives what it found broken. */
export const PAPER_RULES: readonly Rule[] = [
  [
    'final report and page lead with the word, the sentences and the next step of the first screen; a page whose sheet is only begun asks to read on instead',
    ({ analysis, leaf, answer }) => {
      const { sentences, next, line } = headline(analysis);
      const cycle = line === null ? 0 : (lineToday(line).now?.cycle ?? 0);
      const begun = unsettled(analysis, cycle) !== null;
      const word = verdictWords(analysis.member);
      return [
        !flat(leaf).includes(word) && `the final report does not say ${word}`,
        ...sentences.map(
          (each) => !flat(leaf).includes(flat(each)) && `the final report leaves out: ${each}`,
        ),
        !flat(answer).includes(flat(next)) && 'the page has another next step',
        begun
          ? !answer.includes('Read on') && 'the page judges a sheet only begun'
          : !flat(answer).includes(word) && `the page does not say ${word}`,
        ...(begun
          ? []
          : sentences.map((each) => !flat(answer).includes(flat(each)) && `the page leaves out: ${each}`)),
      ];
    },
  ],
  [
    'as found and as left of the final report are surveys read with the jacks off, its figures are those of the readings, and a survey that carries no number leaves none',
    ({ analysis, leaf }) => {
      const q = quantities(analysis.job.units, 16);
      return analysis.lines.slice(0, 3).flatMap((item) => {
        const [found, left] = [asFound(item), current(item)];
        if (found === undefined || left === undefined) return [];
        const size = (survey: SurveyFit) =>
          flat(q.length(Math.abs(survey.largest.deviation)).replace(/\u00a0/g, ' '));
        const { lack } = lineToday(item);
        const row = flat(leaf.slice(leaf.indexOf('Largest deviation\n'), leaf.indexOf('Rules and results')));
        const own = row.slice(row.indexOf(item.line.name));
        return [
          (found.state !== 'released' || left.state !== 'released') &&
            `${item.line.name} shows a survey with the jacks on`,
          !own.includes(size(found)) && `${item.line.name}: ${size(found)} as found is not there`,
          lack === null &&
            !own.includes(size(left)) &&
            `${item.line.name}: ${size(left)} as left is not there`,
          lack !== null &&
            !own.includes(`cannot be told from cycle ${left.cycle}`) &&
            `${item.line.name} has a number as left`,
        ];
      });
    },
  ],
  [
    'every limit stands on final report and page with its result, and "n of m within" is a count of them',
    ({ analysis, leaf, final, answer }) => {
      const all = [...analysis.lines.flatMap((item) => item.acceptance), ...analysis.unmeasured];
      const within = all.filter(({ result }) => result === 'within').length;
      return [
        all.length > 0 &&
          !flat(leaf).includes(`${within} of ${all.length} within`) &&
          `not ${within} of ${all.length} within`,
        all.length === 0 && !flat(leaf).includes('names no rule') && 'nothing says that no limit is set',
        ...all.flatMap((result) => [
          !flat(final).includes(limitWords(result, 'us')) &&
            !flat(final).includes(result.rule.label) &&
            `the report leaves out ${result.rule.label}`,
          !flat(answer).includes(result.rule.label) && `the page leaves out ${result.rule.label}`,
        ]),
      ];
    },
  ],
  [
    'no sentence stands twice on the first leaf or on the page, and neither has an engineer’s unit',
    ({ leaf, answer }) => [
      ...repeatedSentences(leaf).map((each) => `final report: ${each}`),
      ...repeatedSentences(answer).map((each) => `page: ${each}`),
      leaf.match(/\bmrad\b|\bRMS\b|regime|degrees of freedom/)?.[0] ?? null,
      answer.match(/\bmrad\b|\bRMS\b|regime|degrees of freedom/)?.[0] ?? null,
    ],
  ],
  [
    'no paper shows a number that is none',
    ({ final, fullDaily, answer }) =>
      [final, fullDaily, answer].map(
        (text) => /.{30}(?:\bNaN\b|\bundefined\b|Infinity|\bnull\b|\[object)/.exec(flat(text))?.[0] ?? null,
      ),
  ],
];

/** Every rule broken on these papers: `rule: what`. */
export function paperContradictions(papers: Papers): string[] {
  return PAPER_RULES.flatMap(([rule, broken]) =>
    broken(papers)
      .filter((each): each is string => typeof each === 'string')
      .map((each) => `${rule}: ${each}`),
  );
}
