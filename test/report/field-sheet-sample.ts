import { convergenceDeg } from '../../src/geo/bearing.js';
import { createFrame } from '../../src/geo/frame.js';
import type { Polygon } from '../../src/geo/shapes.js';
import { planLines } from '../../src/lines/plan-lines.js';
import { planSorties } from '../../src/lines/plan-sorties.js';
import { createLink } from '../../src/rehearse/link.js';
import type { LostLinkBehaviour, RehearsalOptions, RehearsalRequest } from '../../src/rehearse/rehearsal.js';
import { rehearseFully } from '../../src/rehearse/rehearse-fully.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import type { FieldSheetInput } from '../../src/report/field-sheet-input.js';
import type { CurrentField } from '../../src/water/current-field.js';
import type { WaterLevel } from '../../src/water/level.js';
import { sunPosition } from '../../src/water/sun.js';
import { boat } from '../lines/boats.js';

export const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
/** In Hollin Sound, an invented place on the open ocean. */
export const [X, Y] = frame.toFrame(46.035, -29.955);
/** 13 May 2026, 08:00 UTC. */
export const START_S = Date.UTC(2026, 4, 13, 8) / 1000;

function ring(...corners: number[]): Float64Array {
  return Float64Array.from(corners, (value, i) => value + (i % 2 === 0 ? X : Y));
}

/** Twelve-hour tide of 1.4 m either way about 2 m, high at 09:30 UTC. */
export const level: WaterLevel = { levelsAt: (timeS) => timeS.map((time) => 2 + 1.4 * Math.cos((2 * Math.PI * (time - START_S - 5400)) / 44_712)) };

/** Streams of up to 0.35 m/s east and west, a quarter of a tide before high water the fastest. */
export const current: CurrentField = {
  at(_x, _y, timeS, out) {
    const speed = -0.35 * Math.sin((2 * Math.PI * (timeS - START_S - 5400)) / 44_712);
    out[0] = speed;
    out[1] = 0.25 * speed;
    out[2] = 0.05;
  },
  startS: START_S - 86_400,
  endS: START_S + 2 * 86_400,
  maxMps: 0.37,
  source: 'a made stream',
};

export interface SampleSheetOptions {
  readonly spacingM?: number;
  readonly batteryWh?: number;
  readonly lostLink?: LostLinkBehaviour;
  readonly ratedRangeM?: number;
  readonly options?: Partial<RehearsalOptions>;
  readonly startS?: number;
  readonly bare?: boolean;
}

/** A small survey planned, cut into sorties and rehearsed by the program's own planner and rehearsal. */
export function sampleSheetInput(sample: SampleSheetOptions = {}): FieldSheetInput {
  const { spacingM = 25, batteryWh = 400, lostLink = 'straight-home', ratedRangeM = 620, startS = START_S, bare = false } = sample;
  const area: Polygon[] = [{ outer: ring(0, 0, 640, 40, 600, 330, 300, 380, -20, 300), holes: [] }];
  const keepouts: Polygon[] = [{ outer: ring(280, 150, 350, 150, 360, 200, 300, 215), holes: [] }];
  const shore: Polygon[] = [{ outer: ring(-400, -400, 900, -400, 900, -190, 620, -150, 420, -70, 250, -110, 80, -60, -120, -90, -400, -40), holes: [] }];
  const launch = { xM: X + 120, yM: Y - 45 };
  const base = { xM: X + 90, yM: Y - 80 };
  const model = boat({ batteryWh, battery95Wh: batteryWh * 0.05, hotelW: 18, powerCoefficient: 16 });
  const hazards = [...keepouts, ...shore];
  const plan = planLines({ area, keepouts: hazards, frame, options: { spacingM, headingDeg: 80, crossShare: 0.05, runInM: 5, runOutM: 5, minLengthM: 20, insetM: 6, speedMps: 1.5, turnS: 10, launch } });
  const sorties = planSorties({ plan, keepouts: hazards, frame, model, current, startS, launch, speedMps: 1.5, reserveShare: 0.2, clearanceM: 6 });
  const link = createLink({ base, frequencyMhz: 2440, baseHeightM: 2.5, boatHeightM: 0.5, budget: { kind: 'rated', rangeM: ratedRangeM, over: 'water' } });
  const options: Partial<RehearsalOptions> = { draftM: 0.25, rowS: 2, turning: 'stop-and-turn', ...sample.options };
  let departS = startS;
  const rehearsed = sorties.sorties.map((sortie) => {
    const request: RehearsalRequest = {
      sortie, boat: model, startS: departS, current, convergenceDeg: convergenceDeg(frame, X, Y), keepouts, land: shore, options,
      ...(bare ? {} : {
        level,
        bottomDepthM: (_x: number, y: number) => 1.2 + (y - Y + 50) * 0.02,
        sunAltitudeDeg: (timeS: number) => sunPosition(timeS, 46.035, -29.955).altitudeDeg,
        linkMarginDb: (x: number, y: number) => link.marginDb(x, y),
      }),
    };
    const full = rehearseFully({ ...request, options: { ...request.options, lostLink } }, { everyS: 20, clearanceM: 4 });
    const rehearsal = bare ? rehearseSortie(request) : full.rehearsal;
    const moments = bare ? null : full.moments;
    const windows = bare ? [] : [{ fromS: departS - 2700, toS: departS + 4500, go: rehearsal.verdict.go, kind: null, reason: '' }];
    departS = rehearsal.totals.endS + 900;
    return { sortie, rehearsal, moments, windows };
  });
  return {
    name: 'Hollin Sound, north bank',
    place: 'Hollin Sound (invented)',
    invented: true,
    datum: 'chart datum',
    frame, area, keepouts, shore,
    lines: [...plan.main, ...plan.cross],
    launch,
    base: bare ? null : base,
    sorties: rehearsed,
    boat: model,
    boatName: 'survey boat, twin thruster',
    options,
    lostLink,
    level: bare ? null : level,
    current,
    link: bare ? null : link,
    contacts: bare ? [] : ['Shore watch: channel 8, call every half hour', 'Harbour office: told before launch and after recovery'],
    emergency: bare ? [] : ['Someone in the water: call 112 first, then throw the line', 'Fire in a pack: leave it, upwind, well clear'],
    utcOffsetH: 1,
    routeFiles: ['plan/route.gpx', 'plan/lines.csv'],
  };
}
