import type { Account, FieldPlan, Records, Track } from '../../lib/model/index.ts';
import { emptyRecords } from '../../lib/model/index.ts';
import { seeded } from '../../lib/stats/index.ts';
import { slowError } from '../factor/make.ts';

/** Parallel passes of several combines over ground of known yield. */
export interface MakeGround {
	seed: number;
	passes?: number;
	length_m?: number;
	width_m?: number;
	/** Which combine cuts a pass. */
	combineOf: (pass: number) => number;
	/** True mass / monitor mass. */
	factors: number[];
	/** Relative yield across the field, 0…1. */
	trend_rel?: number;
	slow?: number;
	/** Structure of the ground, relative. */
	patchy?: number;
	/** Relative yield of a pass beside all else: a variety, a planter's half. */
	strip?: (pass: number) => number;
	varietyOf?: (pass: number) => string | null;
	/** Points of moisture that the crop loses an hour, and each sensor's own offset. */
	drying_pct_h?: number;
	sensor_pct?: number[];
	/** Every combine cuts its passes one after another from its own start, hours. */
	start_h?: number[];
	/** Relative reading of passes cut one way against the other. */
	direction_rel?: number;
}

export interface MadeGround {
	records: Records;
	account: Account;
	track: Track;
	plan: FieldPlan;
}

export function makeGround(options: MakeGround): MadeGround {
	const { seed, combineOf, factors } = options;
	const passes = options.passes ?? 48;
	const length_m = options.length_m ?? 400;
	const width_m = options.width_m ?? 9;
	const slow = options.slow ?? 0.006;
	const patchy = options.patchy ?? 0.08;
	const random = seeded(seed);
	const speed = 1.7;
	const step_s = 3;
	const perPass = Math.floor(length_m / (speed * step_s));
	const n = passes * perPass;
	const C = factors.length;
	const waves = [150, 60, 25].map((size) => ({
		size,
		sd: patchy / Math.sqrt(3),
		parts: Array.from({ length: 24 }, () => {
			const way = 2 * Math.PI * random.uniform();
			return {
				x: Math.cos(way) / size,
				y: Math.sin(way) / size,
				phase: 2 * Math.PI * random.uniform(),
				a: random.normal(),
			};
		}),
	}));
	const ground = (x: number, y: number) =>
		waves.reduce(
			(sum, w) =>
				sum +
				(w.sd * w.parts.reduce((s, p) => s + p.a * Math.SQRT2 * Math.cos(6.3 * (p.x * x + p.y * y) + p.phase), 0)) /
					4.9,
			0,
		);
	const records = emptyRecords(n);
	records.combines = factors.map((_, c) => 'ABCD'[c]!);
	const account: Account = {
		monitor_kg: new Float64Array(n),
		account_kg: new Float64Array(n),
		fault: new Uint8Array(n),
	};
	const blank = () => new Float64Array(n).fill(Number.NaN);
	const track: Track = {
		zone: { number: 15, south: false, epsg: 32615 },
		x_m: blank(),
		y_m: blank(),
		speed_m_s: new Float64Array(n).fill(speed),
		heading_rad: new Float64Array(n),
		pass: new Int32Array(n),
		passes: [],
		lags: [],
		cutX_m: blank(),
		cutY_m: blank(),
		corners_m: new Float64Array(8 * n).fill(Number.NaN),
		width_m: new Float64Array(n).fill(width_m),
		area_m2: new Float64Array(n).fill(width_m * speed * step_s),
		flag: new Uint8Array(n),
		moisture_pct: blank(),
		receiverOffset_m: factors.map(() => 0),
		areas: { cut_m2: 0, distanceTimesSwath_m2: 0, boundary_m2: Number.NaN },
		outline: null,
		thresholds: {},
	};
	const errors = factors.map(() => slowError(random, n + passes * 20, step_s, slow, 20));
	const clock = factors.map((_, c) => (options.start_h?.[c] ?? 0) * 3600);
	const ticks = factors.map(() => 0);
	let at = 0;
	for (let p = 0; p < passes; p++) {
		const c = combineOf(p);
		const up = p % 2 === 0;
		const x = (p + 0.5) * width_m;
		const indices: number[] = [];
		const start = clock[c]!;
		const variety = options.varietyOf?.(p) ?? null;
		for (let k = 0; k < perPass; k++, at++) {
			const y = (up ? k + 0.5 : perPass - k - 0.5) * speed * step_s;
			clock[c]! += step_s;
			const level = 1 * (1 + (options.trend_rel ?? 0) * (p / passes - 0.5)) * (options.strip?.(p) ?? 1);
			const water = 18 - ((options.drying_pct_h ?? 0) * clock[c]!) / 3600;
			const wet = (level * (1 + ground(x, y))) / (1 - water / 100);
			const reads = (wet / factors[c]!) * (1 + errors[c]![ticks[c]!++]!) * (up ? 1 + (options.direction_rel ?? 0) : 1);
			account.account_kg[at] = reads * track.area_m2[at]! * (1 + 0.06 * random.normal());
			account.monitor_kg[at] = account.account_kg[at]!;
			records.combine[at] = c;
			records.time_s[at] = 1_760_000_000 + clock[c]!;
			records.interval_s[at] = step_s;
			records.flow_kg_s[at] = account.account_kg[at]! / step_s;
			track.moisture_pct[at] = water + (options.sensor_pct?.[c] ?? 0) + 0.2 * random.normal();
			records.moisture_pct[at] = track.moisture_pct[at]!;
			if (variety !== null) {
				if (!records.varieties.includes(variety)) records.varieties.push(variety);
				records.variety[at] = records.varieties.indexOf(variety);
			}
			track.pass[at] = p;
			track.x_m[at] = x;
			track.y_m[at] = y;
			track.cutX_m[at] = x + 500_000;
			track.cutY_m[at] = y + 4_700_000;
			track.heading_rad[at] = up ? 0 : Math.PI;
			indices.push(at);
		}
		clock[c]! += 60;
		track.passes.push({
			id: p,
			combine: c,
			records: Int32Array.from(indices),
			start_s: 1_760_000_000 + start,
			end_s: 1_760_000_000 + clock[c]! - 60,
			heading_rad: up ? 0 : Math.PI,
			length_m,
			speed_m_s: speed,
		});
	}
	// At most four combines: their names are letters.
	if (C > 4) throw new Error('four combines at most');
	return { records, account, track, plan: { pins: {}, combines: {} } as unknown as FieldPlan };
}
