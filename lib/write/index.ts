/** A run's results as files. Each writer yields bytes piece by piece; the same run gives the same bytes. */
export { csvRow } from '../formats/csv-cell.ts';
export { BUSHEL_COLUMNS } from './files/bushels.ts';
export { cleanCsv } from './files/clean.ts';
export { comparisonCsv, comparisonTables, type TextTable } from './files/comparison.ts';
export { columnsCsv } from './files/dictionary.ts';
export { contoursGeojson, resultJson } from './files/json.ts';
export { geoparquet } from './files/parquet.ts';
export { pointsCsv, pointsGeojson } from './files/points.ts';
export { shapefileZip } from './files/shapefile.ts';
export { swathsGeojson } from './files/swaths.ts';
export { mapTif } from './files/tiff.ts';
export { compareHtml } from './report/compare.ts';
export { reportHtml } from './report/index.ts';
export { makeScene } from './scene/scene.ts';
