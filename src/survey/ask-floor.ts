import { UseError } from '../base/errors.js';
import { formatUtc } from '../base/time.js';
import { cellShares } from '../depths/cell-shares.js';
import { depthProfile, soundingsNear } from '../depths/profile.js';
import { leastDepth, selectSoundings } from '../depths/select-soundings.js';
import { ruggedness, rugosity, slopeDegrees } from '../depths/slope-rugosity.js';
import { floorChange } from '../depths/surface-difference.js';
import { sampleRaster } from '../depths/surface-sample.js';
import { hypsometry, volumesAgainst, type FloorRasters, type HypsometryRow, type Volumes } from '../depths/volumes.js';
import { quantile, withoutNaN } from '../base/statistics.js';
import type { Raster } from '../geo/raster.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import { cellCentre } from '../geo/raster.js';
import { pointInPolygons } from '../geo/ring.js';
import type { Frame } from '../geo/frame.js';
import type { PlacedSoundings } from './soundings-file.js';

/** Everything a question is answered from. Pure: files are read before, written after. */
export interface AskedFloor {
  readonly floor: FloorRasters;
  readonly soundings: PlacedSoundings;
  readonly frame: Frame;
  readonly datum: string;
  /** Where the question is asked; null: all of the surface. */
  readonly within: readonly Polygon[] | null;
}

export interface VolumeReply extends Volumes {
  readonly topic: 'volume';
  /** What it is held against, in words. */
  readonly against: string;
  readonly steps: readonly HypsometryRow[];
}

/** Volume and area against a level, or against a design sampled at this surface's cells. */
export function askVolume(asked: AskedFloor, against: { readonly levelM: number } | { readonly design: Raster; readonly name: string }, intervalM: number | null): VolumeReply {
  const shares = cellShares(asked.within, asked.floor.depth.grid);
  const levelM = 'levelM' in against ? against.levelM : designAt(against.design, asked.floor.depth);
  const volumes = volumesAgainst(asked.floor, { shares, levelM });
  if (!(volumes.knownM2 > 0)) throw new UseError('volume: there is no depth where it is asked for: expected an area over the surface; look at the area, or make the surface larger (surface.fillDistanceM)', { path: '--within' });
  return {
    topic: 'volume',
    against: 'levelM' in against ? `a level ${against.levelM.toFixed(2)} m below ${asked.datum}` : `the design ${against.name}`,
    ...volumes,
    // Nothing was asked about the corners of the raster.
    unknownM2: asked.within === null && 'levelM' in against ? 0 : volumes.unknownM2,
    steps: intervalM === null ? [] : hypsometry(asked.floor, shares, intervalM),
  };
}

function designAt(design: Raster, depth: Raster): Float32Array {
  const at = sampleRaster(design);
  const { grid } = depth;
  const out = new Float32Array(grid.cols * grid.rows);
  for (let row = 0; row < grid.rows; row++) for (let col = 0; col < grid.cols; col++) out[row * grid.cols + col] = at(...cellCentre(grid, row, col));
  return out;
}

export interface ChangeReply {
  readonly topic: 'change';
  readonly since: string;
  readonly comparedM2: number;
  readonly meanM: number;
  readonly deviationM: number;
  readonly significantShare: number;
  readonly deeperM3: number;
  readonly shoalerM3: number;
  readonly deeperSignificantM3: number;
  readonly shoalerSignificantM3: number;
  readonly netM3: number;
  readonly netHalf95M3: number;
  /** What may make the two surveys unlike each other beside the floor, in plain words. */
  readonly notes: readonly string[];
}

/** What changed since an earlier survey, with the rasters to write. */
export function askChange(asked: AskedFloor, earlier: FloorRasters, since: string, notes: readonly string[] = []): { readonly reply: ChangeReply; readonly rasters: { readonly change: Raster; readonly uncertainty: Raster; readonly significant: Raster } } {
  const { change, uncertainty, significant, ...figures } = floorChange(earlier, asked.floor, cellShares(asked.within, asked.floor.depth.grid));
  if (!(figures.comparedM2 > 0)) throw new UseError(`change: ${since} and this surface have no place in common: expected surveys that overlap; look at their frames and areas`, { path: '--since' });
  return { reply: { topic: 'change', since, ...figures, netM3: figures.deeperM3 - figures.shoalerM3, notes }, rasters: { change, uncertainty, significant } };
}

export interface RoughnessReply {
  readonly topic: 'slope' | 'rugosity';
  readonly unit: string;
  readonly cells: number;
  readonly meanValue: number;
  readonly medianValue: number;
  readonly p95Value: number;
  readonly largest: number;
}

/** Slope, or rugosity with ruggedness, over the area asked about. */
export function askRoughness(asked: AskedFloor, topic: 'slope' | 'rugosity'): { readonly reply: RoughnessReply; readonly rasters: readonly { readonly name: string; readonly unit: string; readonly raster: Raster }[] } {
  const { depth } = asked.floor;
  const made = topic === 'slope' ? [{ name: 'slope', unit: 'deg', raster: slopeDegrees(depth) }] : [{ name: 'rugosity', unit: '1', raster: rugosity(depth) }, { name: 'ruggedness', unit: '1', raster: ruggedness(depth) }];
  if (asked.within !== null) {
    const shares = cellShares(asked.within, depth.grid);
    for (const { raster } of made) for (let cell = 0; cell < shares.length; cell++) if (shares[cell]! < 0.5) raster.values[cell] = NaN;
  }
  const known = withoutNaN(made[0]!.raster.values);
  if (known.length === 0) throw new UseError(`${topic}: no cell with eight neighbours where it is asked for: expected an area over the surface`, { path: '--within' });
  return {
    reply: {
      topic,
      unit: made[0]!.unit,
      cells: known.length,
      meanValue: known.reduce((sum, one) => sum + one, 0) / known.length,
      medianValue: quantile(known, 0.5),
      p95Value: quantile(known, 0.95),
      largest: known.reduce((most, one) => (one > most ? one : most), -Infinity),
    },
    rasters: made,
  };
}

export interface ProfileReply {
  readonly topic: 'profile';
  readonly lengthM: number;
  readonly points: number;
  readonly knownM: number;
  readonly shoalestM: number;
  readonly deepestM: number;
  readonly soundings: number;
}

/** A profile along a line, with the good soundings within half a cell and a metre of it, as CSV rows too. */
export function askProfile(asked: AskedFloor, line: Polyline): { readonly reply: ProfileReply; readonly csv: string } {
  const profile = depthProfile(asked.floor, line);
  const near = soundingsNear(asked.soundings, line, Math.max(1, asked.floor.depth.grid.cellM));
  const known = withoutNaN(profile.depthM);
  if (known.length === 0) throw new UseError('profile: the line does not touch the surface: expected places within it; latitude comes first, then longitude', { path: '--line' });
  const rows = ['kind,distanceM,latDeg,lonDeg,depthM,uncertaintyM,offM'];
  const place = (xM: number, yM: number): string => {
    const [latDeg, lonDeg] = asked.frame.toGeographic(xM, yM);
    return `${latDeg.toFixed(8)},${lonDeg.toFixed(8)}`;
  };
  const number = (value: number, digits: number): string => (Number.isNaN(value) ? '' : value.toFixed(digits));
  for (let i = 0; i < profile.n; i++) rows.push(`surface,${profile.distanceM[i]!.toFixed(2)},${place(profile.xM[i]!, profile.yM[i]!)},${number(profile.depthM[i]!, 3)},${number(profile.uncertaintyM[i]!, 3)},`);
  for (let i = 0; i < near.n; i++) {
    const row = near.row[i]!;
    rows.push(`sounding,${near.distanceM[i]!.toFixed(2)},${place(asked.soundings.xM[row]!, asked.soundings.yM[row]!)},${number(asked.soundings.depthM[row]!, 3)},${number(asked.soundings.tvuM[row]!, 3)},${near.offM[i]!.toFixed(2)}`);
  }
  return {
    reply: {
      topic: 'profile',
      lengthM: profile.lengthM,
      points: profile.n,
      knownM: (profile.lengthM * known.length) / profile.n,
      shoalestM: known.reduce((least, one) => (one < least ? one : least), Infinity),
      deepestM: known.reduce((most, one) => (one > most ? one : most), -Infinity),
      soundings: near.n,
    },
    csv: `${rows.join('\r\n')}\r\n`,
  };
}

export interface SelectionReply {
  readonly topic: 'soundings';
  readonly scale: number;
  readonly apartMm: number;
  readonly radiusM: number;
  readonly selected: number;
  readonly of: number;
}

/** Soundings for a chart at 1 : scale, figures at least so far apart on paper. */
export function askSelection(asked: AskedFloor, scale: number, apartMm: number): { readonly reply: SelectionReply; readonly rows: Uint32Array } {
  if (!(scale > 0 && apartMm > 0)) throw new RangeError(`scale ${scale}, apartMm ${apartMm}: expected more than 0`);
  const radiusM = (apartMm * scale) / 1000;
  const { soundings } = asked;
  const all = leastDepth(soundings, asked.within);
  const inside = asked.within === null ? soundings : { ...soundings, reason: outsideSetAside(soundings, asked.within) };
  const rows = selectSoundings(inside, radiusM);
  return { reply: { topic: 'soundings', scale, apartMm, radiusM, selected: rows.length, of: all.count }, rows };
}

/** Reasons with all that lies outside set aside. */
function outsideSetAside(soundings: PlacedSoundings, within: readonly Polygon[]): Uint8Array {
  return soundings.reason.map((reason, i) => (reason !== 0 || !pointInPolygons(within, soundings.xM[i]!, soundings.yM[i]!) ? 1 : 0));
}

export interface LeastReply {
  readonly topic: 'least';
  readonly depthM: number;
  readonly tvuM: number;
  readonly thuM: number;
  readonly latDeg: number;
  readonly lonDeg: number;
  readonly timeUtc: string;
  readonly line: number;
  readonly count: number;
  /** Shoalest the surface claims inside, and the shoalest it could be at 95 %: filled cells may hold what no line has seen. */
  readonly surfaceM: number;
  readonly surfaceLeastM: number;
}

/** Least depth: the shoalest good sounding with its place, and what the surface says. */
export function askLeast(asked: AskedFloor): LeastReply {
  const { soundings, floor, within, frame } = asked;
  const least = leastDepth(soundings, within);
  if (least.row < 0) throw new UseError('least: no good sounding where it is asked for: expected an area with soundings', { path: '--within' });
  const shares = cellShares(within, floor.depth.grid);
  let surfaceM = Infinity;
  let surfaceLeastM = Infinity;
  floor.depth.values.forEach((depth, cell) => {
    if (!(shares[cell]! > 0) || depth !== depth) return;
    if (depth < surfaceM) surfaceM = depth;
    const bound = depth - floor.uncertainty.values[cell]!;
    if (bound < surfaceLeastM) surfaceLeastM = bound;
  });
  const [latDeg, lonDeg] = frame.toGeographic(soundings.xM[least.row]!, soundings.yM[least.row]!);
  return {
    topic: 'least',
    depthM: least.depthM,
    tvuM: least.tvuM,
    thuM: least.thuM,
    latDeg,
    lonDeg,
    timeUtc: formatUtc(soundings.timeS[least.row]!, 1),
    line: soundings.line[least.row]!,
    count: least.count,
    surfaceM: surfaceM === Infinity ? NaN : surfaceM,
    surfaceLeastM: surfaceLeastM === Infinity ? NaN : surfaceLeastM,
  };
}
