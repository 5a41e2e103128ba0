import type { Settings } from '../../survey/settings.js';
import type { GroundSettings } from '../work/rehearse-messages.js';

/** The part of a survey's settings that sorties and rehearsals are made with. */
export function groundSettings({ sortie, rehearse, link, water, lines }: Settings): GroundSettings {
  return { sortie, rehearse, link, water, lines };
}
