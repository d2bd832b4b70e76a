import type { Vec3 } from './vector.ts';

/** A web or flange panel to be mapped. Corners in order around it, in cloud coordinates; lengths in m. */
export interface PanelSpec {
  readonly name: string;
  readonly corners: readonly [Vec3, Vec3, Vec3, Vec3];
  /** Side a bulge counts positive toward. */
  readonly positive: Vec3;
  /** Edges held by flanges or stiffeners, by their corners: the reference plane rests on them. */
  readonly held: readonly ('1-2' | '2-3' | '3-4' | '4-1')[];
  /** Strip along the edges left out (fillets, welds). */
  readonly margin: number;
  /** Largest distance off the corners' plane that can be the panel. */
  readonly reach: number;
  /** Cell size of the map. */
  readonly cell: number;
}
