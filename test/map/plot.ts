import { factorParts, fieldPattern, fieldSurface, krigingWeights, rescale } from '../../lib/map/index.ts';
import type {
	Account,
	Factors,
	FieldPlan,
	MoistureOffset,
	Records,
	SeamJump,
	Surface,
	Track,
	Yields,
} from '../../lib/model/index.ts';
import { emptyRecords, silent } from '../../lib/model/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { plainPlan } from '../plain.ts';

/** A field of straight passes whose truth is known, made from arrays alone: no reader, no track. */
export interface Plot {
	records: Records;
	track: Track;
	account: Account;
	factors: Factors;
	plan: FieldPlan;
	/** What the seams tell of the two combines as recorded. */
	jumps: SeamJump[];
	/** True dry yield at a place. */
	truth(x_m: number, y_m: number): number;
	/** True dry yield of each record's ground. */
	truthOf: Float64Array;
}

export interface PlotOptions {
	seed: number;
	passes?: number;
	length_m?: number;
	/** Relative standard deviation of a record's own error, and of the error a combine keeps for 20 minutes. */
	white?: number;
	slow?: number;
	/** Seconds of first-order smear. */
	smear_s?: number;
	/** Share of records that are wildly off. */
	spikes?: number;
	factors?: [number, number];
}

export const WEST_M = 500_000;
export const SOUTH_M = 4_900_000;
const SWATH_M = 9.144;
const SPEED_M_S = 2;
/** Passes a combine cuts before the other takes over. */
const BLOCK = 6;

export function plot(options: PlotOptions): Plot {
	const { seed, passes = 24, length_m = 300, white = 0.06, slow = 0.012, smear_s = 3, spikes = 0 } = options;
	const { factors: k = [0.94, 1.06] } = options;
	const random = seeded(seed);
	const truth = surface(random);
	const per = Math.floor(length_m / SPEED_M_S);
	const n = passes * per;
	const records = emptyRecords(n);
	records.combines = ['A', 'B'];
	const column = () => new Float64Array(n).fill(Number.NaN);
	const track: Track = {
		zone: { number: 15, south: false, epsg: 32615 },
		x_m: column(),
		y_m: column(),
		speed_m_s: column().fill(SPEED_M_S),
		heading_rad: column(),
		pass: new Int32Array(n),
		passes: [],
		lags: [0, 1].map((combine) => ({
			combine,
			lag_s: 12,
			u_s: 0.3,
			source: 'estimated' as const,
			moistureLag_s: Number.NaN,
			smear_s: smear_s > 0 ? smear_s : Number.NaN,
		})),
		cutX_m: column(),
		cutY_m: column(),
		corners_m: new Float64Array(8 * n),
		width_m: column().fill(SWATH_M),
		area_m2: column().fill(SWATH_M * SPEED_M_S),
		flag: new Uint8Array(n),
		moisture_pct: column().fill(17),
		receiverOffset_m: [0, 0],
		areas: { cut_m2: n * SWATH_M * SPEED_M_S, distanceTimesSwath_m2: n * SWATH_M * SPEED_M_S, boundary_m2: Number.NaN },
		outline: null,
		thresholds: {},
	};
	const account: Account = { monitor_kg: column(), account_kg: column(), fault: new Uint8Array(n) };
	const factor = column();
	const truthOf = column();
	const clock = [1_790_000_000, 1_790_000_000];
	const drift = [random.normal() * slow, random.normal() * slow];
	const keep = Math.exp(-1 / 1200);
	const dry = (100 - 17) / (100 - 15.5);
	let i = 0;
	for (let p = 0; p < passes; p++) {
		const c = Math.floor(p / BLOCK) % 2;
		const up = p % 2 === 0;
		const x = WEST_M + (p + 0.5) * SWATH_M;
		const own: number[] = [];
		const strip = (j: number) => {
			const y = SOUTH_M + (up ? (j + 0.5) * SPEED_M_S : length_m - (j + 0.5) * SPEED_M_S);
			return (truth(x - SWATH_M / 3, y) + truth(x, y) + truth(x + SWATH_M / 3, y)) / 3;
		};
		const passed = smeared(
			Array.from({ length: per }, (_, j) => strip(j)),
			smear_s,
		);
		for (let j = 0; j < per; j++) {
			clock[c]!++;
			drift[c] = keep * drift[c]! + Math.sqrt(1 - keep * keep) * slow * random.normal();
			const y = SOUTH_M + (up ? (j + 0.5) * SPEED_M_S : length_m - (j + 0.5) * SPEED_M_S);
			let error = 1 + drift[c]! + white * random.normal();
			if (random.uniform() < spikes) error *= random.uniform() < 0.5 ? 0.4 : 1.9;
			records.combine[i] = c;
			records.time_s[i] = clock[c]!;
			records.interval_s[i] = 1;
			truthOf[i] = strip(j);
			const true_kg = (passed[j]! * error * SWATH_M * SPEED_M_S) / 10_000 / dry;
			factor[i] = k[c]!;
			account.monitor_kg[i] = account.account_kg[i] = records.flow_kg_s[i] = true_kg / k[c]!;
			track.pass[i] = p;
			track.x_m[i] = track.cutX_m[i] = x;
			track.y_m[i] = track.cutY_m[i] = y;
			track.heading_rad[i] = up ? 0 : Math.PI;
			const d = up ? 1 : -1;
			const [w, h] = [(d * SWATH_M) / 2, (d * SPEED_M_S) / 2];
			track.corners_m.set([x - w, y - h, x - w, y + h, x + w, y + h, x + w, y - h], 8 * i);
			own.push(i++);
		}
		clock[c]! += 20;
		track.passes.push({
			id: p,
			combine: c,
			records: Int32Array.from(own),
			start_s: records.time_s[own[0]!]!,
			end_s: records.time_s[own.at(-1)!]!,
			heading_rad: up ? 0 : Math.PI,
			length_m,
			speed_m_s: SPEED_M_S,
		});
	}
	const factors: Factors = {
		factors: [],
		factor,
		u_rel: column().fill(0.003),
		covariance: Float64Array.from([9e-6, 4e-6, 4e-6, 9e-6]),
	};
	return { records, track, account, factors, plan, jumps: [jump(Math.log(k[1] / k[0]))], truth, truthOf };
}

function jump(log_jump: number): SeamJump {
	const nan: [number, number] = [Number.NaN, Number.NaN];
	return {
		combineA: 0,
		combineB: 1,
		before_pct: 100 * Math.expm1(log_jump),
		before_interval: nan,
		after_pct: Number.NaN,
		after_interval: nan,
		moisture_diff_pct: 0,
		length_m: 1000,
		log_jump,
		u_log: 0.005,
		df: 8,
		blocks: [],
		remarks: [],
	};
}

type Given = Pick<Plot, 'records' | 'track' | 'account' | 'factors' | 'plan' | 'jumps'>;

/** Records' yields, as the pipeline makes them. */
export function yieldsOf(p: Given, moisture: MoistureOffset[] = []): Yields {
	const { shape } = factorParts(p.records, p.account, p.factors);
	return rescale({ ...p, moisture, pattern: fieldPattern({ ...p, shape }) });
}

/** The grid, as the pipeline makes it. */
export function surfaceOf(p: Given, moisture: MoistureOffset[] = []): Surface {
	const pattern = fieldPattern({ ...p, ...factorParts(p.records, p.account, p.factors) });
	const yields = rescale({ ...p, moisture, pattern });
	return fieldSurface({ ...p, yields, weights: krigingWeights({ ...p, pattern }, silent) }, silent);
}

/** A pass of values through a first-order response, its mean delay taken out. */
function smeared(values: number[], smear_s: number): number[] {
	if (!(smear_s > 0)) return values;
	const keep = Math.exp(-1 / smear_s);
	let state = values[0]!;
	const extended = [...values, ...Array.from({ length: Math.ceil(smear_s) + 1 }, () => values.at(-1)!)];
	const out = extended.map((v) => (state = keep * state + (1 - keep) * v));
	const whole = Math.floor(smear_s);
	const part = smear_s - whole;
	return values.map((_, j) => out[j + whole]! * (1 - part) + out[j + whole + 1]! * part);
}

/** A smooth random surface of 10 t/ha with structure at 25, 70 and 250 m. */
function surface(random: ReturnType<typeof seeded>): (x: number, y: number) => number {
	const waves: [number, number, number, number][] = [];
	for (const [size_m, sd] of [
		[25, 0.04],
		[70, 0.07],
		[250, 0.08],
	] as const) {
		const m = 40;
		for (let k = 0; k < m; k++) {
			const f = Math.abs(random.normal()) / (0.6 * size_m);
			const angle = 2 * Math.PI * random.uniform();
			waves.push([f * Math.cos(angle), f * Math.sin(angle), 2 * Math.PI * random.uniform(), sd * Math.sqrt(2 / m)]);
		}
	}
	return (x, y) => {
		let sum = 0;
		for (const [a, b, phase, size] of waves) sum += size * Math.cos(a * (x - WEST_M) + b * (y - SOUTH_M) + phase);
		return 10_000 * Math.exp(sum);
	};
}

export const plan = plainPlan({ season: 2026, timeZone: 'America/Chicago' });
