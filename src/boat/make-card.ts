import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from './boat-card.js';
import { usableEnergyWh, type RatedBattery } from './battery.js';
import { defaultFigures } from './default-figures.js';
import { measureTrials, type MeasuredCard, type MeasureOptions } from './measure-trials.js';
import type { Trial, TrialLog } from './trial-log.js';

/** A figure entered by hand. */
export interface HandFigure {
  readonly value: number;
  /** 95 %, in the figure's unit; null: not stated. */
  readonly uncertainty95: number | null;
}

export interface CardOptions extends Pick<MeasureOptions, 'lines'> {
  readonly name: string;
  readonly lengthM: number;
  readonly massKg: number;
  /** By name of CARD_FIGURES. */
  readonly hand: Readonly<Record<string, HandFigure>>;
  /** Whether to fill what is missing with figures usual for the class, marked as such. */
  readonly defaults: boolean;
  /** The battery as rated; gives batteryEnergy where neither trials nor hand do. */
  readonly battery?: RatedBattery | null;
}

/** The trial that would give a figure. */
const TRIAL_FOR: Readonly<Record<CardFigureName, string>> = {
  topSpeed: 'two runs at full ahead on opposite headings, 60 s each once the speed is steady',
  timeTo63: 'a standing start to full ahead, three times',
  timeTo90: 'a standing start to full ahead, three times',
  timeTo95: 'a standing start to full ahead, three times',
  distanceTo90: 'a standing start to full ahead, three times',
  coastLength: 'full ahead until steady, then thrusters off until nearly at rest, three times',
  coastTo10: 'full ahead until steady, then thrusters off until nearly at rest, three times',
  stopAstern: 'full ahead until steady, then full astern to rest, three times',
  stopAsternTime: 'full ahead until steady, then full astern to rest, three times',
  spinRate: 'spins on the spot both ways, three full turns each, with a compass logged',
  spinWander: 'spins on the spot both ways, three full turns each, with a compass logged',
  nomotoK: 'a 20/20 zig-zag at survey speed, both ways, with a compass logged',
  nomotoT: 'a 20/20 zig-zag at survey speed, both ways, with a compass logged',
  overshootFirst: 'a 20/20 zig-zag at survey speed, both ways, with a compass logged',
  hotelPower: 'ten minutes at rest with everything switched on, battery voltage and current logged',
  powerCoefficient: 'steady runs at four or more commands, battery voltage and current logged',
  powerExponent: 'steady runs at four or more commands, battery voltage and current logged',
  batteryEnergy: 'one discharge at survey speed down to the reserve, voltage and current logged',
  trackMean: 'three straight lines of 200 m at survey speed',
  trackRms: 'three straight lines of 200 m at survey speed',
  track95: 'three straight lines of 200 m at survey speed',
  settleDistance: 'three straight lines of 200 m at survey speed, with the turns between them',
};

const NOTHING: MeasuredCard = { figures: {}, powerCovariance: null, commandToSpeed: [], speedToPower: [], turning: [], currents: [], refused: [] };

/** Speed at which a rated battery's energy is told, where its use depends on the current drawn [m/s]. */
const SURVEY_MPS = 1.5;

/**
 * The boat card: figures from trials, then those entered by hand, then, where wanted, those usual for the class; each says
 * which it is. What no source gives is null and listed in `missing` with the trial that would give it; so are defaults.
 *
 * @param log,trials left out: a card without trials
 * @throws RangeError naming a figure that is not one of CARD_FIGURES, with those there are; as `measureTrials`
 */
export function makeCard(options: CardOptions): BoatCard;
export function makeCard(log: TrialLog, trials: readonly Trial[], options: CardOptions): BoatCard;
export function makeCard(first: TrialLog | CardOptions, trials: readonly Trial[] = [], third?: CardOptions): BoatCard {
  const options = third ?? (first as CardOptions);
  const names = Object.keys(CARD_FIGURES) as CardFigureName[];
  for (const name of Object.keys(options.hand)) {
    if (!names.includes(name as CardFigureName)) throw new RangeError(`boat.hand.${name}: no such figure; figures are: ${names.join(', ')}`);
  }
  const measured = third === undefined ? NOTHING : measureTrials(first as TrialLog, trials, { powerExponent: options.hand.powerExponent?.value ?? null, ...(options.lines === undefined ? {} : { lines: options.lines }) });
  const usual = options.defaults ? defaultFigures(options.massKg) : {};
  const figureOf = (name: CardFigureName): CardFigure | null => {
    const found = measured.figures[name];
    if (found !== undefined) return found;
    const hand = options.hand[name];
    if (hand === undefined) return usual[name] ?? null;
    return { value: hand.value, uncertainty95: hand.uncertainty95 ?? NaN, unit: CARD_FIGURES[name].unit, source: 'hand', trials: [], method: 'entered by hand', note: hand.uncertainty95 === null ? 'its uncertainty is not stated' : '' };
  };
  const figures = Object.fromEntries(names.map((name) => [name, figureOf(name)])) as Record<CardFigureName, CardFigure | null>;
  if (options.battery != null && options.hand.batteryEnergy === undefined) figures.batteryEnergy = ratedEnergy(options.battery, figures);
  const missing = names.filter((name) => figures[name] === null || figures[name].source === 'default').map((figure) => ({ figure, trial: TRIAL_FOR[figure] }));
  const { powerCovariance, commandToSpeed, speedToPower, turning, currents, refused } = measured;
  return { format: 'tallow-boat-card', version: 1, name: options.name, lengthM: options.lengthM, massKg: options.massKg, figures, powerCovariance, commandToSpeed, speedToPower, turning, currents, missing, refused };
}

/** Usable energy of the battery as rated, at the power of survey speed where that is known. */
function ratedEnergy(battery: RatedBattery, figures: Readonly<Record<CardFigureName, CardFigure | null>>): CardFigure {
  const { hotelPower, powerCoefficient, powerExponent } = figures;
  const known = hotelPower !== null && powerCoefficient !== null && powerExponent !== null;
  const ratedW = (battery.capacityAh / battery.ratedHours) * battery.voltageV;
  const powerW = known ? hotelPower.value + powerCoefficient.value * SURVEY_MPS ** powerExponent.value : ratedW;
  return {
    value: usableEnergyWh(battery, powerW),
    uncertainty95: NaN,
    unit: 'Wh',
    source: 'hand',
    trials: [],
    method: 'rated capacity, Peukert\'s law in the rated form, usable share',
    note: `at ${powerW.toFixed(0)} W${known ? `, the power at ${SURVEY_MPS} m/s` : ', the rated discharge'}; its uncertainty is not stated`,
  };
}
