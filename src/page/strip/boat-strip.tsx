import { useEffect, useMemo, useRef, useState } from 'react';
import { readPalette } from '../chart/palette.js';
import { download } from '../download.js';
import { ask, boat } from '../state/boat.js';
import { screen } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { curvesCsv } from '../words/boat.js';
import { fixed } from '../words/figures.js';
import type { AskedBoat } from '../work/messages.js';
import { drawPanels, panelScale, type PanelPicture } from './curve-panels.js';
import { CanvasPen, SvgPen } from './pen.js';
import { StripSwitch } from './strip-switch.js';

function pictureOf(asked: AskedBoat, askedMps: number, widthPx: number, heightPx: number): PanelPicture {
  const { curves, reply } = asked;
  const palette = readPalette(document.documentElement);
  return {
    widthPx,
    heightPx,
    speedMps: curves.speedMps,
    panels: [
      { title: 'Power', unit: 'W', value: curves.powerW, half95: curves.power95W },
      { title: 'Endurance', unit: 'h', value: curves.enduranceH, half95: curves.endurance95H },
      { title: 'Range over the ground', unit: 'km', value: curves.rangeKm, half95: curves.range95Km },
    ],
    askedMps,
    bestMps: reply.can ? reply.answers.bestSpeed.value : NaN,
    dashed: reply.can && reply.answers.endurance.source === 'default',
    colours: { ink: palette.ink, quiet: palette.quiet, hairline: palette.hairline, magenta: palette.magenta, band: palette.band },
  };
}

/** Power, endurance and range against speed through the water; a press on a curve asks at that speed. */
export function BoatStrip() {
  const asked = useStore(boat, (now) => now.asked);
  const question = useStore(boat, (now) => now.question);
  const dusk = useStore(screen, (now) => now.dusk);
  const host = useRef<HTMLDivElement>(null);
  const [size, setSize] = useState<readonly [number, number]>([0, 0]);
  useEffect(() => {
    const place = host.current;
    if (place === null) return;
    const measure = () => setSize([place.clientWidth, place.clientHeight]);
    const observer = new ResizeObserver(measure);
    observer.observe(place);
    return () => observer.disconnect();
  }, []);
  const picture = useMemo(() => (asked === null || asked.curves.speedMps.length === 0 || size[0] < 100 ? null : pictureOf(asked, question.speedMps, size[0], size[1])), [asked, question.speedMps, size, dusk]);
  const svg = useMemo(() => (picture === null ? '' : svgOf(picture)), [picture]);
  const askAt = (event: React.PointerEvent) => {
    if (picture === null || event.buttons === 0) return;
    const box = event.currentTarget.getBoundingClientRect();
    const x = event.clientX - box.left;
    const k = Math.min(picture.panels.length - 1, Math.max(0, Math.floor((x / box.width) * picture.panels.length)));
    const top = picture.speedMps[picture.speedMps.length - 1] ?? 1;
    ask({ speedMps: Math.min(top, Math.max(0.05, Math.round(panelScale(picture, k).speedAt(x) * 20) / 20)) });
  };
  const defaults = asked?.reply.can === true && asked.reply.answers.endurance.source === 'default';
  return (
    <section className="strip boat-strip" aria-label="Curves of the boat">
      <div className="strip-plot" ref={host} onPointerDown={askAt} onPointerMove={askAt}>
        {asked !== null && asked.curves.speedMps.length === 0 && <p className="hint">The card has no top speed: no curve can be drawn.</p>}
        <div role="img" aria-label={altText(asked, question.speedMps)} dangerouslySetInnerHTML={{ __html: svg }} />
      </div>
      <div className="strip-foot">
        <p>
          Against speed through the water, on course {fixed(question.courseDeg, 0)}° in {fixed(question.currentMps, 2)} m/s setting {fixed(question.currentSetDeg, 0)}° · band: 95{'\u00a0'}% · dotted: goes furthest{defaults ? ' · dashed: rests on defaults' : ''}
        </p>
        <div className="strip-save" role="group" aria-label="Save the curves">
          <StripSwitch />
          <button type="button" disabled={picture === null} onClick={() => picture !== null && download(new Blob([svg], { type: 'image/svg+xml' }), 'boat-curves.svg')}>
            SVG
          </button>
          <button type="button" disabled={picture === null} onClick={() => picture !== null && savePng(picture)}>
            PNG
          </button>
          <button type="button" disabled={asked === null} onClick={() => asked !== null && download(new Blob([curvesCsv(asked.curves, question)], { type: 'text/csv' }), 'boat-curves.csv')}>
            CSV
          </button>
        </div>
      </div>
    </section>
  );
}

function altText(asked: AskedBoat | null, speedMps: number): string {
  if (asked === null || !asked.reply.can) return 'Power, endurance and range against speed';
  const { power, endurance, range } = asked.reply.answers;
  return `Power, endurance and range against speed; at ${fixed(speedMps, 2)} m/s ${fixed(power.value, 0)} W, ${fixed(endurance.value, 1)} h, ${fixed(range.value, 0)} km`;
}

function svgOf(picture: PanelPicture): string {
  const pen = new SvgPen();
  drawPanels(pen, picture);
  return pen.document(picture.widthPx, picture.heightPx, readPalette(document.documentElement).paper);
}

function savePng(picture: PanelPicture): void {
  const canvas = document.createElement('canvas');
  const scale = 2;
  canvas.width = picture.widthPx * scale;
  canvas.height = picture.heightPx * scale;
  const ctx = canvas.getContext('2d');
  if (ctx === null) return;
  ctx.scale(scale, scale);
  ctx.fillStyle = readPalette(document.documentElement).paper;
  ctx.fillRect(0, 0, picture.widthPx, picture.heightPx);
  drawPanels(new CanvasPen(ctx), picture);
  canvas.toBlob((blob) => blob !== null && download(blob, 'boat-curves.png'));
}
