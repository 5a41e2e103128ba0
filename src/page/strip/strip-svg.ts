import { duration } from '../words/figures.js';
import type { ThinnedCurve } from './decimate.js';
import type { TimeScale } from './time-scale.js';

export interface StripPicture {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly startS: number;
  readonly endS: number;
  readonly scale: TimeScale;
  readonly lowM: number;
  readonly highM: number;
  readonly depth: ThinnedCurve;
  readonly water: ThinnedCurve;
  /** Set-aside soundings: times and depths. */
  readonly rings: readonly { readonly timeS: number; readonly depthM: number }[];
  readonly title: string;
  readonly colours: { readonly paper: string; readonly ink: string; readonly quiet: string; readonly hairline: string; readonly magenta: string; readonly water: string };
}

/** The time strip as an SVG document, complete in itself. */
export function stripSvg(picture: StripPicture): string {
  const { widthPx, heightPx, startS, endS, lowM, highM, colours, scale } = picture;
  const left = 46;
  const right = 12;
  const top = 26;
  const bottom = 28;
  const stripStart = scale.toStrip(startS);
  const stripEnd = scale.toStrip(endS);
  const x = (t: number) => left + ((scale.toStrip(t) - stripStart) / (stripEnd - stripStart)) * (widthPx - left - right);
  const y = (d: number) => top + ((d - lowM) / (highM - lowM)) * (heightPx - top - bottom);
  const path = (curve: ThinnedCurve) => {
    let d = '';
    let pen = false;
    for (let i = 0; i < curve.timeS.length; i++) {
      const value = curve.value[i] as number;
      if (!Number.isFinite(value)) {
        pen = false;
        continue;
      }
      d += `${pen ? 'L' : 'M'}${x(curve.timeS[i] as number).toFixed(1)} ${y(value).toFixed(1)}`;
      pen = true;
    }
    return d;
  };
  const depths = niceSteps(lowM, highM, 5)
    .map((d) => `<path d="M${left} ${y(d).toFixed(1)}H${widthPx - right}" stroke="${colours.hairline}"/><text x="${left - 6}" y="${(y(d) + 4).toFixed(1)}" text-anchor="end">${d}</text>`)
    .join('');
  const times = timeSteps(startS, endS, 8)
    .filter((t) => !scale.inPause(t))
    .map((t) => `<text x="${x(t).toFixed(1)}" y="${heightPx - 8}" text-anchor="middle">${new Date(t * 1000).toISOString().slice(11, endS - startS < 480 ? 19 : 16)}</text>`)
    .join('');
  const pauses = scale.pauses
    .filter((pause) => pause.endS > startS && pause.startS < endS)
    .map((pause) => `<text x="${((x(pause.startS) + x(pause.endS)) / 2).toFixed(1)}" y="${(top + heightPx - bottom) / 2}" text-anchor="middle">pause ${duration(pause.endS - pause.startS)}</text>`)
    .join('');
  const rings = picture.rings.map(({ timeS, depthM }) => `<circle cx="${x(timeS).toFixed(1)}" cy="${y(depthM).toFixed(1)}" r="3"/>`).join('');
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${heightPx}" viewBox="0 0 ${widthPx} ${heightPx}" font-family="'Barlow Semi Condensed','Arial Narrow',sans-serif" font-size="12">` +
    `<rect width="100%" height="100%" fill="${colours.paper}"/><g fill="${colours.quiet}">${depths}${times}${pauses}<text x="${left}" y="16" fill="${colours.ink}">${escapeXml(picture.title)}</text><text x="8" y="16">m</text></g>` +
    `<g fill="none"><path d="${path(picture.water)}" stroke="${colours.water}" stroke-dasharray="6 4"/><path d="${path(picture.depth)}" stroke="${colours.ink}"/><g stroke="${colours.magenta}">${rings}</g></g></svg>`
  );
}

function escapeXml(text: string): string {
  return text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;');
}

/** Round values inside a range, about as many as asked for. */
export function niceSteps(low: number, high: number, about: number): number[] {
  const rough = (high - low) / about;
  if (!(rough > 0)) return [low];
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= rough) ?? 10 * power;
  const out: number[] = [];
  for (let k = Math.ceil(low / step); k * step <= high + 1e-9; k++) out.push(Number((k * step).toPrecision(9)));
  return out;
}

const TIME_STEPS_S = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400];

/** Round times inside a range, about as many as asked for. */
export function timeSteps(startS: number, endS: number, about: number): number[] {
  const rough = (endS - startS) / about;
  const step = TIME_STEPS_S.find((s) => s >= rough) ?? Math.ceil(rough / 86_400) * 86_400;
  const out: number[] = [];
  for (let t = Math.ceil(startS / step) * step; t <= endS; t += step) out.push(t);
  return out;
}
