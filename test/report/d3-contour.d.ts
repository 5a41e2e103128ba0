declare module 'd3-contour' {
  interface ContourMaker {
    size(size: readonly [number, number]): ContourMaker;
    smooth(smooth: boolean): ContourMaker;
    contour(values: readonly number[], threshold: number): { readonly coordinates: [number, number][][][] };
  }
  export function contours(): ContourMaker;
}
