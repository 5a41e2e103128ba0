import { useId, useState } from 'react';
import type { ProductKind } from '../../survey/product-kinds.js';
import type { Settings } from '../../survey/settings.js';
import type { SurveySummary } from '../../survey/summary.js';
import { build, refresh, say, server, trouble } from '../state/actions.js';
import { chartLine, PRODUCT_LIST, PRODUCT_WORDS, typedScale } from '../words/products.js';
import { Choice } from './choice.js';

type Paper = Settings['products']['chart']['paper'];

interface Draft {
  readonly write: readonly ProductKind[];
  readonly paper: Paper;
  readonly scale: string;
}

/** Which products are written, and how the chart lies on paper: one decision when it is used. */
export function ReportChoose({ summary }: { readonly summary: SurveySummary }) {
  const id = useId();
  const { products } = summary.settings;
  const set: Draft = { write: products.write, paper: products.chart.paper, scale: products.chart.scale === null ? '' : String(products.chart.scale) };
  const [draft, setDraft] = useState<Draft | null>(null);
  const [busy, setBusy] = useState(false);
  const now = draft ?? set;
  const change = (part: Partial<Draft>) => setDraft({ ...now, ...part });
  const scale = now.scale.trim() === '' ? null : typedScale(now.scale);
  const fault = now.scale.trim() !== '' && scale === null;
  // In the order of the settings, so that ticking and unticking changes nothing.
  const write = PRODUCT_LIST.filter((kind) => now.write.includes(kind));
  const changes = [
    ...(PRODUCT_LIST.some((kind) => now.write.includes(kind) !== set.write.includes(kind)) ? [{ path: 'products.write', value: write }] : []),
    ...(now.paper !== set.paper ? [{ path: 'products.chart.paper', value: now.paper }] : []),
    ...(!fault && scale !== products.chart.scale ? [{ path: 'products.chart.scale', value: scale }] : []),
  ];
  const use = async () => {
    setBusy(true);
    try {
      await server.setTogether(changes, 'products chosen');
      await refresh();
      setDraft(null);
      say('products chosen; they are being made');
      if (summary.logs.length > 0) await build();
    } catch (error) {
      trouble(error);
    } finally {
      setBusy(false);
    }
  };
  const line = chartLine(summary);
  return (
    <details>
      <summary>What is handed over…</summary>
      <fieldset className="product-choice">
        <legend>Beside the report</legend>
        {PRODUCT_LIST.map((kind) => (
          <label key={kind}>
            <input type="checkbox" checked={now.write.includes(kind)} onChange={(event) => change({ write: event.target.checked ? [...now.write, kind] : now.write.filter((one) => one !== kind) })} />
            <span>
              {PRODUCT_WORDS[kind][0]}
              <small>{PRODUCT_WORDS[kind][1]}</small>
            </span>
          </label>
        ))}
      </fieldset>
      <div className="chart-choice">
        <Choice label="Chart on" value={now.paper} options={[['auto', 'auto'], ['A4', 'A4'], ['A3', 'A3'], ['A2', 'A2']]} onValue={(paper) => change({ paper })} />
        <div className="field">
          <label htmlFor={id}>Chart scale, 1 :</label>
          <span>
            <input id={id} type="text" inputMode="numeric" value={now.scale} placeholder="one sheet" aria-invalid={fault} aria-describedby={`${id}-fault`} onChange={(event) => change({ scale: event.target.value })} />
          </span>
          <small id={`${id}-fault`} className="fault">
            {fault ? 'expected 10 to 1000000, or nothing for one sheet' : ''}
          </small>
        </div>
      </div>
      {line !== '' && <p className="hint">{line}</p>}
      <div className="small-actions">
        <button type="button" disabled={busy || fault || changes.length === 0} onClick={() => void use()}>
          Use these
        </button>
        {draft !== null && (
          <button type="button" onClick={() => setDraft(null)}>
            As before
          </button>
        )}
      </div>
    </details>
  );
}
