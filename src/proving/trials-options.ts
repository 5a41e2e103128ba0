/** What a trials run of the proving ground can be told. */
export interface TrialsOptions {
  /** `hour`: the whole script. `short`: one of each in some eight minutes, for tests. */
  readonly script: 'hour' | 'short';
  /** First second of the log, UTC [s]. */
  readonly startS: number;
  /** Positions a second, 1 to 10, a divisor of 50. */
  readonly fixHz: number;
  /** Largest current that is drawn [m/s], and largest change of it in an hour [m/s]. */
  readonly currentMps: number;
  readonly currentChangeMps: number;
  /** Wind drawn up to this [m/s]; the boat drifts with `leewayShare` of it. */
  readonly windMps: number;
  readonly leewayShare: number;
  /** Chop: push ahead as a share of full thrust, moment [N m], one sigma. */
  readonly chopShare: number;
  readonly chopNm: number;
  /** Errors of positions, one sigma, one dimension: correlated over 120 s, over 6 s, white [m]. */
  readonly slowM: number;
  readonly quickM: number;
  readonly whiteM: number;
  /** Compass: constant error drawn once, and noise [deg]. */
  readonly compassConstantDeg: number;
  readonly compassNoiseDeg: number;
  /** Which instruments the log has besides positions. */
  readonly heading: boolean;
  readonly speedLog: boolean;
  readonly commands: boolean;
  readonly battery: boolean;
  /** Speed log: scale error drawn once (share), noise [m/s]. */
  readonly speedLogScale: number;
  readonly speedLogNoiseMps: number;
  /** Noise of voltage [V] and of current as a share. */
  readonly voltageNoiseV: number;
  readonly currentNoiseShare: number;
  /** Gaps of 3 to 12 s in the positions, and epochs lost one at a time (share). */
  readonly gapsPerHour: number;
  readonly lostShare: number;
  /** Lines of text damaged in one way or another (share). */
  readonly damageShare: number;
}

export type TrialsChanges = Partial<TrialsOptions>;

/** A fair day with a receiver good to some centimetres over a minute. */
export const TRIALS_DEFAULTS: TrialsOptions = {
  script: 'hour',
  startS: 1_781_686_800,
  fixHz: 10,
  currentMps: 0.4,
  currentChangeMps: 0.25,
  windMps: 5,
  leewayShare: 0.01,
  chopShare: 0.02,
  chopNm: 0.08,
  slowM: 0.08,
  quickM: 0.02,
  whiteM: 0.012,
  compassConstantDeg: 1,
  compassNoiseDeg: 0.4,
  heading: true,
  speedLog: true,
  commands: true,
  battery: true,
  speedLogScale: 0.02,
  speedLogNoiseMps: 0.03,
  voltageNoiseV: 0.02,
  currentNoiseShare: 0.01,
  gapsPerHour: 2,
  lostShare: 0.002,
  damageShare: 0.001,
};
