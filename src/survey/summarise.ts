import { readdir, stat } from 'node:fs/promises';
import { polygonAreaM2 } from '../geo/ring.js';
import { describeEntry } from './describe-entry.js';
import { FINDS_PLACES } from './finds-places.js';
import { placeIn, readTextIfThere } from './folder.js';
import { hashFile } from './file-source.js';
import { IMAGERY_PLACES } from './imagery-files.js';
import { readPlanPolygons } from './plan-files.js';
import { LINES_FIGURES } from './plan-lines.js';
import { CHART_FIGURES } from './step-chart.js';
import { CONTOUR_FIGURES } from './step-contours.js';
import { GAP_FIGURES } from './step-gaps.js';
import { readInstrumentChecks } from './step-instruments.js';
import { SOUNDING_FIGURES } from './step-soundings.js';
import { SURFACE_FIGURES } from './step-surface.js';
import { BOAT_FIGURES } from './boat-places.js';
import { madePlace, stepStates, type MadeRecord, type StepWork } from './step-graph.js';
import { STEPS } from './steps.js';
import { REHEARSAL_PLACE, SORTIE_FIGURES } from './sortie-places.js';
import type { BoatSummary, BottomSummary, ChartSummary, ClockSummary, FindsSummary, GapsSummary, ImagerySummary, LinesSummary, MosaicSummary, RehearsalSummary, SearchSummary, SortiesSummary, SoundingsSummary, SurfaceSummary, SurveySummary } from './summary.js';
import { surveyFrame } from './survey-frame.js';
import { surveyNotes } from './survey-notes.js';

/** Figures that a step wrote; null where it has not run, or had nothing to work on. */
async function figures<T>(folder: string, place: string): Promise<T | null> {
  const text = await readTextIfThere(placeIn(folder, place));
  if (text === null) return null;
  return JSON.parse(text) as T | null;
}

async function products(folder: string): Promise<SurveySummary['products']> {
  const known = new Map<string, { sha256: string; bytes: number }>();
  for (const step of ['products', 'chart', 'report']) {
    const text = await readTextIfThere(placeIn(folder, madePlace(step)));
    if (text === null) continue;
    for (const [place, output] of Object.entries((JSON.parse(text) as MadeRecord).outputs)) known.set(place, output);
  }
  const names = await readdir(placeIn(folder, 'products')).catch(() => [] as string[]);
  const list: { path: string; bytes: number; sha256: string }[] = [];
  for (const name of names.filter((one) => !one.startsWith('.')).sort()) {
    const place = `products/${name}`;
    const there = await stat(placeIn(folder, place)).catch(() => null);
    if (there === null || !there.isFile()) continue;
    const output = known.get(place);
    list.push({ path: place, bytes: there.size, sha256: output?.bytes === there.size ? output.sha256 : await hashFile(placeIn(folder, place)) });
  }
  return list;
}

/** What figures of an earlier version did not say, until they are built again. */
const UNSAID: { readonly soundings: Pick<SoundingsSummary, 'corrections' | 'notes'>; readonly sortie: { readonly conditions: readonly string[] } } = { soundings: { corrections: [], notes: [] }, sortie: { conditions: [] } };

function wholeSoundings(found: SoundingsSummary | null): SoundingsSummary | null {
  return found === null ? null : { ...UNSAID.soundings, ...found };
}

function wholeRehearsal(found: RehearsalSummary | null): RehearsalSummary | null {
  if (found === null) return null;
  const word: Pick<RehearsalSummary, 'word'> = { word: found.go ? 'GO' : 'NO-GO' };
  return { ...word, ...found, sorties: found.sorties.map((each) => ({ ...UNSAID.sortie, ...each })) };
}

/** Figures of the side-scan steps; null where there are no pings. */
async function imagery(folder: string): Promise<ImagerySummary | null> {
  const bottom = await figures<BottomSummary>(folder, IMAGERY_PLACES.bottomFigures);
  if (bottom === null) return null;
  return { bottom, clock: await figures<ClockSummary>(folder, IMAGERY_PLACES.clock), mosaic: await figures<MosaicSummary>(folder, IMAGERY_PLACES.mosaicFigures) };
}

/** The summary of a survey as its files stand now. */
export async function summarise(work: StepWork): Promise<SurveySummary> {
  const { folder, settings, logs } = work;
  const frame = await surveyFrame(folder, settings, logs);
  const area = frame === null ? null : await readPlanPolygons(folder, settings, 'area');
  const last = work.decisions[work.decisions.length - 1];
  const partial = {
    folder,
    settings,
    frame: frame === null ? null : { label: frame.label, epsg: frame.epsg, zone: frame.setting.zone, hemisphere: frame.setting.hemisphere },
    area: area === null || area.length === 0 ? null : { areaM2: area.reduce((sum, polygon) => sum + polygonAreaM2(polygon), 0), polygons: area.length },
    lines: await figures<LinesSummary>(folder, LINES_FIGURES),
    logs,
    soundings: wholeSoundings(await figures<SoundingsSummary>(folder, SOUNDING_FIGURES)),
    instruments: await readInstrumentChecks(folder),
    surface: await figures<SurfaceSummary>(folder, SURFACE_FIGURES),
    contours: await figures<NonNullable<SurveySummary['contours']>>(folder, CONTOUR_FIGURES),
    gaps: await figures<GapsSummary>(folder, GAP_FIGURES),
    imagery: await imagery(folder),
    finds: await figures<FindsSummary>(folder, FINDS_PLACES.figures),
    search: await figures<SearchSummary>(folder, FINDS_PLACES.search),
    boat: await figures<BoatSummary>(folder, BOAT_FIGURES),
    sorties: await figures<SortiesSummary>(folder, SORTIE_FIGURES),
    rehearsal: wholeRehearsal((await figures<{ readonly summary: RehearsalSummary }>(folder, REHEARSAL_PLACE))?.summary ?? null),
    chart: await figures<ChartSummary>(folder, CHART_FIGURES),
    products: await products(folder),
    steps: await stepStates(STEPS, work),
    decisions: { count: work.decisions.length, last: last === undefined ? null : describeEntry(last) },
  };
  return { ...partial, notes: surveyNotes(partial) };
}
