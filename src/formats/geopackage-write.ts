import type { Database, SqlJsStatic, SqlValue } from 'sql.js';
import { throwIfCancelled } from '../base/progress.js';
import { formatUtc } from '../base/time.js';
import { createFrame, type FrameSetting } from '../geo/frame.js';
import type { Polygon, Polyline } from '../geo/shapes.js';
import { emptyExtent, lineBlob, pointBlob, polygonBlob, widen, type Extent } from './geopackage-geometry.js';
import { utmWkt, wgs84Wkt } from './utm-wkt.js';

/** SQL type of a column. */
export type GeoPackageType = 'INTEGER' | 'REAL' | 'TEXT' | 'DATETIME' | 'BOOLEAN';

interface Layer {
  readonly name: string;
  readonly title: string;
  readonly description: string;
  readonly columns: readonly (readonly [name: string, type: GeoPackageType])[];
}

/** A layer of points in the survey frame; `rows` gives what stands in the columns of row i. A NaN place is left out. */
export interface PointLayer extends Layer {
  readonly kind: 'POINT';
  readonly n: number;
  readonly xM: ArrayLike<number>;
  readonly yM: ArrayLike<number>;
  row(i: number): readonly SqlValue[];
}

export interface LineLayer extends Layer {
  readonly kind: 'LINESTRING';
  readonly features: readonly { readonly shape: Polyline; readonly row: readonly SqlValue[] }[];
}

export interface PolygonLayer extends Layer {
  readonly kind: 'POLYGON';
  readonly features: readonly { readonly shape: Polygon; readonly row: readonly SqlValue[] }[];
}

export type GeoPackageLayer = PointLayer | LineLayer | PolygonLayer;

/** What a GeoPackage is made of. */
export interface GeoPackageFile {
  readonly frame: FrameSetting;
  readonly layers: readonly GeoPackageLayer[];
  /** When its content was last changed: the survey's own last time, so that a rebuild gives the same bytes [s]. */
  readonly timeS: number;
  /** What it was made from and how good it is, kept as metadata of the whole file. */
  readonly provenance: string;
}

/** `GPKG` and version 1.3.0 (clause 1.1.1.1.1). */
const APPLICATION_ID = 0x47504b47;
const USER_VERSION = 10300;
const CANCEL_EVERY = 4096;

/**
 * Layers as an OGC GeoPackage 1.3.0, all in the survey frame. Equal input gives equal bytes.
 *
 * There is no spatial index: the SQLite it is written with has no R*Tree; programs that want one add it.
 *
 * @param engine SQLite as sql.js gives it
 * @throws RangeError for a name that is not letters, figures and underscores
 * Source: OGC 12-128r17, GeoPackage 1.3.0, clauses 1.1, 2.1 and annex F.8 (metadata).
 */
export function writeGeoPackage(engine: SqlJsStatic, file: GeoPackageFile, signal?: AbortSignal): Uint8Array {
  const db = new engine.Database();
  try {
    db.run(`PRAGMA application_id = ${APPLICATION_ID}; PRAGMA user_version = ${USER_VERSION}; PRAGMA page_size = 4096`);
    db.run('BEGIN');
    db.run(SCHEMA);
    writeFrames(db, file.frame);
    const { epsg } = createFrame(file.frame);
    const changed = formatUtc(file.timeS, 3);
    for (const layer of file.layers) writeLayer(db, layer, epsg, changed, signal);
    db.run('INSERT INTO gpkg_extensions VALUES (?, NULL, ?, ?, ?)', ['gpkg_metadata', 'gpkg_metadata', METADATA_CLAUSE, 'read-write']);
    db.run('INSERT INTO gpkg_extensions VALUES (?, NULL, ?, ?, ?)', ['gpkg_metadata_reference', 'gpkg_metadata', METADATA_CLAUSE, 'read-write']);
    db.run('INSERT INTO gpkg_metadata VALUES (1, ?, ?, ?, ?)', ['dataset', 'https://www.ietf.org/rfc/rfc2046.txt', 'text/plain', file.provenance]);
    db.run('INSERT INTO gpkg_metadata_reference VALUES (?, NULL, NULL, NULL, ?, 1, NULL)', ['geopackage', changed]);
    db.run('COMMIT');
    return db.export();
  } finally {
    db.close();
  }
}

const METADATA_CLAUSE = 'http://www.geopackage.org/spec130/#extension_metadata';

/** Tables of annex C. */
const SCHEMA = `
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL, organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE, description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER, CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL, CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name), CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name), CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL, scope TEXT NOT NULL, CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name));
CREATE TABLE gpkg_metadata (id INTEGER CONSTRAINT m_pk PRIMARY KEY ASC NOT NULL, md_scope TEXT NOT NULL DEFAULT 'dataset', md_standard_uri TEXT NOT NULL, mime_type TEXT NOT NULL DEFAULT 'text/xml', metadata TEXT NOT NULL DEFAULT '');
CREATE TABLE gpkg_metadata_reference (reference_scope TEXT NOT NULL, table_name TEXT, column_name TEXT, row_id_value INTEGER, timestamp DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')), md_file_id INTEGER NOT NULL, md_parent_id INTEGER, CONSTRAINT crmr_mfi_fk FOREIGN KEY (md_file_id) REFERENCES gpkg_metadata(id), CONSTRAINT crmr_mpi_fk FOREIGN KEY (md_parent_id) REFERENCES gpkg_metadata(id));
`;

function writeFrames(db: Database, setting: FrameSetting): void {
  const { epsg, label } = createFrame(setting);
  const frames: SqlValue[][] = [
    ['Undefined cartesian SRS', -1, 'NONE', -1, 'undefined', 'undefined cartesian coordinate reference system'],
    ['Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinate reference system'],
    ['WGS 84 geodetic', 4326, 'EPSG', 4326, wgs84Wkt(), 'longitude/latitude coordinates in decimal degrees on the WGS 84 spheroid'],
    [`WGS 84 / ${label}`, epsg, 'EPSG', epsg, utmWkt(setting), 'the survey frame'],
  ];
  for (const frame of frames) db.run('INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)', frame);
}

function writeLayer(db: Database, layer: GeoPackageLayer, epsg: number, changed: string, signal: AbortSignal | undefined): void {
  for (const name of [layer.name, ...layer.columns.map(([column]) => column)]) {
    if (!/^[A-Za-z][A-Za-z0-9_]*$/.test(name)) throw new RangeError(`name ${JSON.stringify(name)}: expected letters, figures and underscores`);
  }
  db.run(`CREATE TABLE "${layer.name}" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom ${layer.kind}${layer.columns.map(([name, type]) => `, "${name}" ${type}`).join('')})`);
  const extent = emptyExtent();
  const insert = db.prepare(`INSERT INTO "${layer.name}" VALUES (?, ?${', ?'.repeat(layer.columns.length)})`);
  try {
    if (layer.kind === 'POINT') writePoints(layer, epsg, extent, (values) => insert.run(values as SqlValue[]), signal);
    else {
      layer.features.forEach(({ shape, row }, i) => {
        const { blob, extent: own } = layer.kind === 'LINESTRING' ? lineBlob(shape as Polyline, epsg) : polygonBlob(shape as Polygon, epsg);
        widen(extent, own.minX, own.minY);
        widen(extent, own.maxX, own.maxY);
        insert.run([i + 1, blob, ...row.map(noNaN)]);
      });
    }
  } finally {
    insert.free();
  }
  const bounds = Number.isFinite(extent.minX) ? [extent.minX, extent.minY, extent.maxX, extent.maxY] : [null, null, null, null];
  db.run('INSERT INTO gpkg_contents VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)', [layer.name, 'features', layer.title, layer.description, changed, ...bounds, epsg]);
  db.run('INSERT INTO gpkg_geometry_columns VALUES (?, ?, ?, ?, 0, 0)', [layer.name, 'geom', layer.kind, epsg]);
}

function writePoints(layer: PointLayer, epsg: number, extent: Extent, insert: (values: readonly SqlValue[]) => void, signal: AbortSignal | undefined): void {
  const values: SqlValue[] = [];
  for (let i = 0; i < layer.n; i++) {
    if (i % CANCEL_EVERY === 0) throwIfCancelled(signal);
    const x = layer.xM[i] as number;
    const y = layer.yM[i] as number;
    if (!Number.isFinite(x) || !Number.isFinite(y)) continue;
    widen(extent, x, y);
    const row = layer.row(i);
    values[0] = i + 1;
    values[1] = pointBlob(x, y, epsg);
    for (let k = 0; k < row.length; k++) values[k + 2] = noNaN(row[k]!);
    insert(values);
  }
}

/** NaN is no value: NULL in the table. */
function noNaN(value: SqlValue): SqlValue {
  return typeof value === 'number' && Number.isNaN(value) ? null : value;
}
