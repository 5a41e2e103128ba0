import { createRandom } from '../../src/base/random.js';
import type { BoatCard } from '../../src/boat/boat-card.js';
import { boatModel } from '../../src/boat/boat-model.js';
import { makeCard } from '../../src/boat/make-card.js';
import type { Trial, TrialLog } from '../../src/boat/trial-log.js';
import type { Leg } from '../../src/lines/sortie.js';
import { createGaussMarkov } from '../../src/proving/random-process.js';
import { SORTIE_STEERING, type SortieWaypoint } from '../../src/proving/sortie-autopilot.js';
import { runProvingSortie, type ProvingSortieRun } from '../../src/proving/sortie-run.js';
import { trialsFrame } from '../../src/proving/trials-instruments.js';
import { provingTrials, trialLogOf, type ProvingTrials } from '../../src/proving/trials.js';
import type { Rehearsal } from '../../src/rehearse/rehearsal.js';
import { rehearseSortie } from '../../src/rehearse/rehearse-sortie.js';
import type { CurrentField } from '../../src/water/current-field.js';
import { leg, sortieOf } from './plain-sortie.js';

const START_S = 1_781_700_000;

/** The card that the analysis makes of seeded trials, told where each trial is in the log. */
export function cardOf(run: ProvingTrials): BoatCard {
  const log: TrialLog = trialLogOf(run);
  const row = (timeS: number): number => log.timeS.findIndex((time) => time >= timeS);
  const trials = run.truth.trials
    .map((one, i): Trial => ({ id: `${one.kind}@${i}`, kind: one.kind, rowStart: row(one.startUtcS), rowEnd: row(one.endUtcS), startS: one.startUtcS, endS: one.endUtcS, courseDeg: NaN, speedMps: NaN, commandPct: NaN, steadiness: 1, series: one.series, by: 'found', refused: '' }))
    .filter((one) => one.rowEnd - one.rowStart > 2);
  const { xM, yM, convergenceDeg } = trialsFrame();
  const turn = (convergenceDeg * Math.PI) / 180;
  const place = (east: number, north: number): [number, number] => [xM + east * Math.cos(turn) - north * Math.sin(turn), yM + east * Math.sin(turn) + north * Math.cos(turn)];
  const lines: Record<string, { fromXM: number; fromYM: number; toXM: number; toYM: number }> = {};
  run.truth.trials.forEach(({ kind, line }, i) => {
    if (line === null) return;
    const [fromXM, fromYM] = place(line[0], line[1]);
    const [toXM, toYM] = place(line[2], line[3]);
    lines[`${kind}@${i}`] = { fromXM, fromYM, toXM, toYM };
  });
  // The battery's energy is not in question here: time and energy needed are.
  const hand = { batteryEnergy: { value: 1100, uncertainty95: 60 } };
  return makeCard(log, trials, { name: '', lengthM: 1.2, massKg: 18, hand, defaults: false, lines });
}

/** Command for a speed by the card, straight between its points. */
function commandFor(card: BoatCard, speedMps: number): number {
  const points = [{ commandPct: 0, value: 0 }, ...card.commandToSpeed];
  let k = 1;
  while (k < points.length - 1 && points[k]!.value < speedMps) k++;
  const [low, high] = [points[k - 1]!, points[k]!];
  return Math.min(100, low.commandPct + ((high.commandPct - low.commandPct) * (speedMps - low.value)) / (high.value - low.value));
}

export interface SeededSortie {
  readonly seed: number;
  readonly card: BoatCard;
  readonly rehearsal: Rehearsal;
  readonly truth: ProvingSortieRun;
  readonly legs: readonly Leg[];
}

/**
 * A seeded boat goes through its trials, a card is made of them, and the boat, whose dynamics the planner does not know,
 * runs a seeded sortie in a current that the planner knows to 3 cm/s.
 */
export function seededSortie(seed: number): SeededSortie {
  const trials = provingTrials(seed);
  const card = cardOf(trials);
  const model = boatModel(card);
  const random = createRandom(900_000 + seed);

  // A tidal stream that turns and runs harder on one side.
  const set = random.between(0, 2 * Math.PI);
  const drift = random.between(0.05, 0.5);
  const swing = random.between(0, 0.25);
  const phase = random.between(0, 2 * Math.PI);
  const shear = random.between(-0.0005, 0.0005);
  const sigmaMps = 0.03;
  const current: CurrentField = {
    at(xM, _yM, timeS, out) {
      const tide = swing * Math.sin((2 * Math.PI * (timeS - START_S)) / 44_714 + phase);
      const strength = (drift + tide) * (1 + shear * xM);
      out[0] = strength * Math.sin(set);
      out[1] = strength * Math.cos(set);
      out[2] = sigmaMps;
    },
    startS: -Infinity,
    endS: Infinity,
    maxMps: 1,
    source: 'seeded',
  };
  const errorX = createGaussMarkov(random.fork('error x'), sigmaMps, 3600);
  const errorY = createGaussMarkov(random.fork('error y'), sigmaMps, 3600);

  // Lines to and fro on a drawn heading, at a drawn speed, with a way out and a way home.
  const speedMps = random.between(1, 2.2);
  const heading = random.between(0, 2 * Math.PI);
  const lengthM = random.between(80, 250);
  const spacingM = random.between(8, 30);
  const count = 4 + random.integer(7);
  const offM = random.between(30, 150);
  const place = (across: number, along: number): [number, number] => [across * Math.cos(heading) + along * Math.sin(heading), -across * Math.sin(heading) + along * Math.cos(heading)];
  const legs: Leg[] = [];
  let from = place(0, 0);
  const go = (kind: Leg['kind'], line: number | null, to: [number, number]): void => {
    legs.push(leg(kind, line, speedMps, ...from, ...to));
    from = to;
  };
  for (let i = 0; i < count; i++) {
    const [near, far] = i % 2 === 0 ? [offM, offM + lengthM] : [offM + lengthM, offM];
    const way = Math.sign(far - near);
    go(i === 0 ? 'launch' : 'turn', i + 1, place(i * spacingM, near - 8 * way));
    go('run-in', i + 1, place(i * spacingM, near));
    go('line', i + 1, place(i * spacingM, far));
    go('run-out', i + 1, place(i * spacingM, far + 8 * way));
  }
  go('home', null, place(0, 0));

  const { acceptanceM, lookAheadM, slowTurnRad, slowTurnPct } = SORTIE_STEERING;
  const slowest = card.commandToSpeed.find((point) => point.commandPct >= slowTurnPct - 1)!;
  const rehearsal = rehearseSortie({
    sortie: sortieOf(legs),
    boat: model,
    startS: START_S,
    current,
    options: { acceptanceM, lookAheadM, turnSpeedMps: (slowest.value * slowTurnPct) / slowest.commandPct, slowTurnDeg: (slowTurnRad * 180) / Math.PI },
  });
  const command = commandFor(card, speedMps);
  const waypoints: SortieWaypoint[] = [{ eastM: 0, northM: 0, commandPct: command }, ...legs.map(({ path }) => ({ eastM: path[2]!, northM: path[3]!, commandPct: command }))];
  const told = new Float64Array(3);
  const truth = runProvingSortie(
    {
      boat: trials.boat,
      waypoints,
      chopShare: trials.options.chopShare,
      chopNm: trials.options.chopNm,
      drift(eastM, northM, elapsedS, out) {
        current.at(eastM, northM, START_S + elapsedS, told);
        out.eastMps = told[0]! + errorX.at(elapsedS);
        out.northMps = told[1]! + errorY.at(elapsedS);
      },
    },
    random.fork('run'),
  );
  return { seed, card, rehearsal, truth, legs };
}
