import { CARD_FIGURES, type BoatCard, type CardFigure, type CardFigureName } from './boat-card.js';
import { defaultFigures } from './default-figures.js';

/** A figure entered by hand. */
export interface HandFigure {
  readonly value: number;
  /** 95 %, in the figure's unit; null: not stated. */
  readonly uncertainty95: number | null;
}

export interface CardOptions {
  readonly name: string;
  readonly lengthM: number;
  readonly massKg: number;
  /** By name of CARD_FIGURES. */
  readonly hand: Readonly<Record<string, HandFigure>>;
  /** Whether to fill what is missing with figures usual for the class, marked as such. */
  readonly defaults: boolean;
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

/**
 * The boat card from figures entered by hand and, where wanted, those usual for the class; each says which it is.
 * What no source gives is null and listed in `missing` with the trial that would give it; so are defaults.
 * @throws RangeError naming a figure that is not one of CARD_FIGURES, with those there are
 */
export function makeCard(options: CardOptions): BoatCard {
  const names = Object.keys(CARD_FIGURES) as CardFigureName[];
  for (const name of Object.keys(options.hand)) {
    if (!names.includes(name as CardFigureName)) throw new RangeError(`boat.hand.${name}: no such figure; figures are: ${names.join(', ')}`);
  }
  const usual = options.defaults ? defaultFigures(options.massKg) : {};
  const figures = Object.fromEntries(
    names.map((name): [CardFigureName, CardFigure | null] => {
      const hand = options.hand[name];
      if (hand === undefined) return [name, usual[name] ?? null];
      return [name, { value: hand.value, uncertainty95: hand.uncertainty95 ?? NaN, unit: CARD_FIGURES[name].unit, source: 'hand', trials: [], method: 'entered by hand', note: hand.uncertainty95 === null ? 'its uncertainty is not stated' : '' }];
    }),
  ) as Record<CardFigureName, CardFigure | null>;
  const missing = names.filter((name) => figures[name] === null || figures[name].source === 'default').map((figure) => ({ figure, trial: TRIAL_FOR[figure] }));
  return {
    format: 'tallow-boat-card',
    version: 1,
    name: options.name,
    lengthM: options.lengthM,
    massKg: options.massKg,
    figures,
    commandToSpeed: [],
    speedToPower: [],
    turning: [],
    currents: [],
    missing,
    refused: [],
  };
}
