import { describe, expect, it } from 'vitest';
import { clock, gga, iso, read, rejects, rmc, sentence } from './nmea-log-text.js';

const dpt = (depth: number): string => sentence(`SDDPT,${depth.toFixed(2)},0.0`);
const DAY = 86_400;
/** 2026-05-01. */
const MAY_1 = Date.UTC(2026, 4, 1) / 1000;

describe('readLog: dates', () => {
  it('come from RMC, two-digit years 80 to 99 being 19..', async () => {
    for (const [ddmmyy, day] of [['010526', '2026-05-01'], ['311299', '1999-12-31'], ['060180', '1980-01-06'], ['010179', '2079-01-01']] as const) {
      const { observations } = await read([rmc(3600, ddmmyy)]);
      expect(iso(observations.fixes.timeS[0])).toBe(`${day}T01:00:00.000Z`);
    }
  });

  it('come from ZDA beside positions without date', async () => {
    const { observations, summary } = await read([gga(10), sentence(`GPZDA,${clock(10)},01,05,2026,00,00`), gga(11)]);
    expect([...observations.fixes.timeS]).toEqual([MAY_1 + 10, MAY_1 + 11]);
    expect(summary.notes.join()).not.toContain('no date');
  });

  it('date what stood before the first of them, midnight in between', async () => {
    const lines = [gga(DAY - 2), dpt(5), gga(DAY - 1), dpt(5), gga(DAY), dpt(5), gga(DAY + 1), rmc(DAY + 1, '020526'), gga(DAY + 2)];
    const { observations, summary } = await read(lines);
    expect([...observations.fixes.timeS]).toEqual([-2, -1, 0, 1, 2].map((s) => MAY_1 + DAY + s));
    expect([...observations.pings.timeS]).toEqual([-1.5, -0.5, 0.5].map((s) => MAY_1 + DAY + s));
    expect(summary.rejects).toEqual([]);
  });

  it('roll over at midnight without a date in the log', async () => {
    const { observations } = await read([DAY - 1, DAY, DAY + 1].map((t) => gga(t)), { noDate: '2026-05-01' });
    expect([...observations.fixes.timeS]).toEqual([DAY - 1, DAY, DAY + 1].map((t) => MAY_1 + t));
  });

  it('roll over at the end of a year', async () => {
    const { observations } = await read([rmc(DAY - 1, '311226'), gga(DAY), rmc(DAY + 1, '010127')]);
    expect([...observations.fixes.timeS].map(iso)).toEqual(['2026-12-31T23:59:59.000Z', '2027-01-01T00:00:00.000Z', '2027-01-01T00:00:01.000Z']);
  });

  it('of no log without any: the given one, else 1970-01-01, with a note', async () => {
    const lines = [gga(10), gga(11)];
    expect(iso((await read(lines, { noDate: '2026-05-01' })).observations.fixes.timeS[0])).toBe('2026-05-01T00:00:10.000Z');
    const { observations, summary } = await read(lines);
    expect(iso(observations.fixes.timeS[0])).toBe('1970-01-01T00:00:10.000Z');
    expect(summary.notes).toContain('the log has times but no date: 1970-01-01 is used; give the date of its first record');
  });

  it('in the log win over the given one', async () => {
    const { observations } = await read([rmc(10, '010526')], { noDate: '2020-01-01' });
    expect(iso(observations.fixes.timeS[0])).toBe('2026-05-01T00:00:10.000Z');
  });

  it('a given date that is none is the caller’s mistake', async () => {
    await expect(read([gga(0)], { noDate: '2026-02-30' })).rejects.toThrow(RangeError);
    await expect(read([gga(0)], { noDate: '1.5.2026' })).rejects.toThrow('noDate: expected YYYY-MM-DD, got 1.5.2026');
  });

  it('are not taken from a receiver without a fix', async () => {
    const wild = sentence(`GPRMC,${clock(7000)},V,,,,,,,060180,,,N`);
    const { observations } = await read([wild, rmc(10, '010526'), wild, gga(11)]);
    expect([...observations.fixes.timeS]).toEqual([MAY_1 + 10, MAY_1 + 11]);
  });
});

describe('readLog: a clock that misbehaves', () => {
  it('going back is rejected until it is ahead again, with the depths meanwhile', async () => {
    const times = [6, 7, 8, 9, 10, 11, 12, 13, 8, 9, 10, 11, 12, 13, 14, 15];
    const { observations, summary } = await read(times.flatMap((t) => [gga(t), dpt(t)]));
    expect([...observations.fixes.timeS]).toEqual([6, 7, 8, 9, 10, 11, 12, 13, 14, 15]);
    expect([...observations.fixes.record]).toEqual([0, 2, 4, 6, 8, 10, 12, 14, 28, 30]);
    expect([...observations.pings.depthM]).toEqual([6, 7, 8, 9, 10, 11, 12, 13, 14, 15]);
    expect(rejects(summary)).toEqual({ 'time-backwards': 12 });
    expect(summary.rejects[0]?.firstLines).toEqual([17, 19, 21, 23, 25]);
  });

  it('a single slip back costs that position only; depths around it stay', async () => {
    const times = [10, 11, 12, 5, 13, 14];
    const { observations, summary } = await read(times.flatMap((t) => [gga(t), dpt(t)]));
    expect([...observations.fixes.timeS]).toEqual([10, 11, 12, 13, 14]);
    expect(observations.pings.n).toBe(6);
    expect(rejects(summary)).toEqual({ 'time-backwards': 1 });
  });

  it('a single leap ahead costs that position only', async () => {
    const times = [10, 11, 12, 40_000, 13, 14];
    const { observations, summary } = await read(times.flatMap((t) => [gga(t), dpt(5)]));
    expect([...observations.fixes.timeS]).toEqual([10, 11, 12, 13, 14]);
    expect([...observations.pings.timeS].every((t) => t >= 10 && t < 16)).toBe(true);
    expect(rejects(summary)).toEqual({ 'time-jump': 1 });
  });

  it('a gap in the log is no leap', async () => {
    const { observations, summary } = await read([10, 11, 20_000, 20_001, 40_000].map((t) => gga(t)));
    expect(observations.fixes.n).toBe(5);
    expect(summary.rejects).toEqual([]);
  });

  it('set back for good is believed after 60 positions, and noted', async () => {
    const times = [...Array.from({ length: 200 }, (_, i) => 5000 + i), ...Array.from({ length: 200 }, (_, i) => 1000 + i)];
    const { observations, summary } = await read(times.map((t) => gga(t)));
    expect(rejects(summary)).toEqual({ 'time-backwards': 60 });
    expect(observations.fixes.n).toBe(340);
    expect(observations.fixes.timeS[339]).toBe(1199);
    expect(summary.notes.join()).toContain('the clock was set back by 4139 s before line 261');
  });

  it('a wrong first time is overtaken at once by what follows', async () => {
    const { observations, summary } = await read([30_000, ...Array.from({ length: 50 }, (_, i) => 1000 + i)].map((t) => gga(t)));
    expect(observations.fixes.n).toBe(49);
    expect(summary.timeStartS).toBe(1001);
    expect(rejects(summary)).toEqual({ 'time-backwards': 1, 'time-jump': 1 });
  });

  it('standing still gives one position', async () => {
    const { observations, summary } = await read([gga(10, 1), gga(10, 2), gga(10, 3), gga(11, 4)]);
    expect(observations.fixes.n).toBe(2);
    expect(summary.notes.join()).toContain('2 positions have the same time');
  });

  it('a GGA that follows the RMC of the next second loses nothing', async () => {
    const lines = [gga(10), rmc(11, '010526'), gga(11), rmc(12, '010526'), gga(12), rmc(13, '010526')];
    const { observations, summary } = await read(lines);
    expect([...observations.fixes.timeS]).toEqual([10, 11, 12, 13].map((t) => MAY_1 + t));
    expect(summary.rejects).toEqual([]);
    const late = [gga(10), rmc(11, '010526'), sentence(`GPGST,${clock(10)},1,1,1,0,0.5,0.5,1`), gga(11)];
    expect([...(await read(late)).observations.fixes.sigmaM]).toEqual([0.5, NaN]);
  });
});

describe('readLog: times of records without time', () => {
  it('ten depths a second between positions of one a second are evenly spaced', async () => {
    const lines: string[] = [];
    for (let t = 0; t < 20; t++) {
      lines.push(gga(t));
      for (let k = 0; k < 10; k++) lines.push(dpt(5 + k));
    }
    const { observations: { pings } } = await read(lines);
    expect(pings.n).toBe(200);
    for (let i = 0; i < 200; i++) expect(pings.timeS[i]).toBeCloseTo(0.05 + i * 0.1, 9);
  });

  it('a depth among the sentences of one epoch has its time', async () => {
    const lines = [0, 1, 2].flatMap((t) => [gga(t), dpt(5), rmc(t, '010526')]);
    expect([...(await read(lines)).observations.pings.timeS]).toEqual([0, 1, 2].map((t) => MAY_1 + t));
  });

  it('go on with the same spacing before the first and after the last position', async () => {
    const lines = [dpt(1), dpt(2), gga(10), dpt(3), dpt(4), gga(11), dpt(5), dpt(6)];
    expect([...(await read(lines)).observations.pings.timeS]).toEqual([9.25, 9.75, 10.25, 10.75, 11.25, 11.75]);
  });

  it('are placed kind by kind: a fast heading does not move the depths', async () => {
    const lines: string[] = [];
    for (let t = 0; t < 5; t++) {
      lines.push(gga(t));
      for (let k = 0; k < 9; k++) lines.push(sentence('HEHDT,90.0,T'));
      lines.push(dpt(5));
    }
    const { observations } = await read(lines);
    expect([...observations.pings.timeS]).toEqual([0.5, 1.5, 2.5, 3.5, 4.5]);
  });

  it('there is none without any clock: counted, and the log still read', async () => {
    const { summary } = await read([dpt(1), dpt(2)]);
    expect(rejects(summary)).toEqual({ 'no-time': 2 });
    expect(summary.pings).toBe(0);
  });
});

describe('readLog: stamps before the sentences', () => {
  /** 0.3 s late, 2 h ahead of UTC: what a logger on local time writes. */
  const local = (t: number): string => new Date((MAY_1 + t + 7200.3) * 1000).toISOString().replace('Z', '');
  const forms: Record<string, (t: number) => string> = {
    'ISO with T, space after': (t) => `${local(t)} `,
    'ISO with space, comma after': (t) => `${local(t).replace('T', ' ')},`,
    'ISO in brackets': (t) => `[${local(t)}] `,
    'ISO with Z, tab after': (t) => `${new Date((MAY_1 + t + 0.3) * 1000).toISOString()}\t`,
    'ISO with zone': (t) => `${local(t)}+02:00 `,
    'seconds since 1970': (t) => `${(MAY_1 + t + 0.3).toFixed(3)} `,
    'milliseconds since 1970': (t) => `${Math.round((MAY_1 + t + 0.3) * 1000)};`,
    'time of day': (t) => `${local(t).slice(11)} `,
    'time of day in brackets, decimal comma': (t) => `(${local(t).slice(11).replace('.', ',')})`,
    'seconds of a running clock': (t) => `${(t + 77.3).toFixed(3)} `,
  };
  // Depths at uneven times, which order alone would spread evenly.
  const schedule = [0.1, 0.2, 0.9, 1.05, 1.9, 2.5, 3.99, 4.0, 4.6];

  for (const [name, stamp] of Object.entries(forms)) {
    it(`give depths their own times when they are ${name}`, async () => {
      const events: [number, string][] = [...schedule.map((t) => [t, dpt(5)] as [number, string])];
      for (let t = 0; t <= 5; t++) events.push([t, rmc(t, '010526')]);
      events.sort((a, b) => a[0] - b[0]);
      const { observations: { pings }, summary } = await read(events.map(([t, text]) => stamp(t) + text));
      expect(summary.rejects).toEqual([]);
      expect(pings.n).toBe(schedule.length);
      schedule.forEach((t, i) => expect((pings.timeS[i] as number) - MAY_1).toBeCloseTo(t, 2));
    });
  }

  it('of whole seconds leave the spreading to the order', async () => {
    const lines: string[] = [];
    for (let t = 0; t < 4; t++) for (const body of [gga(t), dpt(1), dpt(2), dpt(3), dpt(4)]) lines.push(`2026-05-01 00:00:0${t} ${body}`);
    const { observations: { pings } } = await read(lines);
    for (let i = 0; i < 16; i++) expect(pings.timeS[i]).toBeCloseTo(MAY_1 + 0.125 + i * 0.25, 6);
  });

  it('date a log without date', async () => {
    const { observations, summary } = await read([0, 1, 2].map((t) => `2026-05-01T00:00:0${t}.1 ${gga(t)}`));
    expect([...observations.fixes.timeS]).toEqual([MAY_1, MAY_1 + 1, MAY_1 + 2]);
    expect(summary.notes.join()).toContain('the date is that of the stamps');
  });

  it('alone time the depths of a log without positions, as UTC', async () => {
    const { observations: { pings }, summary } = await read(['2026-05-01T10:00:00.250Z ' + dpt(1), '2026-05-01T10:00:00.750Z ' + dpt(2)]);
    expect([...pings.timeS].map(iso)).toEqual(['2026-05-01T10:00:00.250Z', '2026-05-01T10:00:00.750Z']);
    expect(summary.notes.join()).toContain('times are those of the stamps');
    const whole = await read(['10:00:00 ', '10:00:00 ', '10:00:01 ', '10:00:01 '].map((stamp) => stamp + dpt(1)), { noDate: '2026-05-01' });
    expect([...whole.observations.pings.timeS].map(iso)).toEqual(['10:00:00.000', '10:00:00.500', '10:00:01.000', '10:00:01.500'].map((t) => `2026-05-01T${t}Z`));
  });

  it('follow a logger clock that was set while logging', async () => {
    const lines: string[] = [];
    for (let t = 0; t < 200; t++) {
      const off = t < 100 ? -86_000 : 0.2;
      lines.push(`${(MAY_1 + t + off).toFixed(2)} ${rmc(t, '010526')}`, `${(MAY_1 + t + off + 0.3).toFixed(2)} ${dpt(t)}`);
    }
    const { observations: { pings } } = await read(lines);
    for (let t = 0; t < 200; t++) if (Math.abs(t - 100) > 1) expect((pings.timeS[t] as number) - MAY_1 - t).toBeCloseTo(0.3, 1);
  });

  it('that are no time are counted; the sentence is used', async () => {
    const { observations, summary } = await read([`rx: ${gga(0)}`, gga(1)]);
    expect(observations.fixes.n).toBe(2);
    expect(rejects(summary)).toEqual({ stamp: 1 });
  });
});

describe('readLog: TAG blocks', () => {
  const tag = (body: string): string => {
    let sum = 0;
    for (const c of body) sum ^= c.charCodeAt(0);
    return `\\${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}\\`;
  };

  it('give the time, in seconds or milliseconds', async () => {
    for (const scale of [1, 1000]) {
      const lines: string[] = [];
      for (let t = 0; t < 5; t++) {
        lines.push(tag(`s:GN01,c:${Math.round((MAY_1 + t) * scale)}`) + gga(t));
        lines.push(tag(`c:${Math.round((MAY_1 + t + (scale === 1 ? 0 : 0.25)) * scale)},s:SD01`) + dpt(5));
      }
      const { observations, summary } = await read(lines);
      expect(summary.rejects).toEqual([]);
      expect(observations.fixes.n).toBe(5);
      expect(observations.fixes.timeS[0]).toBe(MAY_1);
      expect((observations.pings.timeS[2] as number) - MAY_1).toBeCloseTo(scale === 1 ? 2.5 : 2.25, 6);
    }
  });

  it('with a wrong checksum are not believed; the sentence is used', async () => {
    const { observations, summary } = await read([`\\c:1000000000*00\\${gga(0)}`, gga(1)]);
    expect(observations.fixes.n).toBe(2);
    expect(rejects(summary)).toEqual({ 'tag-checksum': 1 });
  });
});
