import * as v from 'valibot';

const text = v.string('text in quotes is wanted here');
const finite = v.pipe(v.number('a number is wanted here, without quotes'), v.finite('a finite number is wanted here'));
const number = (what: string) => v.pipe(finite, v.minValue(0, `${what}, 0 or more, is wanted here`));
const above0 = (what: string) => v.pipe(finite, v.gtValue(0, `${what} above 0 is wanted here`));
const maybe = <T extends v.GenericSchema>(schema: T) => v.optional(v.nullable(schema), null);
const record = <T extends v.GenericSchema>(value: T, message: string) => v.record(v.string(), value, message);

const column = v.looseObject(
	{
		column: v.optional(text),
		value: v.optional(v.union([finite, text], 'a number or a text is wanted here')),
		unit: v.optional(text),
		since: v.optional(text),
		basis: v.optional(v.picklist(['wet', 'dry'], '"wet" or "dry" is wanted here')),
		at_pct: v.optional(
			v.pipe(
				finite,
				v.minValue(0, 'a moisture from 0 to 60 % is wanted'),
				v.maxValue(60, 'a moisture from 0 to 60 % is wanted'),
			),
		),
	},
	'a column is given as { "column": …, "unit": … } or { "value": …, "unit": … }',
);
const columns = maybe(record(column, 'columns are given as an object: { "lat": { "column": … }, … }'));
const table = v.looseObject({ file: text, columns }, 'a file is named as { "file": "…" }');

const log = v.looseObject(
	{ file: text, combine: maybe(text), columns },
	'a log is given as { "file": "…", "combine": "…" }',
);

const crop = v.union(
	[
		text,
		v.looseObject({
			name: text,
			bushel_kg: v.optional(above0('a bushel weight in kg')),
			market_moisture_pct: v.optional(
				v.pipe(
					finite,
					v.minValue(0, 'a moisture from 0 to 60 % is wanted'),
					v.maxValue(60, 'a moisture from 0 to 60 % is wanted'),
				),
			),
		}),
	],
	(issue) => whichCrop(issue.input),
);

function whichCrop(input: unknown): string {
	return typeof input === 'object' && input !== null
		? 'a crop of your own is { "name": "…", "bushel_kg": above 0, "market_moisture_pct": 0 to 60 }'
		: 'a crop is wanted here: its name in quotes, or { "name", "bushel_kg", "market_moisture_pct" }';
}

const combine = v.looseObject(
	{
		swath_m: maybe(above0('a width in metres')),
		row_m: maybe(above0('a row spacing in metres')),
		tank_kg: maybe(above0('a tank size in kilograms')),
		header_ahead_m: maybe(finite),
		display_total: maybe(
			v.looseObject(
				{ area_ha: maybe(number('an area in hectares')), wet_kg: maybe(number('a mass in kilograms')) },
				'a total is given as { "area_ha": …, "wet_kg": … }',
			),
		),
	},
	'a combine is described as { "swath_m": …, "tank_kg": …, … }',
);

const scale = v.looseObject(
	{
		limit_pct: maybe(number('a percentage')),
		size_kg: maybe(above0('a size in kilograms')),
		reading_a_kg: maybe(number('an uncertainty in kilograms')),
		reading_b_rel: maybe(number('a relative uncertainty')),
	},
	'a scale is described as { "limit_pct": …, "size_kg": … }',
);

const EVENTS = ['calibrated', 'header', 'variety', 'break', 'other'] as const;
const event = v.looseObject(
	{
		time: text,
		combine: maybe(text),
		kind: v.picklist(EVENTS, `one of these is wanted here: ${EVENTS.join(', ')}`),
		note: maybe(text),
	},
	'an event is given as { "time": "…", "combine": "…", "kind": "calibrated" }',
);

const STATUSES = ['used', 'joined', 'aside'] as const;
const FORMS = ['constant', 'step', 'trend', 'flow'] as const;
const pins = v.looseObject(
	{
		clock_offset_s: v.optional(finite),
		dumps: v.optional(
			record(
				v.looseObject({
					combine: v.optional(text),
					status: v.optional(v.picklist(STATUSES, `one of these is wanted here: ${STATUSES.join(', ')}`)),
					reason: v.optional(text),
				}),
				'pinned dumps are given as { "D07": { "combine": "A" }, … }',
			),
		),
		factors: v.optional(
			record(
				v.looseObject({
					form: v.optional(v.picklist(FORMS, `one of these is wanted here: ${FORMS.join(', ')}`)),
					value: v.optional(above0('a factor')),
				}),
				'pinned factors are given as { "A": { "value": 1.02 }, … }',
			),
		),
		lags: v.optional(record(finite, 'pinned lags are given as { "A": 11, … }, in seconds')),
	},
	'pins are given as { "clock_offset_s": …, "dumps": { … } }',
);

/** field.json as the contract has it; entries that are not known pass through. */
export const fieldSchema = v.looseObject(
	{
		name: maybe(text),
		season: maybe(v.pipe(finite, v.integer('a year is wanted here'))),
		client: maybe(text),
		farm: maybe(text),
		crop,
		timeZone: maybe(text),
		boundary: maybe(text),
		varieties: maybe(text),
		logs: v.pipe(
			v.array(log, 'logs are given as a list: [ { "file": "…", "combine": "…" } ]'),
			v.minLength(1, 'at least one log is wanted here'),
		),
		cartLog: maybe(table),
		cartTrace: maybe(table),
		tickets: maybe(table),
		combines: v.optional(record(combine, 'combines are described as { "A": { … }, … }'), {}),
		scales: v.optional(record(scale, 'scales are described as { "cart": { … } }'), {}),
		events: v.optional(v.array(event, 'events are given as a list: [ { "time": …, "kind": … } ]'), []),
		pins: v.optional(pins, {}),
		total: maybe(
			v.looseObject(
				{ wet_kg: above0('a mass in kilograms'), u_pct: v.optional(above0('a standard uncertainty in percent'), 1) },
				'a total is given as { "wet_kg": …, "u_pct": … }',
			),
		),
		flags: v.optional(record(finite, 'thresholds are given as { "standing": 0.3, … }'), {}),
		destinations: v.optional(
			record(
				v.looseObject({
					shrink_pct_per_point: number('a rate in percent for each point'),
					handling_pct: v.optional(number('a percentage'), 0),
				}),
				'buyers’ rules are given as { "elevator": { "shrink_pct_per_point": 1.4 } }',
			),
			{},
		),
	},
	'field.json holds one object: { "crop": "corn", "logs": [ … ] }',
);

export type FieldJson = v.InferOutput<typeof fieldSchema>;
