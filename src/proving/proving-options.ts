import type { LeverArm } from './echo-sounder.js';
import type { ProvingSize } from './proving-survey.js';

/** One-sigma sizes of the errors put in. They are also what survey.json states; 0 switches one off in both. */
export interface ErrorTerms {
  /** Each ping anew [m], and as a share of depth. */
  readonly sounderM: number;
  readonly sounderShare: number;
  /** Drawn once a survey [m]. */
  readonly draftM: number;
  readonly squatM: number;
  /** A swell of some seconds [m]. */
  readonly heaveM: number;
  /** Each gauge reading anew [m]. */
  readonly waterLevelM: number;
  /** Gauge against boat, a swing of 11 minutes, root mean square [m]. */
  readonly zoningM: number;
  /** Drawn once a survey, the same at all depths [m/s]. */
  readonly soundSpeedMps: number;
  /** Echo sounder against GNSS, drawn once a survey [s]. */
  readonly timeS: number;
  /** One dimension; correlated over two minutes and some seconds, a little of it white [m]. */
  readonly gnssM: number;
  /** Each heading anew, and a constant of half as much drawn once a survey [deg]. */
  readonly headingDeg: number;
}

/** What goes wrong on purpose. Shares are of pings or of sentences. */
export interface FaultRates {
  readonly spikeShare: number;
  readonly burstShare: number;
  readonly doubleShare: number;
  readonly dropoutShare: number;
  readonly frozenPerHour: number;
  readonly jumpsPerHour: number;
  readonly fixGapsPerHour: number;
  /** Lines of text damaged in one way or another. */
  readonly damageShare: number;
}

/** Instruments and waters beyond the demo's; what is null is as in the demo. */
export interface ErrorSources {
  /** A motion sensor that logs roll, pitch and heave so often, with errors that last about two seconds. */
  readonly motionSensor: { readonly hz: number; readonly angleNoiseDeg: number; readonly heaveNoiseM: number; readonly at: LeverArm } | null;
  /** Water whose warm layer changes by so much over the survey, and how many casts the crew took. */
  readonly casts: { readonly count: number; readonly changeMps: number } | null;
  /** A gauge away from the survey: the survey's water is later, and its range larger, than the gauge's. */
  readonly gaugeElsewhere: { readonly laterS: number; readonly rangeFactor: number; readonly addM: number } | null;
  /** A receiver with centimetre heights of quality 4, one sigma, and what the crew's separation is off by, drawn once [m]. */
  readonly rtk: { readonly heightM: number; readonly separationM: number } | null;
  /** The crew give squat by speed, as it truly is, rather than one number. */
  readonly squatBySpeed: boolean;
  /** How far the logger's clock is ahead of UTC; nobody knows of it [s]. */
  readonly loggerClockS: number;
  /** Where the sensors sit, as the crew measured it too. */
  readonly antenna: LeverArm | null;
  readonly transducer: LeverArm | null;
}

/** What is drawn once a survey. */
export type DrawnOnce = 'draftM' | 'squatM' | 'soundSpeedMps' | 'timeS' | 'headingDeg' | 'separationM' | 'zoningM';

/** Everything a proving survey can be told. */
export interface ProvingOptions {
  readonly size: ProvingSize;
  /** Start of the first log, UTC [s]. */
  readonly startS: number;
  readonly pingHz: number;
  readonly fixHz: number;
  readonly headingHz: number;
  readonly spacingM: number;
  readonly speedMps: number;
  /** Full width of the echo sounder's beam [deg]. */
  readonly beamWidthDeg: number;
  /** Of the boat in the inlet's chop, one sigma [deg]. No sensor measures them, unless `sources` has one. */
  readonly rollDeg: number;
  readonly pitchDeg: number;
  readonly errors: ErrorTerms;
  readonly faults: FaultRates;
  readonly sources: ErrorSources;
  /**
   * Of errors that are drawn once a survey, how many sigmas each is to be, instead of being drawn: so that many surveys can
   * have them spread evenly. Of `zoningM` the height of the swing in its root mean squares, otherwise the square root of 2.
   */
  readonly drawnSigmas: Partial<Readonly<Record<DrawnOnce, number>>>;
  /** Whether the boat keeps clear of a mooring that was not in the plan and so leaves a hole. */
  readonly hole: boolean;
  /** Time the logger writes before each line: ISO 8601, seconds since 1970, a TAG block (IEC 61162-450 c:), or none. */
  readonly stamp: 'iso' | 'epoch' | 'tag' | 'none';
  readonly format: 'nmea' | 'csv';
  readonly depthSentence: 'DBT' | 'DPT';
}

/** A careful crew: a bar check, a cast and a gauge on the day; no motion sensor in sheltered water. */
export const DEFAULT_ERRORS: ErrorTerms = {
  sounderM: 0.03,
  sounderShare: 0.003,
  draftM: 0.004,
  squatM: 0.002,
  heaveM: 0.03,
  waterLevelM: 0.015,
  zoningM: 0.01,
  soundSpeedMps: 0.4,
  timeS: 0.03,
  gnssM: 0.25,
  headingDeg: 1,
};

export const DEFAULT_FAULTS: FaultRates = {
  spikeShare: 0.003,
  burstShare: 0.0006,
  doubleShare: 0.0008,
  dropoutShare: 0.001,
  frozenPerHour: 3,
  jumpsPerHour: 8,
  fixGapsPerHour: 4,
  damageShare: 0.002,
};

/** No faults and no damage: what is left is noise. */
export const NO_FAULTS: FaultRates = {
  spikeShare: 0,
  burstShare: 0,
  doubleShare: 0,
  dropoutShare: 0,
  frozenPerHour: 0,
  jumpsPerHour: 0,
  fixGapsPerHour: 0,
  damageShare: 0,
};

/** As in the demo. */
export const NO_SOURCES: ErrorSources = { motionSensor: null, casts: null, gaugeElsewhere: null, rtk: null, squatBySpeed: false, loggerClockS: 0, antenna: null, transducer: null };

/** What may be changed, term by term. */
export type ProvingChanges = Partial<Omit<ProvingOptions, 'size' | 'errors' | 'faults' | 'sources'>> & {
  readonly sources?: Partial<ErrorSources>;
  readonly errors?: Partial<ErrorTerms>;
  readonly faults?: Partial<FaultRates>;
};

/** The options of a size, with changes. */
export function provingOptions(size: ProvingSize, changes: ProvingChanges = {}): ProvingOptions {
  const { errors, faults, sources, ...rest } = changes;
  const bySize =
    size === 'short' ? { pingHz: 8, spacingM: 5 } : size === 'bank' ? { pingHz: 5, spacingM: 6 } : size === 'demo' ? { pingHz: 8, spacingM: 10 } : { pingHz: 16, spacingM: 9 };
  const options: ProvingOptions = {
    size,
    // 2026-06-17T08:30:00Z
    startS: 1_781_685_000,
    fixHz: 5,
    headingHz: 5,
    speedMps: 1.5,
    beamWidthDeg: 6,
    rollDeg: 1.2,
    pitchDeg: 0.8,
    hole: true,
    stamp: 'iso',
    format: 'nmea',
    depthSentence: 'DBT',
    drawnSigmas: {},
    ...bySize,
    ...rest,
    errors: { ...DEFAULT_ERRORS, ...errors },
    faults: { ...DEFAULT_FAULTS, ...faults },
    sources: { ...NO_SOURCES, ...sources },
  };
  for (const key of ['pingHz', 'fixHz', 'headingHz', 'spacingM', 'speedMps', 'beamWidthDeg'] as const) {
    if (!(options[key] > 0 && Number.isFinite(options[key]))) throw new RangeError(`${key} ${options[key]}: expected more than 0`);
  }
  if (options.format === 'csv' && options.sources.motionSensor !== null) throw new RangeError('format csv: expected nmea where there is a motion sensor');
  const { rollDeg, pitchDeg } = options;
  for (const [key, value] of Object.entries({ rollDeg, pitchDeg, ...options.errors, ...options.faults })) {
    if (!(value >= 0 && Number.isFinite(value))) throw new RangeError(`${key} ${value}: expected 0 or more`);
  }
  return options;
}
