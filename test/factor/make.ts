import type {
	Account,
	FieldPlan,
	LoadBook,
	Match,
	Records,
	Reference,
	Track,
	Weighing,
} from '../../lib/model/index.ts';
import { emptyRecords, flagCode } from '../../lib/model/index.ts';
import { type Random, seeded } from '../../lib/stats/index.ts';
import { plainMatch, plainPlan } from '../plain.ts';

/** A field without ground: records in time, fills and weights, with a factor and errors that are known. */
export interface Make {
	seed: number;
	combines?: string[];
	/** Fills a combine. */
	fills?: number;
	/** True factor at a time (hours from the start) and a flow read. */
	factor?: (combine: number, hours: number, flow: number) => number;
	/** Slow error: relative standard deviation and correlation time. */
	slow?: number;
	tau_min?: number;
	/** Grain left in the tank after each dump, standard deviation. */
	rest_kg?: number;
	/** Reading error of a gross weight. */
	reading_kg?: number;
	/** True scale ratio. */
	ratio?: number;
	reference?: Partial<Reference>;
	fill_kg?: number;
}

export interface Made {
	records: Records;
	account: Account;
	track: Track;
	match: Match;
	reference: Reference;
	book: LoadBook;
	plan: FieldPlan;
	/** Corrected mass that is true, a combine. */
	true_kg: number[];
	/** The same over account mass. */
	truth: number[];
}

/** What is computed when first asked for, in a test and not before all: mutation testing counts what a test itself runs. */
export function once<T>(compute: () => T): () => T {
	let value: { of: T } | null = null;
	return () => (value ??= { of: compute() }).of;
}

const START_S = 1_760_000_000;

export const plan = (over: Partial<FieldPlan> = {}): FieldPlan =>
	plainPlan({ name: 'Made field', season: 2026, timeZone: 'UTC', ...over });

/** A slow error as it runs: first-order autoregressive, one value each step. */
export function slowError(random: Random, n: number, step_s: number, sigma: number, tau_min: number): Float64Array {
	const keep = Math.exp(-step_s / (60 * tau_min));
	const out = new Float64Array(n);
	let v = sigma * random.normal();
	for (let i = 0; i < n; i++) {
		out[i] = v;
		v = keep * v + sigma * Math.sqrt(1 - keep * keep) * random.normal();
	}
	return out;
}

export function make(options: Make): Made {
	const {
		seed,
		combines = ['A', 'B'],
		fills = 12,
		factor = () => 1,
		slow = 0.008,
		tau_min = 20,
		rest_kg = 0,
		reading_kg = 12,
		ratio = 1,
		fill_kg = 6000,
	} = options;
	const random = seeded(seed);
	const step_s = 4;
	const perFill = 120;
	const n = combines.length * fills * perFill;
	const records = emptyRecords(n);
	records.combines = combines;
	const account: Account = {
		monitor_kg: new Float64Array(n),
		account_kg: new Float64Array(n),
		fault: new Uint8Array(n),
	};
	const weighings: Weighing[] = [];
	const unloadings: Match['unloadings'] = [];
	const true_kg: number[] = [];
	const truth: number[] = [];
	combines.forEach((_, c) => {
		const errors = slowError(random, fills * perFill, step_s, slow, tau_min);
		let at = c * fills * perFill;
		let rest = 0;
		let sumTrue = 0;
		let sumRead = 0;
		for (let f = 0; f < fills; f++) {
			let mass = 0;
			let read = 0;
			for (let k = 0; k < perFill; k++, at++) {
				const seconds = (f * perFill + k + 1) * step_s;
				const flow = (fill_kg / (perFill * step_s)) * (1 + 0.15 * random.normal());
				records.combine[at] = c;
				records.time_s[at] = START_S + seconds;
				records.interval_s[at] = step_s;
				records.flow_kg_s[at] = flow;
				records.moisture_pct[at] = 18;
				account.monitor_kg[at] = flow * step_s;
				account.account_kg[at] = flow * step_s;
				const k_true = factor(c, seconds / 3600, flow) * (1 + errors[f * perFill + k]!);
				mass += k_true * flow * step_s;
				read += flow * step_s;
			}
			const left = Math.abs(rest_kg * random.normal());
			const weighed = (mass + rest - left) / ratio + reading_kg * Math.SQRT2 * random.normal();
			rest = left;
			sumTrue += mass;
			sumRead += read;
			const index = unloadings.length;
			unloadings.push({
				combine: c,
				fill: `${combines[c]}${f + 1}`,
				start_s: START_S + (f + 1) * perFill * step_s - 60,
				end_s: START_S + (f + 1) * perFill * step_s,
				u_s: 2,
				from: f * perFill,
				to: (f + 1) * perFill,
				account_kg: read,
				u_account_kg: 0,
				rest_kg: 0.8 * rest_kg,
				u_rest_kg: 0.6 * rest_kg,
				dump: index,
				ticket: -1,
				unweighed: null,
				deduced_kg: Number.NaN,
			});
			weighings.push({
				kind: 'dump',
				dumps: [index],
				ticket: -1,
				weight_kg: weighed,
				reference_kg: weighed * (options.reference?.ratio ?? 1),
				u_reading_kg: reading_kg * Math.SQRT2,
				readings: [-1, -1],
				u_gross_kg: [Number.NaN, Number.NaN],
				byCart: true,
				unloadings: [index],
				used: true,
			});
		}
		true_kg.push(sumTrue);
		truth.push(sumTrue / sumRead);
	});
	const match = plainMatch({
		unloadings,
		weighings,
		start_kg: combines.map(() => ({ kg: 0, u_kg: 0.6 * rest_kg })),
		factors: combines.map(() => 1),
		independent: combines.map(() => fills),
	});
	const reference: Reference = {
		ratio: 1,
		u_rel: 0.001,
		interval: [0.997, 1.003],
		n: 4,
		source: 'tickets',
		limit_rel: 0,
		df: 3,
		loads: [],
		...options.reference,
	};
	const track: Track = {
		zone: { number: 15, south: false, epsg: 32615 },
		x_m: new Float64Array(n),
		y_m: new Float64Array(n),
		speed_m_s: new Float64Array(n).fill(1.7),
		heading_rad: new Float64Array(n),
		pass: new Int32Array(n).fill(-1),
		passes: [],
		lags: [],
		cutX_m: new Float64Array(n).fill(Number.NaN),
		cutY_m: new Float64Array(n).fill(Number.NaN),
		corners_m: new Float64Array(8 * n).fill(Number.NaN),
		width_m: new Float64Array(n).fill(9.144),
		area_m2: new Float64Array(n).fill(60),
		flag: new Uint8Array(n).fill(flagCode['']),
		moisture_pct: new Float64Array(n).fill(18),
		receiverOffset_m: combines.map(() => 0),
		areas: { cut_m2: 0, distanceTimesSwath_m2: 0, boundary_m2: Number.NaN },
		outline: null,
		thresholds: {},
	};
	const book: LoadBook = { dumps: [], offloads: [], tickets: [] };
	return { records, account, track, match, reference, book, plan: plan(), true_kg, truth };
}
