import type { ByteSource } from '../base/byte-source.js';
import { logKindOf, type SonarKind } from '../formats/log-kind.js';
import { isSegy } from '../formats/segy-file-head.js';
import { isHdf5 } from '../formats/sonar-netcdf-read.js';

export { isSonarKind } from '../formats/log-kind.js';

const HEAD_BYTES = 65_536;

/** The kind of a side-scan log by its content; null where it is none. A text log keeps being one, whatever its name says. */
export async function sonarKindOf(source: ByteSource): Promise<SonarKind | null> {
  const head = await source.read(0, HEAD_BYTES);
  if (isSegy(head)) return 'segy';
  if (isHdf5(head)) return 'sonar-netcdf';
  // Named so, and nothing else: its reader says what is wrong with it.
  return /\.(segy|sgy)$/i.test(source.name) && logKindOf(head) === null ? 'segy' : null;
}
