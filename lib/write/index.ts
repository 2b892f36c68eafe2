/** A run's results as files: each writer gives bytes piece by piece, and the same run gives the same bytes. */
export { cleanCsv } from './clean.ts';
export { comparisonCsv, comparisonTables, type TextTable } from './comparison.ts';
export { contoursGeojson, resultJson } from './json.ts';
export { geoparquet } from './parquet.ts';
export { pointsCsv, pointsGeojson } from './points.ts';
export { compareHtml } from './report/compare.ts';
export { reportHtml } from './report/index.ts';
export { makeScene } from './scene.ts';
export { shapefileZip } from './shapefile.ts';
export { swathsGeojson } from './swaths.ts';
export { mapTif } from './tiff.ts';
