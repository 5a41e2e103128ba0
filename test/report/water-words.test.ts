import { describe, expect, it } from 'vitest';
import { levelWords, soundWords } from '../../src/report/water-words.js';
import { defaultSettings } from '../../src/survey/load-settings.js';
import type { SettingsInput } from '../../src/survey/settings.js';

const water = (input: NonNullable<SettingsInput['water']>) => defaultSettings({ name: 'words', water: input });

/** Words of the settings that are no words of the crew's. */
const CODE = /\b(gauges,|gnss-height|as-set|between-in-time|nearest-in-\w+|casts$|null|undefined|NaN)/;

describe('water in words', () => {
  it('levelWords: each kind names its source and no word of the settings file', () => {
    const levels: NonNullable<NonNullable<SettingsInput['water']>['level']>[] = [
      { kind: 'none' },
      { kind: 'constant', levelM: 0.5 },
      { kind: 'series', file: 'water/level.csv' },
      { kind: 'constituents', file: 'water/tide.json' },
      { kind: 'gauges', gauges: [{ file: 'water/north.csv' }] },
      { kind: 'gauges', gauges: [{ file: 'water/north.csv', laterS: 720, rangeFactor: 1.1, addM: 0.02 }, { file: 'water/south.csv', laterS: -60 }] },
      { kind: 'gnss-height', separation: { kind: 'constant', heightM: 43.2 } },
      { kind: 'gnss-height', separation: { kind: 'raster', file: 'water/separation.tif' } },
    ];
    const said = levels.map((level) => levelWords(water({ level }).water.level));
    expect(said).toEqual([
      'none taken off',
      '+0.50 m above datum all the time, as entered',
      'observed series water/level.csv',
      'predicted from the tidal constituents in water/tide.json',
      'carried over from a gauge elsewhere, water/north.csv',
      'carried over from 2 gauges elsewhere, the nearer counting more: water/north.csv (12.0 min later, range times 1.100, +0.02 m added), water/south.csv (1.0 min earlier)',
      'from GNSS heights of the antenna; the datum lies 43.20 m above the ellipsoid, as entered',
      'from GNSS heights of the antenna; the datum lies above the ellipsoid by water/separation.tif',
    ]);
    for (const words of said) expect(words).not.toMatch(CODE);
  });

  it('soundWords: each kind names its source and no word of the settings file', () => {
    const casts = [{ file: 'water/a.csv' }, { file: 'water/b.csv' }];
    const said = ([{ kind: 'as-set' }, { kind: 'constant', soundSpeedMps: 1485 }, { kind: 'profile', file: 'water/a.csv' }, { kind: 'casts', casts: casts.slice(0, 1) }, { kind: 'casts', casts, rule: 'nearest-in-place' }] as const).map((soundSpeed) => {
      const settings = water({ soundSpeed: structuredClone(soundSpeed) as never });
      return soundWords(settings.water, settings.sounder);
    });
    expect(said).toEqual([
      'as the instrument was set, 1500.0 m/s, not measured',
      '1485.0 m/s at all depths, as entered',
      'profile water/a.csv',
      'one cast, water/a.csv',
      '2 casts, each depth by the nearest in place: water/a.csv, water/b.csv',
    ]);
    for (const words of said) expect(words).not.toMatch(CODE);
  });
});
