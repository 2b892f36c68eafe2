/** Converts positions to WGS 84 from EPSG codes that need no registry and from .prj texts. */
import proj4 from 'proj4';

/** Definition of an EPSG code for proj4; null for a code that is not supported. */
function definition(epsg: number): string | null {
	const utm = (zone: number, south: boolean, datum: string) =>
		`+proj=utm +zone=${zone}${south ? ' +south' : ''} ${datum} +units=m +no_defs`;
	const within = (from: number, to: number) => epsg >= from && epsg <= to;
	if ([4326, 4258, 4269, 4152, 4979, 6318, 7844, 4283, 4674].includes(epsg))
		return '+proj=longlat +datum=WGS84 +no_defs';
	if (epsg === 3857 || epsg === 900913) {
		return '+proj=merc +a=6378137 +b=6378137 +lat_ts=0 +lon_0=0 +x_0=0 +y_0=0 +k=1 +units=m +nadgrids=@null +no_defs';
	}
	// EPSG blocks of UTM: WGS 84, NAD83, NAD83(2011), ETRS89, SIRGAS 2000, GDA94, GDA2020 (MGA).
	if (within(32601, 32660)) return utm(epsg - 32600, false, '+datum=WGS84');
	if (within(32701, 32760)) return utm(epsg - 32700, true, '+datum=WGS84');
	if (within(26901, 26923)) return utm(epsg - 26900, false, '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0');
	if (within(6330, 6348)) return utm(epsg - 6329, false, '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0');
	if (within(25828, 25838)) return utm(epsg - 25800, false, '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0');
	if (within(31965, 31976)) return utm(epsg - 31954, false, '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0');
	if (within(31977, 31985)) return utm(epsg - 31960, true, '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0');
	if (within(28348, 28358)) return utm(epsg - 28300, true, '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0');
	if (within(7846, 7859)) return utm(epsg - 7800, true, '+ellps=GRS80 +towgs84=0,0,0,0,0,0,0');
	if (epsg === 2154) {
		return '+proj=lcc +lat_0=46.5 +lon_0=3 +lat_1=49 +lat_2=44 +x_0=700000 +y_0=6600000 +ellps=GRS80 +towgs84=0,0,0,0,0,0,0 +units=m +no_defs';
	}
	return null;
}

/** A coordinate reference system as a file names it. */
export interface Crs {
	/** As the file or the code names it. */
	name: string;
	/** True where its coordinates are longitude and latitude in degrees on a datum within 2 m of WGS 84. */
	degrees: boolean;
	/** One place to [longitude, latitude] of WGS 84; NaN for NaN and for coordinates that cannot be converted. */
	toDegrees(x: number, y: number): [number, number];
	/** Converts whole columns. */
	toWgs84(x: Float64Array, y: Float64Array): { lon_deg: Float64Array; lat_deg: Float64Array };
	/** Why converted places may be off, in words for the user; null where they are not. */
	doubt: string | null;
}

/** Datum types of proj4: shifted by a grid (which is not available), unknown. */
const [BY_GRID, NO_DATUM] = [3, 5];
/** Semi-major axis of GRS 80 and WGS 84, the ellipsoids of satellite-based datums. */
const SATELLITE_AXIS_M = 6378137;

/**
 * The coordinate system of an EPSG code or of well-known text from a .prj file.
 *
 * @returns null where the system is not supported
 */
export function readCrs(crs: number | string): Crs | null {
	const code = typeof crs === 'number' ? crs : Number(/^EPSG:(\d+)$/i.exec(crs.trim())?.[1] ?? Number.NaN);
	const text = Number.isNaN(code)
		? String(crs)
				.trim()
				.replace(/^\uFEFF/, '')
		: definition(code);
	if (text === null || text === '') return null;
	let from: { projName?: string; a?: number; datum?: { datum_type?: number } };
	let converter: { forward(place: [number, number]): number[] };
	try {
		from = new proj4.Proj(text);
		converter = proj4(text, '+proj=longlat +datum=WGS84 +no_defs');
		if ((converter.forward([0, 0]) as unknown[]).some((v) => typeof v !== 'number')) return null;
	} catch {
		return null;
	}
	const shift = from.datum?.datum_type;
	const old = Math.abs((from.a ?? SATELLITE_AXIS_M) - SATELLITE_AXIS_M) > 1;
	const earthbound = shift === BY_GRID ? old : shift === NO_DATUM && old;
	const name = Number.isNaN(code) ? (/\["([^"]+)"/.exec(text)?.[1] ?? 'unnamed').replaceAll('_', ' ') : `EPSG:${code}`;
	const toDegrees = (x: number, y: number): [number, number] => {
		if (!Number.isFinite(x + y)) return [Number.NaN, Number.NaN];
		const [lon, lat] = converter.forward([x, y]) as [number, number];
		return Math.abs(lat) <= 90 && Math.abs(lon) <= 180 ? [lon, lat] : [Number.NaN, Number.NaN];
	};
	return {
		name,
		degrees: from.projName === 'longlat' && !earthbound,
		doubt: earthbound
			? `positions are on an older datum (${name}) and may lie up to 200 m from their place; export the data in WGS 84`
			: null,
		toDegrees,
		toWgs84(x, y) {
			const lon_deg = new Float64Array(x.length);
			const lat_deg = new Float64Array(x.length);
			for (let i = 0; i < x.length; i++) [lon_deg[i], lat_deg[i]] = toDegrees(x[i]!, y[i]!);
			return { lon_deg, lat_deg };
		},
	};
}

/** A converter from [x, y] to [longitude, latitude], WGS 84 degrees; null where the system is not supported. */
export function toDegrees(crs: number | string): ((x: number, y: number) => [number, number]) | null {
	return readCrs(crs)?.toDegrees ?? null;
}
