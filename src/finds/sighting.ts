import type { Side } from '../base/sonar.js';
import type { Candidate } from './detect.js';
import { measure, type Measure, type ReadOff } from './measure.js';
import { placeSighting, type Place } from './place.js';

/** One thing seen once: in one pass, to one side. Each value with one sigma. */
export interface Sighting {
  /** Stays the same from build to build: log, side, record and slant range in decimetres, or the journal entry that marked it. */
  readonly id: string;
  /** First 16 hex digits of the log's sha-256, and its name. */
  readonly log: string;
  readonly side: Side;
  /** Ping of its middle. */
  readonly record: number;
  /** Time at the sonar's place, UTC [s]. */
  readonly timeS: number;
  /** Line it was run on, -1 none; and a number for the run of pings, each side its own: one thing shows once in it. */
  readonly line: number;
  readonly pass: number;
  readonly byHand: boolean;
  /** What was read off, to be drawn: records [recordStart, recordEnd), slant ranges; NaN without a shadow. */
  readonly recordStart: number;
  readonly recordEnd: number;
  readonly slantStartM: number;
  readonly slantEndM: number;
  readonly shadowEndM: number;
  readonly ground: Measure;
  /** Along the track, across it and above the floor. */
  readonly length: Measure;
  readonly width: Measure;
  readonly height: Measure;
  readonly place: Place;
  /** Strength in spreads of the floor, and how many as strong a hectare of it gives by itself; NaN by hand. */
  readonly score: number;
  readonly falsePerHa: number;
  /** Why it is proposed, in plain words. */
  readonly why: string;
}

/** Where and how the sonar was at a sighting's middle. */
export interface SonarThere {
  readonly xM: number;
  readonly yM: number;
  readonly gridHeadingDeg: number;
  readonly sigmaM: number;
  readonly headingSigmaDeg: number;
}

export type SightingHead = Pick<Sighting, 'id' | 'log' | 'side' | 'record' | 'timeS' | 'line' | 'pass' | 'byHand' | 'recordStart' | 'recordEnd' | 'score' | 'falsePerHa' | 'why'>;

/**
 * The middle of what shows is not the middle of the thing: off along and across the track by a length of its own and by a share of
 * its size, by shape and the way it lies, one sigma (measured on boxes of 0.3 to 2 m at all headings on the proving ground).
 */
const SHAPE_ALONG = { ownM: 0.1, share: 0.1 };
const SHAPE_ACROSS = { ownM: 0.08, share: 0.03 };

/** A sighting from what was read off the picture and where the sonar was. */
export function makeSighting(head: SightingHead, read: ReadOff, there: SonarThere): Sighting {
  const measured = measure(read);
  // The middle along the track is half the two ends' errors as a root of squares.
  const alongSigmaM = Math.hypot(read.alongSigmaM / 2, SHAPE_ALONG.ownM, SHAPE_ALONG.share * measured.length.value);
  return {
    ...head,
    slantStartM: read.slantStartM,
    slantEndM: read.slantEndM,
    shadowEndM: read.shadowEndM,
    ground: measured.ground,
    length: measured.length,
    width: measured.width,
    height: measured.height,
    place: placeSighting({
      side: head.side,
      sonarXM: there.xM,
      sonarYM: there.yM,
      gridHeadingDeg: there.gridHeadingDeg,
      sonarSigmaM: there.sigmaM,
      headingSigmaDeg: there.headingSigmaDeg,
      groundM: measured.ground.value,
      groundSigmaM: Math.hypot(measured.ground.sigma, SHAPE_ACROSS.ownM, SHAPE_ACROSS.share * measured.width.value),
      alongSigmaM,
    }),
  };
}

/** Why a candidate is proposed. */
export function whyProposed(candidate: Candidate, stepM: number, binM: number): string {
  const { echoDb, shadowDb, falsePerHa, roughness, pingEnd, pingStart, shadowEnd, shadowStart } = candidate;
  const rate = falsePerHa >= 0.01 ? `${falsePerHa.toPrecision(1)} a hectare` : 'fewer than one in 100 hectares';
  return [
    `echo ${echoDb.toFixed(0)} dB above the floor beside it over ${((pingEnd - pingStart) * stepM).toFixed(1)} m (${pingEnd - pingStart} pings)`,
    `a shadow ${shadowDb.toFixed(0)} dB below it, ${((shadowEnd - shadowStart) * binM).toFixed(1)} m long`,
    `this floor gives ${rate} as strong by itself`,
    ...(roughness > 1.3 ? [`the floor about it is rough: contrasts reach ${roughness.toFixed(1)} times as far as on plain ground`] : []),
  ].join('; ');
}
