// Works on a survey folder without end and says what it has finished; the test kills it.
import { writeFile } from 'node:fs/promises';
import path from 'node:path';
import { openDesk } from '../../dist/survey/open-desk.js';

const [folder, work, round, kind] = process.argv.slice(2);
const desk = await openDesk(folder);
const say = (text) => new Promise((resolve) => process.stdout.write(`${text}\n`, resolve));
await say('ready');
for (let i = 0; ; i++) {
  if (kind === 'journal') {
    const entry = await desk.decide({ kind: 'set-aside', soundings: [{ log: '0123456789abcdef', recordStart: Number(round) * 100_000 + i, recordEnd: Number(round) * 100_000 + i + 1 }], note: 'x'.repeat(i % 300) });
    await say(`decision ${entry.number} ${entry.soundings[0].recordStart}`);
  } else {
    const file = path.join(work, `log-${round}-${i}.csv`);
    const rows = Array.from({ length: 2000 }, (_, row) => `${1_781_685_000 + Number(round) * 1000 + i * 10 + row * 0.2},46.035,${(-29.965 + row * 1e-7).toFixed(7)},${(10 + row * 0.001).toFixed(3)}`);
    await writeFile(file, `epoch,latitude,longitude,depth (m)\n${rows.join('\n')}\n`);
    const [result] = await desk.takeIn([file]);
    if (result.outcome !== 'taken-in') await say(`odd ${result.outcome} ${result.because}`);
    else await say(`log ${result.log.sha256}`);
  }
}
