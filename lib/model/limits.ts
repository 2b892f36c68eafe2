/** Lowest and highest value, and what it is, of each flag threshold that may be set, by flag word. */
export const FLAG_LIMITS = {
	standing: [0, 1, 'a share of the usual speed'],
	turning: [0, 10, 'a rate of turning in radians per meter'],
	filling: [0, 10, 'a share'],
	emptying: [0, 10, 'a share'],
	jolt: [0, 10, 'a share'],
	surge: [0, 10, 'a share'],
	dropout: [0, 10, 'a share'],
	flowless: [0, 100, 'a flow in kg/s'],
	moistureLow: [0, 100, 'a moisture in percent'],
	moisture: [0, 100, 'a moisture in percent'],
	narrow: [0, 60, 'a width in meters'],
	recut: [0, 1, 'a share'],
	lone: [0, 100, 'a number of spreads'],
} as const;

/** Lowest and highest value, and what it is, of each number that may be pinned. */
export const PIN_LIMITS = {
	clock_offset_s: [-4e7, 4e7, 'an offset in seconds'],
	factor: [0.01, 100, 'a factor'],
	lag_s: [-120, 300, 'a lag in seconds'],
} as const;

/** Statuses that a dump can be pinned to. */
export const PIN_STATUSES = ['used', 'joined', 'aside'] as const;
/** Forms that a factor can be pinned to. */
export const PIN_FORMS = ['constant', 'step', 'trend', 'flow'] as const;
