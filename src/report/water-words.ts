import type { Settings } from '../survey/settings.js';
import { formatDifference, formatMetres, formatNumber } from './figures.js';

type Water = Settings['water'];

/** How far and how a gauge's water is carried to the survey; empty where it is used as it is. */
function carried({ laterS, rangeFactor, addM }: Extract<Water['level'], { readonly kind: 'gauges' }>['gauges'][number]): string {
  const parts = [
    ...(laterS === 0 ? [] : [`${formatNumber(Math.abs(laterS) / 60, 1)} min ${laterS > 0 ? 'later' : 'earlier'}`]),
    ...(rangeFactor === 1 ? [] : [`range times ${formatNumber(rangeFactor, 3)}`]),
    ...(addM === 0 ? [] : [`${formatDifference(addM)} added`]),
  ];
  return parts.length === 0 ? '' : ` (${parts.join(', ')})`;
}

/** Where water levels come from, in plain words with their files. */
export function levelWords(level: Water['level']): string {
  switch (level.kind) {
    case 'none':
      return 'none taken off';
    case 'constant':
      return `${formatDifference(level.levelM)} above datum all the time, as entered`;
    case 'series':
      return `observed series ${level.file}`;
    case 'constituents':
      return `predicted from the tidal constituents in ${level.file}`;
    case 'gauges': {
      const files = level.gauges.map((gauge) => `${gauge.file}${carried(gauge)}`).join(', ');
      return level.gauges.length === 1 ? `carried over from a gauge elsewhere, ${files}` : `carried over from ${level.gauges.length} gauges elsewhere, the nearer counting more: ${files}`;
    }
    case 'gnss-height':
      return `from GNSS heights of the antenna; the datum lies ${level.separation.kind === 'constant' ? `${formatMetres(level.separation.heightM)} above the ellipsoid, as entered` : `above the ellipsoid by ${level.separation.file}`}`;
  }
}

const CHOSEN = { 'between-in-time': 'each depth between the two about it in time', 'nearest-in-time': 'each depth by the nearest in time', 'nearest-in-place': 'each depth by the nearest in place' } as const;

/** Which sound speed depths were reduced with, in plain words with its files. */
export function soundWords({ soundSpeed }: Water, sounder: Settings['sounder']): string {
  switch (soundSpeed.kind) {
    case 'as-set':
      return `as the instrument was set, ${formatNumber(sounder.soundSpeedSetMps, 1)} m/s, not measured`;
    case 'constant':
      return `${formatNumber(soundSpeed.soundSpeedMps, 1)} m/s at all depths, as entered`;
    case 'profile':
      return `profile ${soundSpeed.file}`;
    case 'casts':
      return soundSpeed.casts.length === 1 ? `one cast, ${soundSpeed.casts[0]!.file}` : `${soundSpeed.casts.length} casts, ${CHOSEN[soundSpeed.rule]}: ${soundSpeed.casts.map(({ file }) => file).join(', ')}`;
  }
}
