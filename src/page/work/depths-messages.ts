/** What the page asks workers for at the Depths stage. */
export interface DepthsMessages {
  /** Reads derived/corrections.parquet: one curve for each correction. Null where there is none. */
  readonly loadCorrections: { readonly request: { readonly url: string }; readonly response: LoadedCorrections | null };
}

/** One correction against time. */
export interface CorrectionCurve {
  readonly column: string;
  readonly label: string;
  /** Whether it is part of the depth (or place) as reduced. */
  readonly on: boolean;
  /** Moves the place, not the depth. */
  readonly horizontal: boolean;
  /** Dotted path of the setting that applies it; null where it cannot be left out. */
  readonly setting: string | null;
  /** Metres added on the way from the instrument's depth; NaN where not known. Shape [n] */
  readonly valueM: Float32Array;
  readonly leastM: number;
  readonly mostM: number;
}

/** The corrections of all soundings, in the order of the soundings. */
export interface LoadedCorrections {
  /** UTC [s]. Shape [n] */
  readonly timeS: Float64Array;
  readonly curves: readonly CorrectionCurve[];
}
