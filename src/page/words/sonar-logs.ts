import { isSonarKind } from '../../formats/log-kind.js';

/** Whether a log holds side-scan pings. */
export function isSonarLog(log: { readonly kind: string }): boolean {
  return isSonarKind(log.kind);
}

/** Names that side-scan records come under, for the stage to go to; what a file is, its content says. */
export const SONAR_FILE = /\.(sgy|segy|seg|nc|nc4|h5|hdf5|png|tiff?)$/i;
