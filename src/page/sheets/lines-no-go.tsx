import { readNoGoFile, removeNoGo, setKeepOut, type NoGoFile } from '../state/no-go.js';
import { screen, survey } from '../state/stores.js';
import { useStore } from '../state/store.js';
import { FileButton, NumberField } from './parts.js';

const TITLES: Readonly<Record<NoGoFile, string>> = { keepouts: 'Keep-outs', shore: 'Shore' };

function number(value: unknown): number | null {
  return typeof value === 'number' && Number.isFinite(value) ? value : null;
}

/** Where the boat must not go: drawn, read from a file, with what is said of each; every change is journalled at once. */
export function LinesNoGo() {
  return (
    <>
      <NoGo which="keepouts" />
      <NoGo which="shore" />
    </>
  );
}

function NoGo({ which }: { readonly which: NoGoFile }) {
  const shapes = useStore(survey, (now) => now.shapes[which]).filter((shape) => shape.kind === 'polygon');
  const tool = useStore(screen, (now) => now.tool);
  const drawing = tool === `draw-${which}`;
  return (
    <details className="no-go">
      <summary>
        {TITLES[which]} <small>{shapes.length === 0 ? 'none' : shapes.length}</small>
      </summary>
      <div className="small-actions">
        <button type="button" aria-pressed={drawing} onClick={() => screen.update((now) => ({ ...now, tool: drawing ? 'look' : `draw-${which}` }))}>
          {drawing ? 'Stop drawing' : which === 'keepouts' ? 'Draw a keep-out' : 'Draw land'}
        </button>
        <FileButton accept=".geojson,.json,.kml,.gpx" multiple={false} onFiles={(files) => files[0] !== undefined && void readNoGoFile(which, files[0])}>
          {which === 'keepouts' ? 'Keep-outs from a file…' : 'Shore from a file…'}
        </FileButton>
      </div>
      {drawing && <p className="hint">Click each corner; click the first again, or double-click, to close. Escape stops.</p>}
      {shapes.map((shape, index) => {
        const name = typeof shape.properties['name'] === 'string' ? shape.properties['name'] : `${which === 'keepouts' ? 'Keep-out' : 'Land'} ${index + 1}`;
        return (
          <section key={index} className="place-fields" aria-label={name}>
            <div className="place-head">
              <h3>{name}</h3>
              <div className="small-actions">
                <button type="button" aria-label={`Take away ${name}`} onClick={() => void removeNoGo(which, index)}>
                  Take away
                </button>
              </div>
            </div>
            {which === 'keepouts' && (
              <div className="fields">
                <NumberField label="Keep off by" unit="m" value={number(shape.properties['clearanceM'])} min={0} max={1000} step={1} decimals={1} allowEmpty placeholder="as ways" settled onValue={(value) => void setKeepOut(index, 'clearanceM', value)} />
                <NumberField label="Dries by" unit="m" value={number(shape.properties['dryingHeightM'])} min={-20} max={20} step={0.1} decimals={2} allowEmpty placeholder="always shut" settled onValue={(value) => void setKeepOut(index, 'dryingHeightM', value)} />
                <NumberField label="Or depth on it" unit="m" value={number(shape.properties['depthM'])} min={-20} max={100} step={0.1} decimals={2} allowEmpty placeholder="always shut" settled onValue={(value) => void setKeepOut(index, 'depthM', value)} />
              </div>
            )}
          </section>
        );
      })}
      {which === 'keepouts' && shapes.length > 0 && <p className="hint">With a drying height or a depth below the datum it is shut only while the boat would have too little water over it; without one, always.</p>}
    </details>
  );
}
