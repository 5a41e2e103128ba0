import type { Side } from '../base/sonar.js';
import { shareOf, type Share } from './error-figures.js';
import { LARGE_M, type ImageryTruth } from './compare-imagery.js';
import { isClearLook, isLook, isOfObject, type LookedOver } from './find-truth.js';

/** A candidate in one pass: in which log of the truth, where, and how many as strong a hectare of floor gives by itself. */
export interface SeenThing {
  readonly log: number;
  readonly record: number;
  readonly side: Side;
  readonly xM: number;
  readonly yM: number;
  readonly falsePerHa: number;
}

/** Found against false where so many false candidates a hectare are asked for. */
export interface FoundPoint {
  readonly askedPerHa: number;
  /** Of the planted objects of 0.5 m and larger: looks of all, clear ones, and objects with a clear look that were found in at least one. */
  readonly looks: Share;
  readonly clearLooks: Share;
  readonly objects: Share;
  /** Candidates of no object, by hectares looked over. */
  readonly falseSeen: number;
  readonly perLookedHa: number;
}

/** Numbers of false candidates a hectare at which the curve is told. */
export const CURVE_PER_HA = [0.1, 0.3, 0.5, 1, 2, 5, 10] as const;
/** A sighting of a look lies no further along the log than this [pings]. */
const SAME_PASS = 60;

/** The curve of found against false of one survey, from its candidates down to the weakest. What counts as which: find-truth.ts. */
export function foundCurve(truth: ImageryTruth, seen: readonly SeenThing[], looked: LookedOver, rangeM: number): FoundPoint[] {
  const large = truth.objects.map(({ natural, lengthM, widthM }) => !natural && Math.max(lengthM, widthM) >= LARGE_M);
  const looks = truth.looks
    .filter((look) => large[look.object]! && isLook(look, truth.pings[look.log]!))
    .map((look) => {
      const hits = seen.filter(({ log, side, record, xM, yM }) => log === look.log && side === look.side && Math.abs(record - look.record) <= SAME_PASS && isOfObject(xM, yM, truth.objects[look.object]!));
      return { object: look.object, clear: isClearLook(look, truth.pings[look.log]!, rangeM), falsePerHa: Math.min(Infinity, ...hits.map(({ falsePerHa }) => falsePerHa)) };
    });
  const wrong = seen.filter(({ xM, yM }) => !truth.objects.some((object) => isOfObject(xM, yM, object)));
  return CURVE_PER_HA.map((askedPerHa): FoundPoint => {
    const found = looks.filter(({ falsePerHa }) => falsePerHa <= askedPerHa);
    const clear = looks.filter(({ clear: each }) => each);
    const falseSeen = wrong.filter(({ falsePerHa }) => falsePerHa <= askedPerHa).length;
    return {
      askedPerHa,
      looks: shareOf(found.length, looks.length),
      clearLooks: shareOf(found.filter(({ clear: each }) => each).length, clear.length),
      objects: shareOf(new Set(found.map(({ object }) => object)).size, new Set(clear.map(({ object }) => object)).size),
      falseSeen,
      perLookedHa: falseSeen / looked.lookedHa,
    };
  });
}

/** Curves of several surveys of one kind of ground as one. */
export function pooledCurve(curves: readonly { readonly curve: readonly FoundPoint[]; readonly looked: LookedOver }[]): FoundPoint[] {
  const lookedHa = curves.reduce((sum, { looked }) => sum + looked.lookedHa, 0);
  return CURVE_PER_HA.map((askedPerHa, k): FoundPoint => {
    const points = curves.map(({ curve }) => curve[k]!);
    const sum = (of: (point: FoundPoint) => Share): Share => shareOf(points.reduce((all, one) => all + of(one).count, 0), points.reduce((all, one) => all + of(one).of, 0));
    const falseSeen = points.reduce((all, one) => all + one.falseSeen, 0);
    return { askedPerHa, looks: sum(({ looks }) => looks), clearLooks: sum(({ clearLooks }) => clearLooks), objects: sum(({ objects }) => objects), falseSeen, perLookedHa: falseSeen / lookedHa };
  });
}
