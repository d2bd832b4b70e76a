import type { Analysis, LineAnalysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import { brief } from './brief.ts';
import { type Html, html } from './html.ts';
import { prose } from './words.ts';

const SEVERITY_WORDS = { stop: 'Stop', caution: 'Caution', note: 'Note' } as const;

/** Findings as a bounded list: one line a kind with its count and the words of the first, stops first. */
export function groupedFindings(findings: readonly Finding[], most: number, chars: number): Html {
  const groups = new Map<string, Finding[]>();
  for (const each of findings) {
    const key = `${each.severity} ${each.code}`;
    groups.set(key, [...(groups.get(key) ?? []), each]);
  }
  const sorted = (['stop', 'caution', 'note'] as const).flatMap((severity) =>
    [...groups.values()].filter(([first]) => first!.severity === severity),
  );
  if (sorted.length === 0) return html`<p>None.</p>`;
  const left = sorted.slice(most).reduce((sum, group) => sum + group.length, 0);
  return html`<ul class="groups">${sorted.slice(0, most).map((group) => {
    const first = group[0]!;
    const where = [...new Set(group.flatMap((f) => (f.line === undefined ? [] : [f.line])))];
    const count =
      group.length === 1
        ? ''
        : ` ${group.length} times${where.length === 0 ? '' : ` (${brief(where.join(', '), 50)})`}, first:`;
    return html`<li><strong>${SEVERITY_WORDS[first.severity]}.</strong>${count} ${prose(brief(first.message, chars))}</li>`;
  })}</ul>${left === 0 ? '' : html`<p class="small">And ${left} more: <code>sweepbook report --full</code> has every one.</p>`}`;
}

/** Readings set aside, counted by line and reason; the first few named by file and row so that they can be found. */
export function groupedSetAside(lines: readonly LineAnalysis[], most: number): Html {
  const groups = new Map<string, { line: string; reason: string; at: string[] }>();
  for (const { line, fit } of lines) {
    for (const survey of fit.surveys) {
      for (const { reason, by, file, row } of survey.setAside) {
        const words = `${brief(reason.replace(/\d+(?:[./]\d+)*/g, '#'), 60)} ${by}`;
        const key = `${line.name} ${words}`;
        const group = groups.get(key) ?? {
          line: line.name,
          reason: `${reason}${by === 'hand' ? ' (by a person)' : ''}`,
          at: [],
        };
        group.at.push(`${file}, row ${row}`);
        groups.set(key, group);
      }
    }
  }
  if (groups.size === 0) return html`<p class="small">None. Every usable reading is in the fit.</p>`;
  const all = [...groups.values()].sort((a, b) => b.at.length - a.at.length);
  const left = all.slice(most).reduce((sum, group) => sum + group.at.length, 0);
  return html`<ul class="groups">${all
    .slice(0, most)
    .map(
      ({ line, reason, at }) =>
        html`<li><strong>${brief(line, 40)}</strong>, ${at.length === 1 ? '1 reading' : `${at.length} readings`}: ${prose(brief(reason, 140))} <span class="muted">${brief(at.slice(0, 2).join('; '), 70)}${at.length > 2 ? ` and ${at.length - 2} more` : ''}</span></li>`,
    )}</ul>${left === 0 ? '' : html`<p class="small">And ${left} more readings: <code>sweepbook report --full</code>.</p>`}`;
}

/** Findings of the job and of every line, each once. In a job of several lines the job's name their line, those of the line do not. */
export function allFindings(analysis: Analysis): Finding[] {
  const seen = new Map<string, Finding>();
  const add = (f: Finding, line: string | undefined) => {
    const bare = f.message.startsWith(`${line}: `) ? f.message.slice(`${line}: `.length) : f.message;
    const key = [f.code, line ?? '', bare, f.file ?? '', f.row ?? ''].join('\u0000');
    if (!seen.has(key)) seen.set(key, f);
  };
  for (const f of analysis.findings) add(f, f.line);
  for (const { line, fit } of analysis.lines) for (const f of fit.findings) add(f, f.line ?? line.name);
  return [...seen.values()];
}
