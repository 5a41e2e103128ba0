import { formatUtc } from '../base/time.js';
import type { CauseKind, CrossingCause } from '../depths/crossing-causes.js';

const SHORT: Readonly<Record<CauseKind, string>> = {
  'tide-time': 'a water level on a wrong clock',
  'tide-range': 'a tide of another range at the boat than at the gauge',
  'level-step': 'a step in the water level',
  'trip-step': 'another draft from one trip to the next',
  latency: 'positions that lag depths',
  'offset-forward': 'a sounder further ahead than said',
  'offset-starboard': 'a sounder further to starboard than said',
  roll: 'a beam that points sideways',
  squat: 'extra draft at speed',
  'one-line': 'one bad line',
};

/** What a cause is, in short. */
export function causeName(kind: CauseKind): string {
  return SHORT[kind];
}

function metres(value: number): string {
  return `${Math.abs(value).toFixed(2)} m`;
}

function span(seconds: number): string {
  const minutes = Math.abs(seconds) / 60;
  return minutes >= 90 ? `${(minutes / 60).toFixed(1)} h` : `${minutes.toFixed(0)} min`;
}

/** A cause in one or two sentences: what, how much, since when, and what to look at. */
export function causeWords(cause: CrossingCause): string {
  const { value, half95 } = cause;
  const within = (text: string): string => `${text} by their scatter (95 %)`;
  const core = ((): string => {
    switch (cause.kind) {
      case 'tide-time':
        return `The water level looks ${span(value)} ${value > 0 ? 'late' : 'early'}, ${within(`give or take ${span(half95)}`)}: look at the time zone and the clock of the tide series`;
      case 'tide-range':
        return `The tide at the boat looks ${Math.abs(value * 100).toFixed(0)} % ${value > 0 ? 'larger' : 'smaller'} than the level used, ${within(`give or take ${(half95 * 100).toFixed(0)} %`)}: look at the range factor of the gauge, or use one nearer`;
      case 'level-step':
        return `From ${formatUtc(cause.timeS)} on, depths read ${metres(value)} ${value > 0 ? 'too deep' : 'too shoal'}, ${within(`give or take ${metres(half95)}`)}: a step in time, look at the water level there, and at whether anything on the boat was moved`;
      case 'trip-step':
        return `From the trip that begins at ${formatUtc(cause.timeS)} on, depths read ${metres(value)} ${value > 0 ? 'too deep' : 'too shoal'}, ${within(`give or take ${metres(half95)}`)}: the draft differs between trips (another battery, load or mount), or the water level stepped meanwhile; measure the draft again`;
      case 'latency':
        return `Positions look ${Math.abs(value).toFixed(2)} s ${value > 0 ? 'older' : 'younger'} than their depths, ${within(`give or take ${half95.toFixed(2)} s`)}: run a latency check, then correct the age of positions`;
      case 'offset-forward':
        return `The sounder looks ${metres(value)} ${value > 0 ? 'further ahead' : 'further astern'} than its offsets say, ${within(`give or take ${metres(half95)}`)}: measure from the antenna to the transducer again; latency looks much the same at one speed`;
      case 'offset-starboard':
        return `The sounder looks ${metres(value)} further to ${value > 0 ? 'starboard' : 'port'} than its offsets say, ${within(`give or take ${metres(half95)}`)}: measure from the antenna to the transducer again, and look at the heading`;
      case 'roll':
        return `The beam looks tilted ${Math.abs(value).toFixed(1)} degrees to ${value > 0 ? 'starboard' : 'port'}, ${within(`give or take ${half95.toFixed(1)}`)}: look at how the transducer is mounted and how the boat lies in the water`;
      case 'squat':
        return `Depths change with speed by ${metres(value)} at 1 m/s (with the square of speed), ${within(`give or take ${metres(half95)}`)}: the boat ${value > 0 ? 'sits deeper' : 'lifts'} under way; correct the squat`;
      case 'one-line':
        return `Line ${cause.line} alone reads ${metres(value)} ${value > 0 ? 'too deep' : 'too shoal'}, ${within(`give or take ${metres(half95)}`)}: look at that line, or run it again`;
    }
  })();
  const also = cause.alsoKinds.length === 0 ? '' : ` It could also be ${cause.alsoKinds.map(causeName).join(', or ')}.`;
  return `${core}. It explains ${(cause.share * 100).toFixed(0)} % of the differences at crossings.${also}`;
}
