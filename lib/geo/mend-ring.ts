/** One polygon's rings, checked and repaired. */
import type { Position } from 'geojson';
import { excerpt } from '../model/index.ts';
import { crossing } from './crossing.ts';
import { eastPerDeg_m, M_PER_DEG } from './plane.ts';
import { flatRing, ringArea_m2 } from './ring.ts';

/** What is wrong with a boundary, in words, and what was found. */
export interface BoundaryFault {
	found: string;
	why: string;
}

/** Repairs one polygon's rings; null, with entries in `faults`, where that is not possible. */
export function mendRings(rings: unknown, mends: Set<string>, faults: BoundaryFault[]): Position[][] | null {
	if (!Array.isArray(rings) || rings.length === 0) {
		faults.push({ found: excerpt(rings), why: '"coordinates" of a polygon must be a list of rings' });
		return null;
	}
	const before = faults.length;
	const mended: Position[][] = [];
	rings.forEach((ring: unknown, r) => {
		const positions = positionsOf(ring, faults);
		if (positions === null || !extentFits(positions, faults)) return;
		const single = positions.filter((p, i) => i === 0 || !samePlace(p, positions[i - 1]!));
		const [first] = single;
		if (first && !samePlace(first, single[single.length - 1]!)) {
			single.push([...first]);
			mends.add('an open ring was closed');
		}
		if (single.length < 4) {
			faults.push({
				found: `${Math.max(0, single.length - 1)} different points`,
				why: 'expected at least three corners in a ring',
			});
			return;
		}
		if (flat(single)) {
			faults.push({ found: `${single.length - 1} points on one line`, why: 'a ring without area' });
			return;
		}
		// RFC 7946, 3.1.6: outer rings run counterclockwise, holes clockwise.
		if (ringArea_m2(flatRing(single)) > 0 !== (r === 0)) {
			single.reverse();
			mends.add(
				r === 0 ? 'an outer ring that ran clockwise was turned' : 'a hole that ran counterclockwise was turned',
			);
		}
		mended.push(single);
	});
	if (faults.length > before) return null;
	const place = crossing(mended);
	if (place !== null) {
		faults.push({
			found: `near ${place[0]}, ${place[1]} (lon, lat)`,
			why: 'the boundary crosses itself; draw it without crossing lines',
		});
		return null;
	}
	for (const ring of mended) {
		const area_m2 = Math.abs(areaOf(ring));
		if (area_m2 < LEAST_M2) faults.push({ found: `${area_m2.toFixed(2)} m²`, why: 'a ring without area' });
		if (area_m2 > MOST_M2) {
			faults.push({ found: `${Math.round(area_m2 / 1e4)} ha`, why: 'larger than a county, so not a field' });
		}
	}
	const [outer = 0, ...holes] = mended.map((ring) => Math.abs(areaOf(ring)));
	if (faults.length === before && outer - holes.reduce((a, b) => a + b, 0) < LEAST_M2) {
		faults.push({ found: `${holes.length} holes`, why: 'a polygon without area: its holes take all of it' });
	}
	return faults.length > before ? null : mended;
}

/** True where all points are on one line, within about a millimeter. */
function flat(ring: readonly Position[]): boolean {
	const [ox, oy] = ring[0] as [number, number];
	let [fx, fy] = [0, 0];
	for (const [x, y] of ring as [number, number][]) {
		if (Math.hypot(x - ox, y - oy) > Math.hypot(fx, fy)) [fx, fy] = [x - ox, y - oy];
	}
	const far = Math.hypot(fx, fy);
	return ring.every(([x, y]) => Math.abs((x! - ox) * fy - (y! - oy) * fx) <= 1e-8 * far);
}

/** Least area, m²; rounding errors of points on one line are far below it. */
const LEAST_M2 = 1;

/** Largest area, m²: the size of a county in the Corn Belt. */
const MOST_M2 = 160_000e4;

/** Limits of UTM, degrees. */
const NORTH_DEG = 84;

const SOUTH_DEG = -80;

function extentFits(ring: readonly Position[], faults: BoundaryFault[]): boolean {
	const lons = ring.map((p) => p[0]!);
	const lats = ring.map((p) => p[1]!);
	// Not Math.min(...values), since a ring may have any number of points.
	const least = (values: number[]) => values.reduce((a, b) => Math.min(a, b), Infinity);
	const most = (values: number[]) => values.reduce((a, b) => Math.max(a, b), -Infinity);
	const [south, north, wide] = [least(lats), most(lats), most(lons) - least(lons)];
	if (north > NORTH_DEG || south < SOUTH_DEG) {
		faults.push({
			found: `latitude ${north > NORTH_DEG ? north : south}`,
			why: `near or over a pole: latitudes from ${-SOUTH_DEG}° south to ${NORTH_DEG}° north are accepted`,
		});
		return false;
	}
	if (wide > 180) {
		faults.push({ found: `${wide}° of longitude`, why: 'the boundary reaches around the globe or over a pole' });
		return false;
	}
	return true;
}

/** Signed area in m², on a plane tangent at the ring's middle. */
function areaOf(ring: readonly Position[]): number {
	const middle = ring.reduce((sum, p) => sum + p[1]!, 0) / ring.length;
	return ringArea_m2(flatRing(ring)) * M_PER_DEG * eastPerDeg_m(middle);
}

function positionsOf(ring: unknown, faults: BoundaryFault[]): Position[] | null {
	if (!Array.isArray(ring)) {
		faults.push({ found: excerpt(ring), why: 'a ring must be a list of positions [lon, lat]' });
		return null;
	}
	const positions: Position[] = [];
	for (const position of ring as unknown[]) {
		const [lon, lat] = Array.isArray(position) ? (position as unknown[]) : [];
		if (typeof lon !== 'number' || typeof lat !== 'number' || !Number.isFinite(lon) || !Number.isFinite(lat)) {
			faults.push({ found: excerpt(position), why: 'a position must be two numbers [lon, lat]' });
			return null;
		}
		if (Math.abs(lat) > 90 || Math.abs(lon) > 180) {
			faults.push({
				found: `[${lon}, ${lat}]`,
				why: 'a position must be [lon, lat] in WGS 84 degrees: latitude within ±90, longitude within ±180',
			});
			return null;
		}
		positions.push([lon, lat]);
	}
	return positions;
}

function samePlace(a: Position, b: Position): boolean {
	return a[0] === b[0] && a[1] === b[1];
}
