import { OUTCOMES, type Outcome } from '../../rehearse/rehearsal.js';
import type { LegKind } from '../../lines/sortie.js';
import { Occupancy } from './occupancy.js';
import { boundsOfRings } from '../../geo/ring.js';
import { areaText } from '../words/figures.js';
import { furnitureBoxes } from './paint-frame.js';
import { hatch, type Box } from './paint-ink.js';
import type { Palette } from './palette.js';
import type { RehearseMarks, SortieMark, TrackMark } from './rehearse-marks.js';
import { pixelX, pixelY, type Viewport } from './viewport.js';

/** Narrower than this the rose is drawn small [px]; as the chart has it. */
const COMPACT_PX = 480;
/** Outcomes closer than this along the track are not drawn [px]: those that end well, and those that do not. */
const WELL_APART_PX = 24;
const BADLY_APART_PX = 10;

/** Draws sorties and their rehearsal over the chart. */
export function paintRehearse(ctx: CanvasRenderingContext2D, view: Viewport, marks: RehearseMarks, palette: Palette, reserved: readonly Box[]): void {
  const taken = new Occupancy(view.widthPx, view.heightPx);
  for (const { x, y, width, height } of furnitureBoxes(view.widthPx, view.heightPx, view.widthPx < COMPACT_PX)) taken.claim(x, y, width, height, true);
  for (const { x, y, width, height } of reserved) taken.claim(x, y, width, height, true);
  ctx.save();
  ctx.lineJoin = 'round';
  if (marks.link !== null) paintLink(ctx, view, marks, palette, taken);
  if (marks.stage === 'lines') for (const sortie of marks.sorties) paintSortie(ctx, view, sortie, palette);
  paintHoles(ctx, view, marks.holes, palette);
  for (const track of marks.tracks) paintTrack(ctx, view, track, marks, palette);
  if (marks.mishap !== null) for (const { shown } of marks.tracks) if (shown.moments !== null) paintOutcomes(ctx, view, shown.moments, marks.mishap, palette);
  paintPlaces(ctx, view, marks, palette, taken);
  if (marks.stage === 'lines') for (const sortie of marks.sorties) paintSortieNumber(ctx, view, sortie, marks.sorties.length, palette, taken);
  paintHoleNames(ctx, view, marks.holes, palette, taken);
  paintLeftOut(ctx, view, marks.leftOut, palette, taken);
  paintConcerns(ctx, view, marks, palette, taken);
  if (marks.worst !== null) paintWorst(ctx, view, marks.worst, palette, taken);
  if (marks.fault !== null) paintFault(ctx, view, marks.fault, palette, taken);
  ctx.restore();
}

/** A line through the points that are far enough apart to be seen. */
export function traceThin(ctx: CanvasRenderingContext2D, view: Viewport, xM: ArrayLike<number>, yM: ArrayLike<number>, n: number, stride = 1): void {
  let lastX = NaN;
  let lastY = NaN;
  for (let i = 0; i < n; i++) {
    const x = pixelX(view, xM[i * stride] as number);
    const y = pixelY(view, yM[i * stride] as number);
    if (Number.isNaN(lastX)) ctx.moveTo(x, y);
    else if (i < n - 1 && Math.abs(x - lastX) < 1 && Math.abs(y - lastY) < 1) continue;
    else ctx.lineTo(x, y);
    lastX = x;
    lastY = y;
  }
}

function trace(ctx: CanvasRenderingContext2D, view: Viewport, line: ArrayLike<number>, close = false): void {
  for (let i = 0; i + 1 < line.length; i += 2) {
    const x = pixelX(view, line[i] as number);
    const y = pixelY(view, line[i + 1] as number);
    if (i === 0) ctx.moveTo(x, y);
    else ctx.lineTo(x, y);
  }
  if (close) ctx.closePath();
}

/** Text with paper about it. */
export function haloText(ctx: CanvasRenderingContext2D, text: string, x: number, y: number, colour: string, palette: Palette): void {
  ctx.setLineDash([]);
  ctx.lineJoin = 'round';
  ctx.lineWidth = 4;
  ctx.strokeStyle = palette.paper;
  ctx.strokeText(text, x, y);
  ctx.fillStyle = colour;
  ctx.fillText(text, x, y);
}

function paintLink(ctx: CanvasRenderingContext2D, view: Viewport, { link }: RehearseMarks, palette: Palette, taken: Occupancy): void {
  if (link === null) return;
  const draw = (lines: readonly Float64Array[], dash: readonly number[], width: number, label: string) => {
    ctx.strokeStyle = palette.waterLevel;
    ctx.lineWidth = width;
    ctx.setLineDash([...dash]);
    ctx.beginPath();
    for (const line of lines) trace(ctx, view, line);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = `600 12.5px ${palette.font}`;
    ctx.textBaseline = 'middle';
    ctx.textAlign = 'center';
    const half = ctx.measureText(label).width / 2 + 3;
    for (const line of lines) {
      // Where the line is in view and nothing stands yet.
      for (let k = 0; k < line.length / 2; k += Math.max(1, Math.floor(line.length / 80))) {
        const [x, y] = [pixelX(view, line[2 * k] as number), pixelY(view, line[2 * k + 1] as number)];
        if (x < half + 8 || x > view.widthPx - half - 8 || y < 40 || y > view.heightPx - 40 || !taken.claim(x - half, y - 8, 2 * half, 16)) continue;
        haloText(ctx, label, x, y, palette.waterLevel, palette);
        break;
      }
    }
  };
  draw(link.sure, [2, 4], 1.2, 'link sure');
  draw(link.none, [10, 3, 2, 3], 1.8, 'link 0 dB');
}

/** Ground that no line will cover: sparsely hatched, dashed around. */
function paintHoles(ctx: CanvasRenderingContext2D, view: Viewport, holes: RehearseMarks['holes'], palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.magenta;
  for (const { parts } of holes) {
    hatch(ctx, view, parts, 10, false);
    ctx.lineWidth = 1.2;
    ctx.setLineDash([5, 3]);
    ctx.beginPath();
    for (const part of parts) trace(ctx, view, part, true);
    ctx.stroke();
    ctx.setLineDash([]);
  }
  ctx.restore();
}

/** The area of each, beside it where there is room; the largest first. */
function paintHoleNames(ctx: CanvasRenderingContext2D, view: Viewport, holes: RehearseMarks['holes'], palette: Palette, taken: Occupancy): void {
  ctx.save();
  ctx.font = `500 12.5px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  for (const { parts, areaM2 } of [...holes].sort((a, b) => b.areaM2 - a.areaM2)) {
    const box = boundsOfRings(parts.slice(0, 1));
    const [x, top, bottom] = [pixelX(view, (box.westM + box.eastM) / 2), pixelY(view, box.northM), pixelY(view, box.southM)];
    const text = `not covered ${areaText(areaM2)}`;
    const half = ctx.measureText(text).width / 2 + 3;
    const y = [top - 9, bottom + 10].find((at) => x > half && x < view.widthPx - half && at > 10 && at < view.heightPx - 10 && taken.claim(x - half, at - 8, 2 * half, 16));
    if (y !== undefined) haloText(ctx, text, x, y, palette.magenta, palette);
  }
  ctx.restore();
}

/** More lines than this are counted, not named one by one. */
const MOST_NAMED = 8;

/** Lines that no sortie runs: dotted over, and said of each where there is room. */
function paintLeftOut(ctx: CanvasRenderingContext2D, view: Viewport, leftOut: RehearseMarks['leftOut'], palette: Palette, taken: Occupancy): void {
  if (leftOut.length === 0) return;
  ctx.save();
  for (const [colour, width, dash] of [[palette.paper, 4, []], [palette.magenta, 2.4, [2.4, 5]]] as const) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.setLineDash([...dash]);
    ctx.beginPath();
    for (const { path } of leftOut) trace(ctx, view, path);
    ctx.stroke();
  }
  ctx.setLineDash([]);
  ctx.font = `600 13px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  const lines = new Map<number, readonly number[]>();
  for (const { line, path } of leftOut) if (!lines.has(line) && path.length >= 4) lines.set(line, path);
  const named: readonly (readonly [string, readonly number[]])[] = lines.size > MOST_NAMED ? [...lines.values()].slice(Math.floor(lines.size / 2)).map((path) => [`${lines.size} lines left out`, path] as const) : [...lines].map(([line, path]) => [`line ${line} left out`, path] as const);
  const said = new Set<string>();
  for (const [text, path] of named) {
    if (said.has(text)) continue;
    const half = ctx.measureText(text).width / 2 + 3;
    const at = (share: number) => [pixelX(view, (path[0] as number) + share * ((path[2] as number) - (path[0] as number))), pixelY(view, (path[1] as number) + share * ((path[3] as number) - (path[1] as number)))] as const;
    const place = [0.5, 0.3, 0.7, 0.15, 0.85].flatMap((share) => [0, -13, 13].map((dy) => [at(share)[0], at(share)[1] + dy] as const)).find(([x, y]) => x > half && x < view.widthPx - half && y > 10 && y < view.heightPx - 10 && taken.claim(x - half, y - 8, 2 * half, 16));
    if (place === undefined) continue;
    said.add(text);
    haloText(ctx, text, place[0], place[1], palette.magenta, palette);
  }
  ctx.restore();
}

const LEG_STYLE: Readonly<Record<LegKind, { readonly dash: readonly number[]; readonly width: number; readonly alpha: number }>> = {
  launch: { dash: [1.5, 4], width: 1.4, alpha: 0.95 },
  transit: { dash: [1.5, 4], width: 1.4, alpha: 0.95 },
  'run-in': { dash: [4, 2], width: 1.2, alpha: 0.9 },
  line: { dash: [], width: 1.1, alpha: 0.8 },
  'run-out': { dash: [4, 2], width: 1.2, alpha: 0.9 },
  turn: { dash: [], width: 0.9, alpha: 0.75 },
  home: { dash: [1.5, 4], width: 1.4, alpha: 0.95 },
};

/** A planned sortie, each kind of leg by its line. */
function paintSortie(ctx: CanvasRenderingContext2D, view: Viewport, { legs }: SortieMark, palette: Palette): void {
  ctx.save();
  ctx.strokeStyle = palette.ink;
  ctx.lineCap = 'round';
  for (const kind of Object.keys(LEG_STYLE) as LegKind[]) {
    const style = LEG_STYLE[kind];
    ctx.globalAlpha = style.alpha;
    ctx.lineWidth = style.width;
    ctx.setLineDash([...style.dash]);
    ctx.beginPath();
    for (const leg of legs) if (leg.kind === kind) trace(ctx, view, leg.path);
    ctx.stroke();
  }
  ctx.restore();
}

/** A sortie's number on its way out and on its way home, where there is more than one. */
function paintSortieNumber(ctx: CanvasRenderingContext2D, view: Viewport, { number, legs }: SortieMark, count: number, palette: Palette, taken: Occupancy): void {
  if (count < 2) return;
  for (const kind of ['launch', 'home'] as const) {
    const path = legs.find((leg) => leg.kind === kind)?.path;
    if (path === undefined || path.length < 4) continue;
    const share = kind === 'launch' ? 0.55 : 0.45;
    const k = path.length - 4;
    const at = (i: number) => [pixelX(view, path[i] as number), pixelY(view, path[i + 1] as number)] as const;
    const [ax, ay] = kind === 'launch' ? at(k) : at(0);
    const [bx, by] = kind === 'launch' ? at(k + 2) : at(2);
    const [x, y] = [ax + share * (bx - ax), ay + share * (by - ay)];
    if (!taken.claim(x - 10, y - 10, 20, 20)) continue;
    badge(ctx, String(number), x, y, palette.ink, palette, kind === 'home');
  }
}

function badge(ctx: CanvasRenderingContext2D, text: string, x: number, y: number, colour: string, palette: Palette, hollow: boolean): void {
  ctx.setLineDash([]);
  ctx.beginPath();
  ctx.arc(x, y, 9, 0, 2 * Math.PI);
  ctx.fillStyle = hollow ? palette.paper : colour;
  ctx.fill();
  ctx.lineWidth = 1.5;
  ctx.strokeStyle = colour;
  ctx.stroke();
  ctx.font = `600 12.5px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  ctx.fillStyle = hollow ? colour : palette.paper;
  ctx.fillText(text, x, y + 0.5);
}

function paintTrack(ctx: CanvasRenderingContext2D, view: Viewport, { shown, painted, gaps }: TrackMark, marks: RehearseMarks, palette: Palette): void {
  const chosen = marks.selected === null || marks.selected === shown.number;
  ctx.save();
  // What will be painted, as wide as a line counts as run.
  ctx.lineCap = 'butt';
  ctx.lineWidth = Math.max(3, (2 * marks.toleranceM) / view.metresPerPixel);
  ctx.strokeStyle = palette.band;
  ctx.globalAlpha = chosen ? 0.26 : 0.12;
  ctx.beginPath();
  for (const line of painted) trace(ctx, view, line);
  ctx.stroke();
  if (gaps.length > 0) {
    ctx.globalAlpha = chosen ? 1 : 0.5;
    ctx.strokeStyle = palette.paper;
    ctx.beginPath();
    for (const gap of gaps) trace(ctx, view, gap);
    ctx.stroke();
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = Math.max(6, (2 * marks.toleranceM) / view.metresPerPixel);
    ctx.setLineDash([1.6, 3]);
    ctx.stroke();
    ctx.setLineDash([]);
  }
  ctx.globalAlpha = chosen ? 0.95 : 0.4;
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 1.3;
  ctx.beginPath();
  traceThin(ctx, view, shown.columns.xM, shown.columns.yM, shown.columns.n);
  ctx.stroke();
  ctx.restore();
}

/** How dark the track is laid under by what comes of it. */
const OUTCOME_TINT: readonly number[] = [0, 0, 0.22, 0.36, 0.5];

function paintOutcomes(ctx: CanvasRenderingContext2D, view: Viewport, moments: NonNullable<TrackMark['shown']['moments']>, mishap: NonNullable<RehearseMarks['mishap']>, palette: Palette): void {
  const { outcome } = moments.outcomes[mishap];
  const { n, xM, yM } = moments;
  ctx.save();
  ctx.lineCap = 'round';
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = 9;
  for (let kind = 2; kind < OUTCOMES.length; kind++) {
    ctx.globalAlpha = OUTCOME_TINT[kind] as number;
    ctx.beginPath();
    for (let i = 0; i + 1 < n; i++) {
      if (outcome[i] !== kind) continue;
      ctx.moveTo(pixelX(view, xM[i] as number), pixelY(view, yM[i] as number));
      ctx.lineTo(pixelX(view, xM[i + 1] as number), pixelY(view, yM[i + 1] as number));
    }
    ctx.stroke();
  }
  ctx.globalAlpha = 1;
  let lastX = NaN;
  let lastY = NaN;
  let lastKind = -1;
  for (let i = 0; i < n; i++) {
    const [x, y] = [pixelX(view, xM[i] as number), pixelY(view, yM[i] as number)];
    if (x < -10 || y < -10 || x > view.widthPx + 10 || y > view.heightPx + 10) continue;
    if (outcome[i] === lastKind && Math.hypot(x - lastX, y - lastY) < ((outcome[i] as number) < 2 ? WELL_APART_PX : BADLY_APART_PX)) continue;
    paintOutcome(ctx, OUTCOMES[outcome[i] as number] as Outcome, x, y, palette);
    lastX = x;
    lastY = y;
    lastKind = outcome[i] as number;
  }
  ctx.restore();
}

/** The symbol of an outcome: ring home, square holds, diamond adrift, cross in a keep-out, triangle aground. */
export function paintOutcome(ctx: CanvasRenderingContext2D, outcome: Outcome, x: number, y: number, palette: Palette, size = 1): void {
  const bad = outcome === 'keep-out' || outcome === 'aground' || outcome === 'drifts';
  ctx.setLineDash([]);
  ctx.strokeStyle = bad ? palette.magenta : palette.ink;
  ctx.fillStyle = bad && outcome !== 'drifts' ? palette.magenta : palette.paper;
  ctx.lineWidth = 1.4 * Math.sqrt(size);
  const r = 3.4 * size;
  ctx.beginPath();
  switch (outcome) {
    case 'home':
      ctx.arc(x, y, 2.4 * size, 0, 2 * Math.PI);
      ctx.fill();
      ctx.stroke();
      return;
    case 'holds':
      ctx.rect(x - 2.4 * size, y - 2.4 * size, 4.8 * size, 4.8 * size);
      ctx.fill();
      ctx.stroke();
      return;
    case 'drifts':
      ctx.moveTo(x, y - 1.3 * r);
      ctx.lineTo(x + 1.3 * r, y);
      ctx.lineTo(x, y + 1.3 * r);
      ctx.lineTo(x - 1.3 * r, y);
      ctx.closePath();
      ctx.fill();
      ctx.stroke();
      return;
    case 'keep-out':
      ctx.moveTo(x - r, y - r);
      ctx.lineTo(x + r, y + r);
      ctx.moveTo(x + r, y - r);
      ctx.lineTo(x - r, y + r);
      ctx.lineWidth = 2 * Math.sqrt(size);
      ctx.stroke();
      return;
    case 'aground':
      ctx.moveTo(x, y - 1.3 * r);
      ctx.lineTo(x + 1.2 * r, y + r);
      ctx.lineTo(x - 1.2 * r, y + r);
      ctx.closePath();
      ctx.fill();
  }
}

function paintPlaces(ctx: CanvasRenderingContext2D, view: Viewport, { launch, base }: RehearseMarks, palette: Palette, taken: Occupancy): void {
  ctx.font = `600 13px ${palette.font}`;
  ctx.textBaseline = 'middle';
  const same = launch !== null && base !== null && Math.hypot(launch[0] - base[0], launch[1] - base[1]) < 0.05;
  const place = (at: readonly [number, number], text: string, draw: (x: number, y: number) => void) => {
    const [x, y] = [pixelX(view, at[0]), pixelY(view, at[1])];
    if (x < -20 || y < -20 || x > view.widthPx + 20 || y > view.heightPx + 20) return;
    draw(x, y);
    taken.claim(x - 9, y - 9, 18, 18, true);
    const width = ctx.measureText(text).width;
    const right = x + 14 + width < view.widthPx - 4;
    ctx.textAlign = right ? 'left' : 'right';
    haloText(ctx, text, right ? x + 14 : x - 14, y, palette.magenta, palette);
    taken.claim(right ? x + 12 : x - 16 - width, y - 8, width + 4, 16, true);
  };
  if (base !== null && !same) {
    place(base, 'base', (x, y) => {
      // A mast with what it sends.
      ctx.strokeStyle = palette.magenta;
      ctx.lineWidth = 1.8;
      ctx.setLineDash([]);
      ctx.beginPath();
      ctx.moveTo(x - 5, y + 8);
      ctx.lineTo(x, y - 6);
      ctx.lineTo(x + 5, y + 8);
      ctx.moveTo(x - 3, y + 2);
      ctx.lineTo(x + 3, y + 2);
      for (const side of [-1, 1]) {
        ctx.moveTo(x + side * 4, y - 10);
        ctx.quadraticCurveTo(x + side * 7, y - 6, x + side * 4, y - 2);
      }
      ctx.stroke();
    });
  }
  if (launch !== null) {
    place(launch, same ? 'launch and base' : 'launch', (x, y) => {
      ctx.fillStyle = palette.paper;
      ctx.strokeStyle = palette.magenta;
      ctx.lineWidth = 2;
      ctx.setLineDash([]);
      ctx.beginPath();
      ctx.arc(x, y, 8, 0, 2 * Math.PI);
      ctx.fill();
      ctx.stroke();
      ctx.beginPath();
      ctx.arc(x, y, 2.6, 0, 2 * Math.PI);
      ctx.fillStyle = palette.magenta;
      ctx.fill();
    });
  }
}

/** Where a sign may stand about its place, the nearest first [px]; the far ones lead clear of the rose. */
const BESIDE: readonly (readonly [number, number])[] = [
  ...([[0, -15], [20, -15], [-20, -15], [0, 17], [20, 17], [-20, 17], [40, -15]] as const),
  ...[40, 60, 85, 110, 140].flatMap((far) => Array.from({ length: 12 }, (_, k) => [Math.round(far * Math.sin((k * Math.PI) / 6)), Math.round(-far * Math.cos((k * Math.PI) / 6))] as const)),
];

/** Triangles with the numbers that the sheet lists; a no-go filled. */
function paintConcerns(ctx: CanvasRenderingContext2D, view: Viewport, { concerns }: RehearseMarks, palette: Palette, taken: Occupancy): void {
  for (const { concern, number } of concerns) {
    if (!Number.isFinite(concern.xM) || !Number.isFinite(concern.yM) || concern.weight === 'note') continue;
    const [x0, y0] = [pixelX(view, concern.xM), pixelY(view, concern.yM)];
    if (x0 < -20 || y0 < -20 || x0 > view.widthPx + 20 || y0 > view.heightPx + 20) continue;
    // Beside the place where another already stands on it.
    const inside = ([x, y]: readonly [number, number]) => x > 12 && y > 14 && x < view.widthPx - 12 && y < view.heightPx - 12;
    const at = BESIDE.map(([dx, dy]) => [x0 + dx, y0 + dy] as const).find((place) => inside(place) && taken.claim(place[0] - 9, place[1] - 9, 18, 18)) ?? ([x0, y0 - 15] as const);
    const [x, y] = at;
    ctx.setLineDash([]);
    ctx.strokeStyle = palette.magenta;
    ctx.lineWidth = 1.3;
    ctx.beginPath();
    ctx.moveTo(x0, y0);
    ctx.lineTo(x, y);
    ctx.stroke();
    ctx.beginPath();
    ctx.arc(x0, y0, 2.4, 0, 2 * Math.PI);
    ctx.fillStyle = palette.magenta;
    ctx.fill();
    ctx.beginPath();
    ctx.moveTo(x, y - 11);
    ctx.lineTo(x + 11, y + 8);
    ctx.lineTo(x - 11, y + 8);
    ctx.closePath();
    ctx.fillStyle = concern.weight === 'no-go' ? palette.magenta : palette.paper;
    ctx.fill();
    ctx.lineWidth = 1.6;
    ctx.stroke();
    ctx.font = `600 12px ${palette.font}`;
    ctx.textAlign = 'center';
    ctx.textBaseline = 'middle';
    ctx.fillStyle = concern.weight === 'no-go' ? palette.paper : palette.magenta;
    ctx.fillText(String(number), x, y + 2);
  }
}

function paintWorst(ctx: CanvasRenderingContext2D, view: Viewport, worst: NonNullable<RehearseMarks['worst']>, palette: Palette, taken: Occupancy): void {
  const [x, y] = [pixelX(view, worst.xM), pixelY(view, worst.yM)];
  if (x < -20 || y < -20 || x > view.widthPx + 20 || y > view.heightPx + 20) return;
  ctx.setLineDash([]);
  for (const [colour, width] of [[palette.paper, 5], [palette.magenta, 2]] as const) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.beginPath();
    ctx.arc(x, y, 11, 0, 2 * Math.PI);
    for (const [ux, uy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) {
      ctx.moveTo(x + 7 * ux, y + 7 * uy);
      ctx.lineTo(x + 16 * ux, y + 16 * uy);
    }
    ctx.stroke();
  }
  ctx.font = `600 13px ${palette.font}`;
  ctx.textBaseline = 'middle';
  const text = 'worst moment';
  const width = ctx.measureText(text).width;
  const spots = [[20, 0], [-20 - width, 0], [-width / 2, 26], [-width / 2, -26], [20, 20], [-20 - width, 20]] as const;
  const [dx, dy] = spots.find(([sx, sy]) => x + sx > 2 && x + sx + width < view.widthPx - 2 && taken.claim(x + sx, y + sy - 8, width, 16)) ?? spots[0];
  ctx.textAlign = 'left';
  haloText(ctx, text, x + dx, y + dy, palette.magenta, palette);
}

/** What is wrong, where it is, and its message beside it. */
function paintFault(ctx: CanvasRenderingContext2D, view: Viewport, { message, where }: NonNullable<RehearseMarks['fault']>, palette: Palette, taken: Occupancy): void {
  let anchor: readonly [number, number] | null = null;
  for (const shape of where) {
    if (shape.length < 2) continue;
    const [x, y] = [pixelX(view, shape[0] as number), pixelY(view, shape[1] as number)];
    anchor ??= [x, y];
    ctx.strokeStyle = palette.magenta;
    if (shape.length === 2) {
      for (const [radius, width] of [[13, 2.2], [19, 1.1]] as const) {
        ctx.setLineDash([]);
        ctx.lineWidth = width;
        ctx.beginPath();
        ctx.arc(x, y, radius, 0, 2 * Math.PI);
        ctx.stroke();
      }
      ctx.lineWidth = 2.2;
      ctx.beginPath();
      for (const side of [-1, 1]) {
        ctx.moveTo(x - 9, y - 9 * side);
        ctx.lineTo(x + 9, y + 9 * side);
      }
      ctx.stroke();
    } else {
      ctx.lineWidth = 3.4;
      ctx.setLineDash([3, 3]);
      ctx.beginPath();
      trace(ctx, view, shape);
      ctx.stroke();
    }
  }
  if (anchor === null) return;
  ctx.setLineDash([]);
  ctx.font = `600 14px ${palette.font}`;
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  const lines = wrapped(ctx, message, Math.min(330, view.widthPx - 40));
  const width = Math.max(...lines.map((line) => ctx.measureText(line).width)) + 20;
  const height = 18 * lines.length + 14;
  const [ax, ay] = anchor;
  const inside = (at: number, size: number, whole: number) => Math.max(6, Math.min(whole - size - 6, at));
  const spots = [[ax + 26, ay + 22], [ax - 26 - width, ay + 22], [ax + 26, ay - 22 - height], [ax - 26 - width, ay - 22 - height], [ax - width / 2, ay - 30 - height]].map(([sx, sy]) => [inside(sx as number, width, view.widthPx), inside(sy as number, height, view.heightPx)] as const);
  const clear = ([sx, sy]: readonly [number, number]) => !taken.holds(sx, sy, width, height) && !(sx < ax + 20 && sx + width > ax - 20 && sy < ay + 20 && sy + height > ay - 20);
  const [x, y] = spots.find(clear) ?? (spots[0] as readonly [number, number]);
  taken.claim(x, y, width, height, true);
  ctx.fillStyle = palette.paper;
  ctx.strokeStyle = palette.magenta;
  ctx.lineWidth = 1.5;
  ctx.beginPath();
  ctx.moveTo(anchor[0], anchor[1]);
  ctx.lineTo(Math.max(x + 8, Math.min(x + width - 8, ax)), ay < y ? y : ay > y + height ? y + height : ay);
  ctx.stroke();
  ctx.beginPath();
  ctx.rect(x, y, width, height);
  ctx.fill();
  ctx.stroke();
  ctx.fillStyle = palette.magenta;
  lines.forEach((line, k) => ctx.fillText(line, x + 10, y + 16 + 18 * k));
}

function wrapped(ctx: CanvasRenderingContext2D, text: string, widthPx: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line !== '' && ctx.measureText(longer).width > widthPx) {
      lines.push(line);
      line = word;
    } else line = longer;
  }
  return [...lines, line].slice(0, 6);
}
