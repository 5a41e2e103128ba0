import type { Progress } from '../base/progress.js';

/**
 * Progress on a stream: one line rewritten in place on a screen, one line a step elsewhere.
 * Nothing is shown for work that ends within half a second.
 */
export function progressLine(stream: NodeJS.WriteStream, now: () => number): { progress: Progress; end(): void } {
  const began = now();
  let shownAt = -Infinity;
  let shown = false;
  let lastStep = '';
  return {
    progress(step, done, detail) {
      const time = now();
      const share = Number.isFinite(done) ? `${String(Math.floor(Math.min(1, done) * 100)).padStart(3)} %` : ' ... ';
      if (stream.isTTY) {
        if (time - began < 500 || time - shownAt < 100) return;
        shownAt = time;
        shown = true;
        const line = `${share}  ${step}${detail === undefined ? '' : `  ${detail}`}`;
        stream.write(`\r\x1b[K${line.slice(0, (stream.columns ?? 80) - 1)}`);
      } else if (step !== lastStep || time - shownAt > 5000) {
        lastStep = step;
        shownAt = time;
        stream.write(`${share}  ${step}${detail === undefined ? '' : `  ${detail}`}\n`);
      }
    },
    end() {
      if (shown) stream.write('\r\x1b[K');
    },
  };
}
