import { type Random, wander } from './random.ts';
import type { CombineScenario, Scenario } from './scenario.ts';
import type { Point, Strip } from './strips.ts';

/** What a place yields. */
export interface Ground {
	/** Dry yield at market moisture, kg/m². */
	dry_kg_m2(x_m: number, y_m: number): number;
	/** True moisture at a place and time (seconds since the start). */
	moisture_pct(x_m: number, y_m: number, t_s: number): number;
	market_pct: number;
}

/** One combine's work in equal steps: column j covers the step that ends at `t_s[j]`. */
export interface Work {
	t_s: number[];
	x_m: number[];
	y_m: number[];
	heading_rad: number[];
	speed_m_s: number[];
	header: number[];
	auger: number[];
	/** Strip's row number, −1 on headlands, −2 outside passes. */
	row: number[];
	/** Width of the header filled, as a share. */
	cutArea_m2: number[];
	cutWet_kg: number[];
	cutDry_kg: number[];
	/** Past the sensor in the step, after delay and smear. */
	sensed_kg: number[];
	level_kg: number[];
}

export interface Emptying {
	combine: number;
	start_s: number;
	end_s: number;
	true_kg: number;
	restBefore_kg: number;
	restAfter_kg: number;
	/** Water in it, kg. */
	water_kg: number;
	fate: 'saved' | 'unsaved' | 'straight' | 'silent';
	repeated: boolean;
	/** The weight was noted wrong. */
	wrong: boolean;
	broken: boolean;
	onTheGo: boolean;
	/** Where it ended. */
	x_m: number;
	y_m: number;
	/** Number of the truck it went straight into; −1 over the cart. */
	truck: number;
}

/** What happened at the cart, in order. */
export type CartEvent =
	| { kind: 'dump'; emptying: number; end_s: number; content_kg: number }
	| { kind: 'offload'; start_s: number; end_s: number; kg: number; content_kg: number; truck: number };

export interface Truck {
	kg: number;
	water_kg: number;
	/** Combines whose grain went straight in; both empty for grain over the cart. */
	straight: number[];
	overCart: boolean;
	leaves_s: number;
}

export interface Day {
	work: Work[];
	emptyings: Emptying[];
	cart: CartEvent[];
	trucks: Truck[];
	/** Share of each combine's tank grain at the start that is from elsewhere. */
	endLevel_kg: number[];
	duration_s: number;
}

interface Machine {
	c: number;
	spec: CombineScenario;
	rng: Random;
	work: Work;
	mode: 'pass' | 'turn' | 'idle' | 'done';
	strip: Strip | null;
	reversed: boolean;
	s: number;
	path: Point[];
	pathLength: number[];
	pathAt: number;
	speed: number;
	target: number;
	sway: () => number;
	x: number;
	y: number;
	heading: number;
	level: number;
	water: number;
	cumulative: number[];
	cumulativeWater: number[];
	smear: number;
	smearWater: number;
	callAt: number;
	request: boolean;
	/** In service. */
	auger: boolean;
	emptying: Emptying | null;
	stopAt: number;
	stand: boolean;
	standUntil: number;
	/** Braked to a share of the usual speed until some time. */
	jolts: Random;
	jolted: number;
	joltedUntil: number;
	taken: number;
	queue: Strip[] | null;
	finishing: boolean;
	/** The monitor is switched off some time after the last unloading. */
	parks: number;
	patience: number;
}

/** Lets the combines and the cart work the field. Times are seconds since the start. */
export function drive(scenario: Scenario, strips: Strip[], ground: Ground, rng: Random): Day {
	const dt = scenario.step_s;
	const { cart, notes } = scenario;
	const open = [...strips];
	const unfinished = new Map<number, number>();
	for (const strip of strips) unfinished.set(strip.stage, (unfinished.get(strip.stage) ?? 0) + 1);
	const total = strips.length;
	let finished = 0;
	/** A tank below this is empty. */
	const empty = 30 + cart.dregs_kg;
	const emptyings: Emptying[] = [];
	const events: CartEvent[] = [];
	const trucks: Truck[] = [];
	const cartRng = rng.stream('cart');
	const oddities = planOddities(scenario, strips, rng.stream('oddities'));
	let served = 0;

	const machines: Machine[] = scenario.combines.map((spec, c) => {
		const own = rng.stream(`machine${c}`);
		return {
			c,
			spec,
			rng: own,
			work: {
				t_s: [],
				x_m: [],
				y_m: [],
				heading_rad: [],
				speed_m_s: [],
				header: [],
				auger: [],
				row: [],
				cutArea_m2: [],
				cutWet_kg: [],
				cutDry_kg: [],
				sensed_kg: [],
				level_kg: [],
			},
			mode: 'idle',
			strip: null,
			reversed: false,
			s: 0,
			path: [],
			pathLength: [],
			pathAt: 0,
			speed: 0,
			target: spec.speed_m_s,
			sway: wander(own.stream('sway'), 0.05 * spec.speed_m_s, 25, dt),
			x: Number.NaN,
			y: Number.NaN,
			heading: 0,
			level: spec.startTank_kg,
			water: spec.startTank_kg * 0.16,
			cumulative: [0],
			cumulativeWater: [0],
			smear: 0,
			smearWater: 0,
			callAt: spec.tank_kg * own.between(cart.call[0], cart.call[1]),
			request: false,
			auger: false,
			emptying: null,
			stopAt: 0,
			stand: false,
			standUntil: -1,
			jolts: own.stream('jolts'),
			jolted: 1,
			joltedUntil: -1,
			taken: 0,
			queue: null,
			finishing: false,
			parks: 0,
			patience: own.next(),
		};
	});

	// The cart.
	let content = 0;
	let contentWater = 0;
	let cartFree = 0;
	let serving: Machine | null = null;
	let arrives = 0;
	let group: number[] = [];
	let truck = newTruck(true);
	const straightTrucks = machines.map(() => -1);

	function newTruck(overCart: boolean): number {
		trucks.push({ kg: 0, water_kg: 0, straight: [], overCart, leaves_s: 0 });
		return trucks.length - 1;
	}

	function nextStrip(m: Machine): Strip | 'wait' | null {
		if (m.spec.leavesAt < 1 && finished >= m.spec.leavesAt * total) return null;
		const mine = (s: Strip) => s.combine === m.c || s.combine < 0 || machines[s.combine]!.finishing;
		const stage = open.length > 0 ? Math.min(...open.map((s) => s.stage)) : -1;
		if (stage < 0) return null;
		for (let earlier = 0; earlier < stage; earlier++) if ((unfinished.get(earlier) ?? 0) > 0) return 'wait';
		const index = open.findIndex((s) => s.stage === stage && mine(s));
		if (index < 0) return open.some(mine) ? 'wait' : null;
		return open.splice(index, 1)[0]!;
	}

	function begin(m: Machine, strip: Strip): void {
		const end: Point = [
			strip.origin[0] + strip.along[0] * strip.length_m,
			strip.origin[1] + strip.along[1] * strip.length_m,
		];
		const first = Number.isNaN(m.x);
		const toStart = Math.hypot(strip.origin[0] - m.x, strip.origin[1] - m.y);
		const toEnd = Math.hypot(end[0] - m.x, end[1] - m.y);
		m.reversed = first ? m.rng.chance(0.5) : toEnd < toStart;
		if (strip.headland) m.reversed = false;
		const from = m.reversed ? end : strip.origin;
		const along: Point = m.reversed ? [-strip.along[0], -strip.along[1]] : strip.along;
		const heading = Math.atan2(along[1], along[0]);
		m.strip = strip;
		m.s = 0;
		const speeds = m.spec.passSpeeds_m_s;
		const usual = m.spec.speed_m_s * (1 + m.rng.normal(0.04));
		// A schedule of speeds goes by the pass's place in the field, so that neighbors differ.
		const place = strip.row >= 0 ? strip.row : m.taken;
		m.target = speeds.length > 0 ? speeds[place % speeds.length]! : usual;
		m.taken++;
		if (first) {
			m.x = from[0] - along[0] * 15;
			m.y = from[1] - along[1] * 15;
			m.heading = heading;
		}
		// A turn is a cubic from where it stands to where the pass begins.
		const reach = Math.min(70, Math.max(14, 0.7 * Math.hypot(from[0] - m.x, from[1] - m.y)));
		const p0: Point = [m.x, m.y];
		const p1: Point = [m.x + Math.cos(m.heading) * reach * 0.6, m.y + Math.sin(m.heading) * reach * 0.6];
		const p2: Point = [from[0] - along[0] * reach * 0.6, from[1] - along[1] * reach * 0.6];
		m.path = [];
		m.pathLength = [];
		let run = 0;
		for (let i = 0; i <= 40; i++) {
			const f = i / 40;
			const g = 1 - f;
			const q: Point = [0, 1].map(
				(k) => g ** 3 * p0[k]! + 3 * g * g * f * p1[k]! + 3 * g * f * f * p2[k]! + f ** 3 * from[k]!,
			) as unknown as Point;
			const before = m.path.at(-1);
			if (before) run += Math.hypot(q[0] - before[0], q[1] - before[1]);
			m.path.push(q);
			m.pathLength.push(run);
		}
		m.pathAt = 0;
		m.mode = 'turn';
	}

	function unloadInto(m: Machine, t: number): void {
		const plan = oddities(served++, m.level);
		let fate: Emptying['fate'] = 'saved';
		if (notes.silent.includes(m.spec.name)) fate = 'silent';
		else if (plan.straight || notes.ticketsOnly === 'straight') fate = 'straight';
		else if (plan.unsaved) fate = 'unsaved';
		const keeps =
			!m.finishing && cartRng.chance(cart.rest)
				? m.spec.tank_kg * cartRng.between(cart.restShare[0], cart.restShare[1])
				: 0;
		m.stopAt = plan.broken ? m.level * cartRng.between(0.4, 0.65) : Math.min(keeps, m.level * 0.6);
		if (cart.dregs_kg > 0) m.stopAt = Math.max(m.stopAt, cartRng.between(0, cart.dregs_kg));
		m.auger = true;
		const onTheGo = fate !== 'straight' && m.mode === 'pass' && cartRng.chance(cart.onTheGo) && !m.finishing;
		m.stand = !onTheGo;
		let into = -1;
		if (fate === 'straight' || fate === 'silent') {
			if (notes.ticketsOnly === 'straight') {
				if (straightTrucks[m.c]! < 0) straightTrucks[m.c] = newTruck(false);
				into = straightTrucks[m.c]!;
			} else if (fate === 'straight') into = plan.ownTicket ? newTruck(false) : truck;
		}
		m.emptying = {
			combine: m.c,
			start_s: t,
			end_s: t,
			true_kg: 0,
			restBefore_kg: 0,
			restAfter_kg: 0,
			water_kg: 0,
			fate,
			repeated: plan.repeated && fate === 'saved',
			wrong: plan.wrong && fate === 'saved',
			broken: plan.broken,
			onTheGo,
			x_m: m.x,
			y_m: m.y,
			truck: into,
		};
	}

	function closeEmptying(m: Machine, t: number): void {
		const e = m.emptying!;
		m.auger = false;
		m.stand = false;
		m.emptying = null;
		m.request = false;
		m.callAt = m.spec.tank_kg * m.rng.between(cart.call[0], cart.call[1]);
		e.end_s = t;
		e.x_m = m.x;
		e.y_m = m.y;
		e.restAfter_kg = m.level < 30 ? 0 : m.level;
		const last = emptyings.filter((o) => o.combine === m.c).at(-1);
		e.restBefore_kg = last ? last.restAfter_kg : m.spec.startTank_kg;
		emptyings.push(e);
		serving = null;
		if (e.truck >= 0) {
			const into = trucks[e.truck]!;
			into.kg += e.true_kg;
			into.water_kg += e.water_kg;
			if (!into.straight.includes(m.c)) into.straight.push(m.c);
			into.leaves_s = t + 300;
			if (notes.ticketsOnly === 'straight' && into.kg > cart.truck_kg - 0.75 * m.spec.tank_kg) straightTrucks[m.c] = -1;
			cartFree = t + 20;
			return;
		}
		if (e.fate === 'silent') {
			cartFree = t + 20;
			return;
		}
		content += e.true_kg;
		contentWater += e.water_kg;
		if (e.fate === 'saved' || e.fate === 'unsaved')
			events.push({ kind: 'dump', emptying: emptyings.length - 1, end_s: t, content_kg: content });
		cartFree = t + cartRng.between(12, 60);
		if (notes.mixed) {
			group.push(m.c);
			if (group.length < machines.filter((o) => o.mode !== 'done' || group.includes(o.c)).length) return;
			group = [];
		}
		const typical = 0.75 * Math.max(...machines.map((o) => o.spec.tank_kg));
		if (content + typical > cart.size_kg || e.broken || notes.mixed) offload(cartFree);
	}

	function offload(from: number): void {
		if (content < 50) return;
		const start = from + cartRng.between(30, 110);
		let kg = content;
		const room = cart.truck_kg - trucks[truck]!.kg;
		if (kg > room) {
			// Mostly the tender calls the next truck; sometimes it tops this one up and keeps the rest.
			if (room > 4000 && cartRng.chance(0.3)) kg = room;
			else truck = newTruck(true);
		}
		const share = kg / content;
		const into = trucks[truck]!;
		into.kg += kg;
		into.water_kg += contentWater * share;
		contentWater *= 1 - share;
		content -= kg;
		const end = start + kg / 180;
		into.leaves_s = end + 240;
		events.push({ kind: 'offload', start_s: start, end_s: end, kg, content_kg: content, truck });
		if (cart.truck_kg - into.kg < 3000) truck = newTruck(true);
		cartFree = end + cartRng.between(30, 100);
	}

	let t = 0;
	const limit = 12 * 3600;
	while (t < limit) {
		t += dt;
		let active = false;
		// The cart goes to who called, fullest first.
		if (!serving && t >= cartFree) {
			let best: Machine | null = null;
			for (const m of machines) {
				if (!m.request || m.auger) continue;
				if (notes.mixed && group.includes(m.c) && machines.some((o) => o !== m && o.mode !== 'done')) continue;
				if (!best || m.level / m.spec.tank_kg > best.level / best.spec.tank_kg) best = m;
			}
			if (best) {
				serving = best;
				arrives = t + cartRng.between(10, 70);
			}
		}
		for (const m of machines) {
			if (m.mode === 'done') continue;
			active = true;
			const { spec, work } = m;
			const crowded = m.level > 0.97 * spec.tank_kg;
			if (!m.request && !m.auger) {
				const early = notes.mixed && group.length > 0 && !group.includes(m.c) ? 0.4 * spec.tank_kg : m.callAt;
				if (m.level > Math.min(early, m.callAt) || (m.finishing && m.level > 30))
					m.request = !(m.finishing && m.spec.leavesLoaded);
			}
			// Service.
			if (serving === m && !m.auger && t >= arrives && (m.level > 400 || m.finishing)) {
				const standing = m.mode === 'idle' || m.speed < 0.3;
				const steady =
					m.mode === 'pass' && m.s > 25 && m.strip!.length_m - m.s > (m.level / spec.auger_kg_s) * m.target + 20;
				if (standing || steady || crowded) unloadInto(m, t - dt);
				else if (m.mode === 'pass' && m.strip!.length_m - m.s < 40) {
					/* waits for the turn */
				} else if (m.mode === 'pass' && m.s > 25) unloadInto(m, t - dt);
			}
			// Motion.
			if (m.rng.next() < (scenario.trouble.stopsPerHour * dt) / 3600 && m.mode === 'pass')
				m.standUntil = t + m.rng.between(15, 90);
			if (m.jolts.chance((scenario.trouble.joltsPerHour * dt) / 3600)) {
				m.jolted = m.jolts.between(0.3, 0.8);
				m.joltedUntil = t + m.jolts.between(2, 12);
			}
			const held = m.stand || (crowded && !m.auger) || t < m.standUntil;
			const before: Point = [m.x, m.y];
			let area = 0;
			let wet = 0;
			let dry = 0;
			let header = 0;
			let row = -2;
			if (m.mode === 'idle') {
				m.speed = 0;
				if (!m.auger) {
					const next = m.finishing ? null : nextStrip(m);
					if (next === null) {
						m.finishing = true;
						// A combine that leaves early may take what is in its tank along.
						const loaded = m.spec.leavesLoaded && m.smear < 0.02;
						if (m.level >= empty && !loaded) m.parks = t + 20 + 40 * m.patience;
						else if (t > m.parks) {
							m.mode = 'done';
							m.request = false;
							if (serving === m) serving = null;
						}
					} else if (next !== 'wait') begin(m, next);
				}
			} else if (m.mode === 'turn') {
				const target = held ? 0 : 2;
				m.speed += Math.max(-1.2 * dt, Math.min(0.8 * dt, target - m.speed));
				m.pathAt += m.speed * dt;
				const length = m.pathLength.at(-1)!;
				if (m.pathAt >= length) {
					const rest = m.pathAt - length;
					m.mode = 'pass';
					m.s = 0;
					place(m, rest);
					m.s = rest;
				} else {
					let i = m.pathLength.findIndex((l) => l > m.pathAt);
					if (i < 1) i = 1;
					const f = (m.pathAt - m.pathLength[i - 1]!) / (m.pathLength[i]! - m.pathLength[i - 1]! || 1);
					m.x = m.path[i - 1]![0] + f * (m.path[i]![0] - m.path[i - 1]![0]);
					m.y = m.path[i - 1]![1] + f * (m.path[i]![1] - m.path[i - 1]![1]);
					if (m.speed > 0.2) m.heading = Math.atan2(m.y - before[1], m.x - before[0]);
				}
			} else if (m.mode === 'pass') {
				const strip = m.strip!;
				const ending = strip.length_m - m.s < 0.5 && m.auger;
				const target = held || ending ? 0 : Math.max(0.5, (m.target + m.sway()) * (t < m.joltedUntil ? m.jolted : 1));
				m.speed += Math.max(-1.2 * dt, Math.min(0.5 * dt, target - m.speed));
				if (ending) m.speed = 0;
				const s0 = m.s;
				m.s = Math.min(strip.length_m, m.s + m.speed * dt);
				header = 1;
				row = strip.row;
				const from = m.reversed ? strip.length_m - m.s : s0;
				const to = m.reversed ? strip.length_m - s0 : m.s;
				for (const lane of strip.lanes) {
					for (const [a, b] of lane.stretches) {
						const lo = Math.max(a, from);
						const hi = Math.min(b, to);
						if (hi <= lo) continue;
						const mid = (lo + hi) / 2;
						const x = strip.origin[0] + strip.along[0] * mid + strip.left[0] * lane.offset_m;
						const y = strip.origin[1] + strip.along[1] * mid + strip.left[1] * lane.offset_m;
						const laneArea = (hi - lo) * lane.width_m;
						const kg = laneArea * ground.dry_kg_m2(x, y) * (1 - spec.left_rel);
						area += laneArea;
						dry += kg;
						wet += (kg * (100 - ground.market_pct)) / (100 - ground.moisture_pct(x, y, t));
					}
				}
				place(m, m.s);
				if (m.s >= strip.length_m && !m.auger) {
					m.mode = 'idle';
					unfinished.set(strip.stage, unfinished.get(strip.stage)! - 1);
					finished++;
					m.strip = null;
				}
			}
			// From header to sensor: a delay, then a first-order smear; what passes the sensor is in the tank.
			const cumulative = m.cumulative;
			const water = m.cumulativeWater;
			const j = cumulative.length;
			cumulative.push(cumulative[j - 1]! + wet);
			water.push(water[j - 1]! + wet - (dry * (100 - ground.market_pct)) / 100);
			const arrive = delayed(cumulative, j, spec.delay_s / dt) / dt;
			const arriveWater = delayed(water, j, spec.delay_s / dt) / dt;
			const keep = Math.exp(-dt / spec.smear_s);
			m.smear = m.smear * keep + arrive * (1 - keep);
			m.smearWater = m.smearWater * keep + arriveWater * (1 - keep);
			const sensed = m.smear * dt;
			m.level += sensed;
			m.water += m.smearWater * dt;
			const augerNow = m.auger;
			if (m.auger) {
				const moved = Math.min(m.level, spec.auger_kg_s * dt);
				const share = moved / Math.max(m.level, 1e-9);
				m.emptying!.true_kg += moved;
				m.emptying!.water_kg += m.water * share;
				m.water *= 1 - share;
				m.level -= moved;
				const full =
					m.emptying!.truck < 0 && m.emptying!.fate !== 'silent' && content + m.emptying!.true_kg >= cart.size_kg;
				if (full) m.emptying!.broken = true;
				if (full || m.level <= m.stopAt + 1) closeEmptying(m, t);
			}
			if (Number.isNaN(m.x)) continue;
			work.t_s.push(t);
			work.x_m.push(m.x);
			work.y_m.push(m.y);
			work.heading_rad.push(m.heading);
			work.speed_m_s.push(m.speed);
			work.header.push(header);
			work.auger.push(augerNow ? 1 : 0);
			work.row.push(row);
			work.cutArea_m2.push(area);
			work.cutWet_kg.push(wet);
			work.cutDry_kg.push(dry);
			work.sensed_kg.push(sensed);
			work.level_kg.push(m.level);
		}
		if (!active) break;
	}
	while (content > 50) offload(Math.max(t, cartFree));
	return {
		work: machines.map((m) => m.work),
		emptyings,
		cart: events,
		trucks,
		endLevel_kg: machines.map((m) => m.level),
		duration_s: t,
	};
}

function place(m: Machine, s: number): void {
	const strip = m.strip!;
	const sign = m.reversed ? -1 : 1;
	const at = m.reversed ? strip.length_m - s : s;
	m.x = strip.origin[0] + strip.along[0] * at;
	m.y = strip.origin[1] + strip.along[1] * at;
	m.heading = Math.atan2(strip.along[1] * sign, strip.along[0] * sign);
}

/** What arrives in step j after a delay in steps, from the running sum at step ends. */
function delayed(cumulative: number[], j: number, delay: number): number {
	return at(cumulative, j - delay) - at(cumulative, j - 1 - delay);
}

function at(cumulative: number[], place: number): number {
	if (place <= 0) return 0;
	const i = Math.floor(place);
	const f = place - i;
	const a = cumulative[i]!;
	return f === 0 ? a : a + f * (cumulative[i + 1]! - a);
}

interface Oddity {
	straight: boolean;
	ownTicket: boolean;
	unsaved: boolean;
	repeated: boolean;
	broken: boolean;
	wrong: boolean;
}

/** Which of the unloadings, by their number, go wrong. */
function planOddities(scenario: Scenario, strips: Strip[], rng: Random): (n: number, level_kg: number) => Oddity {
	const { notes } = scenario;
	let area = 0;
	for (const s of strips) for (const l of s.lanes) for (const [a, b] of l.stretches) area += (b - a) * l.width_m;
	const mass = area * scenario.crop.mean_kg_ha * 1.05e-4;
	const expected = Math.max(8, Math.floor(mass / Math.max(...scenario.combines.map((c) => c.tank_kg))));
	const free = Array.from({ length: expected - 4 }, (_, i) => i + 2);
	const take = (count: number) => {
		const taken = new Set<number>();
		for (let i = 0; i < count && free.length > 0; i++) taken.add(free.splice(rng.whole(free.length), 1)[0]!);
		return taken;
	};
	const straight = take(notes.straight);
	const unsaved = take(notes.unsaved);
	const repeated = take(notes.repeated);
	const broken = take(notes.broken);
	const wrong = take(notes.wrong);
	const ownTicket = rng.chance(0.5);
	return (n) => ({
		straight: straight.has(n),
		ownTicket,
		unsaved: unsaved.has(n),
		repeated: repeated.has(n),
		broken: broken.has(n),
		wrong: wrong.has(n),
	});
}
