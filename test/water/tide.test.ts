import { describe, expect, it } from 'vitest';
import { parseUtc } from '../../src/base/time.js';
import { COMPOUND_CONSTITUENTS, constituentName, SIMPLE_CONSTITUENTS } from '../../src/water/tide-constituents.js';
import { constituentState, predictTide } from '../../src/water/tide.js';
import { HAVE_SHARED, sharedRows, SHARED_NOTE } from './recorded.js';

const wrap = (deg: number): number => ((((deg + 180) % 360) + 360) % 360) - 180;

describe.skipIf(!HAVE_SHARED)(`published tide${SHARED_NOTE}`, () => {
  // Source: checks/tide-arguments-1970-2030.csv, the public-domain tables of Debian's xtide-data: argument V0 + u at
  // 1 January 00:00 with u of the middle of the year, node factor of the middle of the year. Printed to 0.01 deg and 1e-4.
  const rows = HAVE_SHARED ? sharedRows('checks/tide-arguments-1970-2030.csv', ',') : [];

  it('constituentState: gives the published argument, node factor and speed of every constituent known here, 1970 to 2030', () => {
    const seen = new Set<string>();
    for (const [name, speed, year, argument, factor] of rows) {
      if (constituentName(name!) !== name) continue;
      seen.add(name!);
      const start = Date.UTC(Number(year), 0, 1) / 1000;
      const middle = (start + Date.UTC(Number(year) + 1, 0, 1) / 1000) / 2;
      const state = constituentState(name!, start, middle);
      // Compounds add up the rounding of their members' node angles: 0.005 deg for each of up to ten.
      const members = Object.values(COMPOUND_CONSTITUENTS[name!] ?? { one: 1 }).reduce((sum, count) => sum + Math.abs(count), 0);
      expect(Math.abs(wrap(state.argumentDeg - Number(argument))), `${name} ${year} argument`).toBeLessThan(0.03 + 0.005 * members);
      expect(Math.abs(state.factor - Number(factor)), `${name} ${year} factor`).toBeLessThan(1.5e-4);
      // M1 has the published argument without the perigee, whose motion the published speed holds.
      if (name !== 'M1') expect(Math.abs(state.speedDegPerHour - Number(speed)), `${name} speed`).toBeLessThan(2e-7);
    }
    expect(seen.size).toBeGreaterThanOrEqual(60);
  });

  it('predictTide: meets the official 6-minute predictions for Honolulu within 5 mm RMS after the datum offset of 0.2510 m', () => {
    // Source: NOAA CO-OPS station 1612340, constants and predictions of 2023-08-29 and 30, public domain.
    const constituents = sharedRows('tide/honolulu_1612340_harmonics.tsv', '\t').map(([, name, amplitude, phase]) => ({
      name: name!,
      amplitudeM: Number(amplitude),
      phaseDeg: Number(phase),
    }));
    expect(constituents.length).toBe(37);
    const official = sharedRows('tide/honolulu_1612340_predictions.csv', ',');
    const times = Float64Array.from(official, ([time]) => parseUtc(time!));
    const levels = predictTide(constituents, 0.251).levelsAt(times);
    const squares = official.map(([, level], i) => (Number(level) - levels[i]!) ** 2);
    const rmsM = Math.sqrt(squares.reduce((sum, one) => sum + one, 0) / squares.length);
    expect(squares.length).toBe(480);
    expect(rmsM).toBeLessThan(0.005);

    // With the published convention, node factors of the middle of the year and M1's yearly argument, what is left is rounding.
    const start = Date.UTC(2023, 0, 1) / 1000;
    const middle = (start + Date.UTC(2024, 0, 1) / 1000) / 2;
    const states = constituents.map(({ name }) => ({ ...constituentState(name, start, middle), speed: name === 'M1' ? 14.4966939 : constituentState(name, start).speedDegPerHour }));
    const published = official.map(([, level], i) => {
      const hours = (times[i]! - start) / 3600;
      const predicted = states.reduce(
        (sum, { factor, argumentDeg, speed }, k) => sum + factor * constituents[k]!.amplitudeM * Math.cos(((argumentDeg + speed * hours - constituents[k]!.phaseDeg) * Math.PI) / 180),
        0.251,
      );
      return (Number(level) - predicted) ** 2;
    });
    expect(Math.sqrt(published.reduce((sum, one) => sum + one, 0) / published.length)).toBeLessThan(0.0005);
  });
});

describe('tide prediction', () => {
  const start = parseUtc('2026-12-30T00:00:00Z');
  const constituents = [
    { name: 'M2', amplitudeM: 1.2, phaseDeg: 40 },
    { name: 's2', amplitudeM: 0.4, phaseDeg: 70 },
    { name: 'K1', amplitudeM: 0.3, phaseDeg: 120 },
    { name: 'O1', amplitudeM: 0.2, phaseDeg: 100 },
    { name: 'M8', amplitudeM: 0.05, phaseDeg: 10 },
    { name: 'LAM2', amplitudeM: 0.02, phaseDeg: 10 },
  ];
  const prediction = predictTide(constituents, 2.5);

  it('levelAt: S2 alone stands highest at its phase lag after midnight and noon UTC', () => {
    // Source: Schureman (1958): the argument of S2 is 2T, T the hour angle of the mean sun.
    const solar = predictTide([{ name: 'S2', amplitudeM: 0.5, phaseDeg: 60 }], 1);
    expect(solar.levelAt(start + 2 * 3600)).toBeCloseTo(1.5, 9);
    expect(solar.levelAt(start + 8 * 3600)).toBeCloseTo(0.5, 9);
  });

  it('levelsAt: differs from levelAt by less than the bound claimed, also over New Year and in any order', () => {
    expect(prediction.interpolationErrorM).toBeLessThan(1e-5);
    const times = Float64Array.from({ length: 4000 }, (_, i) => start + ((i * 7919) % 4000) * 87.3);
    prediction.levelsAt(times).forEach((level, i) => expect(Math.abs(level - prediction.levelAt(times[i]!))).toBeLessThanOrEqual(prediction.interpolationErrorM + 1e-12));
  });

  it('levelsAt: keeps its bound of nanometres where node factors change fastest', () => {
    const lunar = predictTide([{ name: 'O1', amplitudeM: 1, phaseDeg: 100 }, { name: 'OO1', amplitudeM: 0.5, phaseDeg: 20 }]);
    expect(lunar.interpolationErrorM).toBeLessThan(5e-9);
    const times = Float64Array.from({ length: 3000 }, (_, i) => start + i * 97.1);
    lunar.levelsAt(times).forEach((level, i) => expect(Math.abs(level - lunar.levelAt(times[i]!))).toBeLessThanOrEqual(lunar.interpolationErrorM));
  });

  it('levelsAt: takes the direct way where times are far apart', () => {
    const times = Float64Array.from({ length: 50 }, (_, i) => start + i * 86_400 * 30);
    prediction.levelsAt(times).forEach((level, i) => expect(level).toBe(prediction.levelAt(times[i]!)));
  });

  it('levelsAt: goes on without a step at midnight and at New Year', () => {
    for (let day = 0; day < 5; day++) {
      const midnight = start + day * 86_400;
      const [before, after] = prediction.levelsAt(Float64Array.of(midnight - 0.001, midnight + 0.001));
      expect(Math.abs(after! - before!)).toBeLessThan(1e-6);
    }
  });

  it('NaN times give NaN; no constituents give the mean level', () => {
    expect(prediction.levelAt(NaN)).toBeNaN();
    expect([...prediction.levelsAt(Float64Array.of(NaN, start))].map(Number.isNaN)).toEqual([true, false]);
    expect([...prediction.levelsAt(new Float64Array(0))]).toEqual([]);
    expect(predictTide([], 1.5).levelAt(start)).toBe(1.5);
  });

  it('refuses what it does not know rather than leaving it out', () => {
    expect(() => predictTide([{ name: 'QQ9', amplitudeM: 0.1, phaseDeg: 0 }])).toThrow('constituent QQ9: not one that is known here');
    expect(() => predictTide([constituents[0]!, { name: 'm2', amplitudeM: 0.1, phaseDeg: 0 }])).toThrow('constituent m2: given twice');
    expect(() => predictTide([{ name: 'M2', amplitudeM: -1, phaseDeg: 0 }])).toThrow(RangeError);
    expect(() => predictTide([{ name: 'M2', amplitudeM: 1, phaseDeg: NaN }])).toThrow(RangeError);
    expect(() => predictTide([], NaN)).toThrow(RangeError);
  });

  it('every member of a compound constituent is a simple one', () => {
    for (const members of Object.values(COMPOUND_CONSTITUENTS)) {
      for (const member of Object.keys(members)) expect(Object.hasOwn(SIMPLE_CONSTITUENTS, member)).toBe(true);
    }
  });

  it('300 000 times of a day are predicted in well under 0.3 s', () => {
    const times = Float64Array.from({ length: 300_000 }, (_, i) => start + i * 0.1);
    // Of the processor's time, which other programs do not take.
    const before = process.cpuUsage();
    prediction.levelsAt(times);
    expect(process.cpuUsage(before).user / 1000).toBeLessThan(300);
  });
});
