import { utmProjection } from '../../lib/geo/utm.ts';
import type { Dump, DumpFate, Factor, Result, Run, Unloading } from '../../lib/model/index.ts';
import { buildResult } from '../../lib/pipeline/result/result.ts';
import { plan, plot, SOUTH_M, surfaceOf, WEST_M, yieldsOf } from '../map/plot.ts';
import { plainRow } from '../plain.ts';

/** Text that would be markup if a writer let it. */
export const NASTY = '<img src=x onerror="alert(1)">&\'"</td></style><script>';

/**
 * A run made by hand around a simulated plot: every kind of row that the report can show. Nothing here is
 * computed by the rooms that come before the map.
 */
export function madeRun(options: { dumps?: number; weights?: boolean; nasty?: boolean; long?: boolean } = {}): Run {
	const { dumps: wanted = 14, weights = true, nasty = false, long = false } = options;
	const field = plot({ seed: 7, passes: 36, length_m: 420, spikes: 0.01 });
	const { records, track, account } = field;
	const name = nasty ? NASTY : 'North Forty';
	const moisture = [
		{ combine: 0, offset_pct: 0.42, u_pct: 0.11, n: 4, source: 'tickets' as const },
		{ combine: 1, offset_pct: -0.31, u_pct: 0.13, n: 4, source: 'tickets' as const },
	];
	const factors = {
		...field.factors,
		factors: weights ? [factor(0, 0.9412), factor(1, 1.0587)] : [nothing(0), nothing(1)],
		factor: weights ? field.factors.factor : field.factors.factor.map(() => Number.NaN),
	};
	const projection = utmProjection(track.zone);
	const corner = (x: number, y: number) => projection.inverse(WEST_M + x, SOUTH_M + y);
	track.outline = {
		type: 'Polygon',
		coordinates: [
			[corner(-1, -1), corner(331, -1), corner(331, 300), corner(280, 421), corner(-1, 421), corner(-1, -1)],
		],
	};
	track.areas.boundary_m2 = 138_000;
	for (let i = 0; i < records.n; i += 50) track.flag[i] = 5;
	const yields = yieldsOf({ ...field, factors, plan }, moisture);
	const surface = surfaceOf({ ...field, factors, plan }, moisture);

	const start_s = records.time_s[0]!;
	const times = Array.from({ length: wanted }, (_, k) => start_s + 400 + k * 290);
	const dumps = times.map((t, k) => dump(k, t, nasty));
	const unloadings = times.map((t, k) => unloading(k, t));
	const fates = times.map((t, k) => fate(k, t, nasty, long));
	const last: Unloading = {
		...unloading(wanted, start_s + 5200),
		dump: -1,
		unweighed: 'emptied straight into a truck',
	};
	unloadings.push(last);
	const known = {
		field: {
			plan: { ...plan, name, client: nasty ? NASTY : 'Alder Farms', farm: 'Home place' },
			records,
			book: { dumps: weights ? dumps : [], offloads: [], tickets: weights ? tickets() : [] },
			boundary: null,
			varieties: null,
			setAside: [
				{
					file: nasty ? NASTY : 'cart.csv',
					row: 14,
					column: 'weight_kg',
					found: nasty ? NASTY : 'many',
					why: 'a number is wanted',
				},
			],
			notes: [{ level: 'note' as const, text: 'The boundary ring was open and has been closed.' }],
			inputs: ['field.json', 'combine-A.csv', 'combine-B.csv', 'cart.csv', 'tickets.csv'].map((file, k) => ({
				file,
				rows: k === 0 ? 0 : 1234 * k,
				bytes: 98_765 * (k + 1),
				sha256: String(k).repeat(64),
			})),
		},
		account,
		track,
		reference: weights
			? {
					ratio: 1.0312,
					u_rel: 0.0014,
					interval: [1.0271, 1.0353] as [number, number],
					n: 4,
					source: 'tickets' as const,
					limit_rel: 0,
					df: 3,
					loads: [1, 2, 3, 4, 5].map((k) => ({
						truckLoad: `T${k}`,
						cart_kg: 21_000 + 300 * k,
						ticket_kg: (21_000 + 300 * k) * (1.03 + 0.001 * k),
						used: k !== 3,
						reason: k === 3 ? 'also took grain straight from a combine' : null,
						time_s: Number.NaN,
						scale: null,
						rel: 0,
						side_kg: 0,
					})),
				}
			: {
					ratio: 1,
					u_rel: 0,
					interval: [1, 1] as [number, number],
					n: 0,
					source: 'none' as const,
					limit_rel: 0,
					df: 0,
					loads: [],
				},
		match: {
			clock: {
				offset_s: weights ? 137 : Number.NaN,
				u_s: 9,
				source: weights ? ('estimated' as const) : ('none' as const),
				byDay: [],
			},
			unloadings: weights ? unloadings : [],
			fates: weights ? fates : [],
			weighings: [],
			start_kg: [],
			factors: [0.94, 1.06],
			independent: weights ? [5.2, 4.8] : [],
			clockFit: [],
			notes: [],
			cautions: ['Combine B’s tank was not empty at the start.'],
		},
		moisture,
		factors,
		seams: {
			seams: [],
			jumps: [
				{
					combineA: 0,
					combineB: 1,
					before_pct: 11.7,
					before_interval: [10.9, 12.5] as [number, number],
					after_pct: 0.2,
					after_interval: [-0.6, 1] as [number, number],
					moisture_diff_pct: 0.3,
					length_m: 2100,
					log_jump: 0.11,
					u_log: 0.004,
					df: 6,
					blocks: [],
					remarks: ['A was always on the west side of B.'],
				},
			],
		},
		comparison: { combines: [], pairs: [], advice: [] },
		yields,
		surface,
	} satisfies Omit<Run, 'result'>;
	return { ...known, result: buildResult(known) as Result };
}

function factor(combine: number, value: number): Factor {
	return {
		combine,
		form: 'constant',
		value,
		u_rel: 0.0031,
		interval: [value * 0.9938, value * 1.0062],
		next_interval: [value * 0.985, value * 1.015],
		n: 7,
		source: 'dumps',
		changes: [],
		knots: [],
		curve: [],
		budget: [
			{ name: 'cart scale against certified tickets', u_rel: 0.0014, share: 0.21, advice: 'Check more truck loads.' },
			{ name: 'readings of the cart', u_rel: 0.0009, share: 0.08, advice: '' },
			{
				name: 'grain that stayed in the tank',
				u_rel: 0.0026,
				share: 0.71,
				advice: 'Empty the tank at the last dump of the day.',
			},
		],
		scatter_rel: 0.012,
		moreDumps: combine === 0 ? 0 : 3,
		advice: [],
		tried: [],
	};
}

function nothing(combine: number): Factor {
	const nan: [number, number] = [Number.NaN, Number.NaN];
	return { ...factor(combine, Number.NaN), interval: nan, next_interval: nan, n: 0, source: null, budget: [] };
}

function dump(k: number, time_s: number, nasty: boolean): Dump {
	const id = nasty && k === 2 ? NASTY : `D${String(k + 1).padStart(2, '0')}`;
	return {
		...plainRow(id, k, time_s - 137, 6000 + 137 * (k % 5)),
		note: nasty ? NASTY : null,
		combines: k % 2 === 0 ? ['A'] : [],
		emptied: -1,
		settled: true,
	};
}

function unloading(k: number, end_s: number): Unloading {
	const c = k % 2;
	const scale = c === 0 ? 0.9412 : 1.0587;
	return {
		combine: c,
		fill: `${'AB'[c]}${(k >> 1) + 1}`,
		start_s: end_s - 90,
		end_s,
		u_s: 2,
		from: 100 * k,
		to: 100 * (k + 1),
		account_kg: ((6000 + 137 * (k % 5)) * 1.0312 * (1 + 0.012 * Math.sin(3 * k))) / scale,
		u_account_kg: 20,
		rest_kg: 150,
		u_rest_kg: 80,
		dump: k,
		ticket: -1,
		unweighed: null,
		deduced_kg: Number.NaN,
	};
}

function fate(k: number, end_s: number, nasty: boolean, long: boolean): DumpFate {
	const c = k % 2;
	const aside = k === 9;
	const joined = k === 4;
	return {
		dump: k,
		combines: [c],
		combineSource: c === 0 ? 'noted' : 'inferred',
		status: aside ? 'aside' : joined ? 'joined' : 'used',
		reason: aside
			? `saved twice: the cart held no more than before${nasty ? NASTY : ''}`
			: joined
				? 'a rest stayed in the tank'
				: null,
		...(long
			? { reason: `from${k} ${'a reason of many words that takes several lines of its cell '.repeat(4)} to${k}` }
			: {}),
		fill: aside ? null : `${'AB'[c]}${(k >> 1) + 1}`,
		unloadings: aside ? [] : [k],
		start_s: end_s - 90,
		end_s,
		inDoubt: k === 6,
	};
}

function tickets(): Run['field']['book']['tickets'] {
	return [1, 2, 3, 4, 5].map((k) => ({
		ticket: `K${k}`,
		origin: { file: 'tickets.csv', row: k + 1 },
		order: k,
		time_s: Number.NaN,
		timeGrain: 'none',
		truckLoad: `T${k}`,
		net_kg: (21_000 + 300 * k) * (1.03 + 0.001 * k),
		combine: null,
		moisture_pct: 16.8,
		testWeight_kg_hl: Number.NaN,
		destination: null,
		note: null,
	}));
}
