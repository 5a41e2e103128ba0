import { REASONS } from '../depths/soundings.js';
import type { Block } from './document.js';
import { figures, heading, paragraph, table, words } from './document.js';
import type { TableColumn } from './document.js';
import { formatArea, formatBytes, formatCount, formatCounted, formatDirection, formatLength, formatMetres, formatPosition, formatShare } from './figures.js';
import { depthProfileSvg } from './plot-time.js';
import type { ReportGap, ReportInput } from './report-input.js';
import { depthsBelow } from '../water/depth-datum.js';

const GAPS_MAX = 60;

/** Depths in the order of time, what was set aside and why, rejects of the logs, and gaps. */
export function depthsSection(input: ReportInput): Block[] {
  const { summary, soundings } = input;
  const svg = soundings === null ? '' : depthProfileSvg(soundings);
  return [
    heading(1, 'Depths and what was set aside'),
    ...(svg === ''
      ? [paragraph('There are no soundings to plot.')]
      : [{ kind: 'figures' as const, figures: [{ svg, widthMm: 180, heightMm: 62, alt: 'Depth below datum against time' }], caption: `Depth below ${depthsBelow(summary.settings)}, metres, against time. Pauses are folded at the strokes.` }]),
    ...asideBlocks(input),
    ...rejectBlocks(input),
    heading(2, 'Gaps'),
    ...gapBlocks(input),
  ];
}

function asideBlocks(input: ReportInput): Block[] {
  const { soundings, decisions } = input.summary;
  if (soundings === null) return [];
  const known: { name: string; label: string }[] = REASONS.filter(({ name }) => name !== 'good').map(({ name, label }) => ({ name, label }));
  const unknown = Object.keys(soundings.setAside).filter((name) => !known.some((reason) => reason.name === name));
  const rows = [...known, ...unknown.map((name) => ({ name, label: name }))]
    .map((reason) => ({ ...reason, count: soundings.setAside[reason.name] ?? 0 }))
    .filter(({ count }) => count > 0);
  return [
    table(
      'Soundings set aside, by reason',
      [words('Reason', 0), words('Name in files', 0), figures('Soundings'), figures('Share of all'), words('')],
      rows.map(({ name, label, count }) => [label, name, formatCount(count), formatShare(count / Math.max(1, soundings.total), 2), '']),
      'No sounding was set aside.',
    ),
    paragraph(
      decisions.count === 0
        ? 'Nothing was decided by hand. Set-aside soundings keep their depth and place in the files.'
        : `${formatCounted(decisions.count, 'decision')} by hand ${decisions.count === 1 ? 'is' : 'are'} in the journal${decisions.last === null ? '' : `; the last: ${decisions.last}`}. Set-aside soundings keep their depth and place in the files.`,
      'quiet',
    ),
  ];
}

function rejectBlocks(input: ReportInput): Block[] {
  const { logs } = input.summary;
  const rows = logs.flatMap((log) => log.rejects.map((reject) => [log.file, reject.reason, formatCount(reject.count), reject.firstLines.slice(0, 5).map(String).join(', ')]));
  const notes = logs.flatMap((log) => log.notes.map((note) => `${log.file}: ${note}`));
  return [
    heading(2, 'What could not be read'),
    table('Lines and records of the logs that were not used', [words('Log', 3), words('Why', 5), figures('Count'), words('First at line or record', 3)], rows, logs.length === 0 ? 'No log has been taken in.' : 'Every line of every log was read.'),
    ...(notes.length === 0 ? [] : [{ kind: 'list' as const, items: notes }]),
  ];
}

function gapBlocks(input: ReportInput): Block[] {
  const { summary, frame, gaps, fillLines } = input;
  if (summary.gaps === null) return [paragraph('Gaps were not looked for: that needs an area and a good sounding.')];
  const sorted = [...gaps].sort((a, b) => b.areaM2 - a.areaM2 || a.number - b.number);
  const blocks: Block[] = [
    table(
      sorted.length > GAPS_MAX ? `Gaps, the ${GAPS_MAX} largest of ${formatCount(sorted.length)}` : 'Gaps, the largest first',
      [figures('Gap'), figures('Area'), figures('Widest'), words('Middle, WGS 84')],
      sorted.slice(0, GAPS_MAX).map((gap) => {
        const [xM, yM] = middleOf(gap);
        const [latDeg, lonDeg] = frame === null ? [NaN, NaN] : frame.toGeographic(xM, yM);
        return [String(gap.number), formatArea(gap.areaM2), formatMetres(gap.widthM, 1), formatPosition(latDeg, lonDeg)];
      }),
      `No gap is left: every place in the area of at least ${formatArea(summary.settings.gaps.minAreaM2)} is within ${formatMetres(summary.gaps.reachM, 1)} of a good sounding.`,
    ),
  ];
  if (fillLines.length > 0) {
    blocks.push(
      table(
        'Lines that would fill them',
        [figures('Fill-in line'), figures('Length'), figures('Heading'), words('')],
        fillLines.slice(0, GAPS_MAX).map((line) => [String(line.number), formatLength(line.lengthM), formatDirection(line.headingDeg), '']),
        '',
      ),
    );
  }
  return blocks;
}

/** The middle of a gap's bounding box: near enough to find it. */
function middleOf(gap: ReportGap): [number, number] {
  const { outer } = gap.polygon;
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i + 1 < outer.length; i += 2) {
    x0 = Math.min(x0, outer[i] as number);
    x1 = Math.max(x1, outer[i] as number);
    y0 = Math.min(y0, outer[i + 1] as number);
    y1 = Math.max(y1, outer[i + 1] as number);
  }
  return [(x0 + x1) / 2, (y0 + y1) / 2];
}

const HASH: TableColumn = { title: 'SHA-256', align: 'left', share: 0, hash: true };

/** What the report rests on: files with their hashes, steps, versions, all settings. */
export function sourcesSection(input: ReportInput): Block[] {
  const { summary } = input;
  return [
    heading(1, 'Sources'),
    paragraph('Whoever has these files, and the same version of the program, can make every figure of this report again.', 'quiet'),
    table('Logs', [words('File'), figures('Size'), HASH], summary.logs.map((log) => [`logs/${log.file}`, formatBytes(log.bytes), log.sha256]), 'No log has been taken in.'),
    table('Other files the result depends on', [words('What'), words('File'), figures('Size'), HASH], input.sources.map((source) => [source.role, source.path, formatBytes(source.bytes), source.sha256]), 'No other files.'),
    table('Products', [words('File'), figures('Size'), HASH], summary.products.map((product) => [product.path, formatBytes(product.bytes), product.sha256]), 'No products have been made yet.'),
    heading(2, 'Steps and versions'),
    table(
      'Steps: what each read, and what it made',
      [words('Step', 0), words('Version', 0), words('', 0), words('Files'), HASH],
      stepRows(input),
      'No step has run.',
    ),
    ...(input.versions.length === 0 ? [] : [paragraph(`Made with ${input.versions.map(({ name, version }) => `${name} ${version}`).join(', ')}.`)]),
    heading(2, 'Settings'),
    table('survey.json, every key', [words('Key', 2), words('Value', 3)], flatten(summary.settings, ''), ''),
  ];
}

/** What each step read, many files of one earlier step in one word, and made; what stands among the products is not said again. */
function stepRows(input: ReportInput): string[][] {
  const products = new Set(input.summary.products.map(({ path }) => path));
  const makers = new Map<string, string>();
  return input.made.flatMap((made) => {
    const counts = new Map<string, number>();
    for (const { path } of made.inputs) counts.set(makers.get(path) ?? '', (counts.get(makers.get(path) ?? '') ?? 0) + 1);
    const isMany = (maker: string): boolean => maker !== '' && (counts.get(maker) ?? 0) > 3;
    const single = made.inputs.map(({ path }) => path).filter((path) => !isMany(makers.get(path) ?? ''));
    const many = [...counts].filter(([maker]) => isMany(maker)).map(([maker, count]) => `${formatCount(count)} files of ${maker}`);
    for (const { path } of made.outputs) makers.set(path, made.step);
    const listed = made.outputs.filter(({ path }) => !products.has(path));
    return [
      [made.step, made.version, 'from', [...many, ...single].join(', ') || 'nothing', ''],
      ...listed.map((file) => ['', '', 'made', file.path, file.sha256]),
      ...(listed.length < made.outputs.length ? [['', '', 'made', `${formatCounted(made.outputs.length - listed.length, 'product')}, see above`, '']] : []),
    ];
  });
}

/** Dotted paths and values, in the order of the file. */
function flatten(value: unknown, path: string): string[][] {
  if (value !== null && typeof value === 'object' && !Array.isArray(value)) {
    const entries = Object.entries(value);
    if (entries.length > 0) return entries.flatMap(([key, inner]) => flatten(inner, path === '' ? key : `${path}.${key}`));
  }
  return [[path, typeof value === 'string' ? value : JSON.stringify(value)]];
}

/** What anyone who uses a survey by a small boat should be told. */
export function cautionsSection(): Block[] {
  return [
    heading(1, 'Cautions'),
    {
      kind: 'list',
      items: [
        'Not for navigation. Charts for navigation and regulated works are for licensed surveyors.',
        'The collision regulations and the rules of the harbour apply to uncrewed craft as to any other.',
        'Protected sites, wrecks and habitat need a permit before they are surveyed.',
        'Lithium packs: charge them attended, use none that is damaged, keep salt water away from them.',
        'Cold water and slippery ramps kill: never swim after a boat to bring it back.',
        'Lifting gear or wreckage from the bottom is for licensed people.',
      ],
    },
  ];
}
