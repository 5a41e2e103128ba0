import type { Palette } from '../chart/palette.js';
import { niceSteps } from '../strip/strip-svg.js';
import { fixed } from '../words/figures.js';
import { project, type Camera } from './camera.js';
import type { PointCloud } from './point-painter.js';

/** The box around the points with its depths, a bar of length and the north, on a clear canvas. */
export function drawFrame(ctx: CanvasRenderingContext2D, widthPx: number, heightPx: number, camera: Camera, cloud: PointCloud, palette: Palette): void {
  const { middle, shoalM, deepM, halfEastM, halfNorthM } = cloud;
  const at = (e: number, n: number, depthM: number) => project(camera, widthPx, heightPx, middle.xM + e * halfEastM, middle.yM + n * halfNorthM, depthM);
  ctx.save();
  ctx.strokeStyle = palette.quiet;
  ctx.globalAlpha = 0.5;
  ctx.lineWidth = 1;
  ctx.beginPath();
  const corners = [[-1, -1], [1, -1], [1, 1], [-1, 1]] as const;
  for (const depthM of [shoalM, deepM]) {
    corners.forEach(([e, n], k) => {
      const { x, y } = at(e, n, depthM);
      if (k === 0) ctx.moveTo(x, y);
      else ctx.lineTo(x, y);
    });
    ctx.closePath();
  }
  for (const [e, n] of corners) {
    const [a, b] = [at(e, n, shoalM), at(e, n, deepM)];
    ctx.moveTo(a.x, a.y);
    ctx.lineTo(b.x, b.y);
  }
  ctx.stroke();
  ctx.globalAlpha = 1;
  // Depths stand along the edge that is furthest left.
  const [e, n] = corners.reduce((left, one) => (at(one[0], one[1], deepM).x < at(left[0], left[1], deepM).x ? one : left));
  const [top, bottom] = [at(e, n, shoalM), at(e, n, deepM)];
  ctx.font = `500 13px ${palette.font}`;
  ctx.fillStyle = palette.quiet;
  ctx.textBaseline = 'middle';
  ctx.textAlign = 'right';
  if (bottom.y - top.y > 30) {
    for (const depthM of niceSteps(shoalM, deepM, Math.max(2, Math.floor((bottom.y - top.y) / 34)))) {
      const { x, y } = at(e, n, depthM);
      label(ctx, `${fixed(depthM, depthM % 1 === 0 ? 0 : 1)} m`, Math.max(46, x - 7), y, palette);
    }
  }
  drawNorth(ctx, camera, widthPx - 34, 36, palette);
  ctx.restore();
}

function label(ctx: CanvasRenderingContext2D, text: string, x: number, y: number, palette: Palette): void {
  ctx.strokeStyle = palette.paper;
  ctx.lineWidth = 4;
  ctx.lineJoin = 'round';
  ctx.strokeText(text, x, y);
  ctx.fillText(text, x, y);
}

/** An arrow to grid north as it lies in the view. */
function drawNorth(ctx: CanvasRenderingContext2D, camera: Camera, x: number, y: number, palette: Palette): void {
  const bearing = (-camera.bearingDeg * Math.PI) / 180;
  const flat = Math.max(0.25, Math.sin((camera.tiltDeg * Math.PI) / 180));
  const [dx, dy] = [Math.sin(bearing) * 20, -Math.cos(bearing) * 20 * flat];
  ctx.strokeStyle = palette.ink;
  ctx.fillStyle = palette.ink;
  ctx.lineWidth = 1.6;
  ctx.beginPath();
  ctx.moveTo(x - dx * 0.6, y - dy * 0.6);
  ctx.lineTo(x + dx * 0.6, y + dy * 0.6);
  ctx.stroke();
  const angle = Math.atan2(dy, dx);
  ctx.beginPath();
  ctx.moveTo(x + dx * 0.85, y + dy * 0.85);
  for (const turn of [2.7, -2.7]) ctx.lineTo(x + dx * 0.6 + 7 * Math.cos(angle + turn), y + dy * 0.6 + 7 * Math.sin(angle + turn));
  ctx.fill();
  ctx.font = `600 13px ${palette.font}`;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  label(ctx, 'N', x + dx * 1.3, y + dy * 1.3, palette);
}
