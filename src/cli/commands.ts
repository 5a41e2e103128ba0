import type { Command } from './command.js';
import { verbAsk } from './verb-ask.js';
import { verbBrief } from './verb-brief.js';
import { verbCheck } from './verb-check.js';
import { verbDemo } from './verb-demo.js';
import { verbImagery } from './verb-imagery.js';
import { verbFinds } from './verb-finds.js';
import { verbInstruments } from './verb-instruments.js';
import { verbJournal } from './verb-journal.js';
import { verbLines } from './verb-lines.js';
import { verbNew } from './verb-new.js';
import { verbOpen } from './verb-open.js';
import { verbRehearse } from './verb-rehearse.js';
import { verbProve } from './verb-prove.js';
import { verbTrials } from './verb-trials.js';
import { verbTakeIn } from './verb-take-in.js';
import { verbBuild, verbDepths, verbGaps, verbReport } from './verbs-build.js';

/** Every verb, in the order of a day. */
export const COMMANDS: readonly Command[] = [
  verbNew, verbDemo, verbTrials, verbLines, verbRehearse, verbBrief, verbTakeIn, verbInstruments, verbDepths, verbAsk, verbGaps, verbImagery, verbFinds, verbReport, verbOpen, verbBuild, verbJournal, verbCheck, verbProve,
];
