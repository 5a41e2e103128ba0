import { stat } from 'node:fs/promises';
import { logKindOf, type SonarKind } from '../formats/log-kind.js';
import { isHdf5, isImage } from '../formats/file-magic.js';
import type { RecordLayout } from '../formats/record-layout.js';
import { isSegy } from '../formats/segy-file-head.js';
import type { FileSource } from './file-source.js';
import { layoutFor } from './sonar-layouts.js';

export { isSonarKind } from '../formats/log-kind.js';

const HEAD_BYTES = 65_536;

/** The CSV of navigation that belongs to an image strip: beside it, of the same name. */
export function navigationBeside(image: string): string {
  return image.replace(/\.[^./\\]*$/, '') + '.csv';
}

/**
 * The kind of a side-scan log; null where it is none: by a layout of the user's for files of such a name, else by its content. An image
 * is one where its navigation lies beside it. A text log keeps being one, whatever its name says.
 */
export async function sonarKindOf(source: FileSource, layouts: readonly RecordLayout[]): Promise<SonarKind | null> {
  if (layoutFor(source.path, layouts) !== null) return 'sonar-layout';
  const head = await source.read(0, HEAD_BYTES);
  if (isSegy(head)) return 'segy';
  if (isHdf5(head)) return 'sonar-netcdf';
  if (isImage(head)) return (await stat(navigationBeside(source.path)).catch(() => null))?.isFile() === true ? 'sonar-image' : null;
  // Named so, and nothing else: its reader says what is wrong with it.
  return /\.(segy|sgy)$/i.test(source.name) && logKindOf(head) === null ? 'segy' : null;
}
