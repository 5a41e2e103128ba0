import path from 'node:path';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import os from 'node:os';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { BoatCard, CardFigureName } from '../../src/boat/boat-card.js';
import { provingTrials, trialsNmea, type ProvingTrials } from '../../src/proving/index.js';
import type { TrialsFile } from '../../src/survey/step-boat.js';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { complaint, tallow } from './run-tallow.js';

describe('trials', () => {
  it('shows the card with defaults marked, answers a question, and says no with exit code 1', async () => {
    const folder = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', folder]);
    const shown = await tallow(['trials', folder]);
    expect(shown.code, shown.err).toBe(0);
    expect(shown.out).toMatch(/top speed through the water +2\.8 ± 1\.1 m\/s +\(DEFAULT\)/);
    expect(shown.out).toMatch(/13 of 13 figures are DEFAULTS usual for the class, not measured on this boat/);
    const card = JSON.parse(await readFile(path.join(folder, 'boat/card.json'), 'utf8')) as BoatCard;
    expect(card.figures.topSpeed?.value).toBe(2.8);
    const asked = await tallow(['trials', folder, '--ask', 'endurance', '--speed', '1.5', '--current', '0.4@210', '--course', '30']);
    expect(asked.code).toBe(0);
    expect(asked.out).toMatch(/Speed over the ground +1\.10 m\/s\n +Power +65 ± 24 W +\(DEFAULT\)\n +Endurance +18 ± /);
    const no = await tallow(['trials', folder, '--ask', 'endurance', '--speed', '1', '--current', '1.2@180']);
    expect(no.code).toBe(1);
    expect(no.out).toMatch(/^No: at 1 m\/s the boat makes no way on this course/);
  });

  it('takes figures entered by hand, and names one that is none', async () => {
    const folder = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', folder]);
    const shown = await tallow(['trials', folder, '--set', 'boat.hand={"topSpeed":{"value":2.6,"uncertainty95":0.05}}', '--json']);
    expect(shown.json<{ card: BoatCard }>().card.figures.topSpeed).toMatchObject({ value: 2.6, source: 'hand' });
    const wrong = await tallow(['trials', folder, '--set', 'boat.hand={"speed":{"value":2.6}}']);
    expect(wrong.code).toBe(2);
    expect(complaint(wrong)).toMatch(/boat\.hand\.speed: no such figure; figures are: topSpeed/);
    expect(complaint(await tallow(['trials', folder, '--set', 'boat.hand={}', '--ask', 'speed', '--speed', '1']))).toMatch(/--ask: expected endurance, range/);
    expect(complaint(await tallow(['trials', folder, '--ask', 'range', '--speed', '1', '--current', '0.4']))).toMatch(/--current: expected SPEED@DIRECTION/);
  });
});

interface Reply {
  readonly card: BoatCard;
  readonly trials: TrialsFile | null;
}

describe('trials from a log', () => {
  let top: string;
  let folder: string;
  let run: ProvingTrials;
  let card: BoatCard;
  let trials: TrialsFile;
  beforeAll(async () => {
    top = await mkdtemp(path.join(os.tmpdir(), 'tallow-trials-'));
    folder = path.join(top, 'survey');
    run = provingTrials(41, { fixHz: 5 });
    const log = path.join(top, 'trials.nmea');
    await writeFile(log, trialsNmea(run));
    await tallow(['new', folder]);
    const made = await tallow(['trials', folder, log, '--json']);
    expect(made.code, made.err).toBe(0);
    ({ card, trials } = made.json<{ card: BoatCard; trials: TrialsFile }>());
  });
  afterAll(() => rm(top, { recursive: true, force: true }));

  it('finds the trials the crew ran, through NMEA, and nothing else', () => {
    const count = (list: readonly { readonly kind: string }[]): Record<string, number> => {
      const counts: Record<string, number> = {};
      for (const { kind } of list) counts[kind] = (counts[kind] ?? 0) + 1;
      return counts;
    };
    for (const found of trials.trials) {
      const overlaps = run.truth.trials.some(({ kind, startUtcS, endUtcS }) => kind === found.kind && Math.min(endUtcS, found.endS) - Math.max(startUtcS, found.startS) > 0);
      expect(overlaps, found.id).toBe(true);
    }
    // Two or three lie across gaps in the positions, which end what they fall into.
    const wanted = count(run.truth.trials);
    const got = count(trials.trials);
    expect(Object.values(got).reduce((a, b) => a + b, 0)).toBeGreaterThanOrEqual(0.9 * Object.values(wanted).reduce((a, b) => a + b, 0));
  });

  it('makes figures whose 95 % hold the truth of the boat that ran them', () => {
    const inside: string[] = [];
    const outside: string[] = [];
    for (const [name, truth] of Object.entries(run.truth.figures)) {
      const figure = card.figures[name as CardFigureName];
      expect(figure?.source, name).toBe('trials');
      (Math.abs(figure!.value - truth) <= figure!.uncertainty95 ? inside : outside).push(`${name}: ${figure!.value} +- ${figure!.uncertainty95}, truth ${truth}`);
    }
    // Of sixteen at 95 % one is expected outside, three or more on one day in twenty.
    expect(outside.length, outside.join('; ')).toBeLessThanOrEqual(3);
    expect(inside.length).toBeGreaterThan(10);
  });

  it('drops, moves and adds windows; every one is journalled and can be undone', async () => {
    const spin = trials.trials.find(({ kind }) => kind === 'spin')!;
    const dropped = await tallow(['trials', folder, '--drop', spin.id, '--json']);
    expect(dropped.code, dropped.err).toBe(0);
    expect(dropped.json<Reply>().card.figures.spinRate!.trials).not.toContain(spin.id);
    expect(dropped.json<Reply>().trials!.dropped.map(({ id }) => id)).toEqual([spin.id]);
    await tallow(['journal', folder, '--undo']);
    const back = (await tallow(['trials', folder, '--json'])).json<Reply>();
    expect(back.card).toEqual(card);
    const clock = (timeS: number): string => new Date(timeS * 1000).toISOString().slice(11, 19);
    const moved = await tallow(['trials', folder, '--move', `${spin.id}=${clock(spin.startS + 4)}/${clock(spin.endS)}`, '--json']);
    expect(moved.code, moved.err).toBe(0);
    const after = moved.json<Reply>();
    expect(after.trials!.trials.find(({ id }) => id === spin.id)).toMatchObject({ by: 'hand', kind: 'spin' });
    expect(after.card.figures.spinRate!.value).not.toBe(card.figures.spinRate!.value);
    await tallow(['trials', folder, '--drop', spin.id]);
    const added = await tallow(['trials', folder, '--add', `spin=${clock(spin.startS)}/${clock(spin.endS)}`, '--json']);
    expect(added.json<Reply>().trials!.trials.filter(({ by }) => by === 'hand')).toHaveLength(1);
    const told = await tallow(['journal', folder]);
    expect(told.out).toMatch(/trial spin@\d+ dropped[\s\S]*set to spin[\s\S]*added as a trial/);
    for (let i = 0; i < 3; i++) await tallow(['journal', folder, '--undo']);
    expect((await tallow(['trials', folder, '--json'])).json<Reply>().card).toEqual(card);
  });

  it('says what was expected where a window cannot be understood', async () => {
    expect(complaint(await tallow(['trials', folder, '--drop', 'spin@1']))).toMatch(/--drop: there is no trial "spin@1"; tallow trials FOLDER --list names them/);
    expect(complaint(await tallow(['trials', folder, '--add', 'loop=13:00:00/13:01:00']))).toMatch(/--add: expected steady-run, .*found "loop"/);
    expect(complaint(await tallow(['trials', folder, '--add', 'spin=13:00:00']))).toMatch(/--add: expected START\/END/);
    expect(complaint(await tallow(['trials', folder, '--set', 'boat.trialLogs=["x.log"]']))).toMatch(/boat\.trialLogs: there is no log "x\.log"; logs are: trials\.nmea/);
    await tallow(['trials', folder, '--set', 'boat.trialLogs=auto']);
  });

  it('refuses a window the log cannot carry before it is a decision', async () => {
    const before = await readFile(path.join(folder, 'journal.jsonl'), 'utf8').catch(() => '');
    const far = await tallow(['trials', folder, '--add', 'spin=2026-06-17T03:00:00Z/2026-06-17T03:00:30Z']);
    expect(far.code).toBe(2);
    expect(complaint(far)).toMatch(/a trial to 2026-06-17T03:00:00Z\/2026-06-17T03:00:30Z: .*; trials\.nmea: it runs from 2026-06-17T\S+Z to 2026-06-17T\S+Z; nothing was changed/);
    expect(await readFile(path.join(folder, 'journal.jsonl'), 'utf8').catch(() => '')).toBe(before);
  });

  it('lists trials under heads and without the card; the card names what is missing as the crew does', async () => {
    const listed = await tallow(['trials', folder, '--list']);
    expect(listed.out).toMatch(/\n {2}trial +from +to +lasts +m\/s +course +command\n {2}\S+@\d+ +\d\d:\d\d:\d\d +\d\d:\d\d:\d\d +\d+ s/);
    expect(listed.out).not.toMatch(/Boat card/);
    const shown = await tallow(['trials', folder]);
    expect(shown.out).toMatch(/- one discharge .*: energy of the full battery that may be used/);
    expect(shown.out).not.toMatch(/batteryEnergy/);
  });

  it('the best speed needs none to be asked about', async () => {
    const asked = await tallow(['trials', folder, '--ask', 'best-speed', '--current', '0.4@180', '--json']);
    expect(asked.code, asked.err).toBe(0);
    const { reply } = asked.json<{ reply: { answers: { bestSpeed: { value: number } } } }>();
    const from = await tallow(['trials', folder, '--ask', 'best-speed', '--speed', '1', '--current', '0.4@180', '--json']);
    expect(reply.answers.bestSpeed.value).toBeCloseTo(from.json<{ reply: { answers: { bestSpeed: { value: number } } } }>().reply.answers.bestSpeed.value, 6);
    expect((await tallow(['trials', folder, '--ask', 'best-speed'])).out).toMatch(/^ {2}Best speed through the water/);
    expect(complaint(await tallow(['trials', folder, '--ask', 'range']))).toMatch(/--ask range: at which speed through the water\? Add --speed MPS/);
  });

  it('plans by what the logs say of their positions and the current the trials found; a discharge is no count of passes', async () => {
    const around = (half: number): string => {
      const [lat, lon] = [46.04, -29.96];
      const [north, east] = [half / 111_150, half / (111_320 * Math.cos((lat * Math.PI) / 180))];
      return JSON.stringify({ type: 'Polygon', coordinates: [[[lon - east, lat - north], [lon + east, lat - north], [lon + east, lat + north], [lon - east, lat + north], [lon - east, lat - north]]] });
    };
    await writeFile(path.join(top, 'area.geojson'), around(300));
    await tallow(['lines', folder, '--area', path.join(top, 'area.geojson'), '--spacing', '40']);
    const plan = await tallow(['trials', folder, '--plan', '--everything']);
    expect(plan.code, plan.err).toBe(0);
    expect(plan.out).toMatch(/Positions are taken as good to [\d.]+ m \(one sigma; the middle of what the logs say of themselves \(GST\)\)/);
    expect(plan.out).toMatch(/The current is taken as 0\.\d\d m\/s towards \d{3}°: .*as the trials of 2026-06-17 found it at \d\d:\d\d UTC/);
    expect(plan.out).toMatch(/Discharge at survey speed: .* about \d+ h in all, over as many days as it takes; gives/);
    const { plan: laid } = (await tallow(['trials', folder, '--plan', '--json'])).json<{ plan: { trials: { kind: string; passes: number }[] } }>();
    expect(laid.trials.find(({ kind }) => kind === 'discharge')).toMatchObject({ passes: 1 });
  });

  it('a column read in the wrong unit is corrected after take-in: the raw log stays, figures follow, and it can be undone', async () => {
    const bare = path.join(top, 'knots');
    // A straight run east at 2 m/s for two minutes, the log in knots where its head says m/s.
    const rows = ['utc,lat,lon,log m/s,heading,odd'];
    for (let i = 0; i <= 240; i++) rows.push(`${new Date(Date.UTC(2026, 5, 17, 9, 0, i)).toISOString()},46.04,${(-29.96 + (2 * i) / (111_320 * Math.cos((46.04 * Math.PI) / 180))).toFixed(8)},${(2 / 0.514444).toFixed(3)},90,7`);
    const csv = path.join(top, 'log.csv');
    await writeFile(csv, rows.join('\n'));
    await tallow(['new', bare]);
    const first = await tallow(['trials', bare, csv, '--column', 'log m/s=speedThroughWater m/s']);
    expect(first.code, first.err).toBe(0);
    expect(first.out).toMatch(/! log\.csv: columns not read: odd/);
    const raw = await readFile(path.join(bare, 'logs/log.csv'));
    const manifest = await readFile(path.join(bare, 'logs/manifest.json'), 'utf8');
    const again = await tallow(['trials', bare, '--column', 'log m/s=speedThroughWater kn']);
    expect(again.code, again.err).toBe(0);
    expect(again.out).toMatch(/log\.csv: logs\/log\.csv is read anew with its columns as you say; the raw log is as it was/);
    expect((await readFile(path.join(bare, 'logs/log.csv'))).equals(raw)).toBe(true);
    const settings = async (): Promise<string> => readFile(path.join(bare, 'survey.json'), 'utf8');
    expect(await settings()).toMatch(/"unit": "kn"/);
    expect((await tallow(['journal', bare])).out).toMatch(/columns/);
    const wrong = await tallow(['take-in', bare, csv, '--column', 'utc=nothing']);
    expect(wrong.code).toBe(2);
    expect(complaint(wrong)).toMatch(/its columns are left as they were/);
    expect(await settings()).toMatch(/"unit": "kn"/);
    await tallow(['journal', bare, '--undo']);
    expect(await settings()).not.toMatch(/"unit": "kn"/);
    expect((await tallow(['build', bare])).code).toBe(0);
    expect(JSON.parse(await readFile(path.join(bare, 'logs/manifest.json'), 'utf8'))).toEqual(JSON.parse(manifest));
  });

  it('takes positions alone, from a table of the user\'s own, and says what they cannot tell', async () => {
    const bare = path.join(top, 'bare');
    const rows = ['utc,lat,lon'];
    for (const line of trialsNmea(run).split('\r\n')) {
      const at = line.indexOf('$GNGGA');
      if (at < 0) continue;
      const [, clock, lat, ns, lon, ew] = line.slice(at).split(',') as [string, string, string, string, string, string];
      const degrees = (text: string, digits: number, sign: number): string => (sign * (Number(text.slice(0, digits)) + Number(text.slice(digits)) / 60)).toFixed(9);
      rows.push(`2026-06-17T${clock.slice(0, 2)}:${clock.slice(2, 4)}:${clock.slice(4)}Z,${degrees(lat, 2, ns === 'S' ? -1 : 1)},${degrees(lon, 3, ew === 'W' ? -1 : 1)}`);
    }
    const csv = path.join(top, 'positions.csv');
    await writeFile(csv, rows.join('\n'));
    await tallow(['new', bare]);
    const made = await tallow(['trials', bare, csv, '--json']);
    expect(made.code, made.err).toBe(0);
    const reply = made.json<Reply>();
    expect(reply.trials?.logs).toEqual(['positions.csv']);
    expect(reply.trials!.trials.filter(({ kind }) => kind === 'steady-run').length).toBeGreaterThan(4);
    expect(reply.card.figures.topSpeed).toMatchObject({ source: 'trials' });
    expect(reply.card.figures.topSpeed!.note).toMatch(/command not logged/);
    expect(Math.abs(reply.card.figures.topSpeed!.value - run.truth.figures.topSpeed)).toBeLessThan(0.1);
    expect(reply.card.figures.spinRate).toBeNull();
    expect(reply.card.missing.map(({ figure }) => figure)).toContain('spinRate');
  });
});
