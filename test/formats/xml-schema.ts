import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { XmlDocument, XsdValidator } from 'libxml2-wasm';
import { xmlRegisterFsInputProviders } from 'libxml2-wasm/lib/nodejs.mjs';

const FOLDER = new URL('../../../shared/data/formats/', import.meta.url);

/** Whether the published schemas are here; they are not part of the project. */
export const HAVE_SCHEMAS = existsSync(new URL('gpx11.xsd', FOLDER)) && existsSync(new URL('ogckml22.xsd', FOLDER));
export const SCHEMA_NOTE = HAVE_SCHEMAS ? '' : ' (SKIPPED: ../shared/data/formats is not here)';

/** What a schema finds wrong with a text: empty where it is valid. */
export function schemaFaults(schema: 'gpx11.xsd' | 'ogckml22.xsd', text: string): string {
  xmlRegisterFsInputProviders();
  const file = new URL(schema, FOLDER);
  // The KML schema names an address on the network for one import; its file lies beside it.
  const source = readFileSync(file, 'utf8').replace('http://docs.oasis-open.org/election/external/xAL.xsd', 'xAL.xsd');
  const schemaDocument = XmlDocument.fromString(source, { url: fileURLToPath(file) });
  const validator = XsdValidator.fromDoc(schemaDocument);
  const document = XmlDocument.fromString(text);
  try {
    validator.validate(document);
    return '';
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  } finally {
    document.dispose();
    validator.dispose();
    schemaDocument.dispose();
  }
}
