/** Places and areas: UTM, coordinate systems, boundaries, rings, the harvested outline, neighbors. */

export { type Crs, readCrs, toDegrees } from './crs.ts';
export { mendBoundary } from './mend-boundary.ts';
export { type BoxIndex, boxIndex, type PointIndex, pointIndex } from './near.ts';
export { type CutGround, harvestedOutline } from './outline.ts';
export { apart_m, eastPerDeg_m, M_PER_DEG } from './plane.ts';
export { edgeDistance_m, insideRings, outlineArea_m2, projectRings, type Rings, ringArea_m2 } from './ring.ts';
export { medianPlace, type Projection, utmProjection, utmZone } from './utm.ts';
export { zoneAt } from './zone-at.ts';
