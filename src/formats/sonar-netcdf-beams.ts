import type { Dataset, File as Hdf5File, Group } from 'h5wasm';
import type { Side } from '../base/sonar.js';

/** A beam of a beam group and the side it looks to. */
export interface FoundBeam {
  readonly group: string;
  readonly index: number;
  readonly name: string;
  readonly side: Side | null;
}

/** A dataset by its path; null where there is none. */
export function datasetAt(file: Hdf5File, path: string): Dataset | null {
  // Step by step: the library raises an error for a path that is not there.
  let group: Group = file;
  const parts = path.split('/');
  for (const [i, part] of parts.entries()) {
    if (!group.keys().includes(part)) return null;
    const found = file.get(parts.slice(0, i + 1).join('/'));
    if (found === null) return null;
    if (i === parts.length - 1) return 'shape' in found && 'slice' in found ? (found as Dataset) : null;
    if (!('keys' in found)) return null;
    group = found as Group;
  }
  return null;
}

/** An attribute's text; empty where there is none. */
export function textAttribute(entity: { readonly attrs: Record<string, { readonly value: unknown }> } | null, name: string): string {
  const value = entity?.attrs[name]?.value;
  return typeof value === 'string' ? value : Array.isArray(value) && typeof value[0] === 'string' ? value[0] : '';
}

/** Values, and bytes of a chunk, beyond which a variable of pings is damage, not data: a file of some kilobytes can claim any number. */
const VALUES_MAX = 50_000_000;
const CHUNK_MAX = 256 << 20;

/** All values of a dataset as the library gives them. @throws RangeError where it claims more than any log of pings holds */
export function valuesOf(dataset: Dataset): unknown {
  const { shape, chunks, size } = dataset.metadata;
  const product = (numbers: readonly number[] | null): number => (numbers ?? []).reduce((all, n) => all * Number(n), 1);
  if (product(shape) > VALUES_MAX) throw new RangeError(`${dataset.path} claims ${product(shape)} values`);
  if (product(chunks) * size > CHUNK_MAX) throw new RangeError(`${dataset.path} claims to be packed in pieces of ${product(chunks) * size} bytes`);
  return dataset.value;
}

/** All values of a dataset as numbers, scale and offset of CF applied, fill values as NaN; null where there is no such dataset of numbers. */
export function numbersOf(dataset: Dataset | null): Float64Array | null {
  if (dataset === null) return null;
  const value = valuesOf(dataset);
  if (typeof value === 'number') return Float64Array.of(value);
  if (!ArrayBuffer.isView(value) || value instanceof BigUint64Array || value instanceof BigInt64Array) return null;
  const attribute = (name: string): number => {
    const held = dataset.attrs[name]?.value;
    return typeof held === 'number' ? held : ArrayBuffer.isView(held) ? Number((held as Float64Array)[0]) : NaN;
  };
  const [scale, add, fill] = [attribute('scale_factor'), attribute('add_offset'), attribute('_FillValue')];
  const out = Float64Array.from(value as Float64Array);
  for (let i = 0; i < out.length; i++) {
    // 9.97e36 is the fill value of netCDF where none is named.
    if (out[i] === fill || Math.abs(out[i] as number) > 9e36) out[i] = NaN;
    else out[i] = (out[i] as number) * (Number.isNaN(scale) ? 1 : scale) + (Number.isNaN(add) ? 0 : add);
  }
  return out;
}

/**
 * Every beam of every beam group, with the side it looks to: by its name, else by the direction it points in (y to starboard), else unknown.
 * Source: ICES SONAR-netCDF4 1.0: sub-groups of /Sonar that hold backscatter_r; sonar beam coordinates x forward, y to starboard, z down.
 */
export function findBeams(file: Hdf5File): FoundBeam[] {
  if (!file.keys().includes('Sonar')) return [];
  const sonar = file.get('Sonar');
  if (sonar === null || !('keys' in sonar)) return [];
  const beams: FoundBeam[] = [];
  for (const name of (sonar as Group).keys()) {
    const group = `Sonar/${name}`;
    const backscatter = datasetAt(file, `${group}/backscatter_r`);
    if (backscatter === null) continue;
    const count = (backscatter.shape ?? [])[1] ?? 1;
    const named = datasetAt(file, `${group}/beam`);
    const labels = named === null ? null : valuesOf(named);
    const across = numbersOf(datasetAt(file, `${group}/beam_direction_y`));
    for (let index = 0; index < Math.min(count, 4096); index++) {
      const label = Array.isArray(labels) ? String(labels[index] ?? '') : '';
      const y = across === null ? NaN : (across[across.length > count ? index : Math.min(index, across.length - 1)] ?? NaN);
      const words = `${label} ${count === 1 ? name : ''}`;
      const side: Side | null = /port|left/i.test(words) ? 'port' : /st(ar)?b(oar)?d|starb|right/i.test(words) ? 'starboard' : y < -0.01 ? 'port' : y > 0.01 ? 'starboard' : null;
      beams.push({ group, index, name: label === '' ? `${name} beam ${index + 1}` : label, side });
    }
  }
  return beams;
}
