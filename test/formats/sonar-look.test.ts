import { describe, expect, it } from 'vitest';
import type { SonarSamples } from '../../src/base/sonar.js';
import { lookAtSamples } from '../../src/formats/sonar-look.js';
import { madeContent, madeStretch } from './sonar-content.js';

const { heads } = madeContent(1000, 30);
const look = (change: (stretch: SonarSamples, start: number) => void): Promise<string[]> =>
  lookAtSamples({
    heads,
    read: (start, end) => {
      const stretch = madeStretch(heads, start, end);
      change(stretch, start);
      return Promise.resolve(stretch);
    },
  });

describe('lookAtSamples', () => {
  it('sound pings: nothing to say', async () => {
    expect(await look(() => undefined)).toEqual([]);
  });

  it('a silent side, samples that are no numbers, pings that cannot be read: told by side and share', async () => {
    expect(await look(({ starboard }) => starboard.fill(0))).toEqual(['starboard: all 192 pings looked into hold one and the same value throughout: look whether that side was connected and switched on']);
    expect(await look(({ port }, start) => start < 500 && port.fill(NaN))).toEqual(['port: of 96 of 192 pings looked into no sample can be read: they stay empty']);
    expect(await look(({ port }) => port.forEach((_, i) => (port[i] = i % 10 === 0 ? NaN : port[i]!)))).toEqual(['port: 10.0 % of the samples looked into are no numbers: they stay empty']);
  });

  it('a log of one ping, and a side that is not there: looked into all the same', async () => {
    const one = madeContent(1, 20, (columns) => columns.starboardSamples.fill(0));
    expect(await lookAtSamples({ heads: one.heads, read: (start, end) => Promise.resolve(one.read(start, end) as SonarSamples) })).toEqual([]);
  });
});
