import PointerInteraction from 'ol/interaction/Pointer.js';
import type MapBrowserEvent from 'ol/MapBrowserEvent.js';
import { modeOf, type SelectMode } from '../select/rows.js';

/** A stroke of the brush on the chart. */
export interface BrushEvents {
  /** The brush is at this place; called along the whole stroke, no further apart than half a radius. */
  paint(xM: number, yM: number, mode: SelectMode): void;
  /** The stroke has moved on: what was painted can be shown. */
  show(): void;
}

/** Paints over soundings with the pointer held down; Alt takes out instead. */
export class BrushInteraction extends PointerInteraction {
  #last: readonly [number, number] = [0, 0];
  readonly #radiusM: () => number;
  readonly #events: BrushEvents;

  constructor(radiusM: () => number, events: BrushEvents) {
    super();
    this.#radiusM = radiusM;
    this.#events = events;
  }

  override handleDownEvent(event: MapBrowserEvent): boolean {
    const original = event.originalEvent as PointerEvent;
    if (original.button > 0) return false;
    const [xM, yM] = event.coordinate as [number, number];
    this.#last = [xM, yM];
    this.#events.paint(xM, yM, modeOf(original, 'add'));
    this.#events.show();
    return true;
  }

  override handleDragEvent(event: MapBrowserEvent): void {
    const [xM, yM] = event.coordinate as [number, number];
    const [fromX, fromY] = this.#last;
    const steps = Math.max(1, Math.ceil(Math.hypot(xM - fromX, yM - fromY) / (this.#radiusM() / 2)));
    const mode = modeOf(event.originalEvent as PointerEvent, 'add');
    for (let k = 1; k <= steps; k++) this.#events.paint(fromX + ((xM - fromX) * k) / steps, fromY + ((yM - fromY) * k) / steps, mode);
    this.#last = [xM, yM];
    this.#events.show();
  }

  override handleUpEvent(): boolean {
    this.#events.show();
    return false;
  }
}
