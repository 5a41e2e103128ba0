/** What can be handed over beside the report, by the name a setting or the command line gives it. */
export const PRODUCT_KINDS = ['csv', 'geoparquet', 'geotiff', 's102', 'geopackage', 'geojson', 'dxf', 'xyz', 'png', 'chart', 'mosaic', 'finds'] as const;

export type ProductKind = (typeof PRODUCT_KINDS)[number];

/** A line of products/README.txt for each file that can stand there; a file is written by the kind before it. */
export const PRODUCT_FILES: readonly (readonly [kind: ProductKind | 'report', files: string, words: string])[] = [
  ['csv', 'soundings.csv', 'every sounding, those set aside with their reason'],
  ['geoparquet', 'soundings.parquet', 'the same as GeoParquet, with every column of the reduction'],
  ['geotiff', 'surface.tif', 'cloud-optimised GeoTIFF; bands: 1 depth, 2 uncertainty, 3 soundings in the cell (0: filled between)'],
  ['s102', 'surface-s102.h5', 'IHO S-102 3.0.0 (HDF5): depth and uncertainty by cell, and how each cell came about'],
  ['geopackage', 'survey.gpkg', 'GeoPackage: soundings, contours, gaps, lines, area, keep-outs, finds'],
  ['geojson', 'contours.geojson', 'depth contours'],
  ['geojson', 'gaps.geojson', 'unsurveyed holes in the area'],
  ['geojson', 'fill-in.geojson / .gpx', 'lines that fill them, in the order to run them'],
  ['geojson', 'lines.geojson / .gpx', 'the lines as planned'],
  ['dxf', 'contours.dxf', 'depth contours for drawing programs (DXF R12): elevation is minus depth; layers CONTOUR_MAJOR, CONTOUR_MINOR'],
  ['xyz', 'soundings.xyz, surface.xyz', 'east north depth, good soundings and cells of the surface; xyz-readme.txt says in what'],
  ['png', 'surface-shaded.png', 'picture of the surface, depth tints under a hill-shade; .pgw, .prj and .png.aux.xml place it'],
  ['chart', 'chart.pdf', 'chart at a true scale, for paper; print it at 100 %'],
  ['mosaic', 'mosaic.tif', 'side-scan mosaic, cloud-optimised GeoTIFF, 8 bits: 0 no data, 128 the usual return of the floor at that angle, 4 steps a dB'],
  ['finds', 'finds.geojson / .gpx / .csv / .kml', 'things located on the bottom, those rejected left out; lifting anything is for licensed people'],
  ['report', 'report.html / .pdf', 'what was surveyed, how, and how good it is'],
];
