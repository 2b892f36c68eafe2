import proj4 from 'proj4';

/** The field's own plane: ground meters from a corner, along the axes of its UTM zone. */
export interface Plane {
	epsg: number;
	/** Meters of the UTM grid per meter of ground. */
	gridPerGround: number;
	toUtm(x_m: number, y_m: number): [number, number];
	fromUtm(e_m: number, n_m: number): [number, number];
	toLonLat(x_m: number, y_m: number): [number, number];
	fromLonLat(lon: number, lat: number): [number, number];
}

/** Sets a plane's origin at a place on WGS 84. The grid's scale is taken as constant over the field (20 ppm). */
export function plane(lon: number, lat: number): Plane {
	const zone = Math.floor((lon + 180) / 6) + 1;
	const south = lat < 0;
	const utm = proj4(
		'+proj=longlat +datum=WGS84 +no_defs',
		`+proj=utm +zone=${zone}${south ? ' +south' : ''} +datum=WGS84 +units=m +no_defs`,
	);
	const [e0, n0] = utm.forward([lon, lat]) as [number, number];
	// Point scale of the transverse Mercator, second order (Snyder, Map Projections, 8-11).
	const along = (e0 - 500_000) / 0.9996 / 6_378_000;
	const k = 0.9996 * (1 + (along * along) / 2);
	return {
		epsg: (south ? 32700 : 32600) + zone,
		gridPerGround: k,
		toUtm: (x, y) => [e0 + x * k, n0 + y * k],
		fromUtm: (e, n) => [(e - e0) / k, (n - n0) / k],
		toLonLat: (x, y) => utm.inverse([e0 + x * k, n0 + y * k]) as [number, number],
		fromLonLat(lo, la) {
			const [e, n] = utm.forward([lo, la]) as [number, number];
			return [(e - e0) / k, (n - n0) / k];
		},
	};
}
