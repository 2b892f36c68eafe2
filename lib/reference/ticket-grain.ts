import type { Account, LoadBook, Match, Records, Track } from '../model/index.ts';
import { appliedFactor, cartSteps, inTimeOrder, isSensed } from '../model/index.ts';

/** One combine's grain in a truckload: its accounted mass × its rough factor, and the moisture sensed. */
export interface Share {
	combine: number;
	kg: number;
	/** Mass-weighted mean moisture over the grain, percent; NaN where the sensor recorded none. */
	sensed_pct: number;
}

/** Per ticket of the book, the grain of each combine that went into it (empty where that is not known). */
export function ticketGrain(input: {
	book: LoadBook;
	records: Records;
	account: Account;
	track: Track;
	match: Match;
}): Share[][] {
	const { book, records, account, track, match } = input;
	const order = records.combines.map((_, c) => inTimeOrder(records, c));
	const shareOf = (u: number): Share | null => {
		const unloading = match.unloadings[u];
		if (!unloading) return null;
		const { combine, from, to } = unloading;
		const index = order[combine]!;
		const k = match.factors[combine]!;
		let kg = 0;
		let sensed = 0;
		let water = 0;
		for (let j = from; j < to; j++) {
			const i = index[j]!;
			const m = account.account_kg[i]!;
			kg += m;
			// Moisture is weighted by the mass at the sensor at the same time.
			const moisture = sensorMoisture(records, track, i);
			if (m > 0 && Number.isFinite(moisture)) {
				sensed += m;
				water += m * moisture;
			}
		}
		return { combine, kg: kg * appliedFactor(k), sensed_pct: water / sensed };
	};

	const byDump = new Map<number, number[]>();
	for (const fate of match.fates) if (fate.status !== 'aside') byDump.set(fate.dump, ownUnloadings(match, fate.dump));
	const dumpsOf = truckDumps(book);
	return book.tickets.map((ticket, t) => {
		const unloadings = new Set<number>();
		const add = (list: readonly number[]): void => {
			for (const u of list) unloadings.add(u);
		};
		for (const w of match.weighings) if (w.kind === 'ticket' && w.ticket === t) add(w.unloadings);
		if (ticket.truckLoad !== null) for (const d of dumpsOf.get(ticket.truckLoad) ?? []) add(byDump.get(d) ?? []);
		const shares = [...unloadings].sort((a, b) => a - b).map(shareOf);
		return merge(shares.filter((s): s is Share => s !== null && s.kg > 0));
	});
}

function ownUnloadings(match: Match, dump: number): number[] {
	const list: number[] = [];
	match.unloadings.forEach((u, i) => {
		if (u.dump === dump) list.push(i);
	});
	return list;
}

function sensorMoisture(records: Records, track: Track, i: number): number {
	const m = track.moisture_pct[i]!;
	if (Number.isFinite(m)) return m;
	const raw = records.moisture_pct[i]!;
	return isSensed(raw) ? raw : Number.NaN;
}

/** The dumps behind each truck load: by their own truck load, else by the next offload in order of time and row. */
function truckDumps(book: LoadBook): Map<string, number[]> {
	const loads = new Map<string, number[]>();
	let waiting: number[] = [];
	const put = (load: string, dumps: number[]): void => {
		loads.set(load, [...(loads.get(load) ?? []), ...dumps]);
	};
	for (const { dump, offload } of cartSteps(book)) {
		const load = (dump >= 0 ? book.dumps[dump] : book.offloads[offload])?.truckLoad ?? null;
		if (dump >= 0) {
			if (load !== null) put(load, [dump]);
			else waiting.push(dump);
			continue;
		}
		if (load !== null) put(load, waiting);
		waiting = [];
	}
	return loads;
}

function merge(shares: Share[]): Share[] {
	const byCombine = new Map<number, Share>();
	for (const s of shares) {
		const m = byCombine.get(s.combine);
		if (!m) {
			byCombine.set(s.combine, { ...s });
			continue;
		}
		const known = Number.isFinite(m.sensed_pct) && Number.isFinite(s.sensed_pct);
		m.sensed_pct = known
			? (m.sensed_pct * m.kg + s.sensed_pct * s.kg) / (m.kg + s.kg)
			: Number.isFinite(m.sensed_pct)
				? m.sensed_pct
				: s.sensed_pct;
		m.kg += s.kg;
	}
	return [...byCombine.values()];
}
