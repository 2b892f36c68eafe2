/** The IANA time zone of a place, by a coarse map of the world's zones that comes with the library (no network). */
import lookUp from '@photostructure/tz-lookup';

/**
 * @param lon_deg - WGS 84 longitude
 * @param lat_deg - WGS 84 latitude
 * @returns null for a place off the globe
 */
export function zoneAt(lon_deg: number, lat_deg: number): string | null {
	if (!(Math.abs(lat_deg) <= 90 && Math.abs(lon_deg) <= 180)) return null;
	return lookUp(lat_deg, lon_deg);
}
