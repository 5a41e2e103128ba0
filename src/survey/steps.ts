import type { Step } from './step-graph.js';
import { stepBoat } from './step-boat.js';
import { stepChart } from './step-chart.js';
import { stepContours } from './step-contours.js';
import { stepFinds } from './step-finds.js';
import { stepGaps } from './step-gaps.js';
import { stepInstruments } from './step-instruments.js';
import { stepObservations } from './step-observations.js';
import { stepBottom } from './step-bottom.js';
import { stepMosaic } from './step-mosaic.js';
import { stepSonarTrack } from './step-sonar-track.js';
import { stepPings } from './step-pings.js';
import { stepProducts } from './step-products.js';
import { stepRehearsal } from './step-rehearsal.js';
import { stepReport } from './step-report.js';
import { stepSearch } from './step-search.js';
import { stepSightings } from './step-sightings.js';
import { stepSorties } from './step-sorties.js';
import { stepSoundings } from './step-soundings.js';
import { stepSurface } from './step-surface.js';
import { stepTracks } from './step-tracks.js';

/** Every step from raw logs to the report, each after those it needs. */
export const STEPS: readonly Step[] = [stepObservations, stepBoat, stepTracks, stepSoundings, stepInstruments, stepSurface, stepContours, stepGaps, stepPings, stepBottom, stepSonarTrack, stepMosaic, stepSightings, stepFinds, stepSearch, stepSorties, stepRehearsal, stepProducts, stepChart, stepReport];
