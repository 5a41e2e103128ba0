import { settingsSchema, SETTINGS_VERSION } from '../survey/settings.js';
import type { Settings } from '../survey/settings.js';

/** The settings of a survey in which nobody has set anything: what a value is compared with to say that it is a default. */
export function settingsDefaults(): Settings {
  return settingsSchema.parse({ format: 'tallow-survey', version: SETTINGS_VERSION, name: 'defaults' });
}
