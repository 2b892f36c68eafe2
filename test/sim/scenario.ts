import { type Random, random } from './random.ts';
import type { Point } from './strips.ts';

/** Everything that a field is drawn from. A kind changes some of it, a caller may change more. */
export interface Scenario {
	seed: number;
	names: { field: string; client: string | null; farm: string | null };
	crop: { name: string; bushel_kg: number; market_moisture_pct: number; mean_kg_ha: number };
	/** Where on earth, and its clock. */
	place: { lon: number; lat: number; timeZone: string };
	/** Outline in ground meters, counter-clockwise. */
	ring: Point[];
	direction_rad: number;
	headlandRounds: number;
	sharing: 'adjacent' | 'blocks' | 'ends';
	blockPasses: number;
	narrowEvery: number;
	/** Structure of the yield: relative standard deviation by size, and a trend across the passes (whole field). */
	structure: { size_m: number; sd: number }[];
	streaks: { size_m: number; sd: number }[];
	trendAcross_rel: number;
	/** Strips of two varieties along the passes, and a planter whose halves differ. */
	planting: { strip_m: number; rel: number; told: 'no' | 'column' | 'layer'; half_m: number; halves_rel: number };
	moisture: { mean_pct: number; sd_pct: number; drying_pct_h: number };
	start: { day: string; second: number };
	/** Share of the work after which the night comes, and how long it lasts; 0 = one day. */
	night: { share: number; seconds: number };
	combines: CombineScenario[];
	/** Time step of the simulation and records per interval. */
	step_s: number;
	stepsPerRecord: number;
	cart: CartScenario;
	log: LogScenario;
	trouble: Trouble;
	notes: Notes;
}

export interface CombineScenario {
	name: string;
	/** True mass / monitor mass, before the forms below. */
	factor: number;
	/** Change of the log factor an hour, from the combine's middle of work. */
	trend_h: number;
	/** Relative change at a share of its work. */
	step: { share: number; rel: number; event: boolean } | null;
	/** Relative change of the monitor's reading per kg/s of flow, about its usual flow. */
	curve_per_kg_s: number;
	delay_s: number;
	smear_s: number;
	/** The monitor moved its flow back by this many seconds before writing. */
	shifted_s: number;
	white_rel: number;
	slow: { rel: number; time_s: number };
	width_m: number;
	lanes: number;
	row_m: number | null;
	speed_m_s: number;
	/** Speeds of passes in turn, in place of the usual one; empty = none. */
	passSpeeds_m_s: number[];
	tank_kg: number;
	auger_kg_s: number;
	/** Certified − sensed, points. */
	moistureOffset_pct: number;
	moistureDelay_s: number;
	receiver: { east_m: number; north_m: number; right_m: number; wander_m: number; time_s: number };
	/** From the antenna forward to the cutter, and whether field.json says so. */
	antennaAhead_m: number;
	antennaTold: boolean;
	/** Share of the crop left on the ground. */
	left_rel: number;
	startTank_kg: number;
	/** Leaves when this share of the strips has been cut (1 = stays). */
	leavesAt: number;
	/** Leaves with what is in its tank. */
	leavesLoaded: boolean;
}

export interface CartScenario {
	size_kg: number;
	truck_kg: number;
	/** Certified / indicated. */
	ratio: number;
	/** What the certified scale itself reads too much, relative: common to all tickets. */
	certified_rel: number;
	a_kg: number;
	b_rel: number;
	/** Chance that a dump starts from a fresh reading of what the cart holds. */
	fresh: number;
	resolution_kg: number;
	delay_s: [number, number];
	clockOffset_s: number;
	limit_pct: number | null;
	onTheGo: number;
	/** Chance of a rest in the tank, and its share of the tank. */
	rest: number;
	restShare: [number, number];
	/** What never comes out of a tank, at most. */
	dregs_kg: number;
	/** Fraction of the tank at which the cart is called. */
	call: [number, number];
}

export interface LogScenario {
	header: boolean;
	auger: boolean;
	speed: boolean;
	heading: boolean;
	load: boolean;
	/** Share of unloadings without a signal, false signals an hour, and long sticks in all. */
	augerFaults: { missed: number; falsePerHour: number; sticks: number };
	/** Times as UTC with Z, or as local time. */
	local: boolean;
	oneFile: boolean;
	/** Rows of all combines in order of time, in one file. */
	interleaved: boolean;
	/** Decimals of the positions. */
	decimals: number;
	/** Records come a little early or late. */
	jitter_s: number;
	/** What the sensor shows with nothing to flow. */
	idle_kg_s: number;
	/** Share of records whose noise is five times the usual. */
	tails: number;
	distance: boolean;
}

export interface Trouble {
	/** Spikes and drop-outs as shares of records, stops an hour. */
	spikes: number;
	dropouts: number;
	stopsPerHour: number;
	/** Sudden changes of speed an hour: braked to a share of the usual speed for some seconds. */
	joltsPerHour: number;
	jumps: number;
	repeats: number;
}

/** What the cart's book says, and what it leaves out. */
export interface Notes {
	combine: boolean;
	emptied: boolean;
	/** Chance that a rest is noted where `emptied` is kept. */
	restNoted: number;
	times: 'second' | 'minute' | 'day' | 'none';
	/** One weight of everything that entered the cart between two calls at both combines. */
	mixed: boolean;
	straight: number;
	unsaved: number;
	repeated: number;
	broken: number;
	/** Weights that are wrong: read before the cart stood still, or keyed wrong. */
	wrong: number;
	/** No cart log; grain went over the cart, or straight into trucks. */
	ticketsOnly: 'no' | 'cart' | 'straight';
	tickets: number | 'all';
	trace: boolean;
	ticketMoisture: boolean;
	silent: string[];
	tankTold: boolean;
	sizeTold: boolean;
	/** Places of the cart beside its weights. */
	positions: boolean;
	/** The elevator's total of the whole field in field.json. */
	total: boolean;
}

export const KINDS = [
	'labeled',
	'unlabeled',
	'clock-137',
	'clock-3600',
	'clock-7h',
	'three',
	'irregular',
	'rests',
	'start-leave',
	'mixed',
	'tickets-straight',
	'tickets-cart',
	'minutes',
	'days',
	'untimed',
	'trend',
	'step',
	'flow+',
	'flow-',
	'speeds',
	'trend-small',
	'step-small',
	'seams',
	'seams-equal',
	'receivers',
	'receivers-side',
	'silent',
	'grain-left',
	'dirty',
	'bare',
	'slow-log',
	'hz0.2',
	'hz5',
	'shifted',
	'antenna',
	'trace',
	'no-tickets',
	'wrong-weight',
	'variety',
	'planter',
	'total',
	'two-days',
	'positions',
	'load-numbers',
	'moisture',
	'rough',
	'no-distance',
	'stops',
] as const;
export type Kind = (typeof KINDS)[number];

/** Parts of a scenario, to any depth, arrays replaced whole. */
export type Partly<T> = T extends readonly unknown[] ? T : T extends object ? { [K in keyof T]?: Partly<T[K]> } : T;

export interface SimOptions {
	seed: number;
	kind?: Kind;
	/** Laid over the drawn scenario; or a function that changes it. */
	overrides?: Partly<Scenario> | ((scenario: Scenario) => void);
}

/** Four hectares and few dumps, for tests that run a field of some kind but judge nothing by its size. */
export const SMALL = (scenario: Scenario): void => {
	scenario.ring = [
		[0, 0],
		[260, 0],
		[260, 170],
		[0, 170],
	];
};

/** Half of the ground and of the dumps, in the shape that was drawn. */
export const HALF = (scenario: Scenario): void => {
	scenario.ring = scenario.ring.map(([x, y]) => [x * Math.SQRT1_2, y * Math.SQRT1_2]);
};

const CROPS = [
	{ name: 'corn', bushel_kg: 25.401, market_moisture_pct: 15.5, mean_kg_ha: 11_000, row: 0.762 },
	{ name: 'soybeans', bushel_kg: 27.216, market_moisture_pct: 13, mean_kg_ha: 3_900, row: 0.381 },
	{ name: 'wheat', bushel_kg: 27.216, market_moisture_pct: 13.5, mean_kg_ha: 6_400, row: null },
	{ name: 'barley', bushel_kg: 21.772, market_moisture_pct: 14.5, mean_kg_ha: 5_800, row: null },
] as const;

const PLACES = [
	{ lon: -93.62, lat: 42.03, timeZone: 'America/Chicago' },
	{ lon: -97.4, lat: 44.3, timeZone: 'America/Chicago' },
	{ lon: 11.2, lat: 52.1, timeZone: 'Europe/Berlin' },
	{ lon: -60.9, lat: -33.2, timeZone: 'America/Argentina/Buenos_Aires' },
	{ lon: -112.4, lat: 47.6, timeZone: 'America/Denver' },
] as const;

/** Draws a scenario: layout, machines and habits differ with the seed. */
export function drawScenario(options: SimOptions): Scenario {
	const kind = options.kind ?? 'labeled';
	const rng = random(options.seed, `scenario`);
	const crop = pickCrop(rng.stream('crop'));
	const nCombines = kind === 'three' ? 3 : 2;
	const machine = rng.stream('machines');
	const rows = crop.row === null ? 0 : crop.row < 0.5 ? machine.pick([24, 28, 32]) : machine.pick([8, 12]);
	const width_m = crop.row === null ? machine.pick([9.144, 10.668, 12.192]) : rows * crop.row;
	const wet_kg_m2 = crop.mean_kg_ha / 8500;
	const usual_kg_s = crop.mean_kg_ha > 8000 ? machine.between(17, 23) : machine.between(9, 14);
	const usualSpeed = Math.min(2.6, Math.max(1.2, usual_kg_s / (width_m * wet_kg_m2)));
	// Two headers need not be alike; a combine that leaves early hands its passes on, so there they are.
	const otherRows =
		crop.row !== null && crop.row > 0.5 && kind !== 'start-leave' && machine.chance(0.25) ? 20 - rows : rows;
	const combines: CombineScenario[] = [];
	for (let c = 0; c < nCombines; c++) {
		const m = machine.stream(`combine${c}`);
		combines.push({
			name: 'ABC'[c]!,
			factor: m.between(0.9, 1.1),
			trend_h: 0,
			step: null,
			curve_per_kg_s: 0,
			delay_s: m.between(6, 11),
			smear_s: m.between(1.5, 3.5),
			shifted_s: 0,
			white_rel: m.between(0.029, 0.041),
			slow: { rel: m.between(0.004, 0.01), time_s: m.between(600, 2400) },
			width_m: c === 1 && crop.row !== null ? otherRows * crop.row : width_m,
			lanes: rows > 16 ? rows / 2 : (c === 1 ? otherRows : rows) || 12,
			row_m: crop.row,
			speed_m_s: Math.max(1, usualSpeed * m.between(0.93, 1.07) * (c === 1 && rows > 0 ? rows / otherRows : 1)),
			passSpeeds_m_s: [],
			tank_kg: Math.round(m.between(7600, 10_800) / 100) * 100,
			auger_kg_s: m.between(75, 125),
			moistureOffset_pct: m.between(-1, 1),
			moistureDelay_s: m.between(10, 18),
			receiver: {
				east_m: m.normal(0.12),
				north_m: m.normal(0.12),
				right_m: m.normal(0.04),
				wander_m: m.between(0.08, 0.2),
				time_s: m.between(500, 1500),
			},
			antennaAhead_m: 0,
			antennaTold: false,
			left_rel: 0,
			startTank_kg: 0,
			leavesAt: 1,
			leavesLoaded: false,
		});
	}
	const shape = drawShape(rng.stream('shape'));
	const work = rng.stream('work');
	const cart = rng.stream('cart');
	const habits = rng.stream('habits');
	const place = rng.stream('place').pick(PLACES);
	const tank = combines[0]!.tank_kg;
	const scenario: Scenario = {
		seed: options.seed,
		names: { field: `Field ${options.seed}`, client: null, farm: null },
		crop: {
			name: crop.name,
			bushel_kg: crop.bushel_kg,
			market_moisture_pct: crop.market_moisture_pct,
			mean_kg_ha: crop.mean_kg_ha * work.between(0.85, 1.15),
		},
		place: {
			lon: place.lon + work.between(-0.5, 0.5),
			lat: place.lat + work.between(-0.5, 0.5),
			timeZone: place.timeZone,
		},
		ring: shape.ring,
		direction_rad: shape.direction_rad,
		headlandRounds: work.pick([1, 2, 2, 3]),
		sharing: work.pick(['adjacent', 'adjacent', 'blocks', 'ends']),
		blockPasses: work.pick([4, 6, 8]),
		narrowEvery: 0,
		structure: [
			{ size_m: work.between(150, 300), sd: work.between(0.06, 0.11) },
			{ size_m: work.between(50, 90), sd: work.between(0.05, 0.09) },
			{ size_m: work.between(18, 30), sd: work.between(0.02, 0.035) },
		],
		streaks: [{ size_m: work.between(6, 20), sd: work.between(0.006, 0.018) }],
		trendAcross_rel: work.between(-0.1, 0.1),
		planting: { strip_m: 0, rel: 0, told: 'no', half_m: 0, halves_rel: 0 },
		moisture: {
			mean_pct: crop.market_moisture_pct + work.between(0.5, 5),
			sd_pct: work.between(0.3, 0.7),
			drying_pct_h: work.between(-0.45, -0.05),
		},
		start: { day: `2025-10-${String(5 + work.whole(20)).padStart(2, '0')}`, second: work.between(9, 13) * 3600 },
		night: { share: 0, seconds: 0 },
		combines,
		step_s: 1,
		stepsPerRecord: 1,
		cart: {
			size_kg: Math.round(cart.between(1.9, 3.2) * tank * 0.01) * 100,
			truck_kg: Math.round(cart.between(23_500, 27_000)),
			ratio: 1 + cart.between(-0.012, 0.02),
			// One division in 500 (NIST Handbook 44, class III L), drawn apart so that all else stays as it is.
			certified_rel: rng.stream('certified').between(-0.002, 0.002),
			a_kg: cart.between(6, 12),
			b_rel: cart.between(0.001, 0.002),
			fresh: 0.25,
			resolution_kg: cart.pick([5, 10]),
			delay_s: habits.pick([
				[5, 25],
				[3, 12],
				[10, 60],
			]) as [number, number],
			clockOffset_s: Math.round(cart.between(-20, 20)),
			limit_pct: 2,
			onTheGo: cart.pick([0.9, 0.7, 0.4]),
			rest: 0.08,
			restShare: [0.05, 0.3],
			dregs_kg: 0,
			call: [0.45, 0.8],
		},
		log: {
			header: true,
			auger: true,
			speed: work.chance(0.5),
			heading: work.chance(0.5),
			load: false,
			augerFaults: { missed: 0, falsePerHour: 0, sticks: 0 },
			local: work.chance(0.3),
			oneFile: work.chance(0.2),
			interleaved: habits.chance(0.5),
			decimals: habits.pick([8, 7, 7, 6]),
			jitter_s: 0,
			idle_kg_s: 0,
			tails: 0,
			distance: true,
		},
		trouble: { spikes: 0.0006, dropouts: 0.0006, stopsPerHour: 0.5, joltsPerHour: 0, jumps: 0, repeats: 0 },
		notes: {
			combine: true,
			emptied: true,
			restNoted: 0.9,
			times: 'second',
			mixed: false,
			straight: 0,
			unsaved: 0,
			repeated: 0,
			broken: 0,
			wrong: 0,
			ticketsOnly: 'no',
			tickets: 4,
			trace: false,
			ticketMoisture: true,
			silent: [],
			tankTold: true,
			sizeTold: work.chance(0.6),
			positions: false,
			total: false,
		},
	};
	applyKind(scenario, kind, rng.stream('kind'));
	if (typeof options.overrides === 'function') options.overrides(scenario);
	else if (options.overrides) lay(scenario, options.overrides);
	return scenario;
}

function pickCrop(rng: Random) {
	return rng.pick([CROPS[0], CROPS[0], CROPS[0], ...CROPS]);
}

/** An outline of 15 to 27 ha and a direction of work. */
function drawShape(rng: Random): { ring: Point[]; direction_rad: number } {
	const turn = rng.between(0, 2 * Math.PI);
	const length = rng.between(380, 620);
	const area = rng.between(160_000, 260_000);
	const width = area / length;
	let ring: Point[];
	switch (rng.whole(5)) {
		case 0:
			ring = [
				[0, 0],
				[length, 0],
				[length, width],
				[0, width],
			];
			break;
		case 1: // one side slanting: point rows along it
			ring = [
				[0, 0],
				[length, 0],
				[length * 0.97, width],
				[length * rng.between(0.1, 0.3), width],
			];
			break;
		case 2: // a corner cut off
			ring = [
				[0, 0],
				[length, 0],
				[length, width * 0.55],
				[length * 0.7, width],
				[0, width],
			];
			break;
		case 3: // a farmstead left out of a corner
			ring = [
				[0, 0],
				[length, 0],
				[length, width * 0.7],
				[length * 0.72, width * 0.7],
				[length * 0.72, width],
				[0, width],
			];
			break;
		default: // the long sides not quite parallel
			ring = [
				[0, 0],
				[length, 0],
				[length, width * 0.88],
				[0, width * 1.1],
			];
	}
	const along = rng.chance(0.8) ? 0 : rng.between(-0.5, 0.5);
	const c = Math.cos(turn);
	const s = Math.sin(turn);
	return {
		ring: ring.map(([x, y]) => [x * c - y * s, x * s + y * c] as Point),
		direction_rad: turn + along,
	};
}

function applyKind(s: Scenario, kind: Kind, rng: Random): void {
	const a = s.combines[0]!;
	const b = s.combines[1]!;
	const unlabeled = () => {
		s.notes.combine = false;
	};
	const silentLog = () => {
		s.log.auger = false;
		s.notes.emptied = false;
	};
	const beyondConstant = () => {
		for (const c of s.combines) c.slow.rel = rng.between(0.004, 0.006);
	};
	switch (kind) {
		case 'labeled':
			break;
		case 'unlabeled':
		case 'three':
			unlabeled();
			break;
		case 'clock-137':
			unlabeled();
			s.cart.clockOffset_s = 137;
			s.log.augerFaults = { missed: 0.2, falsePerHour: 2, sticks: 1 };
			break;
		case 'clock-3600':
			unlabeled();
			silentLog();
			s.cart.clockOffset_s = -3600 + Math.round(rng.between(-15, 15));
			break;
		case 'clock-7h':
			unlabeled();
			silentLog();
			s.cart.clockOffset_s = (rng.chance(0.5) ? 7 : -7) * 3600 + Math.round(rng.between(-15, 15));
			break;
		case 'irregular':
			unlabeled();
			Object.assign(s.notes, { straight: 1, unsaved: 1, repeated: 1, broken: 1 });
			break;
		case 'rests':
			unlabeled();
			s.notes.emptied = false;
			s.cart.rest = 0.6;
			break;
		case 'start-leave':
			unlabeled();
			a.startTank_kg = a.tank_kg * rng.between(0.2, 0.5);
			b.leavesAt = rng.between(0.45, 0.6);
			b.leavesLoaded = rng.chance(0.5);
			break;
		case 'mixed':
			unlabeled();
			s.notes.mixed = true;
			s.notes.emptied = false;
			s.sharing = 'adjacent';
			s.cart.size_kg = Math.round(2.4 * Math.max(a.tank_kg, b.tank_kg));
			break;
		case 'tickets-straight':
			s.notes.ticketsOnly = 'straight';
			s.notes.tickets = 'all';
			break;
		case 'tickets-cart':
			s.notes.ticketsOnly = 'cart';
			s.notes.tickets = 'all';
			s.sharing = 'adjacent';
			break;
		case 'minutes':
			unlabeled();
			s.notes.times = 'minute';
			break;
		case 'days':
			s.notes.times = 'day';
			break;
		case 'untimed':
			s.notes.times = 'none';
			break;
		case 'trend':
			beyondConstant();
			for (const c of s.combines) c.trend_h = 0.035;
			break;
		case 'step':
			beyondConstant();
			a.step = { share: rng.between(0.35, 0.65), rel: -0.1, event: rng.chance(0.3) };
			break;
		case 'flow+':
		case 'flow-':
			beyondConstant();
			for (const c of s.combines) {
				c.curve_per_kg_s = kind === 'flow+' ? 0.012 : -0.012;
				c.passSpeeds_m_s = [1.3, 2.1, 1.7];
			}
			break;
		case 'speeds':
			for (const c of s.combines) c.passSpeeds_m_s = [1.3, 2.1, 1.7];
			break;
		case 'trend-small':
			a.trend_h = 0.01;
			break;
		case 'step-small':
			a.step = { share: rng.between(0.35, 0.65), rel: -0.03, event: false };
			break;
		case 'seams':
		case 'seams-equal':
			s.sharing = 'blocks';
			s.blockPasses = 12;
			s.trendAcross_rel = rng.chance(0.5) ? 0.15 : -0.15;
			if (kind === 'seams-equal') b.factor = a.factor;
			break;
		case 'receivers':
		case 'receivers-side': {
			s.sharing = 'adjacent';
			const angle = s.direction_rad + Math.PI / 2;
			if (kind === 'receivers') {
				a.receiver.east_m = a.receiver.north_m = 0;
				b.receiver.east_m = 0.4 * Math.cos(angle);
				b.receiver.north_m = 0.4 * Math.sin(angle);
			} else b.receiver.right_m = a.receiver.right_m + 0.4;
			break;
		}
		case 'silent':
			s.sharing = rng.pick(['adjacent', 'blocks']);
			s.notes.silent = ['B'];
			break;
		case 'grain-left':
			s.sharing = 'adjacent';
			b.left_rel = rng.between(0.03, 0.06);
			break;
		case 'dirty':
		case 'bare':
			s.log.header = false;
			s.log.auger = false;
			if (kind === 'bare') break;
			s.trouble = { spikes: 0.006, dropouts: 0.008, stopsPerHour: 4, joltsPerHour: 0, jumps: 0.001, repeats: 0.002 };
			s.narrowEvery = 9;
			for (const c of s.combines) c.receiver.wander_m = rng.between(0.25, 0.4);
			break;
		case 'slow-log':
			s.stepsPerRecord = 3;
			break;
		case 'hz0.2':
			s.stepsPerRecord = 5;
			break;
		case 'hz5':
			s.step_s = 0.2;
			break;
		case 'shifted':
			for (const c of s.combines) c.shifted_s = Math.round(c.delay_s + c.smear_s + rng.pick([-1, 0, 0, 3]));
			break;
		case 'antenna':
			for (const c of s.combines) {
				c.antennaAhead_m = rng.between(2.5, 5.5);
				c.antennaTold = s.seed % 2 === 0;
			}
			break;
		case 'trace':
			s.notes.trace = true;
			s.notes.combine = false;
			break;
		case 'wrong-weight':
			s.notes.wrong = 1;
			break;
		case 'variety':
			s.sharing = 'blocks';
			s.planting = {
				strip_m: s.blockPasses * a.width_m,
				rel: rng.between(0.05, 0.1),
				told: rng.chance(0.5) ? 'column' : 'layer',
				half_m: 0,
				halves_rel: 0,
			};
			break;
		case 'planter':
			s.sharing = 'adjacent';
			s.planting = { strip_m: 0, rel: 0, told: 'no', half_m: a.width_m, halves_rel: rng.between(0.02, 0.04) };
			break;
		case 'total':
			s.notes.ticketsOnly = 'cart';
			s.notes.tickets = 0;
			s.notes.total = true;
			s.sharing = 'adjacent';
			break;
		case 'two-days':
			s.night = { share: rng.between(0.4, 0.6), seconds: rng.between(13, 16) * 3600 };
			unlabeled();
			break;
		case 'positions':
			unlabeled();
			silentLog();
			s.notes.positions = true;
			break;
		case 'moisture':
			// Sensors that are well off, each its own way, and tickets enough to say so.
			for (const c of s.combines) c.moistureOffset_pct = rng.between(0.6, 1.2) * (rng.chance(0.5) ? 1 : -1);
			s.notes.tickets = rng.pick([5, 6]);
			break;
		case 'rough':
			unlabeled();
			Object.assign(s.log, { jitter_s: 0.04, idle_kg_s: 0.04, tails: 0.01, decimals: 6 });
			s.cart.delay_s = [10, 120];
			s.cart.dregs_kg = 150;
			s.log.augerFaults = { missed: 0.05, falsePerHour: 1, sticks: 0 };
			for (const c of s.combines) {
				c.receiver.wander_m = 0.25;
				c.slow.rel = 0.012;
			}
			break;
		case 'stops':
			Object.assign(s.trouble, { stopsPerHour: rng.between(15, 40), joltsPerHour: rng.between(60, 120) });
			break;
		case 'no-distance':
			s.log.distance = false;
			s.log.speed = false;
			break;
		case 'load-numbers':
			unlabeled();
			silentLog();
			s.log.load = true;
			break;
		case 'no-tickets':
			s.notes.tickets = 0;
			s.cart.limit_pct = 1;
			s.cart.ratio = 1 + rng.between(-0.01, 0.01);
			break;
	}
}

function lay(onto: object, parts: object): void {
	const target = onto as Record<string, unknown>;
	for (const [key, value] of Object.entries(parts)) {
		if (value === undefined) continue;
		const old = target[key];
		if (value !== null && typeof value === 'object' && !Array.isArray(value) && old !== null && typeof old === 'object')
			lay(old, value);
		else target[key] = value;
	}
}
