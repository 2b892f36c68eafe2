import { type Match, MONITOR, type Weighing } from '../../model/index.ts';
import { type Course, courseOf } from '../../tank/index.ts';
import type { Scales } from './cart-form.ts';
import type { Timeline } from './timeline.ts';

/** All that happened to the grain, in order of time: it came in, was unloaded, was weighed. */
export interface Chain {
	match: Match;
	time: Timeline;
	steps: Step[];
	/** Weighings in use (indices into Match.weighings), in the order in which they are weighed. */
	order: number[];
	scales: Scales;
	/** Rough factors, one per combine, which turn relative errors into mass. */
	rough: readonly number[];
	/** Most weights and gross readings that are open at the same time. */
	places: number;
	scaleRatio: number;
	/** From the cart's first weight to its last, seconds. */
	span_s: number;
}

export type Step =
	/** A piece of a segment comes in; `seconds` since the last one of its combine, the course of the slow error over them. */
	| { do: 'in'; segment: number; piece: number; seconds: number; course: Course; inTank: boolean; totals: number[] }
	| { do: 'unload'; unloading: number; onto: number[]; opened: number[] }
	| { do: 'weigh'; weighing: number; on: number; before: Reading; after: Reading; time_s: number; since_s: number }
	/** A truckload checks the scale. */
	| { do: 'check'; load: number; time_s: number; since_s: number };

interface Reading {
	/** Place among the open weights and readings; −1 = none. */
	place: number;
	/** Standard uncertainty at its first use, NaN at its second. */
	u_kg: number;
}

/** What a chain is made of: the timeline and the weighings of a match that are in use. */
type ChainInput = Pick<Chain, 'match' | 'time' | 'scales' | 'scaleRatio' | 'rough'> & { use: readonly number[] };

/** Whether a weighing is of grain of this combine alone. */
export function coversOnly(match: Match, w: number, combine: number): boolean {
	const { unloadings } = match.weighings[w]!;
	return unloadings.length > 0 && unloadings.every((u) => match.unloadings[u]!.combine === combine);
}

/** Lists the weights of one combine alone, in order. */
export function ownWeights({ match, order }: Chain, combine: number): number[] {
	return order.filter((w) => coversOnly(match, w, combine));
}

/** Puts the grain, unloadings, weighings and truckloads of a match in order of time. */
export function chainOf({ match, time, scales, scaleRatio, use, rough }: ChainInput): Chain {
	const onto = new Map<number, number[]>();
	const left = new Map<number, number>();
	const totals: number[] = [];
	for (const w of use) {
		const weighing = match.weighings[w]!;
		if (weighing.kind === 'total') totals.push(w);
		for (const u of weighing.kind === 'total' ? [] : weighing.unloadings) onto.set(u, [...(onto.get(u) ?? []), w]);
		left.set(w, weighing.kind === 'total' ? 0 : weighing.unloadings.length);
	}
	const listed = timed(match, time, scales).sort(
		(a, b) => a.key_s - b.key_s || a.combine - b.combine || a.place - b.place,
	);
	const places = new Places();
	const steps: Step[] = [];
	const order: number[] = [];
	const atEnd = totals.map((w) => ({ w, place: places.open(`w${w}`) }));
	let first = Number.NaN;
	let late = Number.NaN;
	/** Time of a reading of the cart's scale, and seconds since the one before. */
	const read = (time_s: number) => {
		const since_s = time_s > late ? time_s - late : 0;
		if (Number.isFinite(time_s) && !(time_s < late)) late = time_s;
		if (Number.isNaN(first)) first = late;
		return { time_s, since_s };
	};
	const weighNow = (w: number) => {
		const ends = readingsOf(match.weighings[w]!);
		const [before, after] = ends.map((e) => places.reading(e.id, e.u_kg, use, match)) as [Reading, Reading];
		const place = places.open(`w${w}`);
		const { kind, unloadings } = match.weighings[w]!;
		const at = kind === 'total' ? Number.NaN : Math.max(...unloadings.map((u) => match.unloadings[u]!.end_s));
		steps.push({ do: 'weigh', weighing: w, on: place, before, after, ...read(at) });
		order.push(w);
		places.close(`w${w}`);
		for (const e of ends) places.done(e.id);
	};
	const until = new Array<number>(time.account_kg.length).fill(Number.NaN);
	for (const e of listed) {
		if (e.load >= 0) {
			steps.push({ do: 'check', load: e.load, ...read(scales.loads[e.load]!.time_s) });
			continue;
		}
		if (e.piece >= 0) {
			const piece = time.segments[e.segment]!.pieces[e.piece]!;
			const known = Number.isFinite(piece.end_s);
			const paused = known ? piece.start_s - until[e.combine]! : 0;
			const paused_s = Number.isFinite(paused) ? Math.max(0, paused) : 0;
			const seconds = known ? Math.max(0, piece.end_s - piece.start_s) : 0;
			steps.push({
				do: 'in',
				segment: e.segment,
				piece: e.piece,
				seconds: paused_s + seconds,
				course: courseOf(paused_s, seconds, MONITOR.slow_s),
				inTank: time.segments[e.segment]!.unloading >= 0,
				totals: atEnd.map((t) => t.place),
			});
			if (known) until[e.combine] = piece.end_s;
			continue;
		}
		const weights = onto.get(e.unloading) ?? [];
		const opened = weights.filter((w) => !places.has(`w${w}`));
		const at = weights.map((w) => places.open(`w${w}`));
		steps.push({ do: 'unload', unloading: e.unloading, onto: at, opened: opened.map((w) => places.open(`w${w}`)) });
		for (const w of weights) {
			left.set(w, left.get(w)! - 1);
			if (left.get(w) === 0) weighNow(w);
		}
	}
	for (const { w } of atEnd) weighNow(w);
	return {
		match,
		time,
		steps,
		order,
		scales,
		rough,
		places: places.most,
		scaleRatio,
		span_s: late - first || 0,
	};
}

interface Listed {
	key_s: number;
	combine: number;
	place: number;
	segment: number;
	piece: number;
	unloading: number;
	load: number;
}

/** Lists truckloads, and the pieces and unloadings of each combine in their order, with times that never decrease. */
function timed(match: Match, time: Timeline, scales: Scales): Listed[] {
	const out: Listed[] = scales.loads.map(({ time_s }, load) => ({
		key_s: Number.isFinite(time_s) ? time_s : -Infinity,
		combine: -1,
		place: load,
		segment: -1,
		piece: -1,
		unloading: -1,
		load,
	}));
	time.account_kg.forEach((_, combine) => {
		let key_s = -Infinity;
		let place = 0;
		const add = (time_s: number, segment: number, piece: number, unloading: number) => {
			if (Number.isFinite(time_s)) key_s = Math.max(key_s, time_s);
			out.push({ key_s, combine, place: place++, segment, piece, unloading, load: -1 });
		};
		const pieces = (s: number) => {
			time.segments[s]!.pieces.forEach((p, k) => {
				add(p.end_s, s, k, -1);
			});
		};
		const own = time.segments.map((_, s) => s).filter((s) => time.segments[s]!.combine === combine);
		let next = 0;
		match.unloadings.forEach((u, i) => {
			if (u.combine !== combine) return;
			const segment = time.ofUnloading[i]!;
			if (segment >= 0) while (next < own.length && own[next]! <= segment) pieces(own[next++]!);
			add(Number.NaN, -1, -1, i);
		});
		while (next < own.length) pieces(own[next++]!);
	});
	return out;
}

/** Gross readings [before, after] whose difference is the weight; ids are −1 where either is unknown. */
function readingsOf(w: Weighing): { id: number; u_kg: number }[] {
	const known = w.readings.every((id) => id >= 0) && w.u_gross_kg.every((u) => Number.isFinite(u) && u > 0);
	return w.readings.map((id, i) => ({ id: known ? id : -1, u_kg: w.u_gross_kg[i]! }));
}

/** Numbers what is open for a while; a place that becomes free is used again. */
class Places {
	most = 0;
	readonly #taken = new Map<string, number>();
	readonly #free: number[] = [];
	readonly #left = new Map<number, number>();

	open(name: string): number {
		const has = this.#taken.get(name);
		if (has !== undefined) return has;
		const place = this.#free.pop() ?? this.most++;
		this.#taken.set(name, place);
		return place;
	}

	has(name: string): boolean {
		return this.#taken.has(name);
	}

	close(name: string): void {
		const place = this.#taken.get(name);
		if (place === undefined) return;
		this.#taken.delete(name);
		this.#free.push(place);
	}

	/** Opens a gross reading, which the weight before or after may share. */
	reading(id: number, u_kg: number, use: readonly number[], match: Match): Reading {
		if (id < 0) return { place: -1, u_kg: Number.NaN };
		if (this.#left.size === 0) {
			for (const w of use)
				for (const e of readingsOf(match.weighings[w]!)) this.#left.set(e.id, (this.#left.get(e.id) ?? 0) + 1);
		}
		const known = this.#taken.has(`r${id}`);
		return { place: this.open(`r${id}`), u_kg: known ? Number.NaN : u_kg };
	}

	done(id: number): void {
		if (id < 0) return;
		const left = this.#left.get(id)! - 1;
		this.#left.set(id, left);
		if (left === 0) this.close(`r${id}`);
	}
}
