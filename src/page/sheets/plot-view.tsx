import { useEffect, useMemo, useRef, useState } from 'react';
import { readPalette } from '../chart/palette.js';
import { download } from '../download.js';
import { drawPlot, plotCsv, type PlotColours } from '../plots/draw-plot.js';
import type { Plot } from '../plots/plot.js';
import { screen } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { CanvasPen, SvgPen } from '../strip/pen.js';

function coloursNow(): PlotColours {
  const { ink, quiet, hairline, magenta, paper } = readPalette(document.documentElement);
  return { ink, quiet, hairline, accent: magenta, paper };
}

function svgOf(plot: Plot, widthPx: number, heightPx: number): string {
  const pen = new SvgPen();
  const colours = coloursNow();
  drawPlot(pen, plot, widthPx, heightPx, colours);
  return pen.document(widthPx, heightPx, colours.paper);
}

/** A plot in the sheet, with its caption and the ways to save it. */
export function PlotView({ plot }: { readonly plot: Plot }) {
  const dusk = useStore(screen, (now) => now.dusk);
  const host = useRef<HTMLDivElement>(null);
  const [width, setWidth] = useState(0);
  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const observer = new ResizeObserver(() => setWidth(place.clientWidth));
    observer.observe(place);
    return () => observer.disconnect();
  }, []);
  const height = plot.equal ? Math.min(width, 330) : 210;
  const svg = useMemo(() => (width < 80 ? '' : svgOf(plot, width, height)), [plot, width, height, dusk]);
  return (
    <figure className="plot">
      <div className="plot-host" ref={host} role="img" aria-label={`${plot.title}. ${plot.caption}`} style={{ minHeight: height }} dangerouslySetInnerHTML={{ __html: svg }} />
      <figcaption>
        <strong>{plot.title}</strong> {plot.caption}
      </figcaption>
      <div className="small-actions" role="group" aria-label={`Save the plot: ${plot.title}`}>
        <button type="button" onClick={() => download(new Blob([svgOf(plot, 640, plot.equal ? 560 : 380)], { type: 'image/svg+xml' }), `${plot.name}.svg`)}>
          SVG
        </button>
        <button type="button" onClick={() => savePng(plot)}>
          PNG
        </button>
        <button type="button" onClick={() => download(new Blob([plotCsv(plot)], { type: 'text/csv' }), `${plot.name}.csv`)}>
          CSV
        </button>
      </div>
    </figure>
  );
}

function savePng(plot: Plot): void {
  const [width, height, scale] = [640, plot.equal ? 560 : 380, 2];
  const canvas = document.createElement('canvas');
  canvas.width = width * scale;
  canvas.height = height * scale;
  const ctx = canvas.getContext('2d');
  if (ctx === null) return;
  const colours = coloursNow();
  ctx.scale(scale, scale);
  ctx.fillStyle = colours.paper;
  ctx.fillRect(0, 0, width, height);
  drawPlot(new CanvasPen(ctx), plot, width, height, colours);
  canvas.toBlob((blob) => blob !== null && download(blob, `${plot.name}.png`));
}
