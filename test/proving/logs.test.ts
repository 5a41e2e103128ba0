import GPS from 'gps';
import { parseNmeaSentence } from 'nmea-simple';
import { beforeAll, describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import { createFrame } from '../../src/geo/frame.js';
import { DEMO_SEED, demoSurvey, LINE_DAMAGE, NO_FAULTS, PING_FAULTS, proveSurvey } from '../../src/proving/index.js';
import { createLogWriter } from '../../src/proving/log-writer.js';
import { checksumText } from '../../src/proving/nmea-sentences.js';
import { hollinProfile } from '../../src/proving/sound-travel.js';
import type { FoundSentence, RunSurvey } from './run-survey.js';
import { findSentences, runSurvey } from './run-survey.js';

const frame = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
const ZERO_ERRORS = {
  sounderM: 0, sounderShare: 0, draftM: 0, squatM: 0, heaveM: 0, waterLevelM: 0, zoningM: 0, soundSpeedMps: 0, timeS: 0, gnssM: 0, headingDeg: 0,
};

describe('sentences', () => {
  it('checksumText: the checksum of a published sentence (GGA example in wide use; common practice)', () => {
    expect(checksumText('GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,')).toBe('47');
    expect(checksumText('')).toBe('00');
  });
});

describe('log writer', () => {
  const bodies = ['GNGGA,1,2,3', 'SDDBT,16.1,f,4.90,M,2.7,F', 'HEHDT,123.4,T'];

  it('createLogWriter: counts of whole, spoilt, lines and damage are those found by plain text search', () => {
    for (const stamp of ['iso', 'epoch', 'tag', 'none'] as const) {
      const parts: Uint8Array[] = [];
      const writer = createLogWriter('a.nmea', stamp, 0.2, createRandom(12), (_file, bytes) => parts.push(bytes));
      const records = new Map<number, number>();
      const random = createRandom(3);
      const n = 8_000;
      for (let i = 0; i < n; i++) {
        const kind = random.integer(3);
        writer.sentence(1_781_685_000 + i * 0.05, bodies[kind]!, kind === 1);
        if (kind === 1) {
          expect(records.has(writer.record)).toBe(false);
          records.set(writer.record, writer.damage);
        }
      }
      const counts = writer.end();
      const bytes = Buffer.concat(parts);
      const found = findSentences(bytes);
      for (const [type, address] of [['GGA', 'GNGGA'], ['DBT', 'SDDBT'], ['HDT', 'HEHDT']] as const) {
        expect(found.filter(({ body }) => body.startsWith(address)).length).toBe(counts.whole[type]);
      }
      const spoilt = Object.values(counts.spoilt).reduce((sum, count) => sum + count, 0);
      const whole = Object.values(counts.whole).reduce((sum, count) => sum + count, 0);
      expect(whole + spoilt).toBe(n);
      const { damaged } = counts;
      expect((damaged['checksum'] ?? 0) + (damaged['truncated'] ?? 0) + (damaged['cut-merged'] ?? 0)).toBe(spoilt);
      // Of 1600 chances the rarest kind, 5 %, comes up 80 times or so.
      for (const kind of LINE_DAMAGE.slice(1)) expect(damaged[kind]).toBeGreaterThan(50);
      const text = bytes.toString('latin1');
      const lines = text.split('\n');
      expect(counts.lines).toBe(text.endsWith('\n') ? lines.length - 1 : lines.length);
      expect(counts.bareLineFeeds).toBe((text.match(/(?<!\r)\n/g) ?? []).length);
      expect(lines.filter((line) => line === '\r' || line === '').length - (text.endsWith('\n') ? 1 : 0)).toBe(damaged['blank-line']);
      // Depth sentences found whole lie on the lines that were given for them.
      for (const { line } of found.filter(({ body }) => body.startsWith('SDDBT'))) expect(records.has(line)).toBe(true);
    }
  });

  it('createLogWriter: without damage every line is one sentence, stamps in the form asked for', () => {
    const forms = { iso: /^2026-06-17T08:30:00\.250Z \$/, epoch: /^1781685000\.250 \$/, tag: /^\\c:1781685000250\*[0-9A-F]{2}\\\$/, none: /^\$/ };
    for (const [stamp, form] of Object.entries(forms)) {
      let text = '';
      const writer = createLogWriter('a', stamp as keyof typeof forms, 0, createRandom(1), (_file, bytes) => (text += Buffer.from(bytes).toString('latin1')));
      writer.sentence(1_781_685_000.25, bodies[0]!, false);
      expect(writer.record).toBe(0);
      expect(writer.end()).toMatchObject({ lines: 1, whole: { GGA: 1 }, spoilt: {}, damaged: {} });
      expect(text).toMatch(form);
    }
  });

  it('createLogWriter: gives the sink whole pieces whatever their length', () => {
    const lengths: number[] = [];
    const writer = createLogWriter('a', 'none', 0, createRandom(1), (_file, bytes) => lengths.push(bytes.byteLength));
    writer.row('x'.repeat(70_000));
    for (let i = 0; i < 5000; i++) writer.row('y'.repeat(30));
    writer.end();
    expect(lengths.reduce((sum, length) => sum + length, 0)).toBe(70_001 + 5000 * 31);
    expect(lengths.length).toBeGreaterThan(2);
  });
});

describe('a short survey', () => {
  const survey = proveSurvey(5, 'short');
  let run: RunSurvey;
  let found: FoundSentence[];
  beforeAll(() => {
    run = runSurvey(survey);
    found = findSentences(run.logs.get('hollin-trip-1.nmea')!);
  });

  it('writeLogs: the same survey gives the same bytes and truth; another seed others', () => {
    const again = runSurvey(proveSurvey(5, 'short'));
    expect(again.sha256).toBe(run.sha256);
    expect(again.truth).toEqual(run.truth);
    expect(runSurvey(survey).sha256).toBe(run.sha256);
    expect(runSurvey(proveSurvey(6, 'short')).sha256).not.toBe(run.sha256);
  });

  it('writeLogs: sentences by type are as many as the truth says, found by plain text search', () => {
    const { damage } = run.truth.logs[0]!;
    const byType: Record<string, number> = {};
    for (const { body } of found) byType[body.slice(2, 5)] = (byType[body.slice(2, 5)] ?? 0) + 1;
    expect(byType).toEqual(damage.whole);
    expect(run.logs.get('hollin-trip-1.nmea')!.toString('latin1').split('\n').length - 1).toBe(damage.lines);
  });

  it('writeLogs: every whole depth sentence joins its ping by line, and holds the depth the truth implies', () => {
    const { pings } = run.truth.logs[0]!;
    const rows = new Map(Array.from(pings.record, (record, i) => [record, i]));
    expect(rows.size).toBe(pings.n);
    let joined = 0;
    for (const { line, body } of found) {
      if (!body.startsWith('SDDBT')) continue;
      const row = rows.get(line);
      expect(row).toBeDefined();
      const depth = Number(body.split(',')[3] || NaN);
      const fault = PING_FAULTS[pings.fault[row!]!];
      if (fault === 'none') expect(Math.abs(depth - (pings.depthM[row!]! + 1.5))).toBeLessThan(2);
      if (fault === 'dropout') expect(!(depth > 0)).toBe(true);
      joined++;
    }
    expect(joined).toBeGreaterThan(0.99 * pings.n);
  });

  it('writeLogs: general-purpose readers take the sentences, and give the position the truth has', () => {
    const { fixes } = run.truth.logs[0]!;
    const rows = new Map(Array.from(fixes.record, (record, i) => [record, i]));
    let compared = 0;
    for (const { line, body } of found) {
      const text = `$${body}*${checksumText(body)}`;
      if (body.startsWith('GNGGA')) {
        const parsed = GPS.Parse(text) as { valid: boolean; lat: number; lon: number; time: Date | null };
        expect(parsed.valid).toBe(true);
        const row = rows.get(line);
        if (row === undefined || fixes.jump[row] === 1) continue;
        const [x, y] = frame.toFrame(parsed.lat, parsed.lon);
        // Six sigma of 0.31 m and 0.12 s of age at 1.6 m/s.
        expect(Math.hypot(x - fixes.xM[row]!, y - fixes.yM[row]!)).toBeLessThan(2.1);
        expect(parsed.time!.getUTCSeconds() + parsed.time!.getUTCMilliseconds() / 1000).toBeCloseTo(fixes.timeS[row]! % 60, 2);
        compared++;
      } else if (body.startsWith('HEHDT') || body.startsWith('SDDBT')) {
        if (!body.includes(',,')) expect(parseNmeaSentence(text).sentenceId).toBe(body.slice(2, 5));
      }
    }
    expect(compared).toBeGreaterThan(5000);
  });

  it('writeLogs: truth has no NaN but the size of a fault without a value', () => {
    for (const { pings, fixes } of run.truth.logs) {
      for (const column of [pings.timeS, pings.xM, pings.yM, pings.depthM, pings.echoEastM, pings.echoNorthM, fixes.timeS, fixes.xM, fixes.yM]) {
        expect(column.every((value) => Number.isFinite(value))).toBe(true);
      }
      for (let i = 0; i < pings.n; i++) {
        if (Number.isNaN(pings.faultSizeM[i]!)) expect(['dropout', 'no-echo']).toContain(PING_FAULTS[pings.fault[i]!]);
        if (i > 0) expect(pings.timeS[i]!).toBeGreaterThan(pings.timeS[i - 1]!);
      }
    }
  });

  it('writeLogs: the boat keeps clear of the mooring, and runs through there when there is none', () => {
    const nearest = (truth: RunSurvey['truth']): number => {
      let least = Infinity;
      for (const { pings } of truth.logs) for (let i = 0; i < pings.n; i++) least = Math.min(least, Math.hypot(pings.xM[i]! - 270_560 + 46, pings.yM[i]! - 5_102_210 - 28));
      return least;
    };
    expect(nearest(run.truth)).toBeGreaterThan(11);
    expect(nearest(runSurvey(proveSurvey(5, 'short', { hole: false })).truth)).toBeLessThan(5);
  });

  it('writeLogs: keeps to the lines within 0.3 to 0.6 m root mean square', () => {
    const { pings } = run.truth.logs[0]!;
    let squares = 0;
    let count = 0;
    for (const { path } of survey.ownLines()) {
      const [ax, ay, bx] = path as number[];
      if (path[1] !== path[3]) continue;
      for (let i = 0; i < pings.n; i += 5) {
        const inLine = (pings.xM[i]! - ax!) * (pings.xM[i]! - bx!) < 0;
        const off = pings.yM[i]! - ay!;
        const clear = Math.hypot(pings.xM[i]! - 270_560 + 46, pings.yM[i]! - 5_102_210 - 28) > 25;
        if (!inLine || Math.abs(off) > 2 || !clear) continue;
        squares += off * off;
        count++;
      }
    }
    expect(count).toBeGreaterThan(1000);
    expect(Math.sqrt(squares / count)).toBeGreaterThan(0.3);
    expect(Math.sqrt(squares / count)).toBeLessThan(0.6);
  });

  it('writeLogs: refuses lines that cannot be run', () => {
    const sink = (): void => undefined;
    expect(() => survey.writeLogs([], sink)).toThrow(/lines: expected one at least/);
    expect(() => survey.writeLogs([{ path: [1, 2], speedMps: 1 }], sink)).toThrow(/lines\[0\]\.path: 2 numbers/);
    expect(() => survey.writeLogs([{ path: [1, 2, 3, 4], speedMps: 0 }], sink)).toThrow(/lines\[0\]\.speedMps 0/);
    expect(() => survey.writeLogs([{ path: [1, 2, 1, 2], speedMps: 1 }], sink)).toThrow(/expected some length/);
  });
});

describe('a survey without errors', () => {
  const survey = proveSurvey(2, 'short', { errors: ZERO_ERRORS, faults: NO_FAULTS, beamWidthDeg: 0.01, rollDeg: 0, pitchDeg: 0 });
  const run = runSurvey(survey);
  const { pings, fixes } = run.truth.logs[0]!;
  const found = findSentences(run.logs.get('hollin-trip-1.nmea')!);

  it('settings: say that nothing is uncertain', () => {
    expect(run.truth.drawn).toEqual({ draftM: 0, squatM: 0, soundSpeedMps: 0, timeS: 0, headingDeg: 0 });
  });

  it('positions: where the antenna was 0.12 s before the stamp, to 2 cm', () => {
    const rows = new Map(Array.from(fixes.record, (record, i) => [record, i]));
    let compared = 0;
    for (const { line, body } of found) {
      if (!body.startsWith('GNGGA')) continue;
      const row = rows.get(line)!;
      if (row === 0) continue;
      const [x, y] = frame.toFrame(degrees(body.split(',')[2]!, 2), -degrees(body.split(',')[4]!, 3));
      const share = 1 - 0.12 / 0.2;
      const wantX = fixes.xM[row - 1]! + share * (fixes.xM[row]! - fixes.xM[row - 1]!);
      const wantY = fixes.yM[row - 1]! + share * (fixes.yM[row]! - fixes.yM[row - 1]!);
      expect(Math.hypot(x - wantX, y - wantY)).toBeLessThan(0.02);
      compared++;
    }
    expect(compared).toBe(fixes.n - 1);
  });

  it('depths: measured, put right for sound speed by a sum over the profile, plus draft, less the tide: the floor, to 2 cm', () => {
    const rows = new Map(Array.from(pings.record, (record, i) => [record, i]));
    const level = survey.files['water/level.csv']!.trimEnd().split('\n').slice(1).map((row) => row.split(','));
    const levelTimes = level.map(([time]) => Date.parse(time!) / 1000);
    const profile = hollinProfile(0);
    let worst = 0;
    let sum = 0;
    let count = 0;
    for (const { line, body } of found) {
      if (!body.startsWith('SDDBT') || line % 7 !== 0) continue;
      const row = rows.get(line)!;
            const measured = Number(body.split(',')[3]);
      // One-way time used up from the draft down in steps of 5 mm.
      let timeLeftS = measured / 1500;
      let depth = 0.172;
      while (timeLeftS > 0) {
        const i = Math.min(Math.floor(depth / 0.5), 39);
        const share = depth / 0.5 - i;
        timeLeftS -= 0.005 / (profile.soundSpeedMps[i]! * (1 - share) + profile.soundSpeedMps[i + 1]! * share);
        depth += 0.005;
      }
      const k = levelTimes.findIndex((time) => time > pings.timeS[row]!) - 1;
      const between = (pings.timeS[row]! - levelTimes[k]!) / (levelTimes[k + 1]! - levelTimes[k]!);
      const levelM = Number(level[k]![1]) * (1 - between) + Number(level[k + 1]![1]) * between;
      const error = depth - 0.0025 - levelM - pings.depthM[row]!;
      worst = Math.max(worst, Math.abs(error));
      sum += error;
      count++;
    }
    expect(count).toBeGreaterThan(1000);
    expect(Math.abs(sum / count)).toBeLessThan(0.002);
    expect(worst).toBeLessThan(0.02);
  });

  it('headings: true, not grid: the boat on a line of grid 90 deg heads near 87.9 deg when the current is along it', () => {
    // Convergence at the origin, from the meridian itself.
    const [lat, lon] = frame.toGeographic(270_560, 5_102_210);
    const [x, y] = frame.toFrame(lat + 1e-4, lon);
    const convergence = -(Math.atan2(x - 270_560, y - 5_102_210) * 180) / Math.PI;
    expect(convergence).toBeCloseTo(-2.13, 1);
    const headings = found.filter(({ body }) => body.startsWith('HEHDT')).map(({ body }) => Number(body.split(',')[1]));
    const east = headings.filter((heading) => heading > 78 && heading < 98);
    expect(east.length).toBeGreaterThan(1000);
    expect(east.reduce((total, heading) => total + heading, 0) / east.length).toBeCloseTo(90 + convergence, -0.5);
  });
});

describe('other forms', () => {
  it('CSV: one row a ping, joined by its line; empty fields in dropouts and position gaps', () => {
    const run = runSurvey(proveSurvey(3, 'short', { format: 'csv', faults: { fixGapsPerHour: 20 } }));
    const [file, bytes] = [...run.logs][0]!;
    expect(file).toBe('hollin-trip-1.csv');
    const rows = bytes.toString('latin1').trimEnd().split('\n');
    expect(rows[0]).toBe('time_utc,latitude_deg,longitude_deg,depth_m,heading_deg,gnss_sigma_m');
    const { pings, damage } = run.truth.logs[0]!;
    expect(damage.lines).toBe(rows.length);
    expect(pings.n).toBe(rows.length - 1);
    let gaps = 0;
    for (let i = 0; i < pings.n; i++) {
      expect(pings.record[i]).toBe(i + 1);
      const [time, lat, lon] = rows[i + 1]!.split(',');
      expect(Math.abs(Date.parse(time!) / 1000 - pings.timeS[i]! - 0.12)).toBeLessThan(0.12);
      expect((lat === '') === (pings.positionFault[i] === 2)).toBe(true);
      if (lat === '') gaps++;
      else if (pings.positionFault[i] === 0) {
        const [x, y] = frame.toFrame(Number(lat), Number(lon));
        expect(Math.hypot(x - pings.xM[i]!, y - pings.yM[i]!)).toBeLessThan(2.6);
      }
    }
    expect(gaps).toBeGreaterThan(20);
  });

  it('DPT: depth sentences of the other kind', () => {
    const run = runSurvey(proveSurvey(3, 'short', { depthSentence: 'DPT', faults: NO_FAULTS }));
    const { damage, pings } = run.truth.logs[0]!;
    expect(damage.whole['DPT']).toBe(pings.n);
    expect(findSentences([...run.logs.values()][0]!).find(({ body }) => body.startsWith('SDDPT'))!.body).toMatch(/^SDDPT,\d+\.\d\d,0\.\d\d,100\.0$/);
  });

  it('provingOptions: refuses what makes no sense', () => {
    expect(() => proveSurvey(1, 'short', { pingHz: 0 })).toThrow(/pingHz 0: expected more than 0/);
    expect(() => proveSurvey(1, 'short', { errors: { draftM: -1 } })).toThrow(/draftM -1: expected 0 or more/);
  });

  it('demoSurvey: one to three hours and 50 000 to 80 000 pings in two logs, the floor of the demo for any seed', () => {
    const run = runSurvey(demoSurvey());
    expect(run.truth.seed).toBe(DEMO_SEED);
    expect([...run.logs.keys()]).toEqual(demoSurvey().logFiles);
    const written = run.truth.logs.reduce((sum, log) => sum + log.pings.n, 0);
    expect(written).toBeGreaterThan(50_000);
    expect(written).toBeLessThan(80_000);
    expect(demoSurvey(99).floor.depthM(270_500, 5_102_200)).toBe(demoSurvey().floor.depthM(270_500, 5_102_200));
    const [first, second] = run.truth.logs;
    expect(second!.pings.timeS[0]!).toBeGreaterThan(first!.pings.timeS[first!.pings.n - 1]! + 600);
    for (const { pings } of run.truth.logs) expect(pings.fault.some((code) => PING_FAULTS[code] === 'no-echo')).toBe(false);
  });
});

/** Degrees of `ddmm.mmmm`. */
function degrees(text: string, digits: number): number {
  return Number(text.slice(0, digits)) + Number(text.slice(digits)) / 60;
}
