import type { Analysis, LineAnalysis } from '../../src/analysis.ts';
import { lineToday, timesLimit } from '../../src/decision/line-today.ts';
import { verdictWords } from '../../src/decision/verdict-words.ts';
import { answerInShort } from '../../src/page/answer.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { htmlText } from '../../src/report/html.ts';
import { quantities } from '../../src/report/quantities.ts';
import { keyFigures } from '../../src/report/verdict-panel.ts';
import { headline, limitWords } from '../../src/status/crew-words.ts';
import { statusDocument } from '../../src/status/status-document.ts';
import { statusText } from '../../src/status/status-text.ts';
import { HOT_STEEL } from '../../src/survey/judged.ts';
import { quietOf } from '../../src/survey/movement.ts';
import { INCH } from '../../src/units/factors.ts';
import { repeatedSentences } from '../repeated-sentences.ts';

/** What the screens say of one analysis, made once. */
export interface Screens {
  readonly analysis: Analysis;
  readonly text: string;
  readonly daily: string;
  readonly tiles: string;
}

export function screensOf(analysis: Analysis): Screens {
  const daily = renderDaily(analysis, {
    generated: '2025-03-30',
    tool: 'Sweepbook',
    fraction: 16,
    files: [],
    ledger: [],
    plotly: null,
  });
  const { line } = headline(analysis);
  return {
    analysis,
    text: statusText(analysis, { columns: 80, paint: (_, words) => words }),
    daily: plain(
      daily.slice(daily.indexOf('<section class="verdict"'), daily.indexOf('<figure class="grow"')),
    ),
    tiles: line === null ? '' : plain(htmlText(keyFigures(line, quantities('us', 16)))),
  };
}

export function plain(page: string): string {
  return page
    .replace(/<\/(?:p|li|h\d|dd|dt|td|tr)>/g, '\n\n')
    .replace(/<[^>]+>/g, ' ')
    .replace(/\u00a0/g, ' ')
    .replace(/&#39;/g, "'")
    .replace(/&quot;/g, '"')
    .replace(/[ \t]+/g, ' ');
}

/** One line of text: wrapping undone, so that a phrase can be looked for. */
const flat = (text: string): string => text.replace(/\s+/g, ' ');

type Rule = readonly [words: string, broken: (screens: Screens) => readonly (string | false | null)[]];

/** A movement or an opening is sure where it is twice its uncertainty beyond what is claimed. */
const SURE = 2;

/**
 * What must hold on every screen on every day, in words. A rule gives what it found broken.
 */
export const RULES: readonly Rule[] = [
  [
    'the word for the member is the word of the line that decides, and every screen and the JSON give that word',
    ({ analysis, text, daily }) => {
      const { line } = headline(analysis);
      const { verdict } = analysis.member;
      const own = line?.progress.verdict;
      return [
        verdict !== own &&
          !(verdict === 'undecided' && analysis.unmeasured.length > 0) &&
          `${verdict} against ${own}`,
        !flat(daily).includes(verdictWords(analysis.member)) && `the daily sheet does not say ${verdict}`,
        statusDocument(analysis).member.verdict !== verdict && 'the JSON has another word',
        statusDocument(analysis).member.line !== analysis.member.line && 'the JSON has another line',
        text.split('\n')[2] === '' && 'the terminal has no word',
      ];
    },
  ],
  [
    'no other line is further outside its limit, in multiples of the limit, than the one in the headline; a line read only in part today counts by what it last was',
    ({ analysis }) => {
      const { line } = headline(analysis);
      return analysis.lines.map(
        (other) =>
          line !== null &&
          beyond(other) > beyond(line) &&
          `${other.line.name} is further out than ${line.line.name}`,
      );
    },
  ],
  [
    'a line going the wrong way, or one not shown to be inside, is never behind one inside every limit',
    ({ analysis }) => {
      const { line } = headline(analysis);
      return analysis.lines.map(
        (other) =>
          line?.progress.verdict === 'within-tolerance' &&
          other.progress.verdict !== 'within-tolerance' &&
          `${other.line.name} is ${other.progress.verdict}`,
      );
    },
  ],
  [
    '"within tolerance" stands only where every rule of every line is within, by a survey that carries a number',
    ({ analysis }) =>
      analysis.member.verdict !== 'within-tolerance'
        ? []
        : [
            ...analysis.lines.flatMap((item) => [
              ...item.acceptance.map(
                (a) => a.result !== 'within' && `${item.line.name}: ${a.rule.label} ${a.result}`,
              ),
              lineToday(item).lack !== null && `${item.line.name} carries no number`,
            ]),
            analysis.unmeasured.length > 0 && 'a rule has no readings',
          ],
  ],
  [
    'what is shown as now was read with the jacks off and the steel cooled; what was read since is named',
    ({ analysis, text }) =>
      analysis.lines.flatMap((item) => {
        const { now, notJudged } = lineToday(item);
        const { line } = headline(analysis);
        const late = notJudged.at(-1);
        return [
          now !== null && now.state !== 'released' && `${item.line.name} shows a survey with the jacks on`,
          now !== null && (now.temperature ?? 0) > HOT_STEEL && `${item.line.name} shows a hot survey`,
          item === line &&
            late !== undefined &&
            !flat(text).includes(`Cycle ${late.cycle} of ${item.line.name} was read`) &&
            'a survey that is not judged is passed over',
        ];
      }),
  ],
  [
    'a survey that cannot carry a number gives none: no size, no movement, no cycles left, no limit measured, no word for a pace',
    ({ analysis, tiles }) =>
      analysis.lines.flatMap((item) => {
        const { lack, moved } = lineToday(item);
        if (lack === null) return [];
        const { verdict, cyclesLeft } = item.progress;
        const leads = item === headline(analysis).line;
        return [
          verdict !== 'undecided' &&
            verdict !== 'not-enough-readings' &&
            `${item.line.name} is called ${verdict}`,
          moved !== null && `${item.line.name} has a last movement`,
          cyclesLeft !== null && `${item.line.name} has cycles left`,
          ...item.acceptance.map(
            (a) => a.measured !== null && a.rule.over.kind !== 'impact' && `${a.rule.label} is measured`,
          ),
          leads && !flat(tiles).includes('cannot be told') && 'the tile gives a size',
          leads &&
            /closer|further out|It came|On days/.test(headline(analysis).sentences.join(' ')) &&
            'the headline has a movement',
        ];
      }),
  ],
  [
    'the word does not contradict what the steel just did: nothing progresses on a day that surely opened by more than the useful gain, is stalled on one that surely closed by two, or goes the wrong way on one that surely closed by one',
    ({ analysis }) =>
      analysis.lines.flatMap((item) => {
        const { moved } = lineToday(item);
        if (moved === null || moved.toCycle !== moved.fromCycle + 1) return [];
        const gain = analysis.job.usefulGain;
        const { movement, u } = moved.largest;
        const { verdict } = item.progress;
        const said = `${item.line.name} is ${verdict} and moved ${(movement / INCH).toFixed(3)} ± ${((SURE * u) / INCH).toFixed(3)} in`;
        return [
          (verdict === 'progressing' || verdict === 'slow') && movement - SURE * u > gain && said,
          verdict === 'stalled' && movement + SURE * u < -2 * gain && said,
          verdict === 'regressing' && movement + SURE * u < -gain && said,
        ];
      }),
  ],
  [
    'the rate has the sense of the word, a spell of standing still is never progress, and its interval holds it',
    ({ analysis }) =>
      analysis.lines.flatMap(({ line, progress: p }) => [
        p.verdict === 'progressing' &&
          !(p.rate! < 0 && p.rateHigh! < 0) &&
          `${line.name} progresses at ${p.rate}`,
        p.verdict === 'regressing' && !(p.rate! > 0) && `${line.name} regresses at ${p.rate}`,
        p.verdict === 'progressing' && p.pattern!.spell !== null && `${line.name} progresses in a spell`,
        p.rate !== null &&
          !(p.rateLow! <= p.rate && p.rate <= p.rateHigh!) &&
          `${line.name}: ${p.rateLow} ${p.rate} ${p.rateHigh}`,
      ]),
  ],
  [
    'no day is called a standstill that surely closed by two useful gains or more (by three times its uncertainty: of hundreds of days some are misread by two)',
    ({ analysis }) =>
      analysis.lines.flatMap((item) =>
        item.movements
          .filter(
            (m) =>
              m.toCycle === m.fromCycle + 1 && item.progress.pattern?.stoodStill.cycles.includes(m.toCycle),
          )
          .map(
            ({ toCycle, largest: { movement, u } }) =>
              movement + 3 * u < -2 * analysis.job.usefulGain &&
              `${item.line.name}: cycle ${toCycle} moved ${(movement / INCH).toFixed(3)} in`,
          ),
      ),
  ],
  [
    'no cycle is counted as a standstill of the line in which neighbouring stations surely moved one way, and none as come back out that did not open',
    ({ analysis }) =>
      analysis.lines.flatMap((item) => {
        const { still, back } = quietOf(item);
        return item.movements
          .filter((m) => m.toCycle === m.fromCycle + 1)
          .flatMap(({ toCycle, stations, largest }) => {
            const surely = stations.map((s) => (Math.abs(s.movement) > 5 * s.u ? Math.sign(s.movement) : 0));
            const together = surely.some((way, i) => way !== 0 && way === surely[i + 1]);
            return [
              still.includes(toCycle) && together && `${item.line.name} moved in cycle ${toCycle}`,
              back.includes(toCycle) &&
                largest.movement <= 0 &&
                `${item.line.name} came in in cycle ${toCycle}`,
            ];
          });
      }),
  ],
  [
    'no spell is said to stand still over which the largest deviation surely moved',
    ({ analysis, text }) => {
      const { line } = headline(analysis);
      const since = /has stood still for \d+ cycles, since cycle (\d+)/.exec(flat(text))?.[1];
      const series = line?.progress.series ?? [];
      const [start, end] = [series.find(({ cycle }) => cycle === Number(since)), series.at(-1)];
      if (since === undefined || start === undefined || end === undefined) return [];
      return [
        Math.abs(end.value - start.value) > 3 * Math.hypot(start.u, end.u) &&
          `it moved ${((end.value - start.value) / INCH).toFixed(3)} in since cycle ${since}`,
      ];
    },
  ],
  [
    'a zone is not said to close on a day it surely opened, nor to go the wrong way on a day it surely closed',
    ({ analysis }) =>
      analysis.lines.flatMap((item) => {
        const [last, found] = [item.movements.at(-1), item.fit.surveys[0]];
        return item.progress.zones.map(({ zone, verdict }) => {
          const moved = last?.zones.find((each) => each.zone === zone);
          const bent = found?.zones.find((each) => each.zone === zone);
          if (moved === undefined || bent === undefined) return false;
          const opened = Math.sign(bent.rotation) * moved.rotation;
          return (
            ((verdict === 'progressing' && opened > 3 * moved.u) ||
              (verdict === 'regressing' && -opened > 3 * moved.u)) &&
            `zone ${zone} of ${item.line.name} is ${verdict}`
          );
        });
      }),
  ],
  [
    'the forecast is in order, and there are cycles left to go where a limit is surely exceeded',
    ({ analysis, text }) => [
      ...analysis.lines.flatMap(
        ({ line, progress: { cyclesLeft: c, verdict, probabilityWithin: p }, acceptance }) => [
          c !== null &&
            !(c.low <= c.expected && (c.high === null || c.expected <= c.high)) &&
            `${line.name}: ${JSON.stringify(c)}`,
          verdict === 'within-tolerance' && p !== 1 && `${line.name} is inside with a chance of ${p}`,
          c !== null &&
            c.expected === 0 &&
            acceptance.some((a) => a.result === 'outside') &&
            `${line.name} is outside with none left`,
        ],
      ),
      /^WITHIN/m.test(text.split('\n')[2]!) &&
        /^Cycles left/m.test(text.split('\n\n')[1] ?? '') &&
        'inside with cycles left',
    ],
  ],
  [
    'a line that has never moved has no forecast; where no heat acts on it, it is not called stalled and no heat is to be checked for it',
    ({ analysis, text, daily, tiles }) => {
      const { line, next, sentences } = headline(analysis);
      const shown = [flat(text).split('Findings')[0]!, flat(daily), next, ...sentences].join(' ');
      return [
        ...analysis.lines.map(
          ({ line: { name }, progress: p }) =>
            p.pattern?.neverMoved === true &&
            p.verdict !== 'within-tolerance' &&
            (p.cyclesLeft !== null || p.probabilityWithin !== null || p.forecast.length > 0) &&
            `${name} has never moved and has a forecast`,
        ),
        line?.progress.untouched === true &&
          /likely|likeliest|chance of/.test(flat(tiles)) &&
          'its tile looks ahead',
        line?.progress.untouched === true && /^(Check|Go on|Run|Lay)/.test(next) && `next: ${next}`,
        analysis.lines.every(({ progress }) => progress.untouched || progress.verdict !== 'stalled') &&
          analysis.lines.some(({ progress }) => progress.untouched) &&
          /\bstalled\b|No useful movement/i.test(shown) &&
          'an untouched line is called stalled',
      ];
    },
  ],
  [
    'a line going the wrong way or past straight has no cycles left and no chance of getting inside on the screen',
    ({ analysis, tiles }) => {
      const verdict = headline(analysis).line?.progress.verdict;
      const wrong = verdict === 'regressing' || verdict === 'overcorrected';
      return [
        wrong && /chance of|likeliest/.test(flat(tiles)) && `the tile of a ${verdict} line looks ahead`,
      ];
    },
  ],
  [
    'every limit of every line is shown, chords too, and "none set" stands only where none is',
    ({ analysis, text, tiles }) => {
      const { line } = headline(analysis);
      return [
        ...analysis.lines.flatMap((item) =>
          item.acceptance.map(
            (a) => !flat(text).includes(limitWords(a, 'us')) && `${limitWords(a, 'us')} is not shown`,
          ),
        ),
        line !== null &&
          tiles.includes('none set') !== (line.acceptance.length === 0) &&
          'the tile has the limit wrong',
      ];
    },
  ],
  [
    'tile, headline and terminal give the same movement over the same cycles, and it is the one the verdict follows',
    ({ analysis, text, tiles }) => {
      const { line } = headline(analysis);
      const moved = line === null ? null : lineToday(line).moved;
      if (line === null || moved === null) return [];
      const values = new Map(line.progress.series.map((p) => [p.cycle, p.value]));
      const followed = values.get(moved.toCycle)! - values.get(moved.fromCycle)!;
      const span =
        moved.toCycle === moved.fromCycle + 1
          ? `in cycle ${moved.toCycle}`
          : `from cycle ${moved.fromCycle} to ${moved.toCycle}`;
      return [
        Math.abs(followed - moved.largest.movement) > 1e-12 && 'the verdict follows another movement',
        !flat(tiles).includes(`Moved ${span}`) && 'the tile has other cycles',
        !flat(text).includes(`Moved ${span}`) && 'the terminal has other cycles',
        !headline(analysis).sentences.join(' ').includes(span) && 'the headline has other cycles',
      ];
    },
  ],
  [
    'a zone said to go the wrong way or to be overdone has a caution, and a line inside its limits none that goes unsaid',
    ({ analysis }) =>
      analysis.lines.flatMap((item) =>
        item.progress.zones.map(
          (zone) =>
            (zone.verdict === 'regressing' || zone.verdict === 'overcorrected') &&
            !analysis.findings.some((f) => f.message.includes(zone.reason)) &&
            `zone ${zone.zone} of ${item.line.name} is ${zone.verdict} without a caution`,
        ),
      ),
  ],
  [
    'what to do next fits: no heat is called for or called off by a survey that is not judged, and "no more heat" only inside every limit',
    ({ analysis, text, daily }) => {
      const { next, line } = headline(analysis);
      const today = line === null ? null : lineToday(line);
      const heat = /^(Go on|Run|Lay|No more heat is needed|Check)/.test(next);
      return [
        heat && analysis.findings.some((f) => f.severity === 'stop') && 'heat past a stop',
        heat &&
          today !== null &&
          (today.now === null || today.lack !== null || today.notJudged.length > 0) &&
          'heat on a survey that is not judged',
        next.startsWith('No more heat is needed') &&
          analysis.member.verdict !== 'within-tolerance' &&
          'no more heat outside',
        next.startsWith('Go on as now') &&
          line?.progress.verdict !== 'progressing' &&
          'go on without progress',
        !flat(text).includes(flat(next)) && 'the terminal has another next step',
        !flat(daily).includes(flat(next)) && 'the sheet has another next step',
        statusDocument(analysis).member.next !== next && 'the JSON has another next step',
      ];
    },
  ],
  [
    'springback stands only where both surveys were read to both ends, and is known better than it is large or to half an inch',
    ({ analysis }) =>
      analysis.lines.flatMap((item) =>
        item.springback.map(({ cycle, largest }) => {
          const on = item.fit.surveys.find((s) => s.cycle === cycle && s.state === 'restrained')!;
          const kept = on.stations.filter((s) => !s.setAside).map((s) => s.station);
          const wide =
            Math.max(...kept) - Math.min(...kept) > 0.5 * (item.line.bearings[1] - item.line.bearings[0]);
          const sure = 2 * largest.u < Math.max(INCH, Math.abs(largest.springback));
          return !(wide && sure) && `${item.line.name}: springback of cycle ${cycle}`;
        }),
      ),
  ],
  [
    'a reading put back by hand is in the fit, and the largest is the largest of what is kept',
    ({ analysis }) =>
      analysis.lines.flatMap((item) =>
        item.fit.surveys.map((s) => {
          const kept = s.stations.filter((p) => !p.setAside).map((p) => Math.abs(p.deviation));
          return (
            kept.length > 0 &&
            Math.abs(Math.max(...kept) - Math.abs(s.largest.deviation)) > 1e-9 &&
            `${item.line.name}, cycle ${s.cycle}`
          );
        }),
      ),
  ],
  [
    'the strip of the readings page names the line that decides and its word, or asks to read on',
    ({ analysis }) => {
      const { line } = headline(analysis);
      if (line === null) return [];
      const strip = answerInShort(analysis, line.line.name, lineToday(line).now?.cycle ?? 0);
      return [
        strip.verdict !== 'Read on' &&
          strip.verdict !== verdictWords(analysis.member) &&
          `the strip says ${strip.verdict}`,
        strip.verdict !== 'Read on' &&
          lineToday(line).lack !== null &&
          'the strip has a word for a survey only begun',
      ];
    },
  ],
  [
    'an interval has its own level: 80 % stands by cycles left, 95 % only by what ± means',
    ({ text, daily }) => [
      // A chance may be 95 % by itself; an interval or a column with that level is meant.
      /\(95 %\)|95 %:|95 % interval|left,? \(?95 %/.test(flat(text)) && '95 % by something else than ±',
      /[Cc]ycles left, 95|[Pp]ace[^.]*95 %/.test(flat(daily)) && 'the sheet has 95 % by an 80 % interval',
    ],
  ],
  [
    'no sentence stands twice on a screen, and no screen shows a number that is none or an engineer’s unit',
    ({ text, daily }) => [
      ...repeatedSentences(text),
      ...repeatedSentences(daily),
      ...[text, daily].map(
        (screen) =>
          screen.match(/NaN|undefined|Infinity|\bnull\b|\bmrad\b|\bRMS\b|regime|degrees of freedom/)?.[0] ??
          null,
      ),
    ],
  ],
];

/** Every rule broken on these screens: `rule: what`. */
export function contradictions(screens: Screens): string[] {
  return RULES.flatMap(([words, broken]) =>
    broken(screens)
      .filter((each): each is string => typeof each === 'string')
      .map((each) => `${words}: ${each}`),
  );
}

function beyond(item: LineAnalysis): number {
  const { lack, told } = lineToday(item);
  const limits = item.acceptance.filter((a) => a.rule.over.kind === 'whole-line').map((a) => a.limit);
  const before =
    lack === null || told === null ? 0 : Math.abs(told.largest.deviation) / Math.min(...limits, Infinity);
  const now = item.acceptance.filter((a) => a.result === 'outside').map(timesLimit);
  return Math.max(before > 1 ? before : 0, ...now);
}
