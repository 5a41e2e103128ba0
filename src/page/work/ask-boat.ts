import { askCard } from '../../boat/ask-card.js';
import type { AskedBoat, AskRequest } from './messages.js';

/** Speeds of the curves. */
const POINTS = 72;

/** What the boat answers, and its curves of power, endurance and range against speed through the water on that course. */
export function askBoat({ card, question }: AskRequest): AskedBoat {
  const topMps = card.figures.topSpeed?.value ?? NaN;
  const n = Number.isFinite(topMps) ? POINTS : 0;
  const column = () => new Float64Array(n).fill(NaN);
  const curves = { speedMps: column(), powerW: column(), power95W: column(), enduranceH: column(), endurance95H: column(), rangeKm: column(), range95Km: column() };
  for (let i = 0; i < n; i++) {
    const speedMps = i === n - 1 ? topMps : (topMps * (i + 1)) / n;
    curves.speedMps[i] = speedMps;
    const reply = askCard(card, { ...question, speedMps });
    if (!reply.can) continue;
    const { power, endurance, range } = reply.answers;
    curves.powerW[i] = power.value;
    curves.power95W[i] = power.uncertainty95;
    curves.enduranceH[i] = endurance.value;
    curves.endurance95H[i] = endurance.uncertainty95;
    curves.rangeKm[i] = range.value;
    curves.range95Km[i] = range.uncertainty95;
  }
  return { reply: askCard(card, question), curves };
}
