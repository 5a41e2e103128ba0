import { contourLines, type Contours } from '../depths/contour.js';
import { geoJsonText } from './geojson-out.js';
import { writeMade } from './atomic-file.js';
import { PLACES, placeIn } from './folder.js';
import { needFrame } from './survey-frame.js';
import { surfaceOf } from './step-surface.js';
import type { Made, Step } from './step-graph.js';

/** Figures of the contours. */
export const CONTOUR_FIGURES = 'derived/contours.json';

export const stepContours: Step = {
  name: 'contours',
  version: 1,
  after: ['surface'],
  settings: ['contours.intervalM', 'contours.smooth'],
  files: () => [],
  async run(work): Promise<Made> {
    const surface = await surfaceOf(work);
    const { intervalM, smooth } = work.settings.contours;
    const contours: Contours | null =
      surface === null ? null : contourLines({ grid: surface.grid, values: surface.depthM }, { intervalM, smooth, minLengthM: 4 * surface.grid.cellM });
    work.memory.set('contours', contours);
    const frame = surface === null ? null : await needFrame(work.folder, work.settings, work.logs);
    const features = contours === null || frame === null ? [] : contours.lines.map((line, i) => ({ line, properties: { depthM: contours.levelM[i] as number, lengthM: Math.round((contours.lengthM[i] as number) * 10) / 10, closed: contours.closed[i] === 1 } }));
    const text = geoJsonText(features, frame);
    const figures = { count: contours?.n ?? 0, lengthM: contours === null ? 0 : contours.lengthM.reduce((sum, one) => sum + one, 0), intervalM };
    const figuresText = `${JSON.stringify(figures, null, 2)}\n`;
    return {
      [PLACES.contours]: await writeMade(placeIn(work.folder, PLACES.contours), text),
      [CONTOUR_FIGURES]: await writeMade(placeIn(work.folder, CONTOUR_FIGURES), figuresText),
    };
  },
};
