import { describe, expect, it } from 'vitest';
import { defaultSettings, parseSettings, settingsText, typedSetting, withSetting } from '../../src/survey/load-settings.js';

const base = defaultSettings({ name: 'Hollin Sound' });
const changed = (change: (value: Record<string, unknown>) => void): string => {
  const value = JSON.parse(settingsText(base)) as Record<string, unknown>;
  change(value);
  return JSON.stringify(value);
};
const messageOf = (text: string): string => {
  try {
    parseSettings(text, 'survey.json');
    return 'no error';
  } catch (error) {
    return (error as Error).message;
  }
};

describe('settings', () => {
  it('settingsText: reads back as it was written', () => {
    expect(parseSettings(settingsText(base), 'survey.json')).toEqual(base);
  });

  it('parseSettings: names the setting, what was expected and what was found', () => {
    expect(messageOf(changed((value) => ((value['sounder'] as Record<string, unknown>)['draftM'] = -0.2)))).toBe('survey.json: sounder.draftM: expected at least 0, found -0.2');
    expect(messageOf(changed((value) => ((value['sounder'] as Record<string, unknown>)['draftM'] = '0.2 m')))).toBe('survey.json: sounder.draftM: expected a number, found "0.2 m"');
    expect(messageOf(changed((value) => (value['order'] = '1c')))).toMatch(/order: expected "1a" or "1b" or "2" or "exclusive" or "special", found "1c"/);
  });

  it('parseSettings: names an unknown setting', () => {
    expect(messageOf(changed((value) => (value['draft'] = 0.2)))).toMatch(/unknown setting draft; remove or correct it/);
  });

  it('parseSettings: says the line of a JSON mistake', () => {
    expect(messageOf('{\n "format": "tallow-survey",\n "version": 1,,\n}')).toMatch(/survey\.json line 3: not valid JSON/);
  });

  it('parseSettings: refuses a survey from a newer version before anything else', () => {
    const text = changed((value) => {
      value['version'] = 99;
      value['unheardOf'] = true;
    });
    expect(messageOf(text)).toMatch(/made by a newer Tallow \(settings version 99; this one reads up to 2\); use the newer Tallow; nothing was changed/);
  });

  it('parseSettings: a survey of version 1 that asked for every product of then asks for those that came since; one that chose keeps its choice', () => {
    const ofThen = ['csv', 'geoparquet', 'geotiff', 's102', 'geopackage', 'geojson', 'dxf', 'xyz', 'png', 'chart'];
    const version1 = (write: string[]) =>
      parseSettings(
        changed((value) => {
          value['version'] = 1;
          (value['products'] as Record<string, unknown>)['write'] = write;
        }),
        'survey.json',
      );
    expect(version1(ofThen)).toEqual(base);
    expect(base.products.write).toEqual([...ofThen, 'mosaic', 'finds']);
    expect(version1(['csv', 'chart']).products.write).toEqual(['csv', 'chart']);
    // In a survey of today leaving some out is a choice.
    expect(parseSettings(settingsText({ ...base, products: { ...base.products, write: ofThen as typeof base.products.write } }), 'survey.json').products.write).toEqual(ofThen);
  });

  it('withSetting: a date that is none is refused with what one looks like', () => {
    expect(() => withSetting(base, 'time.noDate', '2018-11-2')).toThrow(/time\.noDate: expected year, month and day, as 2026-06-17, found "2018-11-2"/);
  });

  it('typedSetting: a bare number is text where the setting takes text alone', () => {
    expect(typedSetting('order', '2')).toBe('2');
    expect(typedSetting('order', '"2"')).toBe('2');
    expect(typedSetting('order', 'special')).toBe('special');
    // As it was typed, not as a number would be written.
    expect(typedSetting('name', '12.10')).toBe('12.10');
    expect(typedSetting('sounder.draftM', '0.20')).toBe(0.2);
    expect(typedSetting('surface.cellM', 'null')).toBeNull();
    expect(typedSetting('corrections.heave', 'false')).toBe(false);
    // What suits neither stays as it reads, for the message.
    expect(typedSetting('order', '3')).toBe(3);
    expect(typedSetting('no.such', '3')).toBe(3);
  });

  it('withSetting: changes one value and checks it', () => {
    expect(withSetting(base, 'surface.cellM', 0.5).surface.cellM).toBe(0.5);
    expect(base.surface.cellM).toBeNull();
    expect(() => withSetting(base, 'surface.cellM', 0)).toThrow(/surface\.cellM: expected more than 0, found 0/);
    expect(() => withSetting(base, 'surface.cell', 1)).toThrow(/there is no setting surface\.cell; known here: cellM/);
    expect(() => withSetting(base, '__proto__.polluted', 1)).toThrow(/there is no setting/);
  });
});
