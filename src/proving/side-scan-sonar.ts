import type { LeverArm } from './echo-sounder.js';

/** A side-scan sonar of the proving ground: two transducers that look down and out to either side. */
export interface SideScanSonar {
  readonly frequencyHz: number;
  /** Two-way beam width along track between half-power points [deg], and the transducer's length, below which no beam narrows [m]. */
  readonly beamDeg: number;
  readonly apertureM: number;
  /** Axis of the vertical beam below the horizontal, and its one-way width between half-power points [deg]. */
  readonly axisDownDeg: number;
  readonly verticalBeamDeg: number;
  /** Rays across the beam along track that an echo is made of: 1, 3, 5, ... */
  readonly rays: number;
  /** One way [dB/m]. */
  readonly absorptionDbPerM: number;
  readonly samples: number;
  readonly rangeM: number;
  readonly pingHz: number;
  readonly mount: LeverArm;
  /** Below the surface at rest [m]. */
  readonly draftM: number;
}

/** Which errors are on. Sizes of 0 and false switch one off. */
export interface SideScanErrors {
  /** Rayleigh-distributed amplitudes; off: the root mean square itself. */
  readonly speckle: boolean;
  /** Noise of sea and electronics, the same at all ranges. */
  readonly noise: boolean;
  /** Weak echoes of the water itself, and the pulse ringing down in the transducer. */
  readonly waterColumn: boolean;
  /** Echo of the sea surface, straight above and in the side lobes. */
  readonly surfaceReturn: boolean;
  /** Each side hears the other, 32 dB weaker. */
  readonly crosstalk: boolean;
  /** Pings with noise alone, in runs of 1 to 6. */
  readonly dropouts: boolean;
  /** The range is set to three quarters from the middle of the third line to the end of it, with as many samples. */
  readonly rangeChange: boolean;
  /** Sonar's clock less UTC at the start [s], and what it gains [parts in a million]. */
  readonly clockOffsetS: number;
  readonly clockDriftPpm: number;
  /** Of the boat, one sigma. */
  readonly yawDeg: number;
  readonly rollDeg: number;
  readonly pitchDeg: number;
  readonly heaveM: number;
  readonly crossTrackM: number;
  readonly speedShare: number;
  /** Of the other instruments, one sigma: positions in one dimension [m], compass [deg], echo sounder [m]. */
  readonly gnssM: number;
  readonly headingDeg: number;
  readonly sounderM: number;
}

/** A small sonar on the hull of a small boat. */
export const DEFAULT_SONAR: SideScanSonar = {
  frequencyHz: 450_000,
  beamDeg: 0.7,
  apertureM: 0.3,
  axisDownDeg: 30,
  verticalBeamDeg: 60,
  rays: 5,
  absorptionDbPerM: 0.11,
  samples: 512,
  rangeM: 40,
  pingHz: 8,
  mount: { forwardM: 0.1, starboardM: 0, downM: 0.25 },
  draftM: 0.35,
};

export const DEFAULT_SIDE_SCAN_ERRORS: SideScanErrors = {
  speckle: true,
  noise: true,
  waterColumn: true,
  surfaceReturn: true,
  crosstalk: true,
  dropouts: true,
  rangeChange: false,
  clockOffsetS: 0,
  clockDriftPpm: 0,
  yawDeg: 0.8,
  rollDeg: 1.2,
  pitchDeg: 0.8,
  heaveM: 0.03,
  crossTrackM: 0.4,
  speedShare: 0.04,
  gnssM: 0.25,
  headingDeg: 0.5,
  sounderM: 0.03,
};

/** A boat on rails in still water with faultless instruments: what is left is the floor. */
export const NO_SIDE_SCAN_ERRORS: SideScanErrors = {
  speckle: false,
  noise: false,
  waterColumn: false,
  surfaceReturn: false,
  crosstalk: false,
  dropouts: false,
  rangeChange: false,
  clockOffsetS: 0,
  clockDriftPpm: 0,
  yawDeg: 0,
  rollDeg: 0,
  pitchDeg: 0,
  heaveM: 0,
  crossTrackM: 0,
  speedShare: 0,
  gnssM: 0,
  headingDeg: 0,
  sounderM: 0,
};
