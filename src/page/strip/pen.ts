/** What a picture is drawn with: the same drawing goes to an SVG document and to a canvas. Lengths in pixels. */
export interface Pen {
  line(points: readonly (readonly [number, number])[], colour: string, width: number, dash?: readonly number[]): void;
  fill(points: readonly (readonly [number, number])[], colour: string, opacity: number): void;
  dot(x: number, y: number, radius: number, colour: string): void;
  text(text: string, x: number, y: number, colour: string, options?: { readonly align?: 'start' | 'middle' | 'end'; readonly size?: number; readonly weight?: number }): void;
}

const FONT = "'Barlow Semi Condensed','Arial Narrow',sans-serif";
const SIZE_PX = 13;

function escapeXml(text: string): string {
  return text.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;').replace(/"/g, '&quot;');
}

/** A pen that writes SVG elements. */
export class SvgPen implements Pen {
  #body = '';

  line(points: readonly (readonly [number, number])[], colour: string, width: number, dash?: readonly number[]): void {
    this.#body += `<path d="${path(points)}" fill="none" stroke="${colour}" stroke-width="${width}"${dash === undefined ? '' : ` stroke-dasharray="${dash.join(' ')}"`} stroke-linejoin="round"/>`;
  }

  fill(points: readonly (readonly [number, number])[], colour: string, opacity: number): void {
    this.#body += `<path d="${path(points)}Z" fill="${colour}" fill-opacity="${opacity}"/>`;
  }

  dot(x: number, y: number, radius: number, colour: string): void {
    this.#body += `<circle cx="${x.toFixed(1)}" cy="${y.toFixed(1)}" r="${radius}" fill="${colour}"/>`;
  }

  text(text: string, x: number, y: number, colour: string, { align = 'start', size = SIZE_PX, weight = 500 }: Parameters<Pen['text']>[4] = {}): void {
    this.#body += `<text x="${x.toFixed(1)}" y="${y.toFixed(1)}" fill="${colour}" font-size="${size}" font-weight="${weight}"${align === 'start' ? '' : ` text-anchor="${align}"`}>${escapeXml(text)}</text>`;
  }

  document(widthPx: number, heightPx: number, paper: string): string {
    return `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${heightPx}" viewBox="0 0 ${widthPx} ${heightPx}" font-family="${FONT}"><rect width="100%" height="100%" fill="${paper}"/>${this.#body}</svg>`;
  }
}

/** A pen that draws on a canvas. */
export class CanvasPen implements Pen {
  readonly #ctx: CanvasRenderingContext2D;

  constructor(ctx: CanvasRenderingContext2D) {
    this.#ctx = ctx;
  }

  line(points: readonly (readonly [number, number])[], colour: string, width: number, dash: readonly number[] = []): void {
    const ctx = this.#ctx;
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.lineJoin = 'round';
    ctx.setLineDash([...dash]);
    ctx.stroke(new Path2D(path(points)));
  }

  fill(points: readonly (readonly [number, number])[], colour: string, opacity: number): void {
    const ctx = this.#ctx;
    ctx.save();
    ctx.globalAlpha = opacity;
    ctx.fillStyle = colour;
    ctx.fill(new Path2D(`${path(points)}Z`));
    ctx.restore();
  }

  dot(x: number, y: number, radius: number, colour: string): void {
    const ctx = this.#ctx;
    ctx.fillStyle = colour;
    ctx.beginPath();
    ctx.arc(x, y, radius, 0, 2 * Math.PI);
    ctx.fill();
  }

  text(text: string, x: number, y: number, colour: string, { align = 'start', size = SIZE_PX, weight = 500 }: Parameters<Pen['text']>[4] = {}): void {
    const ctx = this.#ctx;
    ctx.fillStyle = colour;
    ctx.font = `${weight} ${size}px ${FONT}`;
    ctx.textAlign = align === 'middle' ? 'center' : align;
    ctx.fillText(text, x, y);
  }
}

function path(points: readonly (readonly [number, number])[]): string {
  return points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');
}
