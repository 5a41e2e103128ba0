/** What the page asks workers for at the Imagery and Finds stages. */
export interface ImageryMessages {
  /** Reads pings, bottom and track of the side-scan logs. Null where there are none. */
  readonly loadPings: { readonly request: { readonly pingsUrl: string; readonly bottomUrl: string; readonly trackUrl: string }; readonly response: LoadedPings | null };
  /** A piece of the waterfall in colours. Null where the server has none. */
  readonly waterfallTile: { readonly request: WaterfallTileRequest; readonly response: { readonly image: ImageBitmap } | null };
  /** Opens a raster by its overviews, for `rasterTile`. Null where there is none. */
  readonly openRaster: { readonly request: { readonly url: string }; readonly response: RasterInfo | null };
  /** A tile of a raster in colours; its clear parts are clear. Null where it is empty, or the raster is another by now. */
  readonly rasterTile: { readonly request: RasterTileRequest; readonly response: { readonly image: ImageBitmap } | null };
}

/** Every ping of the side-scan logs, in the order of derived/imagery/pings.parquet. Shape of every column: [n]. */
export interface LoadedPings {
  readonly n: number;
  /** UTC [s], the sonar's clock set right where its offset is known. */
  readonly timeS: Float64Array;
  /** Place of the log in the manifest, and the ping's number in it. */
  readonly log: Uint16Array;
  readonly record: Uint32Array;
  readonly portSamples: Uint32Array;
  readonly starboardSamples: Uint32Array;
  readonly intervalS: Float64Array;
  readonly delayS: Float64Array;
  /** The sonar in the survey frame [m]; NaN where it is not known. */
  readonly xM: Float64Array;
  readonly yM: Float64Array;
  readonly gridHeadingDeg: Float32Array;
  readonly speedMps: Float32Array;
  /** One sigma, one dimension [m]. */
  readonly sigmaM: Float32Array;
  readonly headingSigmaDeg: Float32Array;
  /** -1 off any line. */
  readonly line: Int32Array;
  /** 0 good; else why the ping has no place on the floor. */
  readonly fault: Uint8Array;
  readonly portSlope: Float32Array;
  readonly starboardSlope: Float32Array;
  /** Slant range of the floor's first echo [m], its sigma, how sure, and where it comes from. */
  readonly firstEchoM: Float32Array;
  readonly heightSigmaM: Float32Array;
  readonly confidence: Float32Array;
  readonly source: Uint8Array;
}

/** Levels as colours: what is shown dark and light [dB], and the colours from weak to strong, [256 * 3]. */
export interface LevelColours {
  readonly lowDb: number;
  readonly highDb: number;
  readonly colours: Uint8ClampedArray;
}

export interface WaterfallTileRequest extends LevelColours {
  /** Where the server gives the tile's levels; the same address always gives the same. */
  readonly url: string;
  readonly rows: number;
  readonly width: number;
}

/** A raster that is read a tile at a time. */
export interface RasterInfo {
  readonly url: string;
  readonly westM: number;
  readonly northM: number;
  readonly cellM: number;
  readonly cols: number;
  readonly rows: number;
  readonly tilePx: number;
  /** Cells of each level from the finest: every next one is coarser. */
  readonly levels: readonly { readonly cellM: number; readonly cols: number; readonly rows: number }[];
}

export interface RasterTileRequest {
  readonly url: string;
  readonly level: number;
  readonly col: number;
  readonly row: number;
  /** Band from 0; a value v shows as (v - zero) * perStep. */
  readonly band: number;
  readonly zero: number;
  readonly perStep: number;
  readonly low: number;
  readonly high: number;
  readonly colours: Uint8ClampedArray;
  /** This value is clear, beside NaN; null: none. */
  readonly clear: number | null;
}
