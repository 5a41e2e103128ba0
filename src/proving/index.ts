/** The proving ground: an invented inlet, boat and instruments with known truth, writing only standard logs and a truth file. */
export { DEMO_SEED, demoSurvey, proveSurvey } from './demo-survey.js';
export type { LogSink, Place, ProvingSize, ProvingSurvey, RunLine } from './proving-survey.js';
export { DEFAULT_ERRORS, DEFAULT_FAULTS, NO_FAULTS } from './proving-options.js';
export type { ErrorTerms, FaultRates, ProvingChanges } from './proving-options.js';
export { createFloor } from './floor.js';
export type { BottomKind, Floor } from './floor.js';
export { LINE_DAMAGE, PING_FAULTS, POSITION_FAULTS } from './truth.js';
export type { LogTruth, PingTruth, Truth } from './truth.js';
export { readTruthText, writeTruthText } from './truth-text.js';
export { compareWithTruth } from './compare.js';
export type { ProvingFigures, ResultColumns, ResultSurface, SpikeFigures, SurfaceFigures } from './compare.js';
export type { ErrorFigures, Share } from './error-figures.js';
export { provingVerdict } from './verdict.js';
export type { ProvingPromise } from './verdict.js';
