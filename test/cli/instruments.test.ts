import { mkdir, readFile, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { describe, expect, it } from 'vitest';
import { createFrame } from '../../src/geo/frame.js';
import type { InstrumentCheck } from '../../src/survey/instrument-checks.js';
import { temporaryFolder } from '../survey/temporary-folder.js';
import { complaint, tallow } from './run-tallow.js';

const START_S = Date.UTC(2026, 5, 17, 8, 0, 0) / 1000;
const FRAME = createFrame({ kind: 'utm', zone: 26, hemisphere: 'north' });
const [X0, Y0] = FRAME.toFrame(46.04, -29.96);

/** The line runs along grid east; true bearings differ by tan c = tan(lon - lon0) sin lat, central meridian 27 W. */
const CONVERGENCE_DEG = (Math.atan(Math.tan((-2.96 * Math.PI) / 180) * Math.sin((46.04 * Math.PI) / 180)) * 180) / Math.PI;

function sentence(body: string): string {
  let sum = 0;
  for (const letter of body) sum ^= letter.charCodeAt(0);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
}
function degrees(value: number, width: number): string {
  const whole = Math.floor(Math.abs(value));
  return `${String(whole).padStart(width, '0')}${((Math.abs(value) - whole) * 60).toFixed(6).padStart(9, '0')}`;
}
function clock(timeS: number): string {
  return new Date(Math.round(timeS * 1000)).toISOString().slice(11, 22).replaceAll(':', '');
}

/** The logger's stamp before each sentence: its clock is right here. */
function stamp(timeS: number): string {
  return `${new Date(Math.round(timeS * 1000)).toISOString()} `;
}

/**
 * A morning of instrument checks as NMEA, from first principles here: five minutes on a mark, then a line over a bank run
 * there and back four times, positions 0.3 s old, the compass 5 degrees clockwise of the bow, a current of 0.2 m/s across.
 */
function morning(): string {
  const lines: string[] = [];
  const fix = (timeS: number, x: number, y: number): void => {
    const [latDeg, lonDeg] = FRAME.toGeographic(x, y);
    const at = stamp(timeS);
    lines.push(at + sentence(`GPGGA,${clock(timeS)},${degrees(latDeg, 2)},N,${degrees(lonDeg, 3)},W,4,12,0.8,1.0,M,0.0,M,,`));
    lines.push(at + sentence(`GPRMC,${clock(timeS)},A,${degrees(latDeg, 2)},N,${degrees(lonDeg, 3)},W,,,170626,,`));
  };
  let random = 1;
  const noise = (): number => {
    let sum = 0;
    for (let i = 0; i < 12; i++) {
      random = (random * 48271) % 2147483647;
      sum += random / 2147483647;
    }
    return sum - 6;
  };
  for (let t = 0; t < 300; t++) fix(START_S + t, X0 + 0.4 + 0.1 * noise(), Y0 + 0.1 * noise());
  const depth = (s: number): number => 6 + 2.5 * Math.tanh((s - 40) / 9);
  const crabDeg = (Math.asin(0.2 / 1.5) * 180) / Math.PI;
  for (let pass = 0; pass < 8; pass++) {
    const out = pass % 2 === 0;
    const began = START_S + 600 + pass * 120;
    for (let tick = 0; tick < 80 / 1.5 / 0.1; tick++) {
      const t = tick * 0.1;
      const s = out ? 1.5 * t : 80 - 1.5 * t;
      if (tick % 2 === 0) {
        const late = out ? s - 0.45 : s + 0.45;
        fix(began + t, X0 + 100 + late + 0.03 * noise(), Y0 + 50 + 0.03 * noise());
        const heading = (out ? 90 - crabDeg : 270 + crabDeg) + CONVERGENCE_DEG + 5 + 0.5 * noise();
        lines.push(stamp(began + t) + sentence(`HEHDT,${heading.toFixed(1)},T`));
      }
      const d = depth(s) + 0.02 * noise();
      lines.push(stamp(began + t) + sentence(`SDDBT,${(d / 0.3048).toFixed(2)},f,${d.toFixed(2)},M,${(d / 1.8288).toFixed(2)},F`));
    }
  }
  return `${lines.join('\r\n')}\r\n`;
}

describe('instruments', () => {
  it('a morning of checks from the log: mark, heading, latency and bar are found, applied, refused and undone', { timeout: 60_000 }, async () => {
    const parent = await temporaryFolder();
    const folder = path.join(parent, 'survey');
    await tallow(['new', folder]);
    const log = path.join(parent, 'morning.nmea');
    await writeFile(log, morning());
    expect((await tallow(['take-in', folder, log])).code).toBe(0);
    const bar = path.join(parent, 'bar.csv');
    // Transducer at 0.25 m, water of 1500 m/s as set: reads plate less 0.25.
    await writeFile(bar, 'timeUtc;barM;readM\n2026-06-17T07:30:00Z;2;1,75\n2026-06-17T07:31:00Z;2;1,76\n2026-06-17T07:33:00Z;5;4,75\n2026-06-17T07:34:00Z;5;4,74\n2026-06-17T07:36:00Z;9;8,75\n2026-06-17T07:37:00Z;9;8,75\n');
    const [latDeg, lonDeg] = FRAME.toGeographic(X0, Y0);
    const run = await tallow(['instruments', folder, '--bar', bar, '--mark', `${latDeg},${lonDeg}=2026-06-17T08:00:00Z/2026-06-17T08:04:59Z`, '--json']);
    expect(run.code, run.err).toBe(1);
    const of = (checks: readonly InstrumentCheck[], name: string): InstrumentCheck => checks.find(({ check }) => check === name)!;
    const { checks } = run.json<{ checks: InstrumentCheck[] }>();
    const latency = of(checks, 'latency');
    expect(latency.state).toBe('differs');
    expect(Math.abs(latency.values[0]!.value - 0.3)).toBeLessThan(Math.max(0.02, latency.values[0]!.half95));
    const heading = of(checks, 'heading');
    expect(heading.state).toBe('differs');
    expect(Math.abs(heading.values[0]!.value - 5)).toBeLessThan(Math.max(0.3, heading.values[0]!.half95));
    const mark = of(checks, 'static');
    expect(Math.abs(mark.values[1]!.value - 0.4)).toBeLessThan(mark.values[1]!.half95 + 0.02);
    expect(Math.abs(mark.values[0]!.value - 0.1)).toBeLessThan(0.03);
    const found = of(checks, 'bar');
    expect(found.state).toBe('differs');
    expect(Math.abs(found.values[0]!.value - 0.25)).toBeLessThan(found.values[0]!.half95);

    const applied = await tallow(['instruments', folder, '--apply', 'bar', '--apply', 'latency', '--apply', 'heading', '--json']);
    const after = applied.json<{ checks: InstrumentCheck[] }>().checks;
    for (const name of ['bar', 'latency', 'heading']) expect(of(after, name).state, of(after, name).words).toBe('agrees');
    const settings = JSON.parse(await readFile(path.join(folder, 'survey.json'), 'utf8')) as { gnss: { latencyS: number }; sounder: { draftM: number }; heading: { offsetDeg: number } };
    expect(settings.gnss.latencyS).toBeCloseTo(latency.values[0]!.value, 2);
    expect(settings.sounder.draftM).toBeCloseTo(found.values[0]!.value, 3);
    const refused = await tallow(['instruments', folder, '--refuse', 'bar=the plate swung']);
    expect(refused.out).toMatch(/Bar check: not used\n.*Not used: the plate swung/);
    expect((await tallow(['instruments', folder, '--apply', 'bar'])).code).toBe(2);
    expect((await tallow(['instruments', folder, '--reopen', 'bar'])).out).toMatch(/Bar check: agrees/);
    await tallow(['journal', folder, '--undo']);
    expect((await tallow(['instruments', folder])).out).toMatch(/Bar check: not used/);
  });

  it('a sheet to fill in can be had before there is any log', async () => {
    const folder = path.join(await temporaryFolder(), 'survey');
    await tallow(['new', folder]);
    const run = await tallow(['instruments', folder, '--sheet']);
    expect(run.code, run.err).toBe(0);
    expect((await readFile(path.join(folder, 'products/instrument-checks.pdf'))).subarray(0, 5).toString()).toBe('%PDF-');
  });

  it('bad input is named by line, with what to do', async () => {
    const parent = await temporaryFolder();
    const folder = path.join(parent, 'survey');
    await tallow(['new', folder]);
    await mkdir(parent, { recursive: true });
    const bar = path.join(parent, 'bar.csv');
    const said = async (text: string): Promise<string> => {
      await writeFile(bar, text);
      return complaint(await tallow(['instruments', folder, '--bar', bar]));
    };
    expect(await said('depth,reading\n2,1.7\n')).toContain('bar.csv line 1: expected a column barM (or barFt), found depth, reading');
    expect(await said('bar,read\n2,1.7\n')).toContain('the unit in the name of the column');
    expect(await said('barM,readM\n2,1.7\n4,four\n')).toContain('bar.csv line 3: expected a depth above 0 in readM, found four');
    expect(await said('barM,readM\n')).toContain('at least one reading');
    expect(await said('')).toContain('found nothing');
    expect(complaint(await tallow(['instruments', folder, '--mark', '46,-30']))).toContain('expected LAT,LON=START/END');
    expect(complaint(await tallow(['instruments', folder, '--apply', 'draft']))).toContain('expected bar, static, heading, latency');
    expect(complaint(await tallow(['instruments', folder, '--bar', path.join(parent, 'none.csv')]))).toContain('none.csv');
  });
});
