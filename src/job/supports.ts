import type { Line, LinePart, Member } from './job.ts';

/** What holds a member sideways along one part of its section. Every model that needs supports takes them from here. */
export interface Supports {
  /** Stations of the first and last bearing, m. */
  readonly from: number;
  readonly to: number;
  /** Bearings between them (piers), m, increasing: they do not give. */
  readonly piers: readonly number[];
  /** Diaphragms between them that hold this part, m, increasing: they give. Null where the job does not say. */
  readonly diaphragms: readonly number[] | null;
}

/** Share of a line's length within which a diaphragm at a bearing is that bearing. */
const AT_BEARING = 0.01;

/** The part a line reads where it does not say: damage is nearly always to the bottom flange (common practice, no source). */
const USUAL_PART: LinePart = 'bottom-flange';

/** Supports of the part of the member that a line reads. A member of one span has its line's bearings. */
export function supportsOfLine(line: Pick<Line, 'bearings' | 'part'>, member: Member): Supports {
  const [first, last] = line.bearings;
  const several = member.bearings ?? [];
  const from = Math.min(first, several[0] ?? first);
  const to = Math.max(last, several.at(-1) ?? last);
  const near = AT_BEARING * (last - first);
  const piers = several.filter((at) => at > from + near && at < to - near);
  const held = diaphragmsHolding(member, line.part ?? USUAL_PART);
  return {
    from,
    to,
    piers,
    diaphragms:
      held?.filter(
        (at) => at > from + near && at < to - near && piers.every((pier) => Math.abs(pier - at) > near),
      ) ?? null,
  };
}

/** Stations of the diaphragms that hold this part sideways, m; null where the job does not say. */
function diaphragmsHolding({ diaphragms, diaphragmHolds }: Member, part: LinePart): readonly number[] | null {
  if (diaphragms === null || diaphragmHolds === undefined) return diaphragms;
  return diaphragms.filter((_, i) => {
    const holds = diaphragmHolds[i]!;
    return part === 'web' || holds === 'both-flanges' || holds === part;
  });
}
