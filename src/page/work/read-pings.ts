import type { LoadedPings } from './imagery-messages.js';
import { readColumns } from './read-columns.js';

/**
 * Reads the pings of the side-scan logs with the bottom under them and the track of the sonar. What is not made yet is not known: NaN.
 * @returns null where there are no pings
 */
export async function readPings(pingsUrl: string, bottomUrl: string, trackUrl: string, signal: AbortSignal): Promise<LoadedPings | null> {
  const [pings, bottom, track] = await Promise.all([
    readColumns(pingsUrl, { signal }, (n) => ({ timeS: new Float64Array(n), log: new Uint16Array(n), record: new Uint32Array(n), portSamples: new Uint32Array(n), starboardSamples: new Uint32Array(n), intervalS: new Float64Array(n), delayS: new Float64Array(n) }), true),
    readColumns(bottomUrl, { signal }, noBottom, true),
    readColumns(trackUrl, { signal }, noTrack, true),
  ]);
  if (pings === null || pings.n === 0) return null;
  const { n } = pings;
  // A file of other pings is one that is being made anew.
  const { heightM, ...floor } = bottom?.n === n ? bottom.columns : noBottom(n);
  const sonar = track?.n === n ? track.columns : { ...noTrack(n), timeS: pings.columns.timeS };
  return { n, ...pings.columns, ...floor, ...sonar, firstEchoM: heightM } as unknown as LoadedPings;
}

const unknown = (n: number): Float32Array => new Float32Array(n).fill(NaN);

/** The bottom where nothing is known of it. */
function noBottom(n: number) {
  return { heightM: unknown(n), heightSigmaM: unknown(n), confidence: new Float32Array(n), source: new Uint8Array(n) };
}

/** The sonar's track where nothing is known of it. */
function noTrack(n: number) {
  return { timeS: new Float64Array(n), xM: new Float64Array(n).fill(NaN), yM: new Float64Array(n).fill(NaN), gridHeadingDeg: unknown(n), speedMps: unknown(n), sigmaM: unknown(n), headingSigmaDeg: unknown(n), line: new Int32Array(n).fill(-1), fault: new Uint8Array(n), portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) };
}
