import { checkRoute, type Route } from './route.js';

export interface RouteNmeaOptions {
  /** Two letters before the sentence type; default EC, an electronic chart. */
  readonly talker?: string;
  /** How the route is called in RTE, up to 8 letters and digits; default 1. */
  readonly routeId?: string;
}

/** A sentence has at most 82 characters, with the $ and the line end. */
const LONGEST = 82;

/**
 * A route as NMEA 0183 sentences: a WPL for each waypoint, then as many RTE as their list needs, each ended by CR LF.
 *
 * Names become waypoint identifiers of letters, digits and -: what else a name holds is left out, long ones are cut to 8, and a
 * number is put to those that would be alike or empty. Positions to 1e-5 minutes (2 cm).
 *
 * @throws RangeError for fewer than two waypoints, a position off the world, a talker or route id of other signs
 * Source: IEC 61162-1 / NMEA 0183: WPL (lat, lon, identifier), RTE (sentences, number, c for complete, route, waypoints),
 * checksum the exclusive or of what stands between $ and *; from memory, held against independent readers in the tests.
 */
export function writeRouteNmea(route: Route, options: RouteNmeaOptions = {}): string {
  checkRoute(route);
  const { talker = 'EC', routeId = '1' } = options;
  if (!/^[A-Z]{2}$/.test(talker)) throw new RangeError(`talker ${talker}: expected two capital letters`);
  if (!/^[A-Za-z0-9]{1,8}$/.test(routeId)) throw new RangeError(`routeId ${routeId}: expected 1 to 8 letters and digits`);
  const names = identifiers(route.waypoints.map((one) => one.name));
  const sentences = route.waypoints.map((one, i) => sentence(`${talker}WPL,${minutes(one.latDeg, 2, 'N', 'S')},${minutes(one.lonDeg, 3, 'E', 'W')},${names[i]!}`));
  // Parts filled greedily, as though counts had four digits.
  const parts: string[][] = [[]];
  const room = LONGEST - `$${talker}RTE,9999,9999,c,${routeId}*hh\r\n`.length;
  let used = 0;
  for (const name of names) {
    if (used + 1 + name.length > room) {
      parts.push([]);
      used = 0;
    }
    parts[parts.length - 1]!.push(name);
    used += 1 + name.length;
  }
  parts.forEach((part, i) => sentences.push(sentence(`${talker}RTE,${parts.length},${i + 1},c,${routeId},${part.join(',')}`)));
  return sentences.join('');
}

function sentence(body: string): string {
  let sum = 0;
  for (let i = 0; i < body.length; i++) sum ^= body.charCodeAt(i);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}\r\n`;
}

/** `4612.34567,N`; rounded as a whole, so that 60 minutes become the next degree. */
function minutes(valueDeg: number, degreeDigits: number, positive: string, negative: string): string {
  const units = Math.round(Math.abs(valueDeg) * 60 * 1e5);
  const degrees = Math.floor(units / 6e6);
  const rest = ((units - degrees * 6e6) / 1e5).toFixed(5).padStart(8, '0');
  return `${String(degrees).padStart(degreeDigits, '0')}${rest},${valueDeg < 0 && units > 0 ? negative : positive}`;
}

/** Identifiers that differ, of 1 to 8 signs the standard lets stand. */
function identifiers(names: readonly string[]): string[] {
  const taken = new Set<string>();
  return names.map((name, i) => {
    const plain = name.normalize('NFKD').replace(/[^A-Za-z0-9-]/g, '').slice(0, 8);
    let found = plain === '' ? `W${i + 1}`.slice(0, 8) : plain;
    for (let k = 2; taken.has(found.toUpperCase()); k++) {
      const tail = `-${k}`;
      found = `${(plain === '' ? `W${i + 1}` : plain).slice(0, 8 - tail.length)}${tail}`;
    }
    taken.add(found.toUpperCase());
    return found;
  });
}
