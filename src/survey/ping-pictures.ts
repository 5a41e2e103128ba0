import { stat } from 'node:fs/promises';
import { UseError } from '../base/errors.js';
import { waterfallPicture, type PictureGround, type PictureLook } from '../imagery/waterfall-picture.js';
import { plainGain, withPings } from '../imagery/learned-gain.js';
import { PLACES, isThere, placeIn, readTextIfThere } from './folder.js';
import { IMAGERY_PLACES, readBottom, readGain, readSonarTrack } from './imagery-files.js';
import { PingReader } from './imagery-jobs.js';
import { stepWork } from './open-desk.js';
import { pingSource, sonarSound } from './sonar-ground.js';
import type { StepWork } from './step-graph.js';
import { PINGS_PLACE, pingsOf, type SurveyPings } from './step-pings.js';
import type { BottomSummary } from './summary.js';

/** A stretch of pings asked for as a picture. */
export interface PictureWanted extends PictureLook {
  /** Rows of derived/imagery/pings.parquet: [from, to). */
  readonly from: number;
  readonly to: number;
}

/** What is known of the survey's pings before any is drawn. */
export interface PingsAbout {
  readonly soundSpeedMps: number;
  readonly pings: number;
  readonly middleDb: number | null;
}

/** Draws stretches of a survey's side-scan pings, keeping its logs open between one and the next. */
export interface PingPictures {
  about(): Promise<PingsAbout>;
  /** Levels in 0.01 dB, little-endian, -32768 for none: port [rows * width], then starboard. */
  picture(wanted: PictureWanted): Promise<Buffer>;
  close(): Promise<void>;
}

const NONE = -32_768;
const UNIT_DB = 0.01;
/** Pings read at a time, so that a picture of many takes no more memory than one of few. */
const STRETCH = 512;
/** Pings looked at for the usual level. */
const LOOKED_AT = 24;

interface Opened {
  readonly version: string;
  readonly ground: PictureGround;
  readonly reader: PingReader;
  readonly n: number;
  readonly logOf: Uint16Array;
}

/** Opens the pings of a survey folder for looking at; files made anew are read anew. */
export function openPingPictures(folder: string): PingPictures {
  let opening: Promise<Opened | null> | null = null;
  let openedFor = '';

  async function versionNow(): Promise<string> {
    const files = [PINGS_PLACE, IMAGERY_PLACES.bottom, IMAGERY_PLACES.track, IMAGERY_PLACES.pingGain, 'survey.json', 'logs/manifest.json'];
    const facts = await Promise.all(files.map((place) => stat(placeIn(folder, place), { bigint: true }).then(({ size, mtimeNs }) => `${size}-${mtimeNs}`, () => 'none')));
    return facts[0] === 'none' ? 'none' : facts.join(' ');
  }

  async function open(version: string): Promise<Opened | null> {
    if (version === 'none') return null;
    const work = await stepWork(folder, {});
    const pings = await pingsOf(work);
    if (pings.n === 0) return null;
    const { n } = pings;
    const [bottom, track, gain] = await Promise.all([readBottom(folder), readSonarTrack(folder), readGain(folder)]);
    // What is of other pings is being made anew: until then nothing is known of it.
    const heightM = bottom?.n === n ? bottom.heightM : new Float32Array(n).fill(NaN);
    const slopes = track?.n === n ? track : { portSlope: new Float32Array(n), starboardSlope: new Float32Array(n) };
    const speedMps = await soundSpeed(folder, work, pings);
    const learned = gain !== null && gain.portPingDb.length === n ? gain : withPings(plainGain(), n);
    return { version, n, logOf: pings.log, ground: { soundSpeedMps: speedMps, pings, bottom: { heightM }, track: slopes, gain: learned }, reader: new PingReader(pingSource(work, pings)) };
  }

  async function opened(): Promise<Opened | null> {
    const version = await versionNow();
    if (opening === null || openedFor !== version) {
      const before = opening;
      openedFor = version;
      opening = open(version);
      opening.catch(() => {
        if (openedFor === version) opening = null;
      });
      void before?.then((old) => old?.reader.close()).catch(() => undefined);
    }
    return opening;
  }

  return {
    async about() {
      const now = await opened();
      if (now === null) return { soundSpeedMps: 1500, pings: 0, middleDb: null };
      return { soundSpeedMps: now.ground.soundSpeedMps, pings: now.n, middleDb: await middleLevel(now) };
    },
    async picture({ from, to, ...look }) {
      const now = await opened();
      if (now === null) throw new UseError('there are no side-scan pings in this survey; take in a side-scan log and build', { path: 'pings' });
      if (!(from >= 0 && to > from && to <= now.n)) throw new UseError(`pings ${from} to ${to}: expected a stretch of the ${now.n} there are; the survey was made anew: reload the page`, { path: 'from' });
      if (now.logOf[from] !== now.logOf[to - 1]) throw new UseError(`pings ${from} to ${to}: expected pings of one log`, { path: 'from' });
      const rows = Math.ceil((to - from) / look.step);
      const out = Buffer.alloc(rows * look.width * 4);
      const levels = new Int16Array(out.buffer, out.byteOffset, rows * look.width * 2);
      const stretch = Math.max(look.step, Math.floor(STRETCH / look.step) * look.step);
      for (let start = from, row = 0; start < to; start += stretch) {
        const samples = await now.reader.read(start, Math.min(to, start + stretch));
        const drawn = waterfallPicture(samples, start, now.ground, look);
        pack(drawn.port, levels, row * look.width);
        pack(drawn.starboard, levels, (rows + row) * look.width);
        row += drawn.rows;
      }
      return out;
    },
    async close() {
      const now = await opening?.catch(() => null);
      opening = null;
      await now?.reader.close();
    },
  };
}

/** The sound speed the bottom was tracked with; before that, as it would be. */
async function soundSpeed(folder: string, work: StepWork, pings: SurveyPings): Promise<number> {
  const text = await readTextIfThere(placeIn(folder, IMAGERY_PLACES.bottomFigures));
  const used = text === null ? NaN : (JSON.parse(text) as Partial<BottomSummary>).soundSpeedMps;
  if (used !== undefined && used > 0) return used;
  const { soundSpeedMps } = work.settings.sonar;
  if (soundSpeedMps !== null) return soundSpeedMps;
  // Without a track there is no place to ask the water at.
  return (await isThere(placeIn(folder, PLACES.tracks))) ? (await sonarSound(work, pings)).speedMps : work.settings.sounder.soundSpeedSetMps;
}

function pack(levelDb: Float32Array, out: Int16Array, at: number): void {
  for (let i = 0; i < levelDb.length; i++) {
    const level = levelDb[i]!;
    out[at + i] = level !== level ? NONE : Math.max(-32_767, Math.min(32_767, Math.round(level / UNIT_DB)));
  }
}

/** Median level as recorded of a few pings through the survey [dB]; null where none is heard. */
async function middleLevel({ reader, n }: Opened): Promise<number | null> {
  const levels: number[] = [];
  for (let k = 0; k < LOOKED_AT; k++) {
    const row = Math.floor(((k + 0.5) * n) / LOOKED_AT);
    const { port, starboard } = await reader.read(row, row + 1);
    for (const side of [port, starboard]) for (let i = 0; i < side.length; i += 7) if (side[i]! > 0) levels.push(20 * Math.log10(side[i]!));
  }
  levels.sort((a, b) => a - b);
  return levels[levels.length >> 1] ?? null;
}
