import type { Random } from '../base/random.js';
import { commandForThrustPct, settledSpeedMps, settledThrustN, type TrialsBoat } from './trials-boat.js';
import { SLOW_TURN_PCT, SLOW_TURN_RAD, STEP_S, TrialsCrew, turnRad, type TrueTrial } from './trials-crew.js';

/** Settings of the manoeuvres, shared with the truth. */
export const MANOEUVRES = {
  /** Turning circles: mean command and half the difference between the thrusters [%]. */
  circles: [
    { commandPct: 70, helmPct: 25 },
    { commandPct: 45, helmPct: 20 },
  ],
  spinPct: 60,
  zigZag: { commandPct: 60, helmPct: 12, angleRad: (20 * Math.PI) / 180, reversals: 5 },
  legPct: 60,
} as const;

/** Straight at one command this long counts as a steady run [s]; shorter approaches do not. */
const LEAST_RUN_S = 20;
/** Of the record before the window of a standing start and a turning circle [s]. */
const LEAD_S = 3;

type Script = { readonly crew: TrialsCrew; readonly random: Random; series: number };

/**
 * An hour's trials, or one of each in some eight minutes. Straight runs are steered along lines, as boats with an autopilot
 * run them, so each is a straight leg too; between the trials the boat is driven by hand, and drifts.
 */
export function runScript(crew: TrialsCrew, random: Random, script: 'hour' | 'short'): void {
  const work: Script = { crew, random, series: 0 };
  idle(work, random.between(20, 40));
  if (script === 'short') {
    const commands = [100, [75, 60, 45][random.integer(3)]!];
    const first = random.between(0, 2 * Math.PI);
    commands.forEach((command, i) => reciprocalRuns(work, command, first + i * random.between(0.6, 2), 2, random.between(30, 45)));
    start(work);
    stop(work);
    const { commandPct, helmPct } = MANOEUVRES.circles[random.integer(2)]!;
    for (const side of shuffled(random, [1, -1])) circle(work, commandPct, helmPct, side);
    spin(work, random.uniform() < 0.5 ? 1 : -1);
    zigZag(work, random.uniform() < 0.5 ? 1 : -1);
    legs(work, 2, random.between(30, 45));
    idle(work, 20, true);
    return;
  }
  const first = random.between(0, 2 * Math.PI);
  [100, 80, 60, 45, 30].forEach((command, i) => reciprocalRuns(work, command, first + i * random.between(0.5, 1.2), i === 0 ? 4 : 2 + random.integer(3), random.between(45, 60)));
  for (let i = 0; i < 3; i++) start(work);
  idle(work, 60);
  for (let i = 0; i < 3; i++) stop(work);
  for (const { commandPct, helmPct } of MANOEUVRES.circles) for (const side of shuffled(random, [1, 1, -1, -1])) circle(work, commandPct, helmPct, side);
  for (const side of shuffled(random, [1, 1, -1, -1])) spin(work, side);
  idle(work, random.between(60, 180));
  for (const side of shuffled(random, [1, 1, -1])) zigZag(work, side);
  legs(work, 4, random.between(50, 70));
  idle(work, 60, true);
}

function shuffled(random: Random, sides: readonly number[]): number[] {
  const left = sides.slice();
  const out: number[] = [];
  while (left.length > 0) out.push(left.splice(random.integer(left.length), 1)[0]!);
  return out;
}

/** Both thrusters off. After straight running it is a coast-down, until in still water a tenth of the speed would be left. */
function idle({ crew }: Script, seconds: number, coasting = false): void {
  const startS = crew.elapsedS;
  const { surgeMassKg, surgeDrag } = crew.boat;
  const tenthS = (9 * surgeMassKg) / (surgeDrag * crew.state.surgeMps);
  crew.order(TrialsCrew.fixed(0, 0), seconds);
  if (coasting) crew.mark('coast-down', startS, Math.min(startS + tenthS, crew.elapsedS), { commandPct: 0 });
}

/** By hand to within a boat's reach of a place near the middle, for 20 s or more. */
function transit({ crew, random }: Script): void {
  const angle = random.between(0, 2 * Math.PI);
  const eastM = 30 * Math.sin(angle);
  const northM = 30 * Math.cos(angle);
  const control = crew.byHand(eastM, northM);
  crew.order(control, (state, heldS) => heldS > 12 && (heldS > 90 || Math.hypot(state.eastM - eastM, state.northM - northM) < 12));
}

/** Along a line from here, for some seconds from when the boat heads along it; the run and the leg in it are marked. */
function straight(work: Script, command: number, courseRad: number, seconds: number, series: number): void {
  const { crew } = work;
  const { control, fromEastM, fromNorthM } = crew.keepLine(command, courseRad);
  const record: StraightStep[] = [];
  let alignedS = NaN;
  crew.order(
    (state, elapsedS) => {
      const off = turnRad(state.headingRad, courseRad);
      if (Number.isNaN(alignedS) && Math.abs(off) < 0.7) alignedS = elapsedS;
      record.push({ atS: elapsedS, off, speed: state.surgeMps });
      return control(state, elapsedS);
    },
    () => crew.elapsedS - alignedS > seconds,
  );
  if (seconds < LEAST_RUN_S) return;
  const half = record.length >> 1;
  const off = record.slice(half).reduce((sum, one) => sum + one.off, 0) / (record.length - half);
  const run = Math.max(settledStep(crew.boat, command, record), straightStep(record, off, RUN_OFF_RAD));
  const leg = straightStep(record, off, LEG_OFF_RAD);
  const speed = record.slice(half).reduce((sum, one) => sum + one.speed, 0) / (record.length - half);
  const reachM = seconds * speed * 1.5;
  const line = [fromEastM, fromNorthM, fromEastM + reachM * Math.sin(courseRad), fromNorthM + reachM * Math.cos(courseRad)] as const;
  const endS = crew.elapsedS;
  crew.mark('straight-leg', record[leg]!.atS, endS, { commandPct: command, line });
  crew.mark('steady-run', record[run]!.atS, endS, { commandPct: command, series, line });
}

/** A run begins where heading and speed are within this of what they come to: the speed in water without chop; a leg by its heading alone. */
const RUN_OFF_RAD = 0.14;
const LEG_OFF_RAD = 0.35;
const RUN_OFF_SHARE = 0.04;
/** Headings are told over this long: the chop swings the bow [s]. */
const SMOOTH_S = 2;

interface StraightStep {
  readonly atS: number;
  readonly off: number;
  readonly speed: number;
}

/** Step from which a boat that began at the first one's speed, with the thrust of the turn and then of the line, would have settled without chop. */
function settledStep(boat: TrialsBoat, command: number, record: readonly StraightStep[]): number {
  const speedTo = settledSpeedMps(boat, command);
  let speed = record[0]!.speed;
  let last = 0;
  for (let i = 0; i < record.length >> 1; i++) {
    const order = Math.abs(record[i]!.off) > SLOW_TURN_RAD ? Math.min(command, SLOW_TURN_PCT) : command;
    // Thrust against quadratic drag; the turn itself slows the boat besides, so the true speed counts until it heads along the line.
    speed = Math.abs(record[i]!.off) > LEG_OFF_RAD ? record[i]!.speed : speed + ((2 * settledThrustN(boat, order) - boat.surgeDrag * speed * Math.abs(speed)) / boat.surgeMassKg) * STEP_S;
    if (Math.abs(record[i]!.off) > LEG_OFF_RAD || Math.abs(speed - speedTo) > RUN_OFF_SHARE * speedTo) last = i + 1;
  }
  return last;
}

/** Step from which the heading, told over 2 s, stays within an angle of what it comes to. */
function straightStep(record: readonly StraightStep[], off: number, withinRad: number): number {
  const reach = Math.round(SMOOTH_S / STEP_S / 2);
  let sum = 0;
  let count = 0;
  let last = 0;
  for (let i = -reach; i < record.length >> 1; i++) {
    if (i + reach < record.length) [sum, count] = [sum + record[i + reach]!.off, count + 1];
    if (i - reach - 1 >= 0) [sum, count] = [sum - record[i - reach - 1]!.off, count - 1];
    if (i >= 0 && Math.abs(sum / count - off) > withinRad) last = i + 1;
  }
  return last;
}

function reciprocalRuns(work: Script, command: number, courseRad: number, runs: number, seconds: number): void {
  transit(work);
  const series = work.series++;
  for (let i = 0; i < runs; i++) straight(work, command, courseRad + (i % 2) * Math.PI, seconds, series);
}

function legs(work: Script, count: number, seconds: number): void {
  transit(work);
  const course = work.random.between(0, 2 * Math.PI);
  for (let i = 0; i < count; i++) {
    // Out and home are of one command: they tell the speed as well.
    straight(work, MANOEUVRES.legPct, course + (i % 2) * Math.PI, seconds, work.series);
  }
  work.series++;
}

/** From rest to full ahead, then the thrusters off. */
function start(work: Script): void {
  const { crew, random } = work;
  transit(work);
  idle(work, random.between(22, 30));
  const startS = crew.elapsedS;
  crew.order(crew.keepHeading(100, crew.state.headingRad), random.between(12, 15));
  crew.mark('standing-start', startS - LEAD_S, crew.elapsedS, { commandPct: 100 });
  idle(work, random.between(14, 22), true);
}

/** Full ahead until steady, then full astern past rest. */
function stop(work: Script): void {
  const { crew, random } = work;
  transit(work);
  straight(work, 100, crew.state.headingRad, random.between(8, 12), -1);
  const startS = crew.elapsedS;
  let restS = NaN;
  crew.order(TrialsCrew.fixed(-100, -100), (state, heldS) => {
    if (Number.isNaN(restS) && state.surgeMps <= 0) restS = heldS;
    return heldS > restS + 1.2;
  });
  crew.mark('stop-astern', startS, crew.elapsedS, { commandPct: -100 });
  idle(work, random.between(8, 14));
}

function circle(work: Script, command: number, helm: number, side: number): void {
  const { crew, random } = work;
  transit(work);
  straight(work, command, crew.state.headingRad, random.between(9, 13), -1);
  const startS = crew.elapsedS;
  const begin = crew.state.headingRad;
  const turned = random.between(540, 740) * (Math.PI / 180);
  crew.order(TrialsCrew.fixed(command + side * helm, command - side * helm), (state) => Math.abs(state.headingRad - begin) > turned);
  crew.mark('turning-circle', startS - LEAD_S, crew.elapsedS, { commandPct: command, side });
}

/** On the spot: astern is given more, so that the thrusts balance. */
function spin(work: Script, side: number): void {
  const { crew, random } = work;
  transit(work);
  idle(work, random.between(10, 16));
  const ahead = MANOEUVRES.spinPct;
  const astern = commandForThrustPct(crew.boat, -settledThrustN(crew.boat, ahead));
  const startS = crew.elapsedS;
  const begin = crew.state.headingRad;
  const turned = random.between(900, 1300) * (Math.PI / 180);
  crew.order(side > 0 ? TrialsCrew.fixed(ahead, astern) : TrialsCrew.fixed(astern, ahead), (state) => Math.abs(state.headingRad - begin) > turned);
  crew.mark('spin', startS, crew.elapsedS, { commandPct: (ahead + astern) / 2, side });
  idle(work, random.between(5, 9));
}

function zigZag(work: Script, side: number): void {
  const { crew, random } = work;
  const { commandPct, helmPct, angleRad, reversals } = MANOEUVRES.zigZag;
  transit(work);
  straight(work, commandPct, crew.state.headingRad, random.between(8, 12), -1);
  const startS = crew.elapsedS;
  const begin = crew.state.headingRad;
  let now = side;
  for (let i = 0; i <= reversals; i++) {
    const helm = now * helmPct;
    const to = now;
    crew.order(TrialsCrew.fixed(commandPct + helm, commandPct - helm), (state) => (state.headingRad - begin) * to > angleRad);
    now = -now;
  }
  crew.mark('zig-zag', startS, crew.elapsedS, { commandPct, side });
}

export function trialsByStart(trials: readonly TrueTrial[]): TrueTrial[] {
  return trials.slice().sort((a, b) => a.startS - b.startS || a.kind.localeCompare(b.kind));
}
