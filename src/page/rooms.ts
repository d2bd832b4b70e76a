import { jobFolder } from './folder/folder-part.ts';
import { handOver } from './hand-over.ts';
import { jobForm } from './job-form/job-form.ts';
import { importPart } from './ledger/import-part.ts';
import { marksPart } from './ledger/marks-part.ts';
import { LOG_PARTS } from './logs/log-parts.ts';
import { papers } from './papers/papers-part.ts';
import { photosPart } from './photos/photos-part.ts';
import { isPractised, practicePart } from './practice/practice-part.ts';
import type { Room } from './room.ts';
import { sectionPart } from './section-part.ts';

/** The rooms of the page, in the order of their tabs. A new part of a room is its name in one of these lists. */
const ALL: readonly Room[] = [
  { id: 'entry', name: 'Readings', parts: [] },
  { id: 'answer', name: 'Today', parts: [sectionPart] },
  { id: 'heats', name: 'Heats', parts: [...LOG_PARTS, photosPart] },
  { id: 'out', name: 'Papers', parts: [papers, jobFolder, handOver] },
  { id: 'practice', name: 'Practice', parts: [practicePart], of: isPractised },
  { id: 'job', name: 'Job', parts: [importPart, marksPart, jobForm] },
];

/** The readings and what stands over the parts of Today are drawn by scripts of their own. */
export const ROOMS = ALL.filter(({ id, parts }) => id === 'entry' || id === 'answer' || parts.length > 0);
