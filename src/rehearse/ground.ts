import type { KeepOut } from '../geo/keep-out.js';
import type { Polygon } from '../geo/shapes.js';
import type { CurrentField } from '../water/current-field.js';
import type { WaterLevel } from '../water/level.js';
import { createLink, type Link } from './link.js';
import type { Place, RehearsalOptions, RehearsalRequest, Wind } from './rehearsal.js';

/** What of the place and the day a rehearsal goes by, however it was read. */
export interface RehearsalGround {
  readonly convergenceDeg: number;
  readonly keepouts: readonly KeepOut[];
  readonly land: readonly Polygon[];
  readonly current: CurrentField;
  /** Null where the survey has none: water is then not reckoned with. */
  readonly level: WaterLevel | null;
  readonly bottomDepthM: ((xM: number, yM: number) => number) | null;
  readonly sunAltitudeDeg: (timeS: number) => number;
  readonly link: Link;
}

/** The settings of survey.json that a rehearsal goes by; src/survey/settings.ts describes them. */
export interface RehearsalSettings {
  readonly rehearse: Pick<RehearsalOptions, 'turning' | 'acceptanceM' | 'lookAheadM' | 'turnSpeedMps' | 'leewayShare' | 'draftM' | 'leastWaterM' | 'leastSunDeg' | 'linkLostIsNoGo' | 'lostLink' | 'lostLinkAfterS' | 'toleranceM'> & { readonly wind: Wind | null };
  readonly sortie: Pick<RehearsalOptions, 'reserveShare' | 'batteryShare'> & { readonly chance: number };
}

/** What a rehearsal is given beside the sortie, the boat and the start. */
export function rehearsalSetting(ground: RehearsalGround, settings: RehearsalSettings): Omit<RehearsalRequest, 'sortie' | 'boat' | 'startS'> {
  const { turning, acceptanceM, lookAheadM, turnSpeedMps, wind, leewayShare, draftM, leastWaterM, leastSunDeg, linkLostIsNoGo, lostLink, lostLinkAfterS, toleranceM } = settings.rehearse;
  const { reserveShare, batteryShare, chance } = settings.sortie;
  return {
    current: ground.current,
    convergenceDeg: ground.convergenceDeg,
    wind,
    keepouts: ground.keepouts,
    land: ground.land,
    level: ground.level,
    bottomDepthM: ground.bottomDepthM,
    sunAltitudeDeg: ground.sunAltitudeDeg,
    linkMarginDb: ground.link.marginDb,
    linkAllowanceDb: ground.link.allowanceDb,
    options: { turning, acceptanceM, lookAheadM, turnSpeedMps, leewayShare, reserveShare, batteryShare, leastChance: chance, draftM, leastWaterM, leastSunDeg, linkLostIsNoGo, lostLink, lostLinkAfterS, toleranceM },
  };
}

/** The `link` group of survey.json. */
export interface LinkSettings {
  readonly frequencyMhz: number;
  readonly ratedRangeM: number;
  readonly ratedOver: 'water' | 'free space';
  readonly baseHeightM: number;
  readonly boatHeightM: number;
  readonly shoreHeightM: number;
}

/** The link from a base as the settings describe it; land stands in the way where it has a height. */
export function linkFrom(base: Place, settings: LinkSettings, land: readonly Polygon[]): Link {
  const { frequencyMhz, ratedRangeM, ratedOver, baseHeightM, boatHeightM, shoreHeightM } = settings;
  return createLink({
    base,
    frequencyMhz,
    baseHeightM,
    boatHeightM,
    budget: { kind: 'rated', rangeM: ratedRangeM, over: ratedOver },
    obstacles: shoreHeightM > 0 ? land.map((polygon) => ({ kind: 'area', polygon, heightM: shoreHeightM })) : [],
  });
}
