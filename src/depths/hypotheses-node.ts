/** How the depths of one node are told apart. */
export interface HypothesisRules {
  /** Soundings held back and put in order of depth before the middle one is looked at; odd, 1 or more. 11 unless given. */
  readonly queue?: number;
  /** How far off, in sigmas of the forecast, the rival of the monitor lies. 4 unless given. */
  readonly offsetSigmas?: number;
  /** Below this ratio of the evidence for a hypothesis and for its rival, a sounding is not the hypothesis's. 0.135 unless given. */
  readonly leastBayes?: number;
  /** Soundings in a row that speak against a hypothesis, each too weakly by itself. 5 unless given. */
  readonly longestRun?: number;
  /** Share of what is known that lasts to the next sounding, over 0 up to 1; 1: the floor stands still. 1 unless given. */
  readonly discount?: number;
}

/** A depth that some soundings of a node agree on. */
export interface NodeHypothesis {
  depthM: number;
  /** Variance of that depth, by the soundings' own uncertainty [m2]. */
  variance: number;
  count: number;
  /** Sums over its soundings: of squares about their mean [m2], of the squared uncertainty, of the place weighted by 1 / variance, of those weights. */
  mean: number;
  squares: number;
  tvu2: number;
  placeX: number;
  placeY: number;
  weight: number;
  /** The monitor: the evidence so far for it against its rival, and for how many soundings it has been falling. */
  evidence: number;
  run: number;
}

/** One sounding brought to a node. */
export interface NodeSounding {
  readonly depthM: number;
  /** Of that depth at the node [m2]. */
  readonly variance: number;
  /** Squared 95 % uncertainty of the sounding itself [m2]. */
  readonly tvu2: number;
  /** Place from the node [m]. */
  readonly placeX: number;
  readonly placeY: number;
}

/**
 * The depths that the soundings of one node speak for, by the published method of tracking hypotheses.
 *
 * - **Queue.** Soundings wait in order of depth, up to `queue` of them; the middle one goes on. Spikes thus come last,
 *   when there is something to hold them against. At the end the queue empties from its middle.
 * - **Estimate.** Each hypothesis is a level that does not change: with forecast variance Q = C / discount + V and error
 *   e = z - m, the level becomes m + e C / (discount Q) and its variance C V / (discount Q).
 * - **Monitor.** The sounding is held against the hypothesis it is nearest to in sigmas, e / sqrt(Q). The Bayes factor
 *   against a rival h sigmas off is B = exp(h (h - 2 |e| / sqrt(Q)) / 2); its running product B* = B min(1, B*) and the
 *   length of that product are kept. Where B or B* falls below the least, or B* has stood under 1 for longer than the
 *   longest run, the sounding is not the hypothesis's: it begins one of its own, and the monitor of the other starts anew.
 *
 * Nothing is thrown away: every sounding belongs to one hypothesis, and all are given.
 *
 * @param soundings in the order they were taken; finite
 * @returns in the order they arose; none for no soundings
 *
 * Source: Calder & Mayer (2003), Geochem. Geophys. Geosyst. 4(6), 1048, doi:10.1029/2002GC000486; dynamic linear models
 * and their monitoring: West & Harrison (1997), Bayesian Forecasting and Dynamic Models, 2nd ed., chapters 2 and 11.
 * Formulas and the values of the rules (11, 4, 0.135, 5, 1) are from memory.
 */
export function trackNode(soundings: readonly NodeSounding[], rules: HypothesisRules = {}): NodeHypothesis[] {
  const { queue = 11, offsetSigmas = 4, leastBayes = 0.135, longestRun = 5, discount = 1 } = rules;
  const found: NodeHypothesis[] = [];
  const waiting: NodeSounding[] = [];

  const assimilate = (sounding: NodeSounding): void => {
    let best: NodeHypothesis | undefined;
    let off = Infinity;
    for (const one of found) {
      const error = Math.abs(sounding.depthM - one.depthM) / Math.sqrt(one.variance / discount + sounding.variance);
      if (error < off) [best, off] = [one, error];
    }
    if (best === undefined) {
      found.push(begun(sounding));
      return;
    }
    const bayes = Math.exp((offsetSigmas * (offsetSigmas - 2 * off)) / 2);
    best.run = best.evidence < 1 ? best.run + 1 : 1;
    best.evidence = bayes * Math.min(1, best.evidence);
    if (bayes < leastBayes || best.evidence < leastBayes || (best.evidence < 1 && best.run > longestRun)) {
      best.evidence = 1;
      best.run = 0;
      found.push(begun(sounding));
      return;
    }
    const prior = best.variance / discount;
    const gain = prior / (prior + sounding.variance);
    best.depthM += gain * (sounding.depthM - best.depthM);
    best.variance = gain * sounding.variance;
    add(best, sounding);
  };

  for (const sounding of soundings) {
    let at = waiting.length;
    while (at > 0 && waiting[at - 1]!.depthM > sounding.depthM) at--;
    waiting.splice(at, 0, sounding);
    if (waiting.length >= queue) assimilate(waiting.splice(waiting.length >> 1, 1)[0]!);
  }
  while (waiting.length > 0) assimilate(waiting.splice(waiting.length >> 1, 1)[0]!);
  return found;
}

function begun(sounding: NodeSounding): NodeHypothesis {
  const one = { depthM: sounding.depthM, variance: sounding.variance, count: 0, mean: 0, squares: 0, tvu2: 0, placeX: 0, placeY: 0, weight: 0, evidence: 1, run: 0 };
  add(one, sounding);
  return one;
}

function add(one: NodeHypothesis, { depthM, variance, tvu2, placeX, placeY }: NodeSounding): void {
  one.count++;
  // Welford (1962), Technometrics 4(3), 419-420.
  const before = depthM - one.mean;
  one.mean += before / one.count;
  one.squares += before * (depthM - one.mean);
  one.tvu2 += tvu2;
  one.weight += 1 / variance;
  one.placeX += placeX / variance;
  one.placeY += placeY / variance;
}

/** @throws RangeError for rules that no node can be tracked by */
export function checkHypothesisRules({ queue = 11, offsetSigmas = 4, leastBayes = 0.135, longestRun = 5, discount = 1 }: HypothesisRules): void {
  if (!(Number.isInteger(queue) && queue >= 1 && queue % 2 === 1)) throw new RangeError(`queue ${queue}: expected an odd whole number, 1 or more`);
  if (!(offsetSigmas > 0)) throw new RangeError(`offsetSigmas ${offsetSigmas}: expected more than 0`);
  if (!(leastBayes > 0 && leastBayes < 1)) throw new RangeError(`leastBayes ${leastBayes}: expected between 0 and 1`);
  if (!(longestRun >= 1)) throw new RangeError(`longestRun ${longestRun}: expected 1 or more`);
  if (!(discount > 0 && discount <= 1)) throw new RangeError(`discount ${discount}: expected over 0 up to 1`);
}
