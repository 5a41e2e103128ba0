import { pointInRing } from '../geo/ring.js';
import type { Polygon, Polyline } from '../geo/shapes.js';

/** Something in the way of the wave: land, a building, a breakwater; its height above the water [m]. */
export type LinkObstacle =
  | { readonly kind: 'area'; readonly polygon: Polygon; readonly heightM: number }
  | { readonly kind: 'wall'; readonly line: Polyline; readonly heightM: number };

/** Stretches of obstacles on the way from the base: columns of one length, in no order. */
export interface Crossings {
  /** Filled up to here. */
  count: number;
  /** From the base to where the stretch begins and ends [m]; the same for a wall. */
  readonly startM: Float64Array;
  readonly endM: Float64Array;
  readonly heightM: Float64Array;
}

const SECTORS = 4096;
const TURN = 2 * Math.PI;

/**
 * Obstacles sorted by bearing from a base, so that one ray looks at the few edges in its direction only.
 * The ground the base stands on counts as an obstacle from `standM` on: people put the mast where it sees the water.
 */
export class ObstacleSectors {
  readonly crossings: Crossings;
  /** Edges relative to the base: ax, ay, bx, by [4 * edges]; the obstacle each belongs to. */
  private readonly edges: Float64Array;
  private readonly owner: Int32Array;
  private readonly heights: Float64Array;
  private readonly walls: Uint8Array;
  private readonly baseInside: Uint8Array;
  private readonly firstOf: Int32Array;
  private readonly listed: Int32Array;
  private readonly hitsM: number[] = [];

  constructor(
    obstacles: readonly LinkObstacle[],
    baseX: number,
    baseY: number,
    private readonly standM: number,
  ) {
    const edges: number[] = [];
    const owner: number[] = [];
    obstacles.forEach((obstacle, index) => {
      if (!Number.isFinite(obstacle.heightM)) throw new RangeError(`obstacle ${index + 1}: heightM ${obstacle.heightM}: expected a height above the water in metres`);
      const rings = obstacle.kind === 'area' ? [obstacle.polygon.outer, ...obstacle.polygon.holes] : [obstacle.line];
      for (const ring of rings) {
        const n = ring.length / 2;
        for (let i = obstacle.kind === 'area' ? 0 : 1; i < n; i++) {
          const j = i === 0 ? n - 1 : i - 1;
          edges.push(ring[2 * j]! - baseX, ring[2 * j + 1]! - baseY, ring[2 * i]! - baseX, ring[2 * i + 1]! - baseY);
          owner.push(index);
        }
      }
    });
    this.edges = Float64Array.from(edges);
    this.owner = Int32Array.from(owner);
    this.heights = Float64Array.from(obstacles, (one) => one.heightM);
    this.walls = Uint8Array.from(obstacles, (one) => (one.kind === 'wall' ? 1 : 0));
    this.baseInside = Uint8Array.from(obstacles, (one) =>
      one.kind === 'area' && [one.polygon.outer, ...one.polygon.holes].filter((ring) => pointInRing(ring, baseX, baseY)).length % 2 === 1 ? 1 : 0,
    );
    const size = owner.length + obstacles.length;
    this.crossings = { count: 0, startM: new Float64Array(size), endM: new Float64Array(size), heightM: new Float64Array(size) };

    // Counted first, then listed: a compressed row of edges for each sector. Edges of one obstacle stay together.
    const counts = new Int32Array(SECTORS + 1);
    const spans = new Int32Array(2 * owner.length);
    for (let edge = 0; edge < owner.length; edge++) {
      const [from, sectors] = this.sectorsOf(edge);
      spans[2 * edge] = from;
      spans[2 * edge + 1] = sectors;
      for (let k = 0; k < sectors; k++) counts[((from + k) % SECTORS) + 1]!++;
    }
    for (let k = 0; k < SECTORS; k++) counts[k + 1]! += counts[k]!;
    this.firstOf = counts.slice();
    this.listed = new Int32Array(counts[SECTORS]!);
    const next = counts.slice(0, SECTORS);
    for (let edge = 0; edge < owner.length; edge++) {
      for (let k = 0; k < spans[2 * edge + 1]!; k++) this.listed[next[(spans[2 * edge]! + k) % SECTORS]!++] = edge;
    }
  }

  get isEmpty(): boolean {
    return this.owner.length === 0;
  }

  /** First sector and number of sectors that an edge can be seen in, one to spare at either side. */
  private sectorsOf(edge: number): [number, number] {
    const [ax, ay, bx, by] = this.edges.subarray(4 * edge, 4 * edge + 4) as unknown as [number, number, number, number];
    const from = Math.atan2(ay, ax);
    let turn = Math.atan2(by, bx) - from;
    if (turn > Math.PI) turn -= TURN;
    if (turn < -Math.PI) turn += TURN;
    // An edge that passes through the base, or nearly, is seen from everywhere.
    if (Math.abs(turn) > Math.PI - 1e-6) return [0, SECTORS];
    const low = Math.floor(((Math.min(from, from + turn) + TURN) / TURN) * SECTORS) - 1;
    const high = Math.floor(((Math.max(from, from + turn) + TURN) / TURN) * SECTORS) + 1;
    return [(low + SECTORS) % SECTORS, Math.min(SECTORS, high - low + 1)];
  }

  /**
   * Writes into `crossings` what lies between the base and a point, by its place relative to the base [m].
   * Crossings are counted half-open against the ray's own direction: a vertex on the ray counts once.
   */
  cross(dxM: number, dyM: number): Crossings {
    const out = this.crossings;
    out.count = 0;
    const distance = Math.sqrt(dxM * dxM + dyM * dyM);
    if (this.owner.length === 0 || !(distance > 0)) return out;
    const ux = dxM / distance;
    const uy = dyM / distance;
    const sector = Math.floor(((Math.atan2(dyM, dxM) + TURN) / TURN) * SECTORS) % SECTORS;
    const hits = this.hitsM;
    let owner = -1;
    hits.length = 0;
    const end = this.firstOf[sector + 1]!;
    for (let k = this.firstOf[sector]!; k < end; k++) {
      const edge = this.listed[k]!;
      const at = 4 * edge;
      const [ax, ay, bx, by] = [this.edges[at]!, this.edges[at + 1]!, this.edges[at + 2]!, this.edges[at + 3]!];
      const acrossA = ux * ay - uy * ax;
      const acrossB = ux * by - uy * bx;
      if (acrossA > 0 === acrossB > 0) continue;
      const t = acrossA / (acrossA - acrossB);
      const along = ux * (ax + t * (bx - ax)) + uy * (ay + t * (by - ay));
      if (!(along > 0)) continue;
      if (this.owner[edge] !== owner) {
        this.take(owner, distance);
        owner = this.owner[edge]!;
      }
      hits.push(along);
    }
    this.take(owner, distance);
    return out;
  }

  /** Turns the hits of one obstacle into stretches up to the point. */
  private take(owner: number, distance: number): void {
    const hits = this.hitsM;
    if (owner < 0 || hits.length === 0) return;
    const out = this.crossings;
    const heightM = this.heights[owner]!;
    hits.sort((a, b) => a - b);
    if (this.walls[owner] === 1) {
      for (const at of hits) if (at < distance) this.put(out, at, at, heightM);
    } else {
      let inside = this.baseInside[owner] === 1;
      let from = this.standM;
      for (const at of hits) {
        if (inside && from < distance) this.put(out, from, Math.min(at, distance), heightM);
        inside = !inside;
        from = at;
        if (at >= distance) break;
      }
    }
    hits.length = 0;
  }

  private put(out: Crossings, startM: number, endM: number, heightM: number): void {
    if (!(endM >= startM) || out.count >= out.startM.length) return;
    out.startM[out.count] = startM;
    out.endM[out.count] = endM;
    out.heightM[out.count] = heightM;
    out.count++;
  }
}
