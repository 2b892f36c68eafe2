import type { Role } from '../../formats/index.ts';

/** Words in column names, by role; the words of an entry must all be in the name. */
export type Words = readonly { role: Role; strength: number; words: readonly string[] }[];

/** Without accents: "höhe" as "hohe". */
export const plain = (text: string): string => text.normalize('NFD').replace(/[\u0300-\u036f]/g, '');

/**
 * A table by role: how strongly a name points to the role, and the entries that do. Words match in full, cut short (a
 * shapefile's ten letters) and without their vowels.
 */
export const dictionary = (roles: Partial<Record<Role, Record<number, string>>>): Words =>
	(Object.entries(roles) as [Role, Record<number, string>][]).flatMap(([role, byStrength]) =>
		Object.entries(byStrength).flatMap(([strength, entries]) =>
			entries.split(', ').map((entry) => ({ role, strength: Number(strength), words: plain(entry).split(' ') })),
		),
	);

/** Words for what both logs and lists of loads state. */
export const SHARED_WORDS = {
	lat: {
		0.98: 'lat, latitude',
		0.95: 'breite, breitengrad, latitud, latitudine',
		0.7: 'northing',
		0.6: 'y, nord',
	},
	lon: {
		0.98: 'lon, long, lng, longitude',
		0.95: 'länge, längengrad, longitud, longitudine',
		0.7: 'easting',
		0.6: 'x, ost',
	},
	moisture: {
		0.98: 'moisture',
		0.96: 'moist, feuchte, feuchtigkeit, kornfeuchte, humidité, humedad, umidità',
		0.8: 'h2o, mst',
		0.75: 'water',
	},
	variety: {
		0.96: 'variety',
		0.95: 'hybrid, cultivar, sorte, variété, variedad',
	},
	field: {
		0.96: 'field',
		0.95: 'field name, schlag, parcelle',
		0.9: 'parcel, lote, campo',
		0.85: 'paddock',
	},
	crop: {
		0.96: 'crop',
		0.95: 'crop type',
		0.9: 'product, commodity, frucht, fruchtart, culture, cultivo',
	},
} satisfies Partial<Record<Role, Record<number, string>>>;

export const LOG_WORDS = dictionary({
	...SHARED_WORDS,
	time: {
		0.95: 'timestamp, date time, datetime, datum zeit, fecha hora',
		0.92: 'gps time, utc',
		0.9: 'time, zeitstempel',
		0.85: 'zeit, iso time',
		0.8: 'heure, hora, epoch, tow',
	},
	date: {
		0.93: 'date, datum, fecha',
		0.9: 'day, gps date, gps week',
		0.85: 'week',
	},
	clock: {
		0.9: 'time of day, uhrzeit',
		0.85: 'clock',
		0.8: 'seconds of day',
	},
	start: {
		0.9: 'start time, start',
		0.8: 'dataset, log start',
		0.75: 'run',
		0.7: 'session',
	},
	flow: {
		0.97: 'mass flow, crop flow, grain flow, flow rate',
		0.95: 'flow, durchsatz, massenstrom, débit, flujo, mass per time',
		0.9: 'throughput',
		0.55: 'mass, grain',
	},
	yield: {
		0.97: 'yield, ertrag, rendement, rendimiento',
		0.95: 'resa',
		0.9: 'yield mass, yield volume, mass per area',
		0.85: 'vry yield',
	},
	mass: {
		0.8: 'record mass, grain mass',
		0.75: 'grain weight',
		0.7: 'mass',
		0.6: 'weight, masse, gewicht',
	},
	interval: {
		0.97: 'interval, logging interval',
		0.95: 'duration, cycle',
		0.92: 'seconds',
		0.9: 'cycle time, dt, delta time, elapsed, dauer, intervall, durée, intervalo',
	},
	distance: {
		0.97: 'distance',
		0.95: 'dist, travel',
		0.93: 'strecke, weg, distanz, distancia',
		0.6: 'length',
	},
	area: {
		0.85: 'area',
		0.8: 'fläche, surface, superficie',
	},
	swath: {
		0.97: 'swath, swath width, header width',
		0.95: 'working width, cut width, cutting width, arbeitsbreite, schnittbreite, largeur, ancho',
		0.9: 'width',
	},
	combine: {
		0.97: 'combine',
		0.96: 'harvester',
		0.95: 'machine, vehicle, mähdrescher, maschine',
		0.9: 'serial, vin, device',
		0.85: 'unit id, machine id',
		0.7: 'dataset, operator',
		0.6: 'equipment',
	},
	section: {
		0.85: 'section',
		0.6: 'segment',
	},
	header: {
		0.96: 'header down',
		0.95: 'header status, header state, header position, header height',
		0.93: 'work state, work status',
		0.9: 'header',
		0.85: 'head status',
		0.8: 'recording, working',
		0.7: 'implement',
	},
	auger: {
		0.96: 'auger',
		0.95: 'unloading auger, unloading',
		0.9: 'unload, abtanken',
	},
	speed: {
		0.96: 'speed',
		0.95: 'ground speed, velocity, geschwindigkeit, vitesse, velocidad',
		0.85: 'mph, kph',
	},
	heading: {
		0.96: 'heading',
		0.95: 'bearing, course, direction',
		0.93: 'track deg',
		0.9: 'kurs, richtung',
		0.85: 'track',
		0.8: 'azimuth, cog',
	},
	elevation: {
		0.96: 'elevation, altitude',
		0.93: 'elev',
		0.9: 'alt, höhe, altura',
		0.7: 'height',
		0.6: 'z',
	},
	load: {
		0.9: 'load, load number, load id',
		0.85: 'fuhre',
	},
	pass: { 0.9: 'pass' },
	record: {
		0.85: 'obj id, record, record number',
		0.8: 'id, fid, objectid, index, point',
	},
	mass_total: { 0.9: 'total mass, total weight, accumulated, cumulative, yield total' },
	area_total: { 0.92: 'total area, area total, accumulated area' },
	note: { 0.8: 'note' },
});

/** Words that change the meaning of the rest of a column's name. */
export const OTHER =
	/\b(temp|temperature|fan|rotor|engine|cylinder|drum|concave|sieve|fuel|rpm|pressure|pitch|roll|tilt|offset|ffst|accuracy|hdop|pdop|dop|satellites?|sats|quality|target|setpoint|std|stdev|price|cost|protein|oil|starch|loss|fert\w*|seed\w*|rate|productivity|prdctvty|adjusted dry value|control|cnt|diff|dff|cleaning|tailings|returns|threshing|test)\b/;
