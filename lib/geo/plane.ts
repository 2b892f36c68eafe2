/** Meters for each degree of latitude, on a sphere of the Earth's mean radius. */
export const M_PER_DEG = 111_195;

/** Meters for each degree of longitude at a latitude. */
export const eastPerDeg_m = (lat_deg: number): number => M_PER_DEG * Math.cos((lat_deg * Math.PI) / 180);

/** Meters between two places near each other. */
export function apart_m(lon1_deg: number, lat1_deg: number, lon2_deg: number, lat2_deg: number): number {
	const north_m = (lat1_deg - lat2_deg) * M_PER_DEG;
	const east_m = (lon1_deg - lon2_deg) * eastPerDeg_m(lat1_deg);
	return Math.sqrt(north_m * north_m + east_m * east_m);
}
