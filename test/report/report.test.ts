import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { SaxesParser } from 'saxes';
import { describe, expect, it } from 'vitest';
import { buildReportDocument } from '../../src/report/build-document.js';
import { fitText, sheetFonts, textWidth } from '../../src/report/fonts.js';
import { renderReportHtml } from '../../src/report/html.js';
import { renderReportPdf } from '../../src/report/pdf.js';
import type { ReportInput } from '../../src/report/report-input.js';
import { breakLongRuns, escapeXml, holdFigures, visibleText } from '../../src/report/safe-text.js';
import { unpackWoff } from '../../src/report/woff.js';
import { emptyInput, sampleInput } from './sample.js';

const HOSTILE = `<script>alert(1)</script> #let x = 1 $a$ "q" 'r' \\ \u202egnp.exe & \u0000 @ref *b* _i_ \`c\` ]]> --> 日本 Привет Łódź ${'x'.repeat(300)}`;

/** Every text a user or a file can bring in, replaced. */
function hostileInput(): ReportInput {
  const sample = sampleInput();
  const { summary } = sample;
  return {
    ...sample,
    summary: {
      ...summary,
      settings: { ...summary.settings, name: HOSTILE, place: HOSTILE, datum: HOSTILE, columns: { [HOSTILE]: HOSTILE } },
      logs: summary.logs.map((log) => ({ ...log, file: HOSTILE, notes: [HOSTILE], counts: { [HOSTILE]: 1 }, rejects: [{ code: HOSTILE, reason: HOSTILE, count: 1, firstLines: [1] }] })),
      products: [{ path: HOSTILE, bytes: 1, sha256: HOSTILE }],
      notes: [HOSTILE],
      decisions: { count: 1, last: HOSTILE },
      soundings: { ...summary.soundings!, setAside: { [HOSTILE]: 3 } },
    },
    waterLevel: { ...sample.waterLevel!, label: HOSTILE },
    variation: { variationDeg: 1, date: HOSTILE, source: HOSTILE },
    sources: [{ role: HOSTILE, path: HOSTILE, bytes: 1, sha256: HOSTILE }],
    made: [{ step: HOSTILE, version: HOSTILE, inputs: [{ path: HOSTILE, sha256: HOSTILE }], outputs: [{ path: HOSTILE, sha256: HOSTILE }] }],
    versions: [{ name: HOSTILE, version: HOSTILE }],
  };
}

/** What PDF writes in the clear: its head, and its XMP packet. */
function clearText(pdf: Uint8Array): string {
  return Buffer.from(pdf).toString('latin1');
}

describe('report', () => {
  it('renderReportHtml and renderReportPdf: equal input gives equal bytes', async () => {
    const [a, b] = [sampleInput(), sampleInput()];
    expect(renderReportHtml(b)).toBe(renderReportHtml(a));
    const [first, second] = [await renderReportPdf(a), await renderReportPdf(b)];
    expect(Buffer.compare(Buffer.from(first), Buffer.from(second))).toBe(0);
  });

  it('renderReportPdf: says it is PDF/A-2a, dated by the survey and not by the clock', async () => {
    const text = clearText(await renderReportPdf(sampleInput()));
    expect(text.startsWith('%PDF-1.7')).toBe(true);
    expect(text).toMatch(/<pdfaid:part>2<\/pdfaid:part>/);
    expect(text).toMatch(/<pdfaid:conformance>A<\/pdfaid:conformance>/);
    const dates = [...text.matchAll(/<xmp:\w+Date>([^<]+)</g)].map((m) => m[1]);
    expect(dates.length).toBeGreaterThan(0);
    for (const date of dates) expect(date).toMatch(/^2026-05-13T00:00:00/);
  });

  it('renderReportHtml: one file, no script, nothing to fetch, every figure well-formed', () => {
    const html = renderReportHtml(sampleInput());
    expect(html).not.toMatch(/<script|<link|<iframe|javascript:|onload=|onerror=/i);
    for (const [, address] of html.matchAll(/(?:href|src)=["']?([^"'> ]+)/g)) expect(address).toMatch(/^#|^data:/);
    for (const [, address] of html.matchAll(/url\(([^)]+)\)/g)) expect(address).toMatch(/^#|^data:font\/woff;base64,/);
    const figures = [...html.matchAll(/<svg[\s\S]*?<\/svg>/g)];
    expect(figures.length).toBeGreaterThanOrEqual(5);
    for (const [svg] of figures) {
      const parser = new SaxesParser();
      parser.on('error', (error) => {
        throw error;
      });
      parser.write(svg).close();
    }
  });

  it('renderReportHtml: holds the figures, the reasons, the hashes and the settings', () => {
    const input = sampleInput();
    const html = renderReportHtml(input).replace(/\u00a0/g, ' ');
    const { summary } = input;
    for (const text of [
      'Not for navigation', summary.settings.name, '14 832 soundings', 'double echo', 'checksum does not match', 'a'.repeat(64), '3'.repeat(64), 'uncertainty.sounderShare', 'World Magnetic Model 2025',
      'water/level.csv', 'lags by about 6 minutes', 'licensed surveyors', 'Lithium', 'gap 1', '1:2 000',
    ]) {
      expect(html).toContain(text);
    }
    /* Defaults are named as such, what was set is not. */
    expect(html).toMatch(/Squat<\/td><td>0.00 m<\/td><td>added; default/);
    expect(html).toMatch(/Draft at rest<\/td><td>0.18 m<\/td><td>added; survey.json/);
  });

  it('a correction that is switched off is said to be, and never to have been applied; a squat curve is given as it is', () => {
    const on = { column: 'heaveM', label: 'heave', on: true, horizontal: false, leastM: -0.11, mostM: 0.12 } as const;
    const input = sampleInput({ settings: { corrections: { draft: false, waterLevel: false }, sounder: { draftM: 0.18, squatCurve: { kind: 'speed-square', metresPerMps2: 0.012 } } } });
    const html = renderReportHtml({ ...input, summary: { ...input.summary, soundings: { ...input.summary.soundings!, corrections: [on] } } }).replace(/\u00a0/g, ' ');
    expect(html).toMatch(/Draft at rest<\/td><td>0.18 m<\/td><td>SWITCHED OFF, not applied; would be added; survey.json/);
    expect(html).toMatch(/Water level<\/td><td>[^<]*<\/td><td>SWITCHED OFF, not applied; above datum; observed series/);
    expect(html).toMatch(/Squat<\/td><td>0.0120 m times the speed in m\/s squared<\/td><td>added; survey.json/);
    expect(html).toMatch(/Heave<\/td><td>−0.11 m to \+0.12 m<\/td><td>added, as logged, up positive/);
    expect(html).toMatch(/Heave, where it is measured<\/td><td[^>]*>0\.030 m/);
    const plain = renderReportHtml(sampleInput()).replace(/\u00a0/g, ' ');
    // A datum that depths are not reduced to is not said to be theirs.
    expect(html).toContain('below the water surface of the day');
    expect(html).not.toContain('below chart datum');
    expect(plain).toContain('below chart datum');
    expect(plain).not.toContain('SWITCHED OFF');
    expect(plain).toMatch(/Heave<\/td><td>none logged/);
  });

  it('hostile names: shown, never obeyed, in HTML', () => {
    const html = renderReportHtml(hostileInput());
    expect(html).not.toMatch(/<script/i);
    expect(html).toContain('&lt;script&gt;alert(1)&lt;/script&gt;');
    expect(html).not.toContain('\u202e');
    expect(html).toContain('[U+202E]gnp.exe');
    expect(html).not.toContain('\u0000');
    expect(html).toContain('日本');
  });

  it('hostile names: shown, never obeyed, in PDF, which stays PDF/A', async () => {
    const input = hostileInput();
    const text = clearText(await renderReportPdf(input));
    expect(text.includes('<pdfaid:part>2</pdfaid:part>')).toBe(true);
    /* The title stands in the clear in XMP: markup escaped, letters without a glyph spelled out. */
    expect(text.includes('&lt;script&gt;alert(1)&lt;/script&gt; #let x = 1 $a$')).toBe(true);
    expect(text.includes('[U+202E]gnp.exe')).toBe(true);
    expect(text.includes('[U+65E5][U+672C]')).toBe(true);
  });

  it('missing parts: each is said to be missing, and the report is made', async () => {
    const empty = emptyInput();
    const html = renderReportHtml(empty);
    for (const text of ['has not been surveyed yet: no log has been taken in', 'There is no chart', 'No lines were planned', 'No log has been taken in', 'nothing to judge', 'Gaps were not looked for', 'No products have been made yet', 'No step has run']) {
      expect(html).toContain(text);
    }
    expect(html).not.toMatch(/NaN|undefined|\[object|null m/);
    expect(clearText(await renderReportPdf(empty)).startsWith('%PDF-1.7')).toBe(true);

    const sample = sampleInput({ sizeM: 260, soundingsPerM: 1 });
    const { summary } = sample;
    const cases: [ReportInput, string][] = [
      [{ ...sample, surface: null, contours: [], summary: { ...summary, surface: null, contours: null } }, 'none made'],
      [{ ...sample, soundings: null, crossings: null, summary: { ...summary, soundings: null } }, 'no soundings have been made from them yet'],
      [{ ...sample, gaps: [], fillLines: [], summary: { ...summary, gaps: { ...summary.gaps!, count: 0, areaM2: 0, largestM2: 0, coveredShare: 1, fillLines: 0, fillLengthM: 0, fillTimeS: 0 } } }, 'No gap is left'],
      [{ ...sample, area: [], gaps: [], planLines: [], shore: [], keepouts: [], summary: { ...summary, area: null, gaps: null, lines: null } }, 'No area was drawn'],
      [{ ...sample, summary: { ...summary, soundings: { ...summary.soundings!, good: 0, orderMet: null } } }, 'No sounding is left to make depths from'],
      [{ ...sample, crossings: null, summary: { ...summary, soundings: { ...summary.soundings!, crossings: null } } }, 'nothing in this survey checks that uncertainty'],
      [{ ...sample, variation: null, waterLevel: null, track: null }, 'not used'],
    ];
    for (const [input, text] of cases) {
      const page = renderReportHtml(input).replace(/\u00a0/g, ' ');
      expect(page).toContain(text);
      expect(page.replace(/base64,[^)"]+/g, '')).not.toMatch(/NaN|undefined|\[object/);
      expect((await renderReportPdf(input)).length).toBeGreaterThan(10_000);
    }
  });

  it('buildReportDocument: headings have names of their own', () => {
    const ids = buildReportDocument(sampleInput()).blocks.flatMap((block) => (block.kind === 'heading' ? [block.id] : []));
    expect(new Set(ids).size).toBe(ids.length);
  });
});

describe('texts', () => {
  it('visibleText: turns, controls and broken characters stand as code points; scripts of the world stay', () => {
    expect(visibleText('a\u202eb\u2066c\u0007d\ud800e\ue000f')).toBe('a[U+202E]b[U+2066]c[U+0007]d[U+D800]e[U+E000]f');
    expect(visibleText('two\nlines\tand\u2028more')).toBe('two lines and more');
    expect(visibleText('Łódź Привет 日本 שלום é')).toBe('Łódź Привет 日本 שלום é');
  });

  it('escapeXml: the five characters of XML', () => {
    expect(escapeXml(`<a href="x" b='y'>&</a>`)).toBe('&lt;a href=&quot;x&quot; b=&#39;y&#39;&gt;&amp;&lt;/a&gt;');
  });

  it('holdFigures: a figure and its unit stay on one line, words do not', () => {
    expect(holdFigures('68 412 soundings in 1 h 52 min')).toBe('68\u00a0412\u00a0soundings in 1\u00a0h 52\u00a0min');
    expect(holdFigures('10 main, 3 cross')).toBe('10 main, 3 cross');
  });

  it('breakLongRuns: only runs over 24 characters, and nothing is lost', () => {
    expect(breakLongRuns('short words only')).toBe('short words only');
    const broken = breakLongRuns('y'.repeat(30));
    expect(broken).toContain('\u200b');
    expect(broken.replace(/\u200b/g, '')).toBe('y'.repeat(30));
  });
});

describe('fonts', () => {
  const folder = path.dirname(createRequire(import.meta.url).resolve('@fontsource/barlow-semi-condensed/package.json'));
  const woff = new Uint8Array(readFileSync(path.join(folder, 'files', 'barlow-semi-condensed-latin-400-normal.woff')));

  it('unpackWoff: every table but the name has the checksum that the WOFF states for the original font', () => {
    const sfnt = unpackWoff(woff, 'x', 'Some Family');
    const [from, to] = [new DataView(woff.buffer, woff.byteOffset), new DataView(sfnt.buffer)];
    const stated = new Map<number, number>();
    for (let i = 0; i < from.getUint16(12); i++) stated.set(from.getUint32(44 + 20 * i), from.getUint32(44 + 20 * i + 16));
    for (let i = 0; i < to.getUint16(4); i++) {
      const tag = to.getUint32(12 + 16 * i);
      if (tag !== 0x6e616d65) expect(to.getUint32(12 + 16 * i + 4)).toBe(stated.get(tag));
    }
    /* OpenType, head: the whole font sums to this. */
    let sum = 0;
    for (let at = 0; at < sfnt.length; at += 4) sum = (sum + to.getUint32(at)) >>> 0;
    expect(sum).toBe(0xb1b0afba);
  });

  it('unpackWoff: bytes that are not WOFF are refused by name', () => {
    expect(() => unpackWoff(new Uint8Array(100), 'some.woff', 'F')).toThrow('some.woff: not a WOFF font');
    expect(() => unpackWoff(new Uint8Array(0), 'some.woff', 'F')).toThrow('some.woff: not a WOFF font');
  });

  it('sheetFonts: eight faces; textWidth grows with the text, and fitText keeps within the width', () => {
    expect(sheetFonts()).toHaveLength(8);
    expect(textWidth('00', 10)).toBeCloseTo(2 * textWidth('0', 10), 9);
    expect(textWidth('m', 10, 600)).toBeGreaterThan(textWidth('i', 10, 600));
    for (const text of ['short', 'a rather longer name than fits', HOSTILE]) expect(textWidth(fitText(text, 30, 4), 4)).toBeLessThanOrEqual(30 + textWidth('…', 4));
    expect(fitText('short', 30, 4)).toBe('short');
  });
});
