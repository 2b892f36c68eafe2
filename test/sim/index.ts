import type { Folder, Source } from '../../lib/model/index.ts';
import { type BookRow, ticketRows, weigh, weightTrace } from './book.ts';
import { type Day, drive, type Ground } from './drive.ts';
import { type Plane, plane } from './plane.ts';
import { random } from './random.ts';
import { type CombineScenario, drawScenario, type Scenario, type SimOptions } from './scenario.ts';
import { type Log, record } from './sensors.ts';
import { layStrips, type Point, ringArea } from './strips.ts';
import { randomRaster } from './surface.ts';
import { local, table, utc } from './text.ts';
import type { CombineTruth, DumpTruth, RecordTruth, Truth } from './truth.ts';

export type { Kind, Scenario, SimOptions } from './scenario.ts';
export { HALF, KINDS, SMALL } from './scenario.ts';
export type * from './truth.ts';

export interface Sim {
	/** The field folder: text by file name. */
	files: Map<string, string>;
	folder: Folder;
	truth: Truth;
	scenario: Scenario;
}

/** Simulates the harvest of one field. The same options give the same bytes. */
export function simulate(options: SimOptions): Sim {
	const scenario = drawScenario(options);
	const rng = random(scenario.seed, 'run');
	const { crop } = scenario;
	const land = plane(scenario.place.lon, scenario.place.lat);

	// Ground.
	const xs = scenario.ring.map((p) => p[0]);
	const ys = scenario.ring.map((p) => p[1]);
	const margin = 40;
	const box = {
		west_m: Math.min(...xs) - margin,
		south_m: Math.min(...ys) - margin,
		east_m: Math.max(...xs) + margin,
		north_m: Math.max(...ys) + margin,
	};
	const across: Point = [-Math.sin(scenario.direction_rad), Math.cos(scenario.direction_rad)];
	const shape = randomRaster(
		rng.stream('yield'),
		box,
		scenario.structure,
		scenario.streaks.map((s) => ({ ...s, across })),
	);
	const wetness = randomRaster(rng.stream('wetness'), box, [{ size_m: 110, sd: scenario.moisture.sd_pct }], []);
	const vs = scenario.ring.map((p) => p[0] * across[0] + p[1] * across[1]);
	const vMiddle = (Math.max(...vs) + Math.min(...vs)) / 2;
	const vRange = Math.max(...vs) - Math.min(...vs);
	// Planted strips start beside the headland, as the passes do.
	const { planting } = scenario;
	const vFirst = Math.min(...vs) + scenario.headlandRounds * scenario.combines[0]!.width_m;
	const odd = (v: number, size_m: number) => size_m > 0 && Math.abs(Math.floor((v - vFirst) / size_m)) % 2 === 1;
	const dry = (x: number, y: number) => {
		const v = x * across[0] + y * across[1];
		let level = 1 + (scenario.trendAcross_rel * (v - vMiddle)) / vRange;
		if (odd(v, planting.strip_m)) level *= 1 + planting.rel;
		if (odd(v, planting.half_m)) level *= 1 - planting.halves_rel;
		return (crop.mean_kg_ha * Math.exp(shape.at(x, y) - 0.008) * level) / 10_000;
	};
	const varietyAt = (x: number, y: number) =>
		odd(x * across[0] + y * across[1], planting.strip_m) ? 'Corrick 41' : 'Tilsen 7';
	const ground: Ground = {
		dry_kg_m2: dry,
		moisture_pct: (x, y, t) =>
			Math.max(
				crop.market_moisture_pct - 5,
				scenario.moisture.mean_pct + wetness.at(x, y) + (scenario.moisture.drying_pct_h * t) / 3600,
			),
		market_pct: crop.market_moisture_pct,
	};

	// Work.
	const first = scenario.combines[0]!;
	const overlap = first.row_m === null ? rng.stream('overlap').between(0, 0.15) : 0;
	const strips = layStrips(
		{
			ring: scenario.ring,
			machines: scenario.combines.map((c) => ({
				width_m: c.width_m,
				pitch_m: c.width_m - overlap,
				lanes: c.lanes,
			})),
			direction_rad: scenario.direction_rad,
			headlandRounds: scenario.headlandRounds,
			sharing: scenario.sharing,
			blockPasses: scenario.blockPasses,
			narrowEvery: scenario.narrowEvery,
		},
		rng.stream('strips'),
	);
	const day = drive(scenario, strips, ground, rng.stream('drive'));
	const logs = scenario.combines.map((spec, c) => record(scenario, spec, day.work[c]!, rng.stream(`sensor${c}`)));
	const rows = weigh(scenario, day, rng.stream('scale'));
	const tickets = ticketRows(scenario, day, rng.stream('tickets'));
	const trace = scenario.notes.trace ? weightTrace(scenario, day, rng.stream('trace')) : null;
	// The night falls where no auger runs; the day's seconds go on counting after it.
	const nightAt = nightfall(scenario, day);
	const dawn_s = Date.parse(`${scenario.start.day}T00:00:00Z`) / 1000 + scenario.start.second - clockShift(scenario);
	const wall = (t: number) => dawn_s + t + (t > nightAt ? scenario.night.seconds : 0);

	// Files.
	const files = new Map<string, string>();
	const stamp = scenario.log.local ? local : utc;
	const logPlans: object[] = [];
	const logText = (log: Log, spec: CombineScenario, name: string | null) => {
		const { log: has } = scenario;
		const head = ['time', 'lat', 'lon', 'flow_kg_s', 'interval_s', 'distance_m', 'swath_m', 'moisture_pct'];
		if (name !== null) head.push('combine');
		if (has.header) head.push('header_down');
		if (has.auger) head.push('auger_on');
		if (has.speed) head.push('speed_m_s');
		if (has.heading) head.push('heading_deg');
		if (has.load) head.push('load');
		if (planting.told === 'column') head.push('variety');
		const lines: (string | number)[][] = [];
		for (let i = 0; i < log.time_s.length; i++) {
			const [lon, lat] = land.toLonLat(log.x_m[i]!, log.y_m[i]!);
			const line: (string | number)[] = [
				stamp(wall(log.time_s[i]!), scenario.place.timeZone, scenario.step_s < 1 || has.jitter_s > 0),
				lat.toFixed(has.decimals),
				lon.toFixed(has.decimals),
				log.flow_kg_s[i]!.toFixed(3),
				Number(log.interval_s[i]!.toFixed(3)),
				has.distance ? log.distance_m[i]!.toFixed(3) : '',
				spec.width_m,
				log.moisture_pct[i]!.toFixed(2),
			];
			if (name !== null) line.push(name);
			if (has.header) line.push(log.header[i]!);
			if (has.auger) line.push(log.auger[i]!);
			if (has.speed) line.push(log.speed_m_s[i]!.toFixed(2));
			if (has.heading) line.push(((450 - (log.heading_rad[i]! * 180) / Math.PI) % 360).toFixed(1));
			if (has.load) line.push(log.load[i]!);
			if (planting.told === 'column') line.push(varietyAt(log.x_m[i]!, log.y_m[i]!));
			lines.push(line);
		}
		return { head, lines };
	};
	if (scenario.log.oneFile) {
		const texts = logs.map((log, c) => logText(log, scenario.combines[c]!, scenario.combines[c]!.name));
		const lines = texts.flatMap((t) => t.lines);
		files.set(
			'combines.csv',
			table(
				texts[0]!.head,
				scenario.log.interleaved
					? inTime(
							lines,
							logs.flatMap((log) => log.time_s),
						)
					: lines,
			),
		);
		logPlans.push({ file: 'combines.csv' });
	} else
		logs.forEach((log, c) => {
			const name = scenario.combines[c]!.name;
			const { head, lines } = logText(log, scenario.combines[c]!, null);
			files.set(`combine-${name}.csv`, table(head, lines));
			logPlans.push({ file: `combine-${name}.csv`, combine: name });
		});

	const bookStamp = (t: number) => {
		const text = local(wall(t), scenario.place.timeZone, false);
		if (scenario.notes.times === 'minute') return text.slice(0, 16);
		if (scenario.notes.times === 'day') return text.slice(0, 10);
		return scenario.notes.times === 'none' ? '' : text;
	};
	// The cart's own receiver stands some meters beside the combine.
	const beside = rng.stream('beside');
	const placeOf = (row: BookRow) => {
		const e = day.emptyings[row.emptyings.at(-1) ?? -1];
		if (!e) return ['', ''];
		const [lon, lat] = land.toLonLat(e.x_m + beside.normal(8), e.y_m + beside.normal(8));
		return [lat.toFixed(6), lon.toFixed(6)];
	};
	const withCart = scenario.notes.ticketsOnly === 'no' && !trace;
	if (withCart) {
		files.set(
			'cart.csv',
			table(
				[
					'id',
					'time',
					'event',
					'combine',
					'weight_kg',
					...(scenario.notes.emptied ? ['emptied'] : []),
					'truck_load',
					...(scenario.notes.positions ? ['lat', 'lon'] : []),
				],
				rows.map((row) => [
					row.id,
					bookStamp(row.time_s),
					row.event,
					row.combine,
					row.weight_kg,
					...(scenario.notes.emptied ? [row.emptied] : []),
					row.truck >= 0 ? `T${row.truck + 1}` : '',
					...(scenario.notes.positions ? placeOf(row) : []),
				]),
			),
		);
	}
	if (trace) {
		files.set(
			'trace.csv',
			table(
				['time', 'weight_kg', 'moving'],
				trace.rows.map((r) => [local(wall(r.time_s), scenario.place.timeZone, false), r.weight_kg, r.moving]),
			),
		);
	}
	if (tickets.length > 0) {
		files.set(
			'tickets.csv',
			table(
				['ticket', 'time', 'truck_load', 'net_kg', 'combine', 'moisture_pct'],
				tickets.map((t) => [
					t.ticket,
					bookStamp(t.time_s),
					t.joins && !trace ? `T${t.truck + 1}` : '',
					t.net_kg,
					t.combine,
					Number.isNaN(t.moisture_pct) ? '' : t.moisture_pct.toFixed(1),
				]),
			),
		);
	}
	const ring = [...scenario.ring, scenario.ring[0]!].map(([x, y]) =>
		land.toLonLat(x, y).map((v) => Number(v.toFixed(8))),
	);
	files.set(
		'boundary.geojson',
		`${JSON.stringify({ type: 'Feature', properties: {}, geometry: { type: 'Polygon', coordinates: [ring] } })}\n`,
	);
	if (planting.told === 'layer')
		files.set('varieties.geojson', varietyLayer(scenario, vFirst, [Math.min(...vs), Math.max(...vs)], across, land));
	const plan = {
		name: scenario.names.field,
		season: Number(scenario.start.day.slice(0, 4)),
		...(scenario.names.client === null ? {} : { client: scenario.names.client }),
		...(scenario.names.farm === null ? {} : { farm: scenario.names.farm }),
		crop: crop.name,
		timeZone: scenario.place.timeZone,
		boundary: 'boundary.geojson',
		logs: logPlans,
		...(withCart ? { cartLog: { file: 'cart.csv' } } : {}),
		...(trace ? { cartTrace: { file: 'trace.csv' } } : {}),
		...(tickets.length > 0 ? { tickets: { file: 'tickets.csv' } } : {}),
		combines: Object.fromEntries(
			scenario.combines.map((c) => [
				c.name,
				{
					swath_m: c.width_m,
					...(c.row_m === null ? {} : { row_m: c.row_m }),
					...(scenario.notes.tankTold ? { tank_kg: c.tank_kg } : {}),
					...(c.antennaTold ? { header_ahead_m: c.antennaAhead_m } : {}),
				},
			]),
		),
		...(scenario.notes.ticketsOnly === 'straight'
			? {}
			: {
					scales: {
						cart: {
							...(scenario.cart.limit_pct === null ? {} : { limit_pct: scenario.cart.limit_pct }),
							...(scenario.notes.sizeTold ? { size_kg: scenario.cart.size_kg } : {}),
						},
					},
				}),
		...(planting.told === 'layer' ? { varieties: 'varieties.geojson' } : {}),
		...(scenario.notes.total
			? {
					total: {
						wet_kg: Math.round(sum(day.work.flatMap((w) => w.cutWet_kg)) * (1 + rng.stream('total').normal(0.002))),
						u_pct: 0.2,
					},
				}
			: {}),
		events: scenario.combines.flatMap((c, i) => {
			if (!c.step?.event) return [];
			const at = stepTime(logs[i]!, c.step.share);
			return [{ time: utc(wall(at), 'UTC', false), combine: c.name, kind: 'calibrated' }];
		}),
	};
	files.set('field.json', `${JSON.stringify(plan, null, '\t')}\n`);

	// Truth.
	const combines: CombineTruth[] = scenario.combines.map((spec, c) => {
		const log = logs[c]!;
		const a = Math.exp(-scenario.step_s / spec.smear_s);
		const lag_s =
			spec.delay_s + (scenario.step_s * a) / (1 - a) - Math.round(spec.shifted_s / scenario.step_s) * scenario.step_s;
		const wet_kg = sum(log.true_kg);
		const clean_kg = sum(log.clean_kg);
		const speed_m_s = spec.passSpeeds_m_s.length > 0 ? 1.7 : spec.speed_m_s;
		return {
			name: spec.name,
			factor: wet_kg / clean_kg,
			nominal: spec.factor,
			form: spec.curve_per_kg_s !== 0 ? 'flow' : spec.step ? 'step' : spec.trend_h !== 0 ? 'trend' : 'constant',
			lag_s,
			effectiveLag_s: lag_s - (spec.antennaTold ? 0 : spec.antennaAhead_m / speed_m_s),
			moistureLag_s: spec.moistureDelay_s + 3.5,
			moistureOffset_pct: spec.moistureOffset_pct,
			receiver: { ...spec.receiver },
			wet_kg,
			monitor_kg: sum(log.flow_kg_s.map((f, i) => f * log.interval_s[i]!)),
			clean_kg,
			left_rel: spec.left_rel,
			records: recordTruth(scenario, day.work[c]!, log, lag_s, wall, land.toUtm),
		};
	});
	const saved = rows.filter((row) => row.event === 'dump');
	const offsets = saved.map((row) => row.end_s - row.time_s).sort((a, b) => a - b);
	const idsOf = (emptying: number) => saved.filter((row) => row.emptyings.includes(emptying)).map((row) => row.id);
	const truth: Truth = {
		seed: scenario.seed,
		kind: options.kind ?? 'labeled',
		epsg: land.epsg,
		combines,
		clock_offset_s: trace ? scenario.cart.clockOffset_s : (offsets[offsets.length >> 1] ?? Number.NaN),
		ratio: scenario.cart.ratio,
		unloadings: day.emptyings.map((e, i) => ({
			combine: e.combine,
			start_s: wall(e.start_s),
			end_s: wall(e.end_s),
			true_kg: e.true_kg,
			restBefore_kg: e.restBefore_kg,
			restAfter_kg: e.restAfter_kg,
			dumps: idsOf(i),
			fate: e.fate,
			broken: e.broken,
			onTheGo: e.onTheGo,
		})),
		dumps: withCart ? saved.map((row) => dumpTruth(row, scenario, day.emptyings)) : [],
		trueYield_kg_ha: (e, n) => {
			const [x, y] = land.fromUtm(e, n);
			return dry(x, y) * 10_000;
		},
		area_m2: sum(day.work.flatMap((w) => w.cutArea_m2)),
		ring_m2: ringArea(scenario.ring),
		ring_m: scenario.ring.map(([x, y]) => land.toUtm(x, y)),
		wet_kg: sum(day.work.flatMap((w) => w.cutWet_kg)),
		dry_kg: sum(day.work.flatMap((w) => w.cutDry_kg)),
		jump_pct: (i, j) => {
			const reads = (c: CombineTruth) => (1 - c.left_rel) / c.factor;
			return 100 * (reads(combines[i]!) / reads(combines[j]!) - 1);
		},
		trace: trace ? trace.events.map((e) => ({ ...e, time_s: wall(e.time_s) })) : [],
		marketMoisture_pct: crop.market_moisture_pct,
	};
	return { files, folder: folderOf(files), truth, scenario };
}

/** Rows in order of time; rows of one moment keep their order. */
function inTime<T>(rows: T[], time_s: number[]): T[] {
	const order = rows.map((_, i) => i).sort((a, b) => time_s[a]! - time_s[b]! || a - b);
	return order.map((i) => rows[i]!);
}

/** When the night comes: past its share of the day's work, at a moment when no auger runs. */
function nightfall(scenario: Scenario, day: Day): number {
	if (scenario.night.share === 0) return Infinity;
	let t = scenario.night.share * day.duration_s;
	while (day.emptyings.some((e) => t > e.start_s - 60 && t < e.end_s + 120)) t += 10;
	return t;
}

/** The planted strips as polygons, one a strip, with the variety in their properties. */
function varietyLayer(scenario: Scenario, first: number, range: [number, number], across: Point, land: Plane): string {
	const along: Point = [across[1], -across[0]];
	const us = scenario.ring.map((p) => p[0] * along[0] + p[1] * along[1]);
	const [low, high] = [Math.min(...us) - 5, Math.max(...us) + 5];
	const size = scenario.planting.strip_m;
	const features = [];
	for (let i = Math.floor((range[0] - first) / size); first + i * size < range[1]; i++) {
		const [a, b] = [first + i * size, first + (i + 1) * size];
		const corners = [
			[low, a],
			[high, a],
			[high, b],
			[low, b],
			[low, a],
		] as const;
		const ring = corners.map(([u, v]) =>
			land.toLonLat(along[0] * u + across[0] * v, along[1] * u + across[1] * v).map((x) => Number(x.toFixed(8))),
		);
		features.push({
			type: 'Feature',
			properties: { variety: Math.abs(i) % 2 === 1 ? 'Corrick 41' : 'Tilsen 7' },
			geometry: { type: 'Polygon', coordinates: [ring] },
		});
	}
	return `${JSON.stringify({ type: 'FeatureCollection', features })}\n`;
}

/** A folder in memory. */
export function folderOf(files: Map<string, string>): Folder {
	const folder = new Map<string, Source>();
	for (const [name, text] of files) {
		const bytes = new TextEncoder().encode(text);
		folder.set(name, {
			name,
			bytes: bytes.length,
			async *chunks() {
				for (let i = 0; i < bytes.length; i += 65_536) yield bytes.subarray(i, i + 65_536);
			},
		});
	}
	return folder;
}

function dumpTruth(
	row: BookRow,
	scenario: Scenario,
	emptyings: { combine: number; restBefore_kg: number; restAfter_kg: number; true_kg: number }[],
): DumpTruth {
	const sources = row.emptyings.map((i) => emptyings[i]!);
	const rest = sources.some((e) => Math.max(e.restBefore_kg, e.restAfter_kg) > 0.03 * e.true_kg);
	const foreign = sources.some(
		(e) => emptyings.find((o) => o.combine === e.combine) === e && scenario.combines[e.combine]!.startTank_kg > 0,
	);
	return {
		id: row.id,
		combines: [...new Set(sources.map((e) => scenario.combines[e.combine]!.name))].sort(),
		unloadings: row.emptyings,
		repeated: row.repeated,
		accept: row.repeated || row.wrong ? ['aside'] : foreign ? ['joined', 'aside'] : rest ? ['joined'] : ['used'],
		true_kg: row.true_kg,
	};
}

function recordTruth(
	scenario: Scenario,
	work: { t_s: number[]; x_m: number[]; y_m: number[]; cutArea_m2: number[]; cutDry_kg: number[] },
	log: Log,
	lag_s: number,
	wall: (t: number) => number,
	toUtm: (x: number, y: number) => [number, number],
): RecordTruth {
	const n = log.time_s.length;
	const out: RecordTruth = {
		time_s: Float64Array.from(log.time_s, wall),
		cutX_m: new Float64Array(n).fill(Number.NaN),
		cutY_m: new Float64Array(n).fill(Number.NaN),
		area_m2: new Float64Array(n),
		yield_kg_ha: new Float64Array(n).fill(Number.NaN),
		factor: Float64Array.from(log.factor),
		fault: Uint8Array.from(log.fault),
	};
	if (n === 0) return out;
	const dt = scenario.step_s;
	const t0 = work.t_s[0]!;
	const steps = work.t_s.length;
	const area = running(work.cutArea_m2);
	const dry = running(work.cutDry_kg);
	// Place in steps: column j holds what was cut in the step ending at t0 + j·dt.
	const at = (values: Float64Array, p: number) => {
		const q = Math.min(Math.max(p, 0), steps);
		const i = Math.min(Math.floor(q), steps - 1);
		return values[i]! + (q - i) * (values[i + 1]! - values[i]!);
	};
	for (let i = 0; i < n; i++) {
		const end = (log.time_s[i]! - lag_s - t0) / dt + 1;
		const begin = end - log.interval_s[i]! / dt;
		const ground = at(area, end) - at(area, begin);
		const mass = at(dry, end) - at(dry, begin);
		out.area_m2[i] = ground;
		if (ground > 0.05) out.yield_kg_ha[i] = (mass / ground) * 10_000;
		const middle = (begin + end) / 2 - 1;
		if (middle < 0 || middle > steps - 1) continue;
		const j = Math.min(Math.floor(middle), steps - 2);
		const f = middle - j;
		const [e, north] = toUtm(
			work.x_m[j]! + f * (work.x_m[j + 1]! - work.x_m[j]!),
			work.y_m[j]! + f * (work.y_m[j + 1]! - work.y_m[j]!),
		);
		out.cutX_m[i] = e;
		out.cutY_m[i] = north;
	}
	return out;
}

/** Running sum with a leading 0. */
function running(values: number[]): Float64Array {
	const out = new Float64Array(values.length + 1);
	for (let i = 0; i < values.length; i++) out[i + 1] = out[i]! + values[i]!;
	return out;
}

function sum(values: ArrayLike<number>): number {
	let total = 0;
	for (let i = 0; i < values.length; i++) total += values[i]!;
	return total;
}

function stepTime(log: Log, share: number): number {
	const total = sum(log.true_kg);
	let run = 0;
	for (let i = 0; i < log.true_kg.length; i++) {
		run += log.true_kg[i]!;
		if (run > share * total) return log.time_s[i]!;
	}
	return log.time_s.at(-1)!;
}

/** Seconds east of Greenwich at the place on the day: work begins in the morning there. */
function clockShift(scenario: Scenario): number {
	const day = Date.parse(`${scenario.start.day}T12:00:00Z`) / 1000;
	const shown = Date.parse(`${local(day, scenario.place.timeZone, false)}Z`) / 1000;
	return shown - day;
}
