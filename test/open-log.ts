import { existsSync } from 'node:fs';

/** The open Mankato log beside the project: one combine, 4,949 records, no weights. Its README names source and license. */
export const OPEN_LOG = new URL('../../shared/data/mankato-corn.csv', import.meta.url);

/** Is it there? Tests that need it are skipped where it is not, and say so. */
export const openLogThere = existsSync(OPEN_LOG);
if (!openLogThere) console.warn('SKIPPED: ../shared/data/mankato-corn.csv is absent.');

/** Its mapping. */
export const OPEN_LOG_COLUMNS = {
	time: { column: 'time', unit: 's', since: '2011-11-05T17:38:03Z' },
	lon: { column: 'long' },
	lat: { column: 'lat' },
	flow: { column: 'mass', unit: 'lb/s' },
	interval: { column: 'seconds', unit: 's' },
	distance: { column: 'dist', unit: 'in' },
	swath: { column: 'swath', unit: 'in' },
	moisture: { column: 'moist', unit: '%' },
	elevation: { column: 'elev', unit: 'ft' },
};
