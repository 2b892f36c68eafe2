import * as v from 'valibot';
import { FLAG_LIMITS, PIN_FORMS, PIN_LIMITS, PIN_STATUSES } from '../../model/limits.ts';

const text = v.string('expected text in quotes');
const finite = v.pipe(v.number('expected a number without quotes'), v.finite('expected a finite number'));
/** A number within the limits of its kind: what lies outside is another unit, or a typing error. */
const between = (least: number, most: number, what: string) => {
	const why = `expected ${what} from ${String(least).replace('-', '−')} to ${most}`;
	return v.pipe(finite, v.minValue(least, why), v.maxValue(most, why));
};
const maybe = <T extends v.GenericSchema>(schema: T) => v.optional(v.nullable(schema), null);
const record = <T extends v.GenericSchema>(value: T, message: string) => v.record(v.string(), value, message);

const column = v.looseObject(
	{
		column: v.optional(text),
		value: v.optional(v.union([finite, text], 'expected a number or text')),
		unit: v.optional(text),
		since: v.optional(text),
		basis: v.optional(v.picklist(['wet', 'dry'], 'expected "wet" or "dry"')),
		at_pct: v.optional(between(0, 60, 'a moisture in percent')),
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
			bushel_kg: v.optional(between(1, 100, 'a bushel weight in kg')),
			market_moisture_pct: v.optional(between(0, 60, 'a moisture in percent')),
		}),
	],
	(issue) => whichCrop(issue.input),
);

function whichCrop(input: unknown): string {
	return typeof input === 'object' && input !== null
		? 'a crop of your own is { "name": "…", "bushel_kg": above 0, "market_moisture_pct": 0 to 60 }'
		: 'expected a crop: its name in quotes, or { "name", "bushel_kg", "market_moisture_pct" }';
}

const combine = v.object(
	{
		swath_m: maybe(between(0.2, 60, 'a width in meters')),
		row_m: maybe(between(0.05, 5, 'a row spacing in meters')),
		tank_kg: maybe(between(100, 100_000, 'a tank size in kilograms')),
		header_ahead_m: maybe(between(-30, 30, 'a distance in meters')),
		display_total: maybe(
			v.object(
				{
					area_ha: maybe(between(0, 1e6, 'an area in hectares')),
					wet_kg: maybe(between(0, 1e9, 'a mass in kilograms')),
				},
				'a total is given as { "area_ha": …, "wet_kg": … }',
			),
		),
	},
	'a combine is described as { "swath_m": …, "tank_kg": …, … }',
);

const scale = v.object(
	{
		limit_pct: maybe(between(0, 100, 'a percentage')),
		size_kg: maybe(between(100, 1e6, 'a size in kilograms')),
		reading_a_kg: maybe(between(0, 1e5, 'an uncertainty in kilograms')),
		reading_b_rel: maybe(between(0, 1, 'a relative uncertainty')),
	},
	'a scale is described as { "limit_pct": …, "size_kg": … }',
);

const EVENTS = ['calibrated', 'header', 'variety', 'break', 'other'] as const;
const event = v.looseObject(
	{
		time: text,
		combine: maybe(text),
		kind: v.picklist(EVENTS, `expected one of: ${EVENTS.join(', ')}`),
		note: maybe(text),
	},
	'an event is given as { "time": "…", "combine": "…", "kind": "calibrated" }',
);

/** These entries override the estimate, so an unknown word must be reported. */
const pins = v.strictObject(
	{
		clock_offset_s: v.optional(between(...PIN_LIMITS.clock_offset_s)),
		dumps: v.optional(
			record(
				v.strictObject(
					{
						combine: v.optional(text),
						status: v.optional(v.picklist(PIN_STATUSES, `expected one of: ${PIN_STATUSES.join(', ')}`)),
						reason: v.optional(text),
					},
					(issue) => strange(issue, 'a pinned dump knows "combine", "status", "reason"'),
				),
				'pinned dumps are given as { "D07": { "combine": "A" }, … }',
			),
		),
		factors: v.optional(
			record(
				v.strictObject(
					{
						form: v.optional(v.picklist(PIN_FORMS, `expected one of: ${PIN_FORMS.join(', ')}`)),
						value: v.optional(between(...PIN_LIMITS.factor)),
					},
					(issue) => strange(issue, 'a pinned factor knows "form" and "value"'),
				),
				'pinned factors are given as { "A": { "value": 1.02 }, … }',
			),
		),
		lags: v.optional(record(between(...PIN_LIMITS.lag_s), 'pinned lags are given as { "A": 11, … }, in seconds')),
		level: v.optional(v.literal('seams', 'expected "seams": level the combines against each other by their seams')),
	},
	(issue) => strange(issue, 'pins know "clock_offset_s", "dumps", "factors", "lags", "level"'),
);

function strange(issue: { expected: string | null }, knows: string): string {
	return issue.expected === 'never' ? `this entry is not known; ${knows}` : `expected an object; ${knows}`;
}

const flags = v.strictObject(
	Object.fromEntries(
		Object.entries(FLAG_LIMITS).map(([word, [least, most, what]]) => [word, v.optional(between(least, most, what))]),
	),
	(issue) => strange(issue, `thresholds are ${Object.keys(FLAG_LIMITS).join(', ')}`),
);

/** field.json as the contract defines it, without entries that are not known. */
export const fieldSchema = v.object(
	{
		name: maybe(text),
		season: maybe(v.pipe(between(1990, 2099, 'a year'), v.integer('expected a whole year'))),
		client: maybe(text),
		farm: maybe(text),
		crop,
		timeZone: maybe(text),
		boundary: maybe(text),
		varieties: maybe(text),
		logs: v.pipe(
			v.array(log, 'logs are given as a list: [ { "file": "…", "combine": "…" } ]'),
			v.minLength(1, 'expected at least one log'),
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
				{
					wet_kg: between(1e-3, 1e9, 'a mass in kilograms'),
					u_pct: v.optional(between(1e-9, 100, 'a standard uncertainty in percent'), 1),
				},
				'a total is given as { "wet_kg": …, "u_pct": … }',
			),
		),
		shares: v.optional(
			record(
				v.pipe(
					finite,
					v.minValue(0, 'expected a share from 0 to 100'),
					v.maxValue(100, 'expected a share from 0 to 100'),
				),
				'shares are given as { "Owner": 40, "Tenant": 60 }, in percent',
			),
			{},
		),
		// The intake's description of where this folder came from, and its open questions.
		intake: v.optional(v.unknown()),
		questions: v.optional(v.unknown()),
		flags: v.optional(flags, {}),
		destinations: v.optional(
			record(
				v.object({
					shrink_pct_per_point: between(0, 100, 'a rate in percent for each point'),
					handling_pct: v.optional(between(0, 100, 'a percentage'), 0),
				}),
				'buyers’ rules are given as { "elevator": { "shrink_pct_per_point": 1.4 } }',
			),
			{},
		),
	},
	'field.json holds one object: { "crop": "corn", "logs": [ … ] }',
);

export type FieldJson = v.InferOutput<typeof fieldSchema>;
