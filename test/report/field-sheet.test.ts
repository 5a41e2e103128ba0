import { execFileSync } from 'node:child_process';
import { SaxesParser } from 'saxes';
import { describe, expect, it } from 'vitest';
import { fieldSheet } from '../../src/report/field-sheet.js';
import { sheetClock } from '../../src/report/field-sheet-clock.js';
import type { FieldSheetInput } from '../../src/report/field-sheet-input.js';
import { fieldSheetPdf } from '../../src/report/field-sheet-pdf.js';
import { inRanges } from '../../src/report/field-sheet-times.js';
import { constantCurrent } from '../../src/water/current-field.js';
import { sampleSheetInput, START_S } from './field-sheet-sample.js';

/** What Debian's poppler reads out of the PDF; skipped visibly where it is not installed. */
function tool(name: string, args: readonly string[], pdf: Uint8Array): string {
  return execFileSync(name, args as string[], { input: pdf, encoding: 'utf8', stdio: ['pipe', 'pipe', 'ignore'] });
}
const hasPoppler = ((): boolean => {
  try {
    execFileSync('pdftotext', ['-v'], { stdio: 'ignore' });
    return true;
  } catch {
    return false;
  }
})();

const textOf = (pdf: Uint8Array): string => tool('pdftotext', ['-layout', '-', '-'], pdf).replace(/[\u00a0\u200b]/g, (c) => (c === '\u00a0' ? ' ' : ''));

/** Every word with its box on the page [points]. */
function wordBoxes(pdf: Uint8Array): { readonly page: number; readonly text: string; readonly x0: number; readonly y0: number; readonly x1: number; readonly y1: number }[] {
  const xml = tool('pdftotext', ['-bbox', '-', '-'], pdf);
  return xml.split('<page ').slice(1).flatMap((part, page) =>
    [...part.matchAll(/<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">([^<]*)</g)].map((m) => ({ page, x0: Number(m[1]), y0: Number(m[2]), x1: Number(m[3]), y1: Number(m[4]), text: m[5] as string })),
  );
}

const HOSTILE = `<script>alert(1)</script> #let x = 1 #pagebreak() $a$ "q" \\ \u202egnp.exe & \u0000 @ref *b* ]]> 日本 Łódź ${'x'.repeat(300)}`;

const CASES: readonly (readonly [string, () => FieldSheetInput])[] = [
  ['one sortie', () => sampleSheetInput({ batteryWh: 900 })],
  ['two sorties', () => sampleSheetInput({ batteryWh: 170 })],
  ['many sorties and lines', () => sampleSheetInput({ spacingM: 8, batteryWh: 100 })],
  ['nothing known but the lines', () => sampleSheetInput({ bare: true })],
  ['a no-go', () => sampleSheetInput({ batteryWh: 900, options: { reserveShare: 0.9 } })],
  ['hostile text everywhere', () => ({ ...sampleSheetInput({ batteryWh: 170 }), name: HOSTILE, place: HOSTILE, boatName: HOSTILE, datum: HOSTILE, contacts: Array.from({ length: 30 }, () => HOSTILE), emergency: Array.from({ length: 30 }, () => HOSTILE), routeFiles: [HOSTILE] })],
];

describe('field sheet', () => {
  it.skipIf(!hasPoppler).each(CASES)('fieldSheetPdf: two pages, every word on the paper, nothing but upright A4, with %s', async (_name, make) => {
    const pdf = await fieldSheetPdf(fieldSheet(make()));
    const info = tool('pdfinfo', ['-'], pdf);
    expect(info).toMatch(/Pages:\s+2\n/);
    expect(info).toMatch(/595\.\d+ x 841\.\d+ pts \(A4\)/);
    const words = wordBoxes(pdf);
    expect(words.length).toBeGreaterThan(150);
    for (const word of words) {
      expect(word.x0, word.text).toBeGreaterThan(18);
      expect(word.x1, word.text).toBeLessThan(595.3 - 18);
      expect(word.y0, word.text).toBeGreaterThan(15);
      expect(word.y1, word.text).toBeLessThan(841.9 - 8);
    }
    // The footer stands alone: no other word reaches into it.
    for (const page of [0, 1]) {
      const foot = Math.min(...words.filter((word) => word.page === page && word.text === 'navigation').map(({ y0 }) => y0).filter((y) => y > 780));
      for (const word of words) if (word.page === page && word.y0 < foot - 2) expect(word.y1, word.text).toBeLessThan(foot + 1.5);
    }
  });

  it.skipIf(!hasPoppler)('fieldSheetPdf: says what the crew needs, as the rehearsal has it', async () => {
    const input = sampleSheetInput({ batteryWh: 900, lostLink: 'safe-lane', ratedRangeM: 650 });
    const text = textOf(await fieldSheetPdf(fieldSheet(input)));
    const { rehearsal, sortie, moments } = input.sorties[0]!;
    const local = (timeS: number): string => new Date((timeS + 3600) * 1000).toISOString().slice(11, 16);
    expect(rehearsal.verdict.go).toBe(true);
    for (const wanted of ['GO', '09:00', '08:00 UTC', 'Wednesday 13 May 2026', 'Turn back by', 'Back by', 'Not for navigation', 'KEEP OUT', 'Launch', 'Base', 'NO LINK', 'SET', 'Before launch', 'Hull plug in', 'Lost link set: comes home clear of keep-outs', 'Shore watch: channel 8', 'call 112 first', 'Never swim after it', 'Cautions', 'plan/route.gpx', '08:15 – 10:15']) expect(text, wanted).toContain(wanted);
    // Back by is the end and its 95 %, up to the whole minute; turn-back-by down to it.
    expect(text).toContain(local(Math.ceil((rehearsal.totals.endS + rehearsal.totals.time95S) / 60) * 60));
    expect(text).toContain(local(Math.floor(moments!.turnBackByS / 60) * 60));
    // High water as the tide was made: 09:30 UTC, 2 + 1.4 m.
    expect(text).toMatch(/10:30/);
    expect(text).toMatch(/3\.4 m · 09:30 UTC/);
    // Every line of the sortie has its row, with the minutes of its start.
    for (const [i, leg] of sortie.legs.entries()) {
      if (leg.kind !== 'line') continue;
      const [latDeg] = input.frame.toGeographic(leg.path[0]!, leg.path[1]!);
      expect(text).toContain(`${((latDeg - 46) * 60).toFixed(3).padStart(6, '0')}′`);
      expect(text).toContain(local(Math.round(rehearsal.legs[i]!.startS / 60) * 60));
    }
  });

  it('fieldSheet: a no-go stands in words with its limiting reason, not in colour', () => {
    const { data } = fieldSheet(sampleSheetInput({ batteryWh: 900, options: { reserveShare: 0.9 } }));
    expect(data.verdict).toBe('NO-GO');
    expect(data.reasons.join(' ')).toMatch(/goes into the reserve of 90 %/);
    expect(data.hazards[0]?.weight).toBe('NO-GO');
  });

  it('fieldSheet: a link expected lost is GO, IF: in a line above, in full among the hazards, and what silence then means', () => {
    const input = sampleSheetInput({ batteryWh: 900, lostLink: 'safe-lane', ratedRangeM: 450 });
    const { data } = fieldSheet(input);
    const { link } = input.sorties[0]!.rehearsal;
    expect(data.verdict).toBe('GO, IF');
    expect(data.go).toBe(false);
    expect(data.sorties[0]!.verdict).toBe('GO, IF');
    expect(data.reasons[0]).toMatch(/^Link expected lost for .* \(\d+ %\), first at \d\d:\d\d; at \d\d:\d\d it comes home clear of keep-outs, \d+ % of its lines run\.$/);
    expect(data.hazards[0]).toMatchObject({ weight: 'ONLY IF' });
    expect(data.silent.join(' ')).toMatch(/Silence is foreseen from .*: after 10 s of it the boat comes home clear of keep-outs\./);
    expect(link!.lostShare).toBeGreaterThan(0.02);
  });

  it('fieldSheet: still water has no current panel, and that is said; the turn-back time names what sets it', () => {
    const input = sampleSheetInput({ batteryWh: 900, lostLink: 'safe-lane' });
    const still = fieldSheet({ ...input, current: constantCurrent(0, 0, 0) });
    expect(still.strip.svg).not.toContain('sets to');
    expect(still.data.chartNote).toContain('current (none is reckoned with: the water is taken as still)');
    expect(fieldSheet(input).strip.svg).toContain('sets to');
    expect(still.data.sorties[0]!.turnBack.note).toMatch(/^\d\d:\d\d UTC, (battery|daylight|tide)$/);
    expect(fieldSheet({ ...input, routeFiles: ['plan/routes/sortie-1.gpx', 'plan/routes/sortie-1.kml', 'plan/routes/sortie-2.gpx', 'plan/routes/sortie-2.kml'] }).data.linesNote).toContain('For the autopilot: plan/routes/sortie-1 to 2 (gpx, kml).');
  });

  it('fieldSheet: blanks to fill in where nobody is named, and what was not given is said', () => {
    const { data } = fieldSheet(sampleSheetInput({ bare: true }));
    expect(data.contacts).toEqual([]);
    expect(data.emergency).toEqual([]);
    expect(data.chartNote).toContain('Not given, so not drawn: tide, water under the boat, link margin.');
    expect(data.lost).toEqual([]);
  });

  it('fieldSheet: what the user wrote is cut to what fits, and it says how much', () => {
    const { data } = fieldSheet({ ...sampleSheetInput({ bare: true }), contacts: Array.from({ length: 20 }, (_, i) => `contact ${i + 1}`) });
    expect(data.contacts).toEqual(['contact 1', 'contact 2', 'contact 3', 'contact 4', '(16 more lines in the settings)']);
  });

  it('fieldSheet: figures are well-formed, black, white and grey, with no type under 9 pt', () => {
    for (const [name, make] of CASES) {
      const { chart, strip } = fieldSheet(make());
      for (const { svg } of [chart, strip]) {
        const parser = new SaxesParser();
        parser.on('error', (error) => {
          throw error;
        });
        parser.write(svg).close();
        for (const [, size] of svg.matchAll(/font-size="([\d.]+)"/g)) expect(Number(size), name).toBeGreaterThanOrEqual(9 * (25.4 / 72));
        for (const [, r, g, b] of svg.matchAll(/#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})/g)) expect([r, g], name).toEqual([g, b]);
        expect(svg).not.toMatch(/NaN|Infinity|undefined|<script/);
      }
    }
  });

  it('fieldSheetPdf: equal input gives equal bytes', async () => {
    const [a, b] = [fieldSheet(sampleSheetInput({ batteryWh: 170 })), fieldSheet(sampleSheetInput({ batteryWh: 170 }))];
    expect(b).toEqual(a);
    expect(Buffer.compare(Buffer.from(await fieldSheetPdf(a)), Buffer.from(await fieldSheetPdf(b)))).toBe(0);
  });

  it('fieldSheet: throws for no sortie and for an offset that is no time zone', () => {
    const input = sampleSheetInput({ bare: true });
    expect(() => fieldSheet({ ...input, sorties: [] })).toThrow(/no sortie/);
    expect(() => fieldSheet({ ...input, utcOffsetH: 15 })).toThrow(/expected -12 to 14/);
  });
});

describe('field sheet parts', () => {
  it('sheetClock: local time beside UTC, days told apart, rounding to the safe side', () => {
    const clock = sheetClock(-3.5, START_S);
    expect(clock.zone).toBe('UTC−3:30');
    expect(clock.both(START_S)).toBe('04:30 (08:00 UTC)');
    expect(clock.local(START_S + 20 * 3600)).toBe('00:30 +1 d');
    expect([clock.local(START_S + 1, 'up'), clock.local(START_S + 59, 'down')]).toEqual(['04:31', '04:30']);
    expect(clock.inText('at 2026-05-13T09:14:02Z there')).toBe('at 05:44 (09:14 UTC) there');
    expect(sheetClock(0, START_S).both(START_S)).toBe('08:00 UTC');
    expect(clock.local(NaN)).toBe('–');
  });

  it('inRanges: runs of three or more are drawn together', () => {
    expect(inRanges([3, 1, 2, 7, 9, 10, 20, 21, 22])).toBe('1–3, 7, 9, 10, 20–22');
    expect(inRanges([])).toBe('–');
  });
});
