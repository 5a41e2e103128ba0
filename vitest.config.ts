import os from 'node:os';
import { defineConfig } from 'vitest/config';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Files that take long, the longest first: begun early, no worker is left alone with one of them at the end. */
const LONG = [
  'page/rehearse-stage', 'page/chart-table', 'survey/bad-input', 'page/trials-stage', 'page/depths-stage', 'cli/products', 'page/real-server', 'page/imagery-stage', 'cli/sorties', 'cli/trials', 'cli/lines-plan', 'page/depths-million',
  'page/finds-stage', 'cli/gaps-plan', 'page/real-imagery', 'cli/prove-sources', 'survey/kill', 'cli/bad-input', 'formats/geotiff', 'depths/left-out-peers', 'cli/instruments', 'cli/imagery', 'survey/prove-sources', 'cli/finds', 'page/doubtful-cells',
  'lines/plan-properties', 'cli/real-logs', 'cli/ask', 'page/depths-instruments', 'survey/rebuild', 'page/boat-stage', 'cli/main-job', 'page/mosaic-pan', 'survey/prove-imagery', 'rehearse/proving-sortie', 'cli/doubtful-cells', 'page/rehearse-parts',
  'page/lines-purpose', 'page/lines-no-go', 'finds/proving', 'page/report-choose', 'report/field-sheet', 'survey/crossing-mistakes', 'depths/kriging-filler', 'survey/prove', 'depths/surface', 'report/browser', 'boat/trial-plan',
];

class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const placeOf = ({ moduleId }: TestSpecification): number => {
      const place = LONG.findIndex((name) => moduleId.endsWith(`/test/${name}.test.ts`));
      return place < 0 ? LONG.length : place;
    };
    return [...files].sort((one, other) => placeOf(one) - placeOf(other) || (one.moduleId < other.moduleId ? -1 : 1));
  }
}

export default defineConfig({
  test: {
    include: ['test/**/*.test.ts', 'test/**/*.test.tsx'],
    globalSetup: ['test/run-folder.ts'],
    // A test fails for what it finds, not for how busy the machine is: limits are far above what is needed.
    testTimeout: 180_000,
    hookTimeout: 900_000,
    expect: { poll: { timeout: 60_000 } },
    pool: 'forks',
    // Modules are read once a worker; no test changes one for another.
    isolate: false,
    // One more than there are processors: tests of the page and of programs wait much of their time.
    maxWorkers: os.availableParallelism() + 1,
    sequence: { sequencer: LongestFirst },
    coverage: { provider: 'v8', include: ['src/**'], exclude: ['src/page/**'] },
  },
});
