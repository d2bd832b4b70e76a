import { describe, expect, it } from 'vitest';
import { PARTS, STRIPS } from '../../src/scan/file-parts.ts';
import { type Look, placesOf } from '../../src/scan/places.ts';
import type { Slice } from '../../src/scan/slices.ts';

/**
 * Truth: scanners that turn evenly, 4.2 m beside a member of 27.4 m and at even distances along it, one after the other
 * into one file; what each part of the file sees is a tangent (made here, nothing taken from the reader).
 */
const SPAN = 27.4;
const ASIDE = 4.2;
const WIDEST = Math.atan(3.2);

/** Which scanner each part of the file is from, and what is measured of it where `measured` holds. */
function scanned(stands: number, measured: (at: number) => boolean) {
  const each = PARTS / stands;
  const from = Array.from({ length: PARTS }, (_, part) => Math.floor(part / each));
  const seenBy = (part: number, at: number) => {
    const stand = from[part]!;
    const x = ((stand + 0.5) / stands) * SPAN;
    const angle = (turn: number) => -WIDEST + (2 * WIDEST * turn) / each;
    const turned = Math.atan((at - x) / ASIDE);
    return turned >= angle(part - stand * each) && turned < angle(part + 1 - stand * each);
  };
  const looks: Look[] = [];
  for (let at = 0; at <= SPAN; at += 0.05) {
    if (!measured(at)) continue;
    const parts = from.flatMap((_, part) =>
      seenBy(part, at) ? [{ part, mask: (1 << STRIPS) - 1, n: 20 }] : [],
    );
    if (parts.length > 0) looks.push({ at, parts });
  }
  return { from, looks };
}

/** Slices whose points follow each other across the member, as a scanner's do. */
const inOrder: Slice[] = Array.from({ length: 20 }, (_, k) => {
  const column = (of: (p: number) => number) => Float32Array.from({ length: 60 }, (_, p) => of(p));
  return {
    centre: k,
    along: column(() => 0),
    toward: column((p) => 0.005 * p),
    across: column(() => 0),
    order: column((p) => 100 * k + p),
    count: 60,
    seen: 60,
    beyond: { toward: 0, across: 0 },
  };
});

describe('places a file was scanned from', () => {
  it.each([
    ['all of it measured', 4, () => true],
    ['metres of it not measured', 4, (at: number) => at < 7.7 || at > 13.3],
    ['metres of it not measured', 2, (at: number) => at < 7.7 || at > 13.3],
    ['hardly half of it measured', 3, (at: number) => Math.floor(at / 3) % 2 === 0],
  ])('are told apart on a member with %s, from %i places', (_, stands, measured) => {
    const { from, looks } = scanned(stands, measured);
    const place = placesOf(looks, inOrder)!;
    const seen = from.map((_, part) => looks.some((look) => look.parts.some((each) => each.part === part)));
    expect(seen.filter(Boolean).length).toBeGreaterThan(PARTS / 3);
    expect([...place].filter((_, part) => seen[part])).toEqual(from.filter((_, part) => seen[part]));
  });
});
