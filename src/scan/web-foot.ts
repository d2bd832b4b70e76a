import type { FlangeView } from './extract-flange.ts';
import type { LineFrame } from './line-frame.ts';
import { add, dot, scale, subtract, type Vec3 } from './vector.ts';
import type { WebFoot } from './web-fit.ts';

/** A flange belongs to a web that is picked so far from it, as shares of the web's depth. */
const NEAR = [0.15, 0.85] as const;
/** A flange turned by less than this against the line's length is along it (cosine). */
const ALONG = 0.998;

/**
 * The web's feet from the flange it stands on, which was followed in the same cloud: at mid-width, on the face toward the
 * web. Empty where the flange is another's.
 * @param depth of the web, m
 */
export function webFeet({ frame, section, measured }: FlangeView, own: LineFrame, depth: number): WebFoot[] {
  if (Math.abs(dot(frame.along, own.along)) < ALONG) return [];
  const from = scale(subtract(frame.origin, own.origin), frame.metres);
  const feet = measured.sections.flatMap(({ at, pose, left, right, face }): WebFoot[] => {
    if (!face.seen || (left === null && right === null)) return [];
    const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
    const inAxes = (y: number, z: number): Vec3 => add(scale(frame.toward, y), scale(frame.across, z));
    // The face that is followed lies away from the web.
    const up = inAxes(-s, c);
    const foot = add(
      add(from, scale(frame.along, at)),
      add(inAxes(pose.y, pose.z), scale(up, section.thickness / 2)),
    );
    return [
      {
        at: dot(foot, own.along),
        toward: dot(foot, own.toward),
        across: dot(foot, own.across),
        u: Math.hypot(face.u, Math.min(left?.u ?? 1, right?.u ?? 1)),
      },
    ];
  });
  const near = feet.filter(
    ({ across }) => Math.abs(across) > NEAR[0] * depth && Math.abs(across) < NEAR[1] * depth,
  );
  return near.length * 2 > feet.length ? near.sort((a, b) => a.at - b.at) : [];
}
