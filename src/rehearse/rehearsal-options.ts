import { REHEARSAL_DEFAULTS, type RehearsalOptions, type RehearsalRequest } from './rehearsal.js';

/** The options with the defaults put in. @throws RangeError naming one out of its range */
export function checkedOptions(request: Pick<RehearsalRequest, 'options' | 'startS'>): RehearsalOptions {
  const options: RehearsalOptions = { ...REHEARSAL_DEFAULTS, ...request.options };
  if (!Number.isFinite(request.startS)) throw new RangeError(`startS ${request.startS}: expected UTC seconds`);
  for (const name of ['acceptanceM', 'lookAheadM', 'rowS', 'toleranceM'] as const) {
    if (!(options[name] > 0 && Number.isFinite(options[name]))) throw new RangeError(`${name} ${options[name]}: expected more than 0`);
  }
  for (const name of ['reserveShare', 'leastChance', 'paintedChance'] as const) {
    if (!(options[name] >= 0 && options[name] < 1)) throw new RangeError(`${name} ${options[name]}: expected 0 up to, not including, 1`);
  }
  if (!(options.batteryShare > 0 && options.batteryShare <= 1)) throw new RangeError(`batteryShare ${options.batteryShare}: expected more than 0, at most 1`);
  if (!(options.leewayShare >= 0 && options.leewayShare < 1)) throw new RangeError(`leewayShare ${options.leewayShare}: expected 0 up to, not including, 1`);
  if (!(options.lostLinkAfterS >= 0)) throw new RangeError(`lostLinkAfterS ${options.lostLinkAfterS}: expected 0 or more`);
  if (options.turnSpeedMps !== null && !(options.turnSpeedMps > 0)) throw new RangeError(`turnSpeedMps ${options.turnSpeedMps}: expected more than 0, or null`);
  return options;
}
