import { constituentFromEllipse, type CurrentConstituent } from '../water/current-constituents.js';
import type { ParsedCurrent, StreamReference } from '../water/current-parsed.js';
import type { StreamRow } from '../water/current-stream-table.js';
import { CurrentTable } from './current-table.js';

/**
 * Reads a current from CSV. What it holds is told by its header, units in the names (`speedKn`, `speed (m/s)`, `east_cm/s`):
 *
 * - a series: time, and speed with set, or east with north; sigma if known;
 * - a tidal stream table: hour (from high water), set, spring and neap rate, with `# springRangeM: 4.6` and `# neapRangeM: 2.2`
 *   on lines before the header;
 * - constituents: name, and east, eastPhaseDeg, north, northPhaseDeg, or major, minor, majorSetDeg, phaseDeg;
 *   `# meanEastMps: 0.05` and `# meanNorthMps: 0` before the header.
 *
 * Set is the direction it flows towards, true. Times are UTC: ISO 8601, or seconds or milliseconds since 1970.
 *
 * @throws FormatError naming line, what was expected, what was found, and what to do
 */
export function parseCurrentCsv(text: string, name: string): ParsedCurrent {
  const table = new CurrentTable(text, name);
  if (table.has('spring') || table.has('neap') || (table.has('hour') && !table.hasTime)) return streamTable(table);
  if (table.has('constituent')) return constituents(table);
  if (table.hasTime) return series(table);
  throw table.headerFault('a time, an hour from high water, or a constituent', 'name the columns, e.g. timeUtc,speedKn,setDeg');
}

/**
 * Reads the high waters of a reference port from CSV: time and range (a row a high water), or time and level of high and low
 * waters in turn, as tide tables print them.
 * @throws FormatError as `parseCurrentCsv`
 */
export function parseHighWatersCsv(text: string, name: string): StreamReference {
  const table = new CurrentTable(text, name);
  if (!table.hasTime) throw table.headerFault('a time', 'name the columns, e.g. timeUtc,levelM');
  if (table.has('range')) {
    return { kind: 'high-waters', highWaters: table.rows.map((row) => ({ timeS: table.timeS(row), rangeM: table.number(row, 'range') })) };
  }
  if (!table.has('level')) throw table.headerFault('a level or a range', 'name the columns, e.g. timeUtc,levelM');
  const rows = table.rows.map((row) => ({ row, timeS: table.timeS(row), levelM: table.number(row, 'level') })).sort((a, b) => a.timeS - b.timeS);
  if (rows.length < 2) throw table.fault(table.headerLine, 'too-few', 'high and low waters', `${rows.length} row`, 'give both, in turn');
  const turns = rows.map(({ row, timeS, levelM }, i) => {
    const beside = [rows[i - 1], rows[i + 1]].filter((one) => one !== undefined).map((one) => one.levelM);
    const high = beside.every((other) => levelM > other);
    if (!high && !beside.every((other) => levelM < other)) throw table.fault(row.line, 'no-turn', 'high and low waters in turn', `${levelM} m between ${beside.join(' m and ')} m`, 'take out what is neither, or give time and range of high waters alone');
    return { kind: high ? ('high' as const) : ('low' as const), timeS, levelM };
  });
  return { kind: 'turns', turns };
}

function series(table: CurrentTable): ParsedCurrent {
  const bySet = table.has('speed') && table.has('set');
  if (!bySet && !(table.has('east') && table.has('north'))) throw table.headerFault('speed and set, or east and north', 'name the columns, e.g. timeUtc,speedKn,setDeg');
  const timeS = Float64Array.from(table.rows, (row) => table.timeS(row));
  const column = (quantity: 'speed' | 'set' | 'east' | 'north' | 'sigma'): Float64Array => Float64Array.from(table.rows, (row) => (quantity === 'speed' ? table.notNegative(row, quantity) : table.numberOrNaN(row, quantity)));
  return {
    kind: 'series',
    series: {
      timeS,
      velocity: bySet ? { kind: 'set', speedMps: column('speed'), setDeg: column('set') } : { kind: 'parts', eastMps: column('east'), northMps: column('north') },
      sigmaMps: table.has('sigma') ? column('sigma') : null,
    },
  };
}

function streamTable(table: CurrentTable): ParsedCurrent {
  for (const quantity of ['hour', 'set', 'spring', 'neap'] as const) if (!table.has(quantity)) throw table.headerFault(quantity === 'set' ? 'a set' : quantity === 'hour' ? 'an hour from high water' : `a ${quantity} rate`, 'name the columns, e.g. hour,setDeg,springKn,neapKn');
  const seen = new Map<number, number>();
  const rows = table.rows.map((row): StreamRow => {
    const hour = table.number(row, 'hour');
    if (Math.abs(hour) > 13) throw table.fault(row.line, 'bad-hour', 'hours from high water, -13 to 13', String(hour), 'count from high water, before it negative');
    const before = seen.get(hour);
    if (before !== undefined) throw table.fault(row.line, 'twice', 'each hour once', `hour ${hour} again, as in line ${before}`, 'take one out');
    seen.set(hour, row.line);
    const springMps = table.notNegative(row, 'spring');
    const neapMps = table.notNegative(row, 'neap');
    // Slack water has no set.
    const setDeg = table.numberOrNaN(row, 'set');
    if (Number.isNaN(setDeg) && springMps + neapMps > 0) throw table.fault(row.line, 'no-set', 'a set where there is a rate', 'none', 'give the direction it flows towards');
    return { hour, setDeg: Number.isNaN(setDeg) ? 0 : setDeg, springMps, neapMps };
  });
  if (rows.length < 2) throw table.fault(table.headerLine, 'too-few', 'two hours or more', `${rows.length}`, 'give the whole table');
  return { kind: 'stream-table', rows, springRangeM: table.note('springrangem'), neapRangeM: table.note('neaprangem'), reference: null };
}

function constituents(table: CurrentTable): ParsedCurrent {
  const parts = ['east', 'eastPhase', 'north', 'northPhase'] as const;
  const ellipse = ['major', 'minor', 'majorSet', 'phase'] as const;
  const byParts = parts.every((one) => table.has(one));
  if (!byParts && !ellipse.every((one) => table.has(one))) throw table.headerFault('east, eastPhaseDeg, north, northPhaseDeg, or major, minor, majorSetDeg, phaseDeg', 'name the columns so, with units');
  const list = table.rows.map((row): CurrentConstituent => {
    const name = table.text(row, 'constituent');
    if (byParts) return { name, eastMps: table.notNegative(row, 'east'), eastPhaseDeg: table.number(row, 'eastPhase'), northMps: table.notNegative(row, 'north'), northPhaseDeg: table.number(row, 'northPhase') };
    return constituentFromEllipse(name, table.notNegative(row, 'major'), table.number(row, 'minor'), table.number(row, 'majorSet'), table.number(row, 'phase'));
  });
  const orNone = (value: number): number => (Number.isNaN(value) ? 0 : value);
  return { kind: 'constituents', stream: { constituents: list, meanEastMps: orNone(table.note('meaneastmps')), meanNorthMps: orNone(table.note('meannorthmps')) } };
}
