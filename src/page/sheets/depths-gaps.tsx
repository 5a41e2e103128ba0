import { boxOf } from '../chart/viewport.js';
import { placeLooked } from '../state/depths.js';
import { survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { areaText, fixed, plural } from '../words/figures.js';

const LISTED = 200;

/** The gaps one by one, the largest first; a click brings one into view. */
export function GapList() {
  const shapes = useStore(survey, (now) => now.shapes.gaps);
  if (shapes.length === 0) return null;
  const gaps = shapes.map(({ parts, properties }) => ({ parts, weak: properties['kind'] === 'order', areaM2: Number(properties['areaM2']), widthM: Number(properties['widthM']) })).sort((a, b) => b.areaM2 - a.areaM2);
  const show = (parts: readonly Float64Array[]) => {
    const box = boxOf(parts);
    if (box === null) return;
    placeLooked.set({ xM: (box.westM + box.eastM) / 2, yM: (box.southM + box.northM) / 2, depthM: survey.get().summary?.soundings?.depthMeanM ?? 0, reachM: Math.max(10, Math.hypot(box.eastM - box.westM, box.northM - box.southM)), asked: (placeLooked.get()?.asked ?? 0) + 1 });
  };
  return (
    <details>
      <summary>{plural(gaps.length, 'gap')}</summary>
      <table className="list">
        <thead>
          <tr>
            <th scope="col">Gap</th>
            <th scope="col">Area</th>
            <th scope="col">Width</th>
          </tr>
        </thead>
        <tbody>
          {gaps.slice(0, LISTED).map((gap, k) => (
            <tr key={k}>
              <th scope="row">
                <button type="button" className="link" onClick={() => show(gap.parts)}>
                  {gap.weak ? 'not to the order' : 'not sounded'}
                </button>
              </th>
              <td>{areaText(gap.areaM2)}</td>
              <td>{Number.isFinite(gap.widthM) ? `${fixed(gap.widthM, 1)} m` : '–'}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
