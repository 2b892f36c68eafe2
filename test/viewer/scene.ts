/** A small scene made by hand: two combines in alternate lands, one reads 8 % high, one dump does not fit. */
import { FLAGS, type Run, type Scene, type SceneFacts } from '../../lib/model/index.ts';
import { statementsOf } from '../../lib/pipeline/result/statements.ts';

const CORN = { name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5 };
const SWATH_M = 9.144;
const STEP_M = 2.4;

export interface SceneOptions {
	passes?: number;
	/** Records of a pass. */
	length?: number;
	/** Only the results, as when result.json and points.csv were dropped. */
	bare?: boolean;
}

/** A smooth surface with some structure, kg/ha. */
const truth = (x: number, y: number) =>
	10_500 + 1400 * Math.sin(x / 90) + 900 * Math.cos((x + 2 * y) / 60) + 500 * Math.sin(y / 23);

/** Repeatable noise of about unit spread. */
const noise = (i: number) => {
	const s = Math.sin(i * 12.9898 + 4.1) * 43758.5453;
	return 3.4 * (s - Math.floor(s) - 0.5);
};

export function handScene({ passes = 40, length = 160, bare = false }: SceneOptions = {}): Scene {
	const n = passes * length;
	const scene: Scene = {
		n,
		facts: {} as SceneFacts,
		corners_m: new Float32Array(8 * n),
		time_s: new Float64Array(n),
		combine: new Uint8Array(n),
		flag: new Uint8Array(n),
		fill: new Int32Array(n),
		pass: new Int32Array(n),
		area_m2: new Float32Array(n),
		account_kg: new Float32Array(n),
		factor: new Float32Array(n),
		monitor_kg_ha: new Float32Array(n),
		corrected_kg_ha: new Float32Array(n),
		u_rel: new Float32Array(n),
		common_rel: new Float32Array(n).fill(0.006),
		moisture_pct: new Float32Array(n),
		speed_m_s: new Float32Array(n),
		flow_kg_s: new Float32Array(n),
		gridYield_kg_ha: new Float32Array(),
		gridSe_kg_ha: new Float32Array(),
		gridMonitor_kg_ha: new Float32Array(),
	};
	const factors = [0.925, 1.012];
	const start = Date.UTC(2026, 9, 14, 15) / 1000;
	const fills: string[] = [];
	const fillOf = (c: number, pass: number) => {
		const name = `${'AB'[c]}${Math.floor(pass / 8) + 1}`;
		const at = fills.indexOf(name);
		return at >= 0 ? at : fills.push(name) - 1;
	};
	const clock = [start, start + 40];
	let i = 0;
	for (let p = 0; p < passes; p++) {
		const c = Math.floor(p / 4) % 2;
		const x = (p - passes / 2) * SWATH_M;
		const up = p % 2 === 0;
		for (let k = 0; k < length; k++, i++) {
			const y0 = (up ? -1 : 1) * (length / 2 - k) * STEP_M;
			const y1 = y0 + (up ? STEP_M : -STEP_M);
			const [l, r] = up ? [x, x + SWATH_M] : [x + SWATH_M, x];
			// North is up: local y runs south.
			scene.corners_m.set([l, -y0, l, -y1, r, -y1, r, -y0], 8 * i);
			scene.time_s[i] = clock[c]! += 1;
			scene.combine[i] = c;
			scene.pass[i] = p;
			scene.fill[i] = fillOf(c, p);
			scene.area_m2[i] = SWATH_M * STEP_M;
			const y = truth(x, y0) * (1 + 0.03 * noise(i));
			scene.moisture_pct[i] = 19 - (1.5 * p) / passes + 0.2 * noise(i + 7);
			scene.factor[i] = factors[c]!;
			scene.corrected_kg_ha[i] = y;
			scene.monitor_kg_ha[i] = y / factors[c]!;
			const wet = (y * (100 - 15.5)) / (100 - scene.moisture_pct[i]!);
			scene.account_kg[i] = ((wet / factors[c]!) * scene.area_m2[i]!) / 10_000;
			scene.u_rel[i] = 0.035;
			scene.speed_m_s[i] = STEP_M;
			scene.flow_kg_s[i] = scene.account_kg[i]!;
			if (k < 3) scene.flag[i] = FLAGS.indexOf('filling');
			else if (k > length - 3) scene.flag[i] = FLAGS.indexOf('emptying');
		}
		clock[c]! += 25;
	}
	scene.facts = facts(scene, fills, passes, length, bare);
	const grid = scene.facts.grid!;
	const cells = grid.columns * grid.rows;
	scene.gridYield_kg_ha = new Float32Array(cells);
	scene.gridSe_kg_ha = new Float32Array(cells).fill(180);
	scene.gridMonitor_kg_ha = new Float32Array(cells);
	for (let r = 0; r < grid.rows; r++) {
		for (let q = 0; q < grid.columns; q++) {
			const y = truth(grid.corners_m[0]![0] + 10 * q, -(grid.corners_m[0]![1] + 10 * r));
			scene.gridYield_kg_ha[r * grid.columns + q] = y;
			scene.gridMonitor_kg_ha[r * grid.columns + q] = y * 1.03;
		}
	}
	return scene;
}

function facts(s: Scene, fills: string[], passes: number, length: number, bare: boolean): SceneFacts {
	const half: [number, number] = [(passes * SWATH_M) / 2, (length * STEP_M) / 2];
	const iso = (t: number) => new Date(1000 * t).toISOString().replace('.000Z', 'Z');
	const field = {
		name: 'Lower Bend',
		season: 2026,
		client: 'Maple Fork Grain',
		farm: 'North place',
		crop: CORN,
		timeZone: 'America/Chicago',
	};
	const fillMass = fills.map((_, f) => {
		let kg = 0;
		let end = 0;
		let begin = Infinity;
		for (let i = 0; i < s.n; i++) {
			if (s.fill[i] !== f) continue;
			kg += s.account_kg[i]!;
			end = Math.max(end, s.time_s[i]!);
			begin = Math.min(begin, s.time_s[i]!);
		}
		return { kg, end, begin };
	});
	// One dump reads 9 % light: the cart moved while it was weighed.
	const odd = fills.indexOf('A3');
	const dumps = fills.map((fill, f) => {
		const c = fill.startsWith('A') ? 0 : 1;
		const monitor_kg = fillMass[f]!.kg;
		const reference_kg = monitor_kg * [0.925, 1.012][c]! * (1 + 0.004 * noise(f + 3)) * (f === odd ? 0.91 : 1);
		return {
			id: `D${String(f + 1).padStart(2, '0')}`,
			combine: 'AB'[c]!,
			combine_source: 'noted' as const,
			status: f === odd ? ('aside' as const) : ('used' as const),
			reason: f === odd ? 'lighter than its fill by 9 %: weighed on the move, or broken off' : null,
			fill,
			start: iso(fillMass[f]!.end - 90),
			end: iso(fillMass[f]!.end),
			cart_kg: reference_kg / 1.031,
			reference_kg,
			monitor_kg: f === odd ? null : monitor_kg,
			error_pct: f === odd ? null : 100 * (monitor_kg / reference_kg - 1),
		};
	});
	const sum = (c: number, v: (i: number) => number) => {
		let total = 0;
		for (let i = 0; i < s.n; i++) if (s.combine[i] === c) total += v(i);
		return total;
	};
	const combine = (c: number, value: number) => ({
		lag_s: [11, 8][c]!,
		lag_u_s: 0.4,
		lag_source: 'estimated',
		records: sum(c, () => 1),
		flagged: sum(c, (i) => (s.flag[i] ? 1 : 0)),
		fills: fills.filter((f) => f.startsWith('AB'[c]!)).length,
		factor: {
			form: 'constant' as const,
			value,
			u_rel: 0.0031,
			interval: [value * 0.994, value * 1.006] as [number, number],
			next_interval: [value * 0.982, value * 1.018] as [number, number],
			n: 5,
			source: 'dumps' as const,
		},
		moisture: { offset_pct: 0.4 - 0.6 * c, u_pct: 0.1, n: 4, source: 'tickets' },
		monitor_kg: sum(c, (i) => s.account_kg[i]!),
		account_kg: sum(c, (i) => s.account_kg[i]!),
		corrected_kg: sum(c, (i) => s.account_kg[i]! * s.factor[i]!),
	});
	const combines = { A: combine(0, 0.925), B: combine(1, 1.012) };
	const result = {
		schema: 'steelyard.result/1',
		field: { ...field, crop: CORN.name, bushel_kg: CORN.bushel_kg, market_moisture_pct: CORN.market_moisture_pct },
		clock: { offset_s: 137, u_s: 9, source: 'estimated' },
		reference: { ratio: 1.031, u_rel: 0.0012, interval: [1.0275, 1.0345], n: 4, source: 'tickets' },
		dumps,
		unweighed: [],
		combines,
		seams: [
			{
				pair: ['A', 'B'],
				before_pct: 9.4,
				before_interval: [8.5, 10.3],
				after_pct: 0.2,
				after_interval: [-0.6, 1.0],
				moisture_diff_pct: 0.3,
				length_m: 3600,
			},
		],
		totals: {
			area_ha: (s.n * SWATH_M * STEP_M) / 10_000,
			monitor_kg: combines.A.monitor_kg + combines.B.monitor_kg,
			corrected_kg: combines.A.corrected_kg + combines.B.corrected_kg,
			cart_kg: dumps.reduce((t, d) => t + d.cart_kg, 0),
			ticket_kg: 72_400,
			dry_kg: 0.96 * (combines.A.corrected_kg + combines.B.corrected_kg),
			dry_bu: (0.96 * (combines.A.corrected_kg + combines.B.corrected_kg)) / CORN.bushel_kg,
		},
		set_aside: [{ file: 'cart.csv', row: 14, column: 'weight_kg', found: '<b>many</b>', why: 'a weight is a number' }],
		notes: [{ level: 'caution', text: '1 row could not be used; it is listed with its reason.' }],
		areas: {
			cut_ha: (s.n * SWATH_M * STEP_M) / 10_000,
			distance_swath_ha: (s.n * SWATH_M * STEP_M) / 9_900,
			boundary_ha: 14.2,
		},
		closure: { mass_pct: 0.12, area_pct: -0.4 },
		flags: [],
		inputs: [{ file: 'cart.csv', rows: 10, bytes: 900, sha256: 'ab12'.repeat(16) }],
	} as unknown as SceneFacts['result'];
	const cells = new Float32Array(0);
	const drawn = {
		yields: s,
		track: s,
		reference: {},
		moisture: [],
		surface: { yield_kg_ha: cells, se_kg_ha: cells, cell_m: 10 },
	};
	result.trucks = [];
	result.statements = statementsOf(drawn as unknown as Run, result);
	const seams: SceneFacts['seams'] = [];
	for (let p = 4; p < passes; p += 4) {
		const x = (p - passes / 2) * SWATH_M;
		seams.push({
			combineA: 0,
			combineB: 1,
			excluded: null,
			length_m: 2 * half[1],
			line_m: [
				[x, -half[1]],
				[x, half[1]],
			],
			log_jump: 0.09 + 0.01 * noise(p),
		});
	}
	const degrees = (x: number, y: number): [number, number] => [
		-93.71 + (360 * x) / (2 * Math.PI * 6378137 * Math.cos((42.03 * Math.PI) / 180)),
		42.03 - (360 * y) / (2 * Math.PI * 6378137),
	];
	const ring = [
		[-half[0] - 4, -half[1] - 4],
		[-half[0] - 4, half[1] + 4],
		[half[0] + 4, half[1] + 4],
		[half[0] + 4, -half[1] - 4],
		[-half[0] - 4, -half[1] - 4],
	].map(([x, y]) => degrees(x!, y!));
	const columns = Math.ceil((2 * half[0]) / 10);
	const rows = Math.ceil((2 * half[1]) / 10);
	return {
		field,
		plan: null,
		origin: { lon_deg: -93.71, lat_deg: 42.03 },
		combines: ['A', 'B'],
		fills,
		flags: [...FLAGS],
		result,
		evidence: null,
		outline: { type: 'Polygon', coordinates: [ring] },
		seams: bare ? [] : seams,
		grid: {
			columns,
			rows,
			cell_m: 10,
			corners_m: [
				[-half[0], -half[1]],
				[-half[0] + 10 * columns, -half[1]],
				[-half[0] + 10 * columns, -half[1] + 10 * rows],
				[-half[0], -half[1] + 10 * rows],
			],
		},
		contours: [],
	};
}
