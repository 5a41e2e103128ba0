import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { memorySink } from '../../src/base/byte-source.js';
import { writeSegySonar } from '../../src/formats/segy-write.js';
import type { ApiError, SonarAbout } from '../../src/server/api.js';
import { startServer, type RunningServer } from '../../src/server/server.js';
import { createFolder } from '../../src/survey/folder.js';
import { openDesk } from '../../src/survey/open-desk.js';
import { madeContent, madeStretch } from '../formats/sonar-content.js';

const NONE = -32_768;

/** A survey with one small side-scan log of 40 pings, its pings read, on the real server. */
describe('side-scan over the server', () => {
  let server: RunningServer;
  let empty: RunningServer;
  let top = '';
  const content = madeContent(40, 32);
  const get = (target: string, from = server): Promise<Response> => fetch(new URL(target, from.url));
  const picture = (query: string): Promise<Response> => get(`/api/sonar/picture?${query}`);

  beforeAll(async () => {
    top = await mkdtemp(join(tmpdir(), 'tallow-sonar-'));
    const folder = join(top, 'survey');
    await createFolder(folder, { name: 'Pings' });
    const sink = memorySink();
    await writeSegySonar(sink, content);
    await writeFile(join(top, 'scan.segy'), sink.bytes());
    const desk = await openDesk(folder);
    await desk.takeIn([join(top, 'scan.segy')]);
    await desk.set('sonar.soundSpeedMps', 1490);
    await desk.build({}, 'pings');
    server = await startServer({ desk, port: 0, pageDir: top });
    const bare = join(top, 'bare');
    await createFolder(bare, { name: 'Bare' });
    empty = await startServer({ desk: await openDesk(bare), port: 0, pageDir: top });
  });
  afterAll(async () => {
    await server?.close();
    await empty?.close();
    await rm(top, { recursive: true, force: true });
  });

  it('about: the sound speed of the settings, how many pings there are, and their usual level', async () => {
    const about = (await (await get('/api/sonar')).json()) as SonarAbout;
    expect(about.soundSpeedMps).toBe(1490);
    expect(about.pings).toBe(40);
    expect(Number.isFinite(about.middleDb)).toBe(true);
    expect(await (await get('/api/sonar', empty)).json()).toEqual({ soundSpeedMps: 1500, pings: 0, middleDb: null });
  });

  it('picture: levels of the raw samples in hundredths of a decibel, port then starboard, none where nothing was heard', async () => {
    const { intervalS, delayS } = content.heads;
    // One column a sample, each holding one.
    const sampleM = (1490 / 2) * (intervalS[0] as number);
    const firstM = (1490 / 2) * (delayS[0] as number);
    const width = 40 + Math.round(firstM / sampleM);
    const answer = await picture(`from=3&to=6&step=1&width=${width}&range=${width * sampleM}&axis=slant&levels=recorded`);
    expect(answer.status).toBe(200);
    expect(answer.headers.get('content-type')).toContain('application/octet-stream');
    const levels = new Int16Array(await answer.arrayBuffer());
    expect(levels.length).toBe(2 * 3 * width);
    const want = madeStretch(content.heads, 3, 6);
    let held = 0;
    for (const [side, values] of [[0, want.port], [1, want.starboard]] as const) {
      for (let row = 0; row < 3; row++) {
        const line = [...levels.subarray((side * 3 + row) * width, (side * 3 + row + 1) * width)].filter((level) => level !== NONE);
        // Every sample of the ping is there once, in order; a column may fall between two.
        const wanted = [...values.subarray(row * want.width, (row + 1) * want.width)].filter((value) => value > 0).map((value) => Math.round(2000 * Math.log10(value)));
        for (const level of line) if (wanted.some((one) => Math.abs(one - level) <= 1)) held++;
        expect(line.length).toBeGreaterThan(0.9 * wanted.length);
      }
    }
    expect(held).toBeGreaterThan(0.9 * 6 * 30);
  });

  it('picture: what is not well asked, or not there, is refused in words', async () => {
    const refused = async (query: string, from = server): Promise<[number, string]> => {
      const answer = await get(`/api/sonar/picture?${query}`, from);
      return [answer.status, ((await answer.json()) as ApiError).error.message];
    };
    expect(await refused('from=0&to=10')).toEqual([400, expect.stringContaining('the query does not fit: step')]);
    expect(await refused('from=5&to=5&step=1&width=10&range=10&axis=slant&levels=recorded')).toEqual([400, expect.stringContaining('the query does not fit')]);
    expect(await refused('from=0&to=41&step=1&width=10&range=10&axis=slant&levels=recorded')).toEqual([400, expect.stringContaining('expected a stretch of the 40 there are')]);
    expect(await refused('from=0&to=16000000&step=1&width=4096&range=10&axis=slant&levels=recorded')).toEqual([400, expect.stringContaining('the query does not fit')]);
    expect(await refused('from=0&to=10&step=1&width=10&range=10&axis=up&levels=recorded')).toEqual([400, expect.stringContaining('the query does not fit: axis')]);
    expect(await refused('from=0&to=10&step=1&width=10&range=10&axis=slant&levels=recorded', empty)).toEqual([400, expect.stringContaining('no side-scan pings in this survey')]);
  });
});
