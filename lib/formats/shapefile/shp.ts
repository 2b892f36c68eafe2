/** The shapes of a shapefile (.shp): ESRI Shapefile Technical Description, 1998. */
import { fileFault, type Loaded, viewOf } from '../bytes.ts';

export type Shapes =
	| { kind: 'points'; x: Float64Array; y: Float64Array; z: Float64Array | null; notes: string[] }
	/** Rings of every polygon, [x, y] in file order; empty if a row has no shape. */
	| { kind: 'polygons'; rings: [number, number][][][]; notes: string[] }
	| { kind: 'lines'; notes: string[] };

/** By the last digit of the type: 1 plain, 11 with heights, 21 with measures. */
const KINDS: Record<number, Shapes['kind']> = { 1: 'points', 8: 'points', 5: 'polygons', 3: 'lines' };

/** @throws InputFault if the bytes are not shapes */
export function readShp({ name, bytes }: Loaded): Shapes {
	const view = viewOf(bytes);
	if (bytes.length < 100 || view.getInt32(0) !== 9994) {
		throw fileFault(
			name,
			`${bytes.length} bytes`,
			'not a shapefile, or its beginning is missing; copy or export it again',
		);
	}
	const type = view.getInt32(32, true);
	const kind = type > 0 && type < 30 ? KINDS[type % 10] : undefined;
	if (kind === undefined) throw fileFault(name, `shape type ${type}`, 'expected a shapefile of points or polygons');
	const notes: string[] = [];
	const records: { at: number; end: number }[] = [];
	let at = 100;
	// The header's length counts words; some programs leave it at zero, so the actual length is used.
	while (at + 12 <= bytes.length) {
		const end = at + 8 + view.getInt32(at + 4) * 2;
		if (end <= at + 8 || end > bytes.length) break;
		records.push({ at: at + 8, end });
		at = end;
	}
	const stated = view.getInt32(24) * 2;
	if (at < stated) notes.push(`The shapefile is cut off: ${records.length} shapes read.`);
	if (kind === 'lines') return { kind, notes };
	if (kind === 'polygons') return { kind, rings: records.map((r) => ringsOf(view, r.at, r.end)), notes };
	const multi = type % 10 === 8;
	const z = type === 11 ? new Float64Array(records.length).fill(Number.NaN) : null;
	const x = new Float64Array(records.length).fill(Number.NaN);
	const y = new Float64Array(records.length).fill(Number.NaN);
	let more = 0;
	for (const [i, r] of records.entries()) {
		if (view.getInt32(r.at, true) === 0) continue;
		const from = multi ? r.at + 40 : r.at + 4;
		if (from + 16 > r.end) continue;
		if (multi && view.getInt32(r.at + 36, true) > 1) more++;
		[x[i], y[i]] = [view.getFloat64(from, true), view.getFloat64(from + 8, true)];
		if (z !== null && from + 24 <= r.end) z[i] = view.getFloat64(from + 16, true);
	}
	if (more > 0) notes.push(`${more} rows hold several points; the first of each is used.`);
	return { kind, x, y, z, notes };
}

function ringsOf(view: DataView, at: number, end: number): [number, number][][] {
	if (at + 44 > end || view.getInt32(at, true) === 0) return [];
	const parts = view.getInt32(at + 36, true);
	const points = view.getInt32(at + 40, true);
	const first = at + 44 + parts * 4;
	if (parts < 0 || points < 0 || first + points * 16 > end) return [];
	const rings: [number, number][][] = [];
	for (let p = 0; p < parts; p++) {
		const from = view.getInt32(at + 44 + p * 4, true);
		const to = p + 1 < parts ? view.getInt32(at + 48 + p * 4, true) : points;
		if (from < 0 || to > points || from >= to) continue;
		const ring: [number, number][] = [];
		for (let i = from; i < to; i++)
			ring.push([view.getFloat64(first + i * 16, true), view.getFloat64(first + i * 16 + 8, true)]);
		rings.push(ring);
	}
	return rings;
}
