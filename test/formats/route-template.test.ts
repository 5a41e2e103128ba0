import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FormatError } from '../../src/base/errors.js';
import type { Route } from '../../src/formats/route.js';
import { readRouteTemplate } from '../../src/formats/route-template.js';

const START = Date.UTC(2026, 4, 4, 12) / 1000;
const ROUTE: Route = {
  name: 'Sortie & "1"',
  description: '',
  waypoints: [
    { latDeg: 46, lonDeg: -30, name: 'launch', kind: 'launch', line: null, speedMps: NaN, timeS: START, xtdM: NaN, radiusM: NaN },
    { latDeg: 46.20576117, lonDeg: -30.00205, name: 'a,b', kind: 'line', line: 12, speedMps: 1.5, timeS: START + 370.25, xtdM: 3, radiusM: 4 },
    { latDeg: -0.99999999999, lonDeg: 5.5, name: 'home', kind: 'transit', line: 7, speedMps: 2, timeS: NaN, xtdM: 3, radiusM: NaN },
  ],
};
const fill = (text: string, route = ROUTE): string => readRouteTemplate(text, 't.txt').fill(route);
const said = (text: string): string => {
  try {
    fill(text);
  } catch (error) {
    expect(error).toBeInstanceOf(FormatError);
    return (error as Error).message;
  }
  return 'nothing wrong';
};

describe('route templates', () => {
  it('readRouteTemplate: loops over waypoints with fields, units, decimals and what stands for the unknown', () => {
    expect(fill('WP @(count)\r\n@(each)\r\n@(number pad 3);@(lat 7);@(lon 7);@(speed kn 1 else 0.0)\r\n@(end)\r\nEND')).toBe(
      'WP 3\r\n001;46.0000000;-30.0000000;0.0\r\n002;46.2057612;-30.0020500;2.9\r\n003;-1.0000000;5.5000000;3.9\r\nEND',
    );
  });

  it('readRouteTemplate: writes angles as degrees and minutes or seconds, rounded as a whole', () => {
    // 46.20576117 deg = 46 deg 12.3456702 min = 46 deg 12 min 20.740 s.
    expect(fill('@(each line)@(lat dm 5)|@(lon dm 3)|@(lat dms 2)|@(lat 1e7)@(end)')).toBe('46 12.34567 N|030 00.123 W|46 12 20.74 N|462057612');
    expect(fill('@(each transit)@(lat dm 5)|@(lat dms 2)|@(lon dms 0)@(end)')).toBe('01 00.00000 S|01 00 00.00 S|005 30 00 E');
  });

  it('readRouteTemplate: writes times, lengths and courses in the wanted form', () => {
    expect(fill('@(each line)@(time)|@(time 2)|@(time unix)|@(time ms)|@(time hms)|@(time date)|@(xtd ft 2)|@(radius nm)|@(line)@(end)')).toBe(
      '2026-05-04T12:06:10Z|2026-05-04T12:06:10.25Z|1777896370|1777896370250|12:06:10|2026-05-04|9.84|0.00216|12',
    );
    // 0.20576117 deg of the meridian and a little west: 111 km a degree.
    expect(Number(fill('@(each line)@(length km 2)@(end)'))).toBeCloseTo(22.87, 1);
    expect(fill('@(each line)@(course 1)@(end)')).toMatch(/^359\.\d$/);
    expect(Number(fill('@(total m 0)'))).toBeGreaterThan(5_000_000);
  });

  it('readRouteTemplate: chooses by first, last, known and kind', () => {
    expect(fill('[@(each)"@(name)"@(if not last), @(end)@(end)]')).toBe('["launch", "a,b", "home"]');
    expect(fill('@(each)@(if first)S@(else)@(if kind line)L@(else)T@(end)@(end)@(end)')).toBe('SLT');
    expect(fill('@(each)@(if known time)@(time unix)@(else)none@(end) @(end)')).toBe('1777896000 1777896370 none ');
    // First and last are of those the loop takes.
    expect(fill('@(each line)@(if first)one@(end)@(if last)only@(end)@(end)')).toBe('oneonly');
  });

  it('readRouteTemplate: escapes names for XML, CSV and JSON, and lets @( stand', () => {
    expect(fill('@(route xml) @(route csv) @(route json) a@@(b) mail@x')).toBe('Sortie &amp; &quot;1&quot; "Sortie & ""1""" Sortie & \\"1\\" a@(b) mail@x');
    expect(fill('@(each line)@(name csv)@(end)')).toBe('"a,b"');
    expect(fill('[@(description)][@(description else none)]')).toBe('[][none]');
  });

  it('readRouteTemplate: takes away lines that hold only a block mark or a note', () => {
    expect(fill('a\n@(note written by the crew)\n  @(each)\n@(number)\n  @(end)\nb\n')).toBe('a\n1\n2\n3\nb\n');
    expect(fill('@(each)\nx\n@(end)')).toBe('x\nx\nx\n');
  });

  it('readRouteTemplate: says line, name and what was expected', () => {
    expect(said('one\n@(latt)\n')).toBe('t.txt line 2: expected a field, found latt; fields: lat, lon, name, kind, line, number, index, course, length, along, speed, time, xtd, radius, route, description, count, total; words: each, if, else, end, note');
    expect(said('\n\n@(lat 7)')).toBe('t.txt line 3: expected lat inside @(each), found outside; only route, description, count and total stand there');
    expect(said('@(each)\n@(lat knots)\n@(end)')).toBe('t.txt line 2: expected one of deg, dm, dms, 1e7, rad, decimals, pad WIDTH or else TEXT after lat, found knots');
    expect(said('@(each)\n@(name 3)\n@(end)')).toContain('line 2: expected one of plain, xml, csv, json, pad WIDTH or else TEXT after name, found 3');
    expect(said('@(each)\n@(number pad)\n@(end)')).toContain('expected a number and a width after pad, found number pad ; e.g. @(number pad 3)');
    expect(said('@(each)\n\n@(lat')).toBe('t.txt line 3: expected a ) on the same line after @(, found none; close the mark, or write @@( for the signs themselves');
    expect(said('@(each)\n@(lat)')).toBe('t.txt line 1: expected an @(end) for @(each), found the end of the file; close it');
    expect(said('x @(end)')).toBe('t.txt line 1: expected a mark to close, found @(end) with none open; take it out');
    expect(said('@(each)\n@(else)\n@(end)')).toContain('line 2: expected an @(end) for @(each) of line 1, found @(else)');
    expect(said('@(each)@(if first)\n@(else)\n@(else)@(end)@(end)')).toContain('line 3: expected an @(end) for @(if) of line 1, found a second @(else)');
    expect(said('@(each)\n@(each)@(end)@(end)')).toContain('line 2: expected no @(each) inside another');
    expect(said('@(if last)x@(end)')).toContain('expected @(if) inside @(each), found @(if last) outside');
    expect(said('@(each)@(if sunny)@(end)@(end)')).toContain('expected first, last, known FIELD or kind WORD after if, found @(if sunny)');
    expect(said('@(each)@(if known sun)@(end)@(end)')).toContain('expected a field after known, found sun');
    expect(said('@()')).toContain('line 1: expected a field or a word in @(), found nothing');
    expect(said('@(each)\n@(time)\n@(end)')).toBe('t.txt line 2: time: expected a value, found none at waypoint 3; write e.g. @(time else -)');
    expect(said('@(constructor)')).toContain('expected a field, found constructor');
  });

  it('readRouteTemplate: text without marks comes back as it is, and no template brings anything but text or a FormatError', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 60 }).filter((text) => !text.includes('@(')), (text) => {
        expect(fill(text)).toBe(text);
      }),
      { seed: 51, numRuns: 300 },
    );
    const piece = fc.constantFrom('@(', ')', '@(each)', '@(end)', '@(if last)', '@(else)', '@(lat dm 3)', '@(time else -)', '@@(', '@(note x)', '\n', ' ', 'x', '@(count)', '@(speed kn', ' 1)');
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 14 }), (pieces) => {
        try {
          fill(pieces.join(''));
        } catch (error) {
          if (!(error instanceof FormatError)) throw error;
        }
      }),
      { seed: 52, numRuns: 3000 },
    );
  });
});
