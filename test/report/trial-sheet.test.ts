import { SaxesParser } from 'saxes';
import { describe, expect, it } from 'vitest';
import { makeCard } from '../../src/boat/make-card.js';
import { visibleText } from '../../src/report/safe-text.js';
import { drawTrialChart, numberSpans } from '../../src/report/trial-sheet-chart.js';
import { trialSheetContent } from '../../src/report/trial-sheet-content.js';
import { trialSheet, trialSheetHtml, trialSheetPdf } from '../../src/report/trial-sheet.js';
import { sampleSheet } from './trial-sheet-sample.js';

const HOSTILE = `<script>alert(1)</script> #let x = 1 $a$ "q" 'r' \\ \u202egnp.exe & \u0000 @ref *b* _i_ ]]> --> 日本 Łódź ${'x'.repeat(200)}`;

/** What PDF writes in the clear: its head, and its XMP packet. */
function clearText(pdf: Uint8Array): string {
  return Buffer.from(pdf).toString('latin1');
}

function checkXml(text: string): void {
  const parser = new SaxesParser();
  parser.on('error', (error) => {
    throw error;
  });
  parser.write(text).close();
}

describe('trial sheet', () => {
  it('trialSheet: equal input gives equal bytes', async () => {
    const [first, second] = [await trialSheet(sampleSheet()), await trialSheet(sampleSheet())];
    expect(second.html).toBe(first.html);
    expect(Buffer.compare(Buffer.from(first.pdf), Buffer.from(second.pdf))).toBe(0);
  });

  it('trialSheetPdf: two pages, PDF/A-2a of its day; plain PDF without one', async () => {
    const text = clearText(await trialSheetPdf(sampleSheet()));
    expect(text.startsWith('%PDF-1.7')).toBe(true);
    expect(text).toMatch(/<pdfaid:part>2<\/pdfaid:part>/);
    expect(text).toMatch(/<xmp:\w+Date>2026-06-17T00:00:00/);
    expect(text).toMatch(/<xmpTPg:NPages>2<\/xmpTPg:NPages>/);
    const undated = clearText(await trialSheetPdf({ ...sampleSheet(), date: null }));
    expect(undated.startsWith('%PDF-1.7')).toBe(true);
    expect(undated).not.toMatch(/pdfaid/);
  });

  it('trialSheetHtml: one file, no script, nothing to fetch, the chart well-formed', () => {
    const html = trialSheetHtml(sampleSheet());
    expect(html).not.toMatch(/<script|<link|<iframe|javascript:|onload=|onerror=/i);
    for (const [, address] of html.matchAll(/(?:href|src)=["']?([^"'> ]+)/g)) expect(address).toMatch(/^#|^data:/);
    for (const [, address] of html.matchAll(/url\(([^)]+)\)/g)) expect(address).toMatch(/^#|^data:font\/woff;base64,/);
    const figures = [...html.matchAll(/<svg[\s\S]*?<\/svg>/g)];
    expect(figures.length).toBe(1);
    checkXml(figures[0]![0]);
    const ids = [...html.matchAll(/ id="([^"]+)"/g)].map((match) => match[1]);
    expect(new Set(ids).size).toBe(ids.length);
  });

  it('trialSheetHtml: every trial stands in order with a box for every pass, its headings both ways', () => {
    const input = sampleSheet();
    const html = trialSheetHtml(input);
    const rows = [...html.matchAll(/<tr><td>(\d+)<\/td>([\s\S]*?)<\/tr>/g)];
    expect(rows.map((row) => Number(row[1]))).toEqual(input.plan.trials.map(({ number }) => number));
    rows.forEach((row, i) => {
      const trial = input.plan.trials[i]!;
      const boxes = [...row[2]!.matchAll(/class="tick"/g)].length;
      expect(boxes).toBe(trial.passes <= 8 ? trial.passes : 1);
      if (trial.reciprocal) {
        const [there, back] = [...row[2]!.matchAll(/(\d{3})°/g)].map((match) => Number(match[1]));
        expect((back! - there! + 360) % 360).toBe(180);
        expect(Math.abs(((there! - trial.headingDeg + 540) % 360) - 180)).toBeLessThanOrEqual(0.5 + 1e-9);
      }
    });
  });

  it('trialSheetHtml: says the cautions, what must be logged, and what falls short', () => {
    const html = trialSheetHtml(sampleSheet({ positionSigmaM: 2 }));
    for (const words of [/Not for navigation/, /never swim after a boat/, /Keep the boat in sight/, /collision regulations/, /Lithium packs/, /need a permit/, /In the log of/, /What does not fit, or falls short/, /a receiver with corrections/]) expect(html).toMatch(words);
    expect(html).not.toMatch(/NaN|undefined|\bInfinity/);
  });

  it('drawTrialChart: every mark lies on the map, every trial with a place has its number, no two numbers overlap', () => {
    for (const input of [sampleSheet(), sampleSheet({ current: { speedMps: 0.4, setDeg: 70 } }), sampleSheet({ base: null, positionSigmaM: 1 })]) {
      const { svg, scale } = drawTrialChart(input, 180, 150);
      checkXml(svg);
      expect(scale).toBeGreaterThan(100);
      const pills = [...svg.matchAll(/<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" rx="[\d.]+"[^>]*\/><text[^>]*>([^<]+)</g)].map((match) => ({ box: match.slice(1, 5).map(Number) as [number, number, number, number], text: match[5]! }));
      const shown = pills.flatMap(({ text }) => text.split(', ').flatMap((part) => {
        const [from, to = from] = part.split('–').map(Number) as [number, number?];
        return Array.from({ length: to! - from + 1 }, (_, i) => from + i);
      }));
      expect(shown.sort((a, b) => a - b)).toEqual(input.plan.trials.filter(({ kind }) => kind !== 'rest').map(({ number }) => number));
      pills.forEach(({ box: [x, y, w, h] }, i) => {
        expect(x).toBeGreaterThan(0);
        expect(x + w).toBeLessThan(180);
        for (const { box: [u, v, p, q] } of pills.slice(i + 1)) expect(x < u + p - 0.02 && u < x + w - 0.02 && y < v + q - 0.02 && v < y + h - 0.02).toBe(false);
      });
      for (const [, data] of svg.matchAll(/<path d="(M[^"]*)" fill="none" stroke="#1b2733" stroke-width="0\.(?:55|4)"/g)) {
        for (const [, x, y] of data!.matchAll(/[ML]([\d.-]+) ([\d.-]+)/g)) {
          expect(Number(x)).toBeGreaterThanOrEqual(2);
          expect(Number(x)).toBeLessThanOrEqual(178);
          expect(Number(y)).toBeGreaterThanOrEqual(2);
        }
      }
    }
    expect(() => drawTrialChart(sampleSheet(), 100, 150)).toThrow(/expected at least 120 x 100/);
  });

  it('trialSheet: names are shown and never obeyed', async () => {
    const sample = sampleSheet();
    const input = { ...sample, name: HOSTILE, place: HOSTILE, card: { ...sample.card, name: HOSTILE } };
    const { html, pdf } = await trialSheet(input);
    expect(html).not.toMatch(/<script/i);
    expect(html).not.toContain('\u202e');
    checkXml([...html.matchAll(/<svg[\s\S]*?<\/svg>/g)][0]![0]);
    expect(clearText(pdf).startsWith('%PDF-1.7')).toBe(true);
    expect(visibleText(HOSTILE)).toContain('[U+202E]');
  });

  it('trialSheet: a plan without trials is a sheet that says so, without a chart', async () => {
    const sample = sampleSheet();
    const plan = { ...sample.plan, trials: [], timeS: 0, energyWh: 0, dischargeS: 0, batteryShare: 0, notes: ['The card has every figure to the accuracy wanted: no trial is needed.'] };
    const { html, pdf } = await trialSheet({ ...sample, plan });
    expect(html).toMatch(/no trial is needed/);
    expect(html).not.toMatch(/<svg/);
    expect(pdf.length).toBeGreaterThan(1000);
  });

  it('trialSheetContent: a boat as it is entered, by name and size', () => {
    const input = { ...sampleSheet(), card: makeCard({ name: 'Limpet', lengthM: 1.35, massKg: 21.5, hand: {}, defaults: true }) };
    expect(trialSheetContent(input).facts[0]).toEqual({ label: 'Boat', value: 'Limpet', note: '1.35 m, 21.5 kg' });
  });

  it('numberSpans: three and more in a row as a span', () => {
    expect(numberSpans([2, 4, 5, 6, 9])).toBe('2, 4–6, 9');
    expect(numberSpans([1, 2])).toBe('1, 2');
    expect(numberSpans([7])).toBe('7');
  });
});
