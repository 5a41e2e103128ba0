import { mkdir, readFile, rm, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/base/random.js';
import type { ProvingChanges, ProvingSize } from '../../src/proving/index.js';
import type { Desk } from '../../src/survey/desk.js';
import { makeProof } from '../../src/survey/make-demo.js';
import { openDesk } from '../../src/survey/open-desk.js';
import type { SurveySummary } from '../../src/survey/summary.js';
import { builtDemo } from '../once-a-run.js';
import { temporaryFolder } from './temporary-folder.js';

/** Depths of a log as another instrument or another crew would have written them: DBT in its three units, checksums made anew. */
function withDepths(text: string, change: (depthM: number, ping: number) => number): string {
  let ping = 0;
  return text.replace(/\$(..DBT,[^*\r\n]*)\*[0-9A-F]{2}/g, (whole, body: string) => {
    const fields = body.split(',');
    const depthM = change(Number(fields[3]), ping++);
    if (!(Number(fields[3]) > 0)) return whole;
    [fields[1], fields[3], fields[5]] = [(depthM / 0.3048).toFixed(2), depthM.toFixed(2), (depthM / 1.8288).toFixed(2)];
    const changed = fields.join(',');
    let sum = 0;
    for (const letter of changed) sum ^= letter.charCodeAt(0);
    return `$${changed}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
  });
}

interface Mistake {
  readonly changes?: ProvingChanges;
  /** Of the text of each log, by its place. */
  readonly logs?: (text: string, log: number) => string;
  /** Text of a file of the folder made another. */
  readonly file?: readonly [place: string, change: (text: string) => string];
  readonly settings?: Readonly<Record<string, unknown>>;
}

/** A survey of the proving ground with a mistake of the crew's in it: the desk with its soundings built. */
async function mistaken(seed: number, size: ProvingSize, { changes, logs, file, settings = {} }: Mistake): Promise<Desk> {
  const parent = await temporaryFolder();
  const folder = path.join(parent, 'survey');
  const { survey } = await makeProof(folder, seed, size, {}, changes);
  if (logs !== undefined) {
    await mkdir(path.join(parent, 'logs'));
    const files = await Promise.all(
      survey.logFiles.map(async (name, log) => {
        const changed = path.join(parent, 'logs', name);
        await writeFile(changed, logs(await readFile(path.join(folder, 'logs', name), 'latin1'), log), 'latin1');
        return changed;
      }),
    );
    await rm(path.join(folder, 'logs'), { recursive: true });
    await rm(path.join(folder, 'derived'), { recursive: true, force: true });
    await (await openDesk(folder)).takeIn(files);
  }
  if (file !== undefined) await writeFile(path.join(folder, file[0]), file[1](await readFile(path.join(folder, file[0]), 'utf8')));
  const desk = await openDesk(folder);
  for (const [key, value] of Object.entries(settings)) await desk.set(key, value);
  await desk.build({}, 'soundings');
  return desk;
}

const notesOf = async (desk: Desk): Promise<readonly string[]> => (await desk.summary()).notes;
/** What this file is about; what other tests hold (crossings, gaps, orders) is left aside. */
const found = (notes: readonly string[]): string[] => notes.filter((note) => /feet|fathom|two sounders|wrong sign|does not fit the depths|[Cc]asts? |cast runs|No water level|has no reading|datum has no name/.test(note));

const motionSensor = { hz: 10, angleNoiseDeg: 0.3, heaveNoiseM: 0.01, at: { forwardM: -0.05, starboardM: -0.08, downM: 0.05 } };
const arms = { transducer: { forwardM: 0.4, starboardM: 0.3, downM: 0.2 } };
const ROUGH: ProvingChanges = { rollDeg: 5, pitchDeg: 4, sources: { motionSensor, ...arms } };

const THOROUGH = process.env['TALLOW_THOROUGH'] === '1';
/** Surveys in which nothing may be found; TALLOW_THOROUGH=1 gives 20 and 10. */
const [PLAIN, MOVED] = THOROUGH ? [20, 10] : [4, 2];

describe('nothing is found where nothing is wrong', () => {
  it(`${PLAIN} seeds of the proving ground`, { timeout: 240_000 }, async () => {
    for (let seed = 1; seed <= PLAIN; seed++) expect([seed, found(await notesOf(await mistaken(seed, 'short', {})))]).toEqual([seed, []]);
  });

  it(`${MOVED} more with a motion sensor, every other one in rough water`, { timeout: 240_000 }, async () => {
    for (let seed = 21; seed <= 20 + MOVED; seed++) {
      expect([seed, found(await notesOf(await mistaken(seed, 'short', { changes: seed % 2 === 0 ? ROUGH : { sources: { motionSensor } } })))]).toEqual([seed, []]);
    }
  });

  it('casts in time, a gauge elsewhere, heights from GNSS', { timeout: 240_000 }, async () => {
    const sources: ProvingChanges['sources'][] = [{ casts: { count: 3, changeMps: 6 } }, { gaugeElsewhere: { laterS: 600, rangeFactor: 1.2, addM: 0.05 } }, { rtk: { heightM: 0.02, separationM: 0.03 } }, { squatBySpeed: true }];
    for (const one of sources) {
      // Seconds without a good height are set aside, and that is said.
      expect(found(await notesOf(await mistaken(5, 'demo', { changes: { sources: one! } }))).filter((note) => !note.includes('heights from GNSS'))).toEqual([]);
    }
  });

  it('the demo', async () => {
    expect(found((JSON.parse((await builtDemo()).reply) as { summary: SurveySummary }).summary.notes)).toEqual([]);
  });
});

describe('two sounders in one log', () => {
  for (const [how, change] of [
    ['ping by ping', (depthM: number, ping: number) => (ping % 2 === 0 ? depthM : depthM + 0.4)],
    ['one in three', (depthM: number, ping: number) => (ping % 3 === 0 ? depthM - 0.6 : depthM)],
    ['a second that reads a tenth deeper', (depthM: number, ping: number) => (ping % 2 === 0 ? depthM : 1.1 * depthM)],
  ] as const) {
    it(`are named: ${how}`, async () => {
      const notes = found(await notesOf(await mistaken(3, 'short', { logs: (text) => withDepths(text, change) })));
      expect(notes.join()).toMatch(/^hollin-trip-1\.nmea mixes two sounders: in \d+ % of it depths jump to and fro between two levels [\d.]+ m apart.*Log one instrument/);
    });
  }

  it('are named where they take turns by chance', async () => {
    const random = createRandom(4);
    const [note] = found(await notesOf(await mistaken(4, 'short', { logs: (text) => withDepths(text, (depthM) => (random.uniform() < 0.5 ? depthM + 0.5 : depthM)) })));
    expect(Number(/levels ([\d.]+) m apart/.exec(note ?? '')?.[1])).toBeCloseTo(0.5, 1);
  });

  it('are said to be of two units where one is in feet', async () => {
    const notes = found(await notesOf(await mistaken(3, 'short', { logs: (text) => withDepths(text, (depthM, ping) => (ping % 3 === 0 ? depthM / 0.3048 : depthM)) })));
    expect(notes.join()).toContain('One of them looks to be in feet.');
  });
});

describe('depths in another unit read as metres', () => {
  it('feet in one of two logs are named by the other', async () => {
    const notes = found(await notesOf(await mistaken(1, 'demo', { logs: (text, log) => (log === 1 ? withDepths(text, (depthM) => depthM / 0.3048) : text) })));
    expect(notes.slice(0, 1)).toEqual([expect.stringMatching(/^Depths of hollin-trip-2\.nmea are 3\.\d\d times those of hollin-trip-1\.nmea at \d+ places both sounded: hollin-trip-2\.nmea looks to be in feet, read as metres\. Set the sounder to metres/)]);
  });

  it('fathoms in one of two logs are named by the other', async () => {
    const notes = found(await notesOf(await mistaken(2, 'demo', { logs: (text, log) => (log === 0 ? withDepths(text, (depthM) => depthM / 1.8288) : text) })));
    expect(notes).toEqual([expect.stringContaining('hollin-trip-1.nmea looks to be in fathoms, read as metres')]);
  });

  it('feet in every log are named by the tide', async () => {
    const notes = found(await notesOf(await mistaken(1, 'demo', { logs: (text) => withDepths(text, (depthM) => depthM / 0.3048) })));
    expect(notes[0]).toMatch(/depths differ by 3\.[12345]\d* times what the water level did \(\d+ crossings\): depths look to be in feet, read as metres/);
  });

  it('fathoms in every log are named by the tide', async () => {
    const notes = found(await notesOf(await mistaken(2, 'demo', { logs: (text) => withDepths(text, (depthM) => depthM / 1.8288) })));
    expect(notes[0]).toMatch(/depths look to be in fathoms, read as metres, unless the tide at the boat has half the range/);
  });

  it('a water level in feet is named by the tide', async () => {
    const inFeet = (text: string): string => text.replace(/,(-?[\d.]+)$/gm, (_, level: string) => `,${(Number(level) / 0.3048).toFixed(3)}`);
    const notes = found(await notesOf(await mistaken(1, 'demo', { file: ['water/level.csv', inFeet] })));
    expect(notes).toEqual([expect.stringMatching(/the water level \(water\/level\.csv\) looks to be in feet, read as metres/)]);
  });
});

describe('motion of the wrong sign', () => {
  it.each([
    ['Heave', 'motion.heavePositive', 'down', { sources: { motionSensor } } as ProvingChanges],
    ['Roll', 'motion.rollPositive', 'port-down', ROUGH],
    ['Pitch', 'motion.pitchPositive', 'bow-down', ROUGH],
    // No arm: on slopes alone, by what the lines beside say of them.
    ['Roll', 'motion.rollPositive', 'port-down', { rollDeg: 6, pitchDeg: 5, beamWidthDeg: 2, sources: { motionSensor } } as ProvingChanges],
  ] as const)('%s: named, and %s is to be turned round (%s)', { timeout: 120_000 }, async (name, setting, wrong, changes) => {
    for (const seed of THOROUGH ? [1, 3] : [1]) {
      const notes = found(await notesOf(await mistaken(seed, 'short', { changes, settings: { [setting]: wrong } })));
      expect(notes).toEqual([expect.stringMatching(new RegExp(`^${name} has the wrong sign: .* Turn ${setting.replace('.', '\\.')} round`))]);
    }
  });

  it('heave that the sounder takes off itself is said not to fit', async () => {
    // The boat does not heave, and its sensor says so; a heave of its own is then written in.
    const heaveOf = (timeS: number): number => 0.06 * Math.sin((2 * Math.PI * timeS) / 3.1);
    const logs = (text: string): string => {
      let row = 0;
      return text.replace(/\$(..XDR,[^*\r\n]*)\*[0-9A-F]{2}/g, (whole, body: string) => {
        const fields = body.split(',');
        const at = fields.findIndex((field, k) => k % 4 === 0 && k > 0 && /heave/i.test(field));
        if (at < 0) return whole;
        fields[at - 2] = heaveOf(row++ / 10).toFixed(3);
        const changed = fields.join(',');
        let sum = 0;
        for (const letter of changed) sum ^= letter.charCodeAt(0);
        return `$${changed}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
      });
    };
    const notes = found(await notesOf(await mistaken(6, 'short', { changes: { sources: { motionSensor }, errors: { heaveM: 0 } }, logs })));
    expect(notes).toEqual([expect.stringMatching(/^Heave does not fit the depths: .*switch off corrections\.heave/)]);
  });
});

describe('water that is wrong', () => {
  it('a gap in the tide series: soundings inside a long one are set aside and said, a short one that is bridged is said', async () => {
    const without = (minutes: number) => (text: string): string => {
      const rows = text.split('\n');
      const from = rows.length - 1 - 420;
      return [...rows.slice(0, from), ...rows.slice(from + minutes)].join('\n');
    };
    const long = await mistaken(3, 'demo', { file: ['water/level.csv', without(150)] });
    const notes = found(await notesOf(long));
    expect(notes.join()).toMatch(/No water level from \S+ to \S+ \(water\/level\.csv\): \d+ soundings are set aside there, none is reduced by a guess\. Fill the gap/);
    expect((await long.summary()).soundings!.setAside['no-water-level']).toBeGreaterThan(1000);
    const short = found(await notesOf(await mistaken(3, 'demo', { file: ['water/level.csv', without(70)] })));
    expect(short).toEqual([expect.stringMatching(/^The water level \(water\/level\.csv\) has no reading from \S+ to \S+ \(\d+ soundings\): a curve between the readings on either side is used there, where readings are 60 s apart otherwise/)]);
  });

  it('a datum never named is said, with what depths are below', async () => {
    expect(found(await notesOf(await mistaken(3, 'short', { settings: { datum: 'water surface' } })))).toEqual(['The datum has no name: depths are below the zero of the water level given, whatever that is. Name it: set datum in survey.json, or Correct at Depths on the page.']);
    expect(await notesOf(await mistaken(3, 'short', { settings: { datum: 'water surface', 'water.level': { kind: 'none' } } }))).toContainEqual(expect.stringMatching(/^No water level is taken off: depths are below the water surface of the day, not below a datum\. Give one: tallow depths .* --water-level gauge\.csv/));
  });

  const cast: readonly [string, (text: string) => string] = ['water/sound-speed.csv', (text) => text];
  const rowsOf = (text: string): string[] => text.trim().split('\n').slice(1);
  const change = (make: (rows: string[], head: string) => string): Mistake => ({ file: [cast[0], (text) => make(rowsOf(text), text.split('\n')[0]!)] });

  it('a cast from the bottom up is turned over and gives the same depths', async () => {
    const right = (await (await mistaken(3, 'short', {})).summary()).soundings!;
    const desk = await mistaken(3, 'short', change((rows, head) => [head, ...rows.reverse()].join('\n')));
    expect(found(await notesOf(desk))).toEqual(['water/sound-speed.csv: the cast runs from the bottom up; it was turned over.']);
    expect((await desk.summary()).soundings!.depthMeanM).toBe(right.depthMeanM);
  });

  it.each([
    ['heights for depths', (row: string) => `-${row}`, /every depth is below 0 \(down to -20 m\): these are heights; write depths positive down/],
    ['feet a second', (row: string) => row.replace(/,(.*)/, (_, speed: string) => `,${(Number(speed) / 0.3048).toFixed(2)}`), /sound speeds near 49\d\d(\.\d+)?: expected 1350 to 1650 m\/s; they look like feet a second/],
    ['one row of nonsense', (row: string, i: number) => (i === 7 ? '3.5,15.04' : row), /a sound speed of 15\.04 m\/s among others near 1\d\d\d: take the row out/],
  ])('a cast with %s is refused, and says what it looks like', { timeout: 60_000 }, async (_, row, message) => {
    await expect(mistaken(3, 'short', change((rows, head) => [head, ...rows.map(row)].join('\n')))).rejects.toThrow(message);
  });

  it('a cast whose depths are in feet is named by how deep it goes', async () => {
    const notes = found(await notesOf(await mistaken(3, 'short', change((rows, head) => [head, ...rows.map((row) => row.replace(/^[\d.]+/, (depth) => (Number(depth) / 0.3048).toFixed(1)))].join('\n')))));
    expect(notes).toEqual([expect.stringMatching(/^Sound-speed cast water\/sound-speed\.csv reaches down to 65\.6 m, where nothing deeper than [\d.]+ m was sounded: it is of another place, or its depths are not in metres/)]);
  });

  it('a cast that ends far above the bottom is named', async () => {
    const notes = found(await notesOf(await mistaken(3, 'short', change((rows, head) => [head, ...rows.slice(0, 5)].join('\n')))));
    expect(notes).toEqual([expect.stringMatching(/^Sound-speed cast water\/sound-speed\.csv reaches down to 2\.0 m, and soundings go to [\d.]+ m: below it the last speed is used\. Take a cast to the bottom/)]);
  });

  it('two casts in one file without times are refused, not one of them used in silence', async () => {
    await expect(mistaken(3, 'short', change((rows, head) => [head, ...rows, ...rows].join('\n')))).rejects.toThrow(/several casts in one file, not all with a time, though depth starts again in it/);
  });

  it('two casts of one time are refused with how far they are apart; minutes apart and at odds they are said', async () => {
    const changes: ProvingChanges = { sources: { casts: { count: 2, changeMps: 6 } } };
    const at = (timeUtc: string, second: string): Record<string, unknown> => ({ 'water.soundSpeed': { kind: 'casts', casts: [{ file: 'water/cast-1.csv', timeUtc }, { file: 'water/cast-2.csv', timeUtc: second }] } });
    await expect(mistaken(3, 'short', { changes, settings: at('2026-06-17T08:30:00Z', '2026-06-17T08:30:00Z') })).rejects.toThrow(/expected different times, found the same; they differ by up to 6\.0 m\/s\. Take one out, or mend its time/);
    expect(found(await notesOf(await mistaken(3, 'short', { changes, settings: at('2026-06-17T08:30:00Z', '2026-06-17T08:34:00Z') })))).toEqual([
      'Sound-speed casts water/cast-1.csv and water/cast-2.csv were taken within ten minutes and differ by 6.0 m/s: one of them is wrong, or the water changes from place to place.',
    ]);
  });
});
