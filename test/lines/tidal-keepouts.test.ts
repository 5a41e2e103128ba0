import { describe, expect, it } from 'vitest';
import type { KeepOut } from '../../src/geo/keep-out.js';
import { segmentPolygonDistanceM } from '../../src/geo/segment.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { linesInRunOrder } from '../../src/lines/plan-output.js';
import { planSorties } from '../../src/lines/plan-sorties.js';
import { planLinesByTide } from '../../src/lines/tidal-plan.js';
import { createTransitNetwork } from '../../src/lines/transit-network.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import { constantCurrent } from '../../src/water/current-field.js';
import type { WaterLevel } from '../../src/water/level.js';
import { isOpenThroughout, keepOutsDuring, nextOpening } from '../../src/water/tidal-keepouts.js';
import { boat } from './boats.js';
import { frame, options, rectangle, X, Y } from './grounds.js';

const PERIOD_S = 12.42 * 3600;
const HIGH_S = 1_800_000_000;
/** 2 m amplitude about the datum + 2 m, high water at HIGH_S. */
const level: WaterLevel = { levelsAt: (timeS) => Float64Array.from(timeS, (t) => 2 + 2 * Math.cos((2 * Math.PI * (t - HIGH_S)) / PERIOD_S)) };
const needM = 1;

/** A bar across the way that dries 1 m: open while the level is 2 m or more, a quarter of a tide to either side of high water. */
const bar: KeepOut = { ...rectangle(280, -400, 40, 800), leastDepthM: -1 };
const openFromS = HIGH_S - PERIOD_S / 4;
const openToS = HIGH_S + PERIOD_S / 4;

describe('keep-outs by tide', () => {
  it('isOpenThroughout: level + depth against draft and clearance, all through a span, by hand from the cosine', () => {
    const tide = { level, needM };
    expect(isOpenThroughout(bar, tide, openFromS + 60, openToS - 60)).toBe(true);
    expect(isOpenThroughout(bar, tide, openFromS - 60, openToS - 60)).toBe(false);
    expect(isOpenThroughout(bar, tide, openFromS + 60, openToS + 60)).toBe(false);
    // Open at both ends, a low water between them.
    expect(isOpenThroughout(bar, tide, HIGH_S, HIGH_S + PERIOD_S)).toBe(false);
    expect(nextOpening(bar, tide, openToS + 600)!.fromS).toBeCloseTo(openFromS + PERIOD_S, -1);
    expect(nextOpening({ ...bar, leastDepthM: -4 }, tide, HIGH_S)).toBeNull();
  });

  it('isOpenThroughout: closed always where the level or the depth is not known, or it does not hang on the tide', () => {
    expect(isOpenThroughout(bar, { level: null, needM }, HIGH_S, HIGH_S + 60)).toBe(false);
    expect(isOpenThroughout({ ...bar, leastDepthM: NaN }, { level, needM }, HIGH_S, HIGH_S + 60)).toBe(false);
    expect(isOpenThroughout(rectangle(0, 0, 1, 1), { level, needM }, HIGH_S, HIGH_S + 60)).toBe(false);
    const short: WaterLevel = { levelsAt: (timeS) => Float64Array.from(timeS, (t) => (t < HIGH_S + 100 ? 4 : NaN)) };
    expect(isOpenThroughout(bar, { level: short, needM }, HIGH_S, HIGH_S + 60)).toBe(true);
    expect(isOpenThroughout(bar, { level: short, needM }, HIGH_S, HIGH_S + 160)).toBe(false);
    expect(keepOutsDuring([bar, rectangle(0, 0, 1, 1)], { level, needM }, HIGH_S, HIGH_S + 60).open).toEqual([bar]);
  });

  const area = [rectangle(400, -100, 200, 200)];
  const launch = { xM: X, yM: Y };
  const plan = planLines({ area, keepouts: [], frame, options: { ...options, headingDeg: 90, spacingM: 50, launch } });
  const sorties = (startS: number, keepout: KeepOut = bar, known: WaterLevel | null = level) =>
    planSorties({ plan, keepouts: [keepout], frame, model: boat(), current: constantCurrent(0, 0, 0), startS, launch, speedMps: 1.5, reserveShare: 0.2, tide: { level: known, needM } });
  const over = (made: ReturnType<typeof sorties>): boolean => made.sorties.some(({ legs }) => legs.some(({ path }) => {
    for (let i = 0; i + 3 < path.length; i += 2) if (segmentPolygonDistanceM(bar, path[i]!, path[i + 1]!, path[i + 2]!, path[i + 3]!) === 0) return true;
    return false;
  }));

  it('planSorties: a way leads over the bar while it is open for the whole passage, and round it otherwise', () => {
    const open = sorties(HIGH_S - 3600);
    const shut = sorties(openToS + 600);
    expect(over(open)).toBe(true);
    expect(over(shut)).toBe(false);
    expect(shut.sorties[0]!.lengthM).toBeGreaterThan(open.sorties[0]!.lengthM + 400);
    expect(over(sorties(HIGH_S - 3600, bar, null))).toBe(false);
    expect(over(sorties(HIGH_S - 3600, { ...bar, leastDepthM: NaN }))).toBe(false);
  });

  it('planSorties: out over the bar and home round it when it closes meanwhile', () => {
    const made = sorties(openToS - 1000);
    const [first, last] = [made.sorties[0]!.legs[0]!, made.sorties[0]!.legs[made.sorties[0]!.legs.length - 1]!];
    expect(first.path.length).toBe(4);
    expect(last.path.length).toBeGreaterThan(4);
  });

  it('rehearseSortie: a go over an open bar, a no-go with the time it opens over one that is closed', () => {
    const [sortie] = sorties(HIGH_S - 3600).sorties;
    const at = (startS: number) => rehearseSortie({ sortie: sortie!, boat: boat(), startS, current: constantCurrent(0, 0, 0), keepouts: [bar], level, options: { draftM: 0.4, leastWaterM: 0.6 } }).verdict;
    expect(at(HIGH_S - 3600).concerns.filter(({ kind }) => kind === 'keep-out')).toEqual([]);
    const shut = at(openToS + 600);
    expect(shut.go).toBe(false);
    expect(shut.concerns[0]!.text).toMatch(/leads over a keep-out by tide at .* while there is less than 1\.00 m of water on it: it opens at 2027-01-15T/);
    const unknown = rehearseSortie({ sortie: sortie!, boat: boat(), startS: HIGH_S - 3600, current: constantCurrent(0, 0, 0), keepouts: [bar], options: { draftM: 0.4, leastWaterM: 0.6 } }).verdict;
    expect(unknown.go).toBe(false);
    expect(unknown.concerns[0]!.text).toMatch(/no water level is known, so it is closed always/);
  });

  it('planLinesByTide: lines over a bank that stays open, stopped at one that does not, always where no level or start is known', () => {
    const bank: KeepOut = { ...rectangle(100, 40, 100, 40), leastDepthM: -1 };
    const request = { area: [rectangle(0, 0, 300, 120)], keepouts: [bank], frame, options: { ...options, headingDeg: 90, spacingM: 40 } };
    const meets = (made: { main: readonly { startXM: number; startYM: number; endXM: number; endYM: number }[] }): boolean => made.main.some((line) => segmentPolygonDistanceM(bank, line.startXM, line.startYM, line.endXM, line.endYM) === 0);
    const open = planLinesByTide(request, { level, needM }, HIGH_S - 3600);
    expect(meets(open)).toBe(true);
    expect(open.notes.join()).toMatch(/lines lead over a keep-out by tide that stays open from the start for 1\.\d h: 1\.00 m of water or more/);
    const shut = planLinesByTide(request, { level, needM }, openToS - 1800);
    expect(meets(shut)).toBe(false);
    expect(shut.notes.join()).toMatch(/the keep-out by tide with a drying height of 1\.0 m: lines stop at it, it is open from .* UTC to .* UTC only/);
    for (const [rule, startS, why] of [[{ level: null, needM }, HIGH_S, /no water level is known/], [{ level, needM }, null, /no start is decided/]] as const) {
      const made = planLinesByTide(request, rule, startS);
      expect(meets(made)).toBe(false);
      expect(made.notes.join()).toMatch(why);
    }
  });

  it('planSorties: a line over a bank waits for it to open, and is left out with the reason where it never does', () => {
    const bank: KeepOut = { ...rectangle(450, 10, 100, 40), leastDepthM: -1 };
    const make = (keepout: KeepOut, startS: number) => planSorties({ plan, keepouts: [keepout], frame, model: boat(), current: constantCurrent(0, 0, 0), startS, launch, speedMps: 1.5, reserveShare: 0.2, tide: { level, needM } });
    const waits = make(bank, openToS + 600);
    expect(waits.leftOut).toEqual([]);
    const late = waits.sorties.find(({ notBeforeS }) => notBeforeS !== undefined)!;
    expect(late.notBeforeS!).toBeGreaterThan(openFromS + PERIOD_S - 1200);
    const never = make({ ...bank, leastDepthM: -5 }, HIGH_S - 3600);
    expect(never.verdict.go).toBe(false);
    expect(never.leftOut.map(({ kind }) => kind)).toEqual(['tide']);
    expect(never.sorties.flatMap(({ lines }) => lines).length).toBe(linesInRunOrder(plan).length - 1);
  });

  it('keep-outs: lines and ways keep a clearance of its own from each, where it is more than the general one', () => {
    const own: KeepOut = { ...rectangle(140, 50, 20, 20), clearanceM: 15 };
    const plain: KeepOut = rectangle(40, 50, 20, 20);
    const made = planLines({ area: [rectangle(0, 0, 300, 120)], keepouts: [own, plain], frame, options: { ...options, headingDeg: 90, spacingM: 10, keepoutM: 3 } });
    const nearest = (keepout: KeepOut): number => Math.min(...made.main.map((line) => segmentPolygonDistanceM(keepout, line.startXM, line.startYM, line.endXM, line.endYM)));
    expect(nearest(own)).toBeGreaterThanOrEqual(15 - 1e-6);
    expect(nearest(plain)).toBeGreaterThanOrEqual(3 - 1e-6);
    expect(nearest(plain)).toBeLessThan(15);
    const { path } = createTransitNetwork([own, plain], 2).way(X, Y + 60, X + 300, Y + 60);
    const along = (keepout: KeepOut): number => {
      let least = Infinity;
      for (let i = 0; i + 3 < path.length; i += 2) least = Math.min(least, segmentPolygonDistanceM(keepout, path[i]!, path[i + 1]!, path[i + 2]!, path[i + 3]!));
      return least;
    };
    expect(along(own)).toBeGreaterThanOrEqual(15 - 1e-3);
    expect(along(plain)).toBeGreaterThanOrEqual(2 - 1e-3);
    expect(along(plain)).toBeLessThan(3);
  });
});
