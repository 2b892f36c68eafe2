import type { Day } from './drive.ts';
import { type Random, wander } from './random.ts';
import type { Scenario } from './scenario.ts';

/** A row of the cart's book as it was kept; times in seconds since the start, by the cart's own clock. */
export interface BookRow {
	id: string;
	time_s: number;
	event: 'dump' | 'offload';
	combine: string;
	weight_kg: number;
	emptied: '' | 'yes' | 'no';
	truck: number;
	/** Index of the emptyings weighed. */
	emptyings: number[];
	repeated: boolean;
	wrong: boolean;
	end_s: number;
	true_kg: number;
}

export interface TicketRow {
	ticket: string;
	time_s: number;
	truck: number;
	net_kg: number;
	combine: string;
	moisture_pct: number;
	joins: boolean;
}

/** The cart's scale: gross readings with an error that grows with what it holds; neighbors share a reading. */
export function weigh(scenario: Scenario, day: Day, rng: Random): BookRow[] {
	const { cart, notes } = scenario;
	const read = (content_kg: number) => {
		const gross = content_kg / cart.ratio;
		const u = Math.hypot(cart.a_kg, cart.b_rel * gross);
		return Math.round((gross + rng.normal(u)) / cart.resolution_kg) * cart.resolution_kg;
	};
	const rows: BookRow[] = [];
	let last = read(0);
	let lastContent = 0;
	const open: { emptyings: number[]; before: number } = { emptyings: [], before: last };
	let dumps = 0;
	let offloads = 0;
	const clock = (end: number) => end + rng.between(cart.delay_s[0], cart.delay_s[1]) - cart.clockOffset_s;
	const save = (emptyings: number[], before: number, after: number, end: number, repeated: boolean) => {
		const sources = emptyings.map((i) => day.emptyings[i]!);
		const names = [...new Set(sources.map((e) => scenario.combines[e.combine]!.name))].sort();
		const rest = sources.some((e) => e.restAfter_kg > 2 * cart.dregs_kg);
		const noted = notes.emptied && (!rest || rng.chance(notes.restNoted)) && rng.chance(0.95);
		const row: BookRow = {
			id: `D${String(++dumps).padStart(2, '0')}`,
			time_s: clock(end),
			event: 'dump',
			combine: notes.combine ? names.join('+') : '',
			weight_kg: after - before,
			emptied: noted ? (rest ? 'no' : 'yes') : '',
			truck: -1,
			emptyings,
			repeated: false,
			wrong: false,
			end_s: end,
			true_kg: sources.reduce((sum, e) => sum + e.true_kg, 0),
		};
		rows.push(row);
		if (sources.some((e) => e.wrong)) {
			row.wrong = true;
			row.weight_kg = Math.round((row.weight_kg * rng.between(0.72, 0.86)) / cart.resolution_kg) * cart.resolution_kg;
		}
		if (repeated)
			rows.push({
				...row,
				id: `D${String(++dumps).padStart(2, '0')}`,
				time_s: row.time_s + rng.between(8, 70),
				// Pressed again: the same weight, or a reading taken anew.
				weight_kg: rng.chance(0.5) ? row.weight_kg : read(lastContent) - before,
				repeated: true,
			});
	};
	const flush = (after: number, end: number) => {
		if (open.emptyings.length > 0) save(open.emptyings, open.before, after, end, false);
		open.emptyings = [];
	};
	let lastEnd = 0;
	for (const event of day.cart) {
		const before = rng.chance(cart.fresh) ? read(lastContent) : last;
		const after = read(event.content_kg);
		if (event.kind === 'dump') {
			const e = day.emptyings[event.emptying]!;
			if (notes.mixed) {
				if (open.emptyings.length === 0) open.before = before;
				open.emptyings.push(event.emptying);
			} else {
				lastContent = event.content_kg;
				if (e.fate === 'saved') save([event.emptying], before, after, event.end_s, e.repeated);
			}
			lastEnd = event.end_s;
		} else {
			flush(last, lastEnd);
			rows.push({
				id: `L${String(++offloads).padStart(2, '0')}`,
				time_s: clock(event.end_s),
				event: 'offload',
				combine: '',
				weight_kg: before - after,
				emptied: '',
				truck: event.truck,
				emptyings: [],
				repeated: false,
				wrong: false,
				end_s: event.end_s,
				true_kg: event.kg,
			});
		}
		last = after;
		lastContent = event.content_kg;
	}
	flush(last, lastEnd);
	return rows;
}

/** Certified tickets of truck loads. */
export function ticketRows(scenario: Scenario, day: Day, rng: Random): TicketRow[] {
	const { notes } = scenario;
	const rows: TicketRow[] = [];
	let counted = 0;
	day.trucks.forEach((truck, index) => {
		if (truck.kg < 100) return;
		const own = !truck.overCart;
		if (own && notes.ticketsOnly === 'no') {
			// A truck of its own for one dump: its ticket is there, its combine noted.
		} else if (notes.tickets !== 'all' && counted++ >= notes.tickets) return;
		const names = truck.straight.map((c) => scenario.combines[c]!.name);
		rows.push({
			ticket: String(40_211 + index * 7 + rng.whole(5)),
			time_s: truck.leaves_s + rng.between(900, 2700),
			truck: index,
			net_kg: Math.round((truck.kg * (1 + scenario.cart.certified_rel + rng.normal(0.0006))) / 10) * 10,
			combine: own && names.length === 1 ? names[0]! : '',
			moisture_pct: notes.ticketMoisture
				? Math.round((100 * truck.water_kg) / truck.kg / 0.1 + rng.normal(0.12) / 0.1) * 0.1
				: Number.NaN,
			joins: truck.overCart && notes.ticketsOnly === 'no',
		});
	});
	return rows.sort((a, b) => a.time_s - b.time_s);
}

/** The cart's weight against time, with jolts on the move, a slow drift and zeroing. */
export function weightTrace(
	scenario: Scenario,
	day: Day,
	rng: Random,
): { rows: { time_s: number; weight_kg: number; moving: number }[]; events: TraceEvent[] } {
	const { cart } = scenario;
	interface Change {
		from: number;
		to: number;
		kg: number;
		moving: boolean;
		event: 'dump' | 'offload';
	}
	const changes: Change[] = [];
	for (const event of day.cart) {
		if (event.kind === 'dump') {
			const e = day.emptyings[event.emptying]!;
			changes.push({ from: e.start_s, to: e.end_s, kg: e.true_kg, moving: e.onTheGo, event: 'dump' });
		} else changes.push({ from: event.start_s, to: event.end_s, kg: -event.kg, moving: false, event: 'offload' });
	}
	/** Sets off before the weight has settled. */
	const hasty = (change: number) => change % 7 === 2;
	const step = 2;
	const end = Math.max(...changes.map((c) => c.to)) + 300;
	const drift = wander(rng.stream('drift'), 12, 3600, step);
	const rows: { time_s: number; weight_kg: number; moving: number }[] = [];
	let content = 0;
	let next = 0;
	let zero = 0;
	let jolt = 0;
	for (let t = Math.max(0, changes[0]!.from - 600); t < end; t += step) {
		while (next < changes.length && changes[next]!.to <= t) content += changes[next++]!.kg;
		const now = changes[next];
		let kg = content;
		let moving = false;
		if (now && t > now.from) {
			kg += (now.kg * (t - now.from)) / (now.to - now.from);
			moving = now.moving;
		} else if (now) {
			const since = next > 0 ? t - changes[next - 1]!.to : 1000;
			// Stands for a moment after a dump, then drives; sets off early now and then.
			const rests = hasty(next - 1) ? 3 : 14;
			moving = since > rests && now.from - t > 8 && (since < 150 || now.from - t < 150);
		}
		const d = drift();
		if (
			content < 300 &&
			next > 0 &&
			changes[next - 1]!.event === 'offload' &&
			t - changes[next - 1]!.to > 40 &&
			t - changes[next - 1]!.to <= 42 &&
			rng.chance(0.7)
		)
			zero = d + kg / cart.ratio;
		jolt = moving ? jolt * 0.4 + rng.normal(70) + (rng.chance(0.01) ? rng.normal(500) : 0) : jolt * 0.3;
		const value = kg / cart.ratio + d - zero + rng.normal(6) + jolt;
		rows.push({ time_s: t - cart.clockOffset_s, weight_kg: Math.round(value / 5) * 5, moving: moving ? 1 : 0 });
	}
	return {
		rows,
		events: changes.map((c, i) => ({
			time_s: c.to - cart.clockOffset_s,
			event: c.event,
			weight_kg: Math.abs(c.kg) / cart.ratio,
			moved: c.moving,
			hasty: hasty(i),
		})),
	};
}

export interface TraceEvent {
	time_s: number;
	event: 'dump' | 'offload';
	weight_kg: number;
	moved: boolean;
	hasty: boolean;
}
