import { describe, expect, it } from 'vitest';
import { FormatError } from '../../src/base/errors.js';
import { GpxTrackLog } from '../../src/formats/gpx-track.js';
import { ObservationRows } from '../../src/formats/log-columns.js';
import { LogTally } from '../../src/formats/log-tally.js';
import { iso, read, rejects } from './nmea-log-text.js';

const point = (i: number, inside = ''): string => `<trkpt lat="46.${100 + i}" lon="-30.25"><ele>${i}.5</ele><time>${new Date(Date.UTC(2026, 4, 1, 10, 0, i)).toISOString()}</time>${inside}</trkpt>`;
const gpx = (inside: string, head = '<?xml version="1.0" encoding="UTF-8"?>\n'): string =>
  `${head}<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>\n${inside}\n</trkseg></trk></gpx>\n`;
const points = (n: number): string => Array.from({ length: n }, (_, i) => point(i)).join('\n');

describe('readLog: GPX tracks', () => {
  it('give a fix a point with its height, and what else the point says', async () => {
    const { observations, summary } = await read(gpx(`${point(0)}${point(1, '<geoidheight>57.1</geoidheight><fix>dgps</fix><sat>11</sat><hdop>0.8</hdop><extensions><x:depth xmlns:x="urn:x">12.25</x:depth><x:wtemp>13.5</x:wtemp></extensions>')}`));
    const { fixes, pings, series } = observations;
    expect(summary).toMatchObject({ kind: 'gpx', counts: { trkpt: 2 }, fixes: 2, pings: 1, rejects: [] });
    expect([...fixes.timeS].map(iso)).toEqual(['2026-05-01T10:00:00.000Z', '2026-05-01T10:00:01.000Z']);
    expect([fixes.latDeg[1], fixes.lonDeg[1], fixes.heightM[1], fixes.geoidM[1]]).toEqual([46.101, -30.25, 1.5, Math.fround(57.1)]);
    expect([fixes.quality[0], fixes.quality[1], fixes.satellites[1], fixes.hdop[1]]).toEqual([255, 2, 11, Math.fround(0.8)]);
    expect(pings.depthM[0]).toBe(12.25);
    expect(series.waterTemperatureC?.value[0]).toBe(13.5);
  });

  it('points without time, without fix, at 0/0, out of range or going back are counted', async () => {
    const bad = ['<trkpt lat="46" lon="-30"/>', '<trkpt lat="46" lon="-30"><time>noon</time></trkpt>', point(20, '<fix>none</fix>'), point(21).replace('46.121', '0').replace('-30.25', '0'), point(22).replace('46.122', '96'), point(5)];
    const { observations, summary } = await read(gpx(points(10) + bad.join('') + point(30)));
    expect(observations.fixes.n).toBe(11);
    expect(rejects(summary)).toEqual({ 'no-time': 1, 'bad-time': 1, 'no-fix': 1, 'zero-position': 1, 'position-range': 1, 'time-backwards': 1 });
  });

  it('waypoints and routes are passed over, with a note', async () => {
    const { summary } = await read(gpx(points(2)).replace('<trk>', '<wpt lat="1" lon="2"><time>2026-05-01T00:00:00Z</time></wpt><rte><rtept lat="1" lon="2"/></rte><trk>'));
    expect(summary.fixes).toBe(2);
    expect(summary.notes.join()).toContain('2 waypoints and route points are passed over');
  });

  it('Latin-1 files are read as they declare', async () => {
    const { summary } = await read(gpx(points(2), '<?xml version="1.0" encoding="ISO-8859-1"?><!-- \xe9t\xe9 -->'));
    expect(summary.fixes).toBe(2);
    expect(summary.notes).toEqual([]);
  });

  it('truncated at every byte: what stood before is used, a route alone or nothing is refused', async () => {
    const text = gpx(points(6));
    let last = 0;
    for (let i = 0; i < text.length; i++) {
      let fixes = 0;
      try {
        fixes = (await read(text.slice(0, i))).summary.fixes;
      } catch (error) {
        expect(error).toBeInstanceOf(FormatError);
      }
      expect(fixes).toBeGreaterThanOrEqual(last);
      last = fixes;
    }
    expect(last).toBe(6);
    const cut = await read(text.slice(0, text.indexOf('<trkpt lat="46.104"') + 30));
    expect(cut.summary.fixes).toBe(4);
    expect(cut.summary.notes.join()).toMatch(/the file is damaged or cut short at line \d+/);
  });

  it('any division into pieces gives the same', () => {
    const bytes = new TextEncoder().encode(gpx(`${points(5)}<!-- \u00e9\u20ac -->${point(6)}`));
    const inPieces = (size: number): unknown => {
      const tally = new LogTally();
      const log = new GpxTrackLog(tally, 3);
      for (let at = 0; at < bytes.length; at += size) log.feed(bytes.subarray(at, at + size));
      log.finish();
      const rows = new ObservationRows();
      log.ready.forEach((chunk) => rows.append(chunk));
      return { observations: rows.takeObservations(), summary: tally.summary('gpx') };
    };
    for (const size of [200, 300, 777]) expect(inPieces(size)).toEqual(inPieces(1e9));
  });

  it('entities that multiply are not expanded, deep nesting and endless text end the reading', async () => {
    const bomb = gpx(`${points(3)}<trkpt lat="46.2" lon="-30"><name>&lol9;</name></trkpt>${point(9)}`, '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY lol "lol"><!ENTITY lol9 "&lol;&lol;&lol;&lol;">]>');
    expect((await read(bomb)).summary.fixes).toBe(3);
    const deep = gpx(points(3) + '<a>'.repeat(100_000));
    const { summary } = await read(deep);
    expect(summary.fixes).toBe(3);
    expect(summary.notes.join()).toContain('nested deeper than 64');
    const endless = gpx(`${points(3)}<name>${'x'.repeat(5_000_000)}`);
    expect((await read(endless)).summary.notes.join()).toContain('no element ends for a million characters');
  });
});
